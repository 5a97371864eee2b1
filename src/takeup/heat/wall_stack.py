"""From a joint's wall to the stack of layers that is solved; faults of the input, by field."""

from __future__ import annotations

import msgspec
import numpy as np

from takeup.errors import Contradiction, MissingInput, OutOfRange, Refused, require_within
from takeup.heat import films
from takeup.heat.conductivity import Curve, insulations, material, metal
from takeup.heat.model import Convolutions, Fill, WallCase, WallKind
from takeup.heat.wall import Gap, Layer, Solid, Stack, Weather
from takeup.sources import Source, assumption
from takeup.units import ATMOSPHERE, Real

ASSUMED_FILM = 70.0
"""Gas film where nobody gave one [W/m2.K]: middle of what flue gas in large pipes shows."""
GAS_RADIATION = 35.0
"""Added to the convective film of a velocity [W/m2.K]: gas and particles, 20-60."""
FILM_SOURCE = assumption("gas film 50-100 W/m²K for flue gas in large pipes")
HOTTEST_GAS = 1273.15
"""Above it a gas temperature is asked about: 1000 °C is past every metal of this trade."""
HOTTEST_AMBIENT, COLDEST_AMBIENT = 333.15, 213.15
FINES_FACTOR = (1.1, 1.6)
"""What fines in a fibre blanket do to its conductivity: factor, least and most."""
ADDED = "mineral wool"
"""What is taken to be put over a bellows by somebody who wants it warmer or safer to touch."""
LOST = frozenset({Fill.EMPTY, Fill.PART_LOST, Fill.BYPASS})
DANGEROUS = (
    "DANGER: insulation or a closed cover lies over a joint whose packing is lost. The bellows "
    "cannot give its heat away and runs toward the temperature of the liner. Never answer a hot "
    "bellows with more insulation outside; find out what the cavity holds first."
)


class State(msgspec.Struct, frozen=True, kw_only=True):
    """How a wall differs from its case: condition of cavity, lining, cover, insulation.

    Numbers may be arrays over samples.
    """

    fill: Fill
    share: Real = 0.0
    """Of the packing that is lost, or reached by hot gas [-]."""
    fibre_factor: Real = 1.0
    """On the conductivity of the packing."""
    lining_left: Real = 1.0
    """Share of the lining's thickness that stands [-]; 0 is taken as none."""
    lining_gone: bool = False
    insulated: bool = True
    """Whether the insulation of the case is on."""
    insulation_factor: Real = 1.0
    """On its conductivity: wet insulation conducts more."""
    added: Real | None = None
    """Insulation put over the case as it stands [m]."""
    covered: bool = True
    gas_shift: Real = 0.0
    """On the gas temperature [K]."""


class Draw(msgspec.Struct, frozen=True, kw_only=True):
    """One value, or one per sample, of everything uncertain: factors and shifts."""

    gas: Real = 0.0
    gas_film: Real = 1.0
    packing_thickness: Real = 1.0
    """Factor; the cavity's depth does not change, the rest becomes a gap."""
    emissivity: Real = 0.0
    inner_emissivity: Real = 0.0
    ambient: Real = 0.0
    wind: Real = 0.0
    outside_film: Real = 1.0
    gap_film: Real = 1.0
    lining: Real = 1.0
    packing: Real = 1.0
    fill: Real = 1.0
    insulation: Real = 1.0
    metal: Real = 1.0


NOMINAL = Draw()


def state_of(case: WallCase) -> State:
    """The state that the case itself describes."""
    fill = Fill.EMPTY if case.fill == Fill.PACKED and not case.packing else case.fill
    factor = sum(FINES_FACTOR) / 2 if fill == Fill.FINES_IN_FIBRE else 1.0
    return State(fill=fill, share=case.lost or 0.0, fibre_factor=factor)


def doubts(case: WallCase) -> tuple[str, ...]:
    """Temperatures that look like the wrong unit, each with what it would be in another one."""
    found = []
    if case.gas_temperature > HOTTEST_GAS:
        found.append(
            f"gas_temperature is {_celsius(case.gas_temperature)}: hotter than any line of this "
            f"trade. {_if_fahrenheit(case.gas_temperature)}"
        )
    if not COLDEST_AMBIENT <= case.ambient <= HOTTEST_AMBIENT:
        kelvin = (
            f" Was {case.ambient - 273.15:g} K meant, {_celsius(case.ambient - 273.15)}?"
            if 473.15 <= case.ambient <= 613.15
            else f" {_if_fahrenheit(case.ambient)}"
        )
        found.append(f"ambient is {_celsius(case.ambient)}: no air outdoors.{kelvin}")
    if case.gas_temperature < 150.0:
        found.append(f"gas_temperature is {case.gas_temperature:g} K: was it meant in °C or °F?")
    return tuple(found)


def _celsius(kelvin: float) -> str:
    return f"{kelvin - 273.15:.0f} °C"


