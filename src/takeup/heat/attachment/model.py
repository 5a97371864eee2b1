"""What is said of an attachment on hot pipe: geometry, metals, what heats and cools it.

All SI: metres, kelvin, seconds, pascals.
"""

from __future__ import annotations

import math

import msgspec

from takeup.errors import Refused, require_within
from takeup.sources import Source, Standing, assumption

CELSIUS = 273.15
THIN = "stress linearised through a thin wall"
STEFAN_BOLTZMANN = 5.670374419e-8
"""[W/m2.K4], CODATA 2018"""
POISSON = 0.3

FILM = assumption("film coefficients and emissivity as given; the same over a whole face")
AXISYMMETRIC = Source(
    document="Takeup",
    at="axisymmetric finite elements, quadratic triangles; elastic, small displacements",
    standing=Standing.DERIVED,
)


class Film(msgspec.Struct, frozen=True, kw_only=True):
    """Heat taken up or given off by a face."""

    coefficient: float
    """By convection, or by convection and what covers the face in series [W/m2.K]"""
    emissivity: float = 0.0
    """Of a face that radiates to its surroundings at the fluid's temperature; 0 for none"""

    def __post_init__(self) -> None:
        _within("film coefficient", self.coefficient, 0.0, 1e5, "W/m².K")
        _within("emissivity", self.emissivity, 0.0, 1.0, "")


def covered(film: float, thickness: float, conductivity: float) -> Film:
    """Film of a face under insulation [m], [W/m.K]: layer and outside film in series."""
    _within("conductivity of the insulation", conductivity, 1e-4, 500.0, "W/m.K")
    _within("thickness of the insulation", thickness, 0.0, 2.0, "m")
    _within("film coefficient", film, 1e-6, 1e5, "W/m².K")
    return Film(coefficient=1.0 / (thickness / conductivity + 1.0 / film))


class Day(msgspec.Struct, frozen=True, kw_only=True):
    """Gas temperature through one start-up, run and shutdown, in straight lines."""

    times: tuple[float, ...]
    """[s], rising from 0"""
    gas: tuple[float, ...]
    """[K]"""
    film: tuple[float, ...] | None = None
    """Factor on the inside film at each time; 1 where not given"""

    def __post_init__(self) -> None:
        if len(self.times) != len(self.gas) or len(self.times) < 2:
            raise Refused("a temperature history needs as many temperatures as times, two or more")
        if self.film is not None and len(self.film) != len(self.times):
            raise Refused("a temperature history needs as many film factors as times")
        if self.times[0] != 0.0 or any(
            b <= a for a, b in zip(self.times, self.times[1:], strict=False)
        ):
            raise Refused("times of a temperature history rise from 0")
        for value in self.gas:
            sane_temperature("gas temperature", value)


def start_run_stop(
    cold: float, hot: float, heat_up: float, hold: float, cool_down: float, rest: float
) -> Day:
    """Up in ``heat_up`` [s], held, down in ``cool_down`` [s], at rest; temperatures in kelvin."""
    for name, value in (("heat-up", heat_up), ("cool-down", cool_down)):
        _within(f"time of {name}", value, 1.0, 1e8, "s")
    ends = (0.0, heat_up, heat_up + hold, heat_up + hold + cool_down)
    return Day(times=(*ends, ends[-1] + rest), gas=(cold, hot, hot, cold, cold))


