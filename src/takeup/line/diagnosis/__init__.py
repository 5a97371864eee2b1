"""From measured movements of a line to the faults that explain them, with what cannot be told."""

from takeup.line.diagnosis.faults import Fault, faults_of
from takeup.line.diagnosis.judge import Diagnosis, Explanation, Group, Hint, Options, diagnose
from takeup.line.diagnosis.predict import Model, model
from takeup.line.diagnosis.readings import Kind, Reading, candidates

__all__ = [
    "Diagnosis", "Explanation", "Fault", "Group", "Hint", "Kind", "Model", "Options", "Reading",
    "candidates", "diagnose", "faults_of", "model",
]  # fmt: skip
