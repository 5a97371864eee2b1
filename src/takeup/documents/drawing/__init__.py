"""The drawing room: every figure once, as SVG, for web, paper and anything else."""

from takeup.documents.drawing.assembly import assembly_diagram
from takeup.documents.drawing.attachment_field import attachment_day, attachment_field
from takeup.documents.drawing.bellows_section import bellows_section
from takeup.documents.drawing.charts import (
    budget_curve,
    interply_chart,
    movement_sketch,
    ratio_bar,
    temperature_chart,
)
from takeup.documents.drawing.isometric import isometric
from takeup.documents.drawing.isometric_scene import scene
from takeup.documents.drawing.isometric_scene_parts import Scene
from takeup.documents.drawing.load_path import load_path
from takeup.documents.drawing.marks_against import Likely, MarkRow, likely_bars, marks_against
from takeup.documents.drawing.palette import PRINT, WEB, Palette
from takeup.documents.drawing.section import joint_section
from takeup.documents.drawing.shapes import level_mark
from takeup.documents.drawing.spread import spread_chart
from takeup.documents.drawing.strips import line_strip, unit_sheet
from takeup.documents.drawing.time import calendar_strip, crew_chart, gantt
from takeup.documents.drawing.wall_profile import wall_profile

__all__ = [
    "PRINT",
    "WEB",
    "Likely",
    "MarkRow",
    "Palette",
    "Scene",
    "assembly_diagram",
    "attachment_day",
    "attachment_field",
    "bellows_section",
    "budget_curve",
    "calendar_strip",
    "crew_chart",
    "gantt",
    "interply_chart",
    "isometric",
    "joint_section",
    "level_mark",
    "likely_bars",
    "line_strip",
    "load_path",
    "marks_against",
    "movement_sketch",
    "ratio_bar",
    "scene",
    "spread_chart",
    "temperature_chart",
    "unit_sheet",
    "wall_profile",
]
