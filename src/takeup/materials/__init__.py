"""Properties of metals: tables with a source per row, interpolation, refusal outside."""

from takeup.materials.alloys import alloy, alloys
from takeup.materials.model import Alloy, Family, Property
from takeup.materials.properties import (
    allowable_stress,
    conductivity,
    density,
    expansion_mean,
    expansion_total,
    lower_bound_of_yield,
    many,
    modulus,
    values,
    yield_lower_bound,
    yield_strength,
)

__all__ = [
    "Alloy",
    "Family",
    "Property",
    "allowable_stress",
    "alloy",
    "alloys",
    "conductivity",
    "density",
    "expansion_mean",
    "expansion_total",
    "lower_bound_of_yield",
    "many",
    "modulus",
    "values",
    "yield_lower_bound",
    "yield_strength",
]