class HotRing(msgspec.Struct, frozen=True, kw_only=True):
    """A flat ring welded all round to a hot cylinder by two fillets.

    The ring bears on the cylinder under its whole width: hot pipe grows into the cooler ring.
    """

    inside_radius: float
    """Of the pipe [m]"""
    wall: float
    """Of the pipe [m]"""
    ring_outside_radius: float
    """[m]"""
    ring_width: float
    """Along the pipe [m]"""
    leg: float
    """Of the fillets, and how far from the ring the toe is [m]"""
    pipe_metal: str
    ring_metal: str
    gas: float
    """Temperature of the medium [K]"""
    inside: Film
    """From the medium to the pipe"""
    ambient: float
    """[K]"""
    outside: Film
    """From bare faces of the ring to ambient"""
    pipe_outside: Film
    """From the outside of the pipe to ambient, insulation in series"""
    cover: float = 0.0
    """How high above the pipe the ring faces are under the pipe's insulation [m]"""
    installed: float = 294.15
    """Temperature at which nothing is stressed [K]"""
    pressure: float = 0.0
    """Inside the pipe on stream, on closed ends [Pa]"""

    def __post_init__(self) -> None:
        for name, value, top in (
            ("inside radius", self.inside_radius, 10.0),
            ("wall of the pipe", self.wall, 0.5),
            ("width of the ring", self.ring_width, 1.0),
            ("fillet leg", self.leg, 0.1),
        ):
            _within(name, value, 1e-4, top, "m")
        low = self.inside_radius + self.wall + self.leg
        _within("outside radius of the ring", self.ring_outside_radius, low, 20.0, "m")
        _within("covered height of the ring", self.cover, 0.0, self.ring_outside_radius, "m")
        _within("pressure", self.pressure, -1e7, 1e8, "Pa")
        require_within(
            "Inside radius over wall", self.inside_radius / self.wall, low=8.0, whose=THIN
        )
        for name, value in (
            ("gas temperature", self.gas),
            ("ambient temperature", self.ambient),
            ("temperature as installed", self.installed),
        ):
            sane_temperature(name, value)

    @property
    def outside_radius(self) -> float:
        """Of the pipe [m]."""
        return self.inside_radius + self.wall

    @property
    def beta(self) -> float:
        """Of the pipe as a shell: (3(1 - v2))^1/4 / (R t)^1/2 [1/m]."""
        middle = self.inside_radius + self.wall / 2.0
        return float((3.0 * (1.0 - POISSON**2)) ** 0.25 / math.sqrt(middle * self.wall))


class Leg(msgspec.Struct, frozen=True, kw_only=True):
    """A straight piece of a wall of revolution, walked along the axis from the hot end."""

    name: str
    length: float
    """Along the wall [m]"""
    slope: float = 0.0
    """Of the wall to the axis, + when the radius grows [rad]"""
    metal: str
    inside_temperature: float
    """Of what is inside this piece: the medium, or the gas in a cavity [K]"""
    inside: Film
    outside: Film

    def __post_init__(self) -> None:
        _within(f"length of {self.name}", self.length, 1e-3, 50.0, "m")
        _within(f"slope of {self.name}", self.slope, -1.4, 1.4, "rad")
        sane_temperature(f"temperature inside {self.name}", self.inside_temperature)


class Transition(msgspec.Struct, frozen=True, kw_only=True):
    """A wall of revolution of one thickness with a steep axial gradient: cone, skirt, sleeve.

    Where two pieces meet there is a weld, or with ``knuckle`` a formed bend without one.
    """

    radius: float
    """Of the middle of the wall at the hot end [m]"""
    wall: float
    """[m]"""
    legs: tuple[Leg, ...]
    ambient: float
    knuckle: float = 0.0
    """Radius of the formed bends, of the middle of the wall [m]; 0 for welded corners"""
    installed: float = 294.15
    ends_turn: bool = False
    """Whether the ends may turn: false when the pipe goes on beyond them"""

    def __post_init__(self) -> None:
        _within("radius", self.radius, 0.02, 20.0, "m")
        _within("wall", self.wall, 2e-4, 0.3, "m")
        _within("knuckle radius", self.knuckle, 0.0, 5.0, "m")
        sane_temperature("ambient temperature", self.ambient)
        if not self.legs:
            raise Refused("a transition needs one piece or more")
        if self.knuckle:
            require_within(
                "Knuckle radius over wall", self.knuckle / self.wall, low=1.0, whose=THIN
            )
        require_within("Radius over wall", self.radius / self.wall, low=8.0, whose=THIN)


def sane_temperature(name: str, value: float) -> None:
    """Refuse what cannot be a temperature in kelvin of hot pipe."""
    require_within(
        name.capitalize(), value - CELSIUS, low=-60.0, high=1400.0, unit="°C",
        whose="what hot process pipe sees", remedy="Check the unit it was given in.",
    )  # fmt: skip


def _within(name: str, value: float, low: float, high: float, unit: str) -> None:
    require_within(
        name.capitalize(), value, low=low, high=high, unit=unit, whose="sane input here",
        remedy="Check the unit it was given in.",
    )  # fmt: skip