def _if_fahrenheit(kelvin: float) -> str:
    number = kelvin - 273.15
    return f"Was {number:.0f} °F meant, which is {(number - 32) * 5 / 9:.0f} °C?"


def refuse(case: WallCase) -> None:
    """Raise for what cannot be worked out, naming the field.

    :class:`takeup.errors.OutOfRange`, :class:`takeup.errors.Contradiction`,
    :class:`takeup.errors.MissingInput`, or :class:`takeup.errors.Refused` for a purged cavity
    and for temperatures that look like the wrong unit and were not confirmed.
    """
    if case.purged:
        raise Refused(
            "purged: gas that flows through the packing carries heat of its own; this balance "
            "holds for a cavity at rest. Measure the bellows, or shut the purge for the survey."
        )
    asked = doubts(case)
    if asked and not case.certain:
        raise Contradiction(
            " ".join(asked) + " Correct it, or set certain if the temperature is right."
        )
    for field in ("emissivity", "inner_emissivity"):
        require_within(field, getattr(case, field), low=0.02, high=1.0,
                       whose="the emissivity of real surfaces")  # fmt: skip
    for field in ("lining_thickness", "liner_thickness", "liner_gap", "cavity", "ply_thickness",
                  "ply_gap", "insulation_thickness", "cover_gap", "cover_thickness",
                  "convolution_height"):  # fmt: skip
        value = getattr(case, field)
        if value is not None:
            require_within(field, value, low=1e-5, high=2.0, unit="m", whose="the wall of a joint")
    if bool(case.lining) != (case.lining_thickness is not None):
        raise Contradiction("lining: give its material and its lining_thickness, or neither")
    if bool(case.insulation) != (case.insulation_thickness is not None):
        raise Contradiction(
            "insulation: give its material and its insulation_thickness, or neither"
        )
    if case.wall == WallKind.COLD and not case.lining:
        raise MissingInput("cold wall", ["lining", "lining_thickness"])
    if case.packing and case.cavity is None:
        raise MissingInput("packing", ["cavity (its depth)"])
    if case.gas_film is not None and case.gas_velocity is not None:
        raise Contradiction("gas_film and gas_velocity: give one of the two; each sets the film")
    if case.fill in {Fill.PART_LOST, Fill.BYPASS} and case.lost is None:
        raise MissingInput(f"state {case.fill.value!r}", ["lost"])
    if case.lost is not None and case.fill not in {Fill.PART_LOST, Fill.BYPASS}:
        raise Contradiction(
            f"lost is given, but fill is {case.fill.value!r}; right would be "
            f"{Fill.PART_LOST.value!r} or {Fill.BYPASS.value!r}, or no lost"
        )
    if case.fill in {Fill.PART_LOST, Fill.BYPASS, Fill.FINES_IN_FIBRE} and not case.packing:
        raise Contradiction(f"fill is {case.fill.value!r}, but the cavity has no packing")
    if case.fill != Fill.PACKED and case.cavity is None:
        raise MissingInput(f"state {case.fill.value!r}", ["cavity"])
    if case.liner_gap is not None and case.cavity is not None and case.liner_gap >= case.cavity:
        raise OutOfRange("liner_gap", case.liner_gap, 0.0, case.cavity, "m",
                         "the depth of the cavity")  # fmt: skip


def film_of(case: WallCase) -> tuple[float, Source, str]:
    """Gas film [W/m2.K], where it comes from, and a word of warning."""
    if case.gas_film is not None:
        return case.gas_film, assumption("gas film as given"), ""
    if case.gas_velocity is not None:
        convective = films.pipe_film(
            velocity=case.gas_velocity, diameter=case.inside_diameter,
            kelvin=case.gas_temperature, pressure=case.pressure + ATMOSPHERE,
        )  # fmt: skip
        return convective + GAS_RADIATION, films.PIPE, (
            f"gas film: {convective:.0f} W/m²K of flow and {GAS_RADIATION:.0f} W/m²K assumed for "
            "radiation of gas and particles"
        )  # fmt: skip
    return ASSUMED_FILM, FILM_SOURCE, (
        f"gas film not given: {ASSUMED_FILM:.0f} W/m²K assumed; it hardly matters while the "
        "cavity is packed"
    )  # fmt: skip


def stack_of(case: WallCase, state: State, draw: Draw = NOMINAL) -> Stack:
    """The stack of one state; numbers may be arrays over samples."""
    made = _Built(case, state, draw)
    return Stack(
        radius=made.radius,
        gas_temperature=case.gas_temperature + draw.gas + state.gas_shift,
        gas_film=film_of(case)[0] * draw.gas_film,
        layers=tuple(made.layers),
        weather=Weather(
            ambient=case.ambient + draw.ambient,
            surroundings=None if case.surroundings is None else case.surroundings + draw.ambient,
            wind=np.abs(np.asarray(case.wind + draw.wind, dtype=float)),
            emissivity=_clipped(case.emissivity + draw.emissivity),
            orientation=case.orientation,
            height=case.height,
            area_ratio=case.area_ratio if made.bare else 1.0,
            sun=case.sun,
            factor=draw.outside_film,
        ),
    )


