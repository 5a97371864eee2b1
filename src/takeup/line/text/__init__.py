"""A line as text (TOML) and back."""

from takeup.line.text.forms import JointData
from takeup.line.text.reading import BadLine, LineFault, Reading, examine, read
from takeup.line.text.writing import write

__all__ = ["BadLine", "JointData", "LineFault", "Reading", "examine", "read", "write"]
