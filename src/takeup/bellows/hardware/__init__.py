"""Hardware of a joint: where the thrust goes, what each part carries, what a defect takes away."""

from takeup.bellows.hardware.explain import explain
from takeup.bellows.hardware.model import Defect, DefectKind, HardwareCase, HardwareType
from takeup.bellows.hardware.path import trace
from takeup.bellows.hardware.report import check_hardware
from takeup.bellows.hardware.results import HardwareReport, LoadPath, governing

__all__ = [
    "Defect",
    "DefectKind",
    "HardwareCase",
    "HardwareReport",
    "HardwareType",
    "LoadPath",
    "check_hardware",
    "explain",
    "governing",
    "trace",
]