def _clipped(value: Real) -> Real:
    found = np.clip(value, 0.05, 0.98)
    return float(found) if np.ndim(found) == 0 else found


class _Built:
    """Layers from inside to outside, and the radius they start at."""

    def __init__(self, case: WallCase, state: State, draw: Draw) -> None:
        self.case, self.state, self.draw = case, state, draw
        self.layers: list[Layer] = []
        self.radius: Real = 0.5 * case.inside_diameter
        self.inner = _clipped(case.inner_emissivity + draw.inner_emissivity)
        self.bare = True
        self._lined()
        if case.cavity is not None:
            self._cavity(case.cavity)
        if case.convolution_height is not None:
            self._convolutions(0.5 * case.convolution_height)
        self._bellows()
        self._outside()

    def gap(self, name: str, thickness: Real) -> None:
        """An empty layer."""
        self.layers.append(
            Gap(name=name, thickness=thickness, emissivity_in=self.inner,
                emissivity_out=self.inner, pressure=self.case.pressure + ATMOSPHERE,
                factor=self.draw.gap_film)
        )  # fmt: skip

    def solid(self, name: str, curve: Curve, thickness: Real, factor: Real) -> None:
        """A conducting layer."""
        self.layers.append(Solid(name=name, curve=curve, thickness=thickness, factor=factor))

    def _lined(self) -> None:
        case, state = self.case, self.state
        behind = state.fill == Fill.BYPASS  # gas stands behind lining and liner: they do nothing
        if case.lining_thickness is not None:
            left = 0.0 if state.lining_gone or behind else state.lining_left
            self.radius = self.radius + case.lining_thickness * (1.0 - left)
            if not (state.lining_gone or behind):
                self.solid("lining", material(case.lining), case.lining_thickness * left,
                           self.draw.lining)  # fmt: skip
        if case.liner_thickness is not None:
            if behind:
                self.radius = self.radius + case.liner_thickness
            else:
                self.solid("liner", metal(case.liner_material), case.liner_thickness,
                           self.draw.metal)  # fmt: skip

    def _cavity(self, depth: float) -> None:
        case, state, draw = self.case, self.state, self.draw
        if state.fill == Fill.EMPTY:
            self.gap("cavity", depth)
            return
        filled = {
            Fill.FINES: "catalyst fines",
            Fill.COKE_CRUMBS: "coke crumbs",
            Fill.HARD_COKE: "hard coke",
        }
        if state.fill in filled:
            self.solid("fill", insulations()[filled[state.fill]], depth, draw.fill)
            return
        packing = material(case.packing)
        thickness = (depth - (case.liner_gap or 0.0)) * draw.packing_thickness
        factor = draw.packing * state.fibre_factor
        if state.fill == Fill.BYPASS:
            left = np.minimum(thickness * (1.0 - state.share), 0.98 * depth)
            self.radius = self.radius + depth - left
            self.solid("packing", packing, left, factor)
        elif state.fill == Fill.PART_LOST:
            left = np.minimum(thickness * (1.0 - state.share), 0.98 * depth)
            self.gap("lost packing", depth - left)
            self.solid("packing", packing, left, factor)
        else:
            if case.liner_gap is not None:
                self.gap("gap at the liner", case.liner_gap)
            self.solid("packing", packing, thickness, factor)

    def _convolutions(self, depth: float) -> None:
        case, draw = self.case, self.draw
        if case.convolutions == Convolutions.GAS:
            self.gap("convolutions", depth)
        elif case.convolutions == Convolutions.PACKING and case.packing:
            self.solid("convolutions", material(case.packing), depth, draw.packing)
        else:
            name = "coke crumbs" if case.convolutions == Convolutions.COKE else "catalyst fines"
            self.solid("convolutions", insulations()[name], depth, draw.fill)

    def _bellows(self) -> None:
        case, draw = self.case, self.draw
        alloy = metal(case.bellows_material)
        if case.ply_gap is None or case.plies == 1:
            self.solid("bellows", alloy, case.ply_thickness * case.plies, draw.metal)
            return
        for ply in range(case.plies):
            name = f"bellows, ply {ply + 1}"
            self.solid(name, alloy, case.ply_thickness, draw.metal)
            if ply < case.plies - 1:
                self.gap(f"gap behind ply {ply + 1}", case.ply_gap)

    def _outside(self) -> None:
        case, state, draw = self.case, self.state, self.draw
        factor = draw.insulation * state.insulation_factor
        if case.insulation_thickness is not None and state.insulated:
            self.solid("insulation", material(case.insulation), case.insulation_thickness, factor)
            self.bare = False
        if state.added is not None:
            self.solid("added insulation", insulations()[ADDED], state.added, factor)
            self.bare = False
        if case.cover_gap is not None and state.covered:
            self.gap("under the cover", case.cover_gap)
            self.solid("cover", metal("carbon steel"), case.cover_thickness, draw.metal)
            self.bare = False
