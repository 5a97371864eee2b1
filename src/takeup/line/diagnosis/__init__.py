"""From measured movements of a line to the faults that explain them, with what cannot be told."""

from takeup.line.diagnosis.faults import Fault, faults_of
from takeup.line.diagnosis.judge import diagnose
from takeup.line.diagnosis.predict import Model, model
from takeup.line.diagnosis.readings import Kind, Reading, candidates
from takeup.line.diagnosis.results import Diagnosis, Explanation, Group, Hint
from takeup.line.diagnosis.weigh import Options

__all__ = [
    "Diagnosis", "Explanation", "Fault", "Group", "Hint", "Kind", "Model", "Options", "Reading",
    "candidates", "diagnose", "faults_of", "model",
]  # fmt: skip
