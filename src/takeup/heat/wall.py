"""Radial heat flow through any stack of round layers, for one wall or a million at once.

Unknown are the temperatures of the surfaces.  Heat through each element (gas film, solid
layer, empty gap, weather) is an explicit function of the two temperatures at its ends, so
the balance of every surface is one line of a tridiagonal system, solved by Newton steps for
all samples together.  Solid layers carry the *integral* of k over temperature.  What is left
unbalanced is told (:attr:`Solution.residual`), and so is every sample in which a relation was
used beyond its range (:attr:`Solution.beyond`); such samples are never dropped in silence.
"""

from __future__ import annotations

from collections.abc import Sequence

import msgspec
import numpy as np
from numpy.typing import NDArray

from takeup.errors import require_within
from takeup.heat import cavity, conductivity
from takeup.heat.conductivity import Curve
from takeup.heat.films import RA_MOST, SIGMA, Orientation, outside_film
from takeup.units import Array, Real

Flags = NDArray[np.bool_]
CHUNK = 4096
"""Samples solved together: few enough to stay in the processor's cache."""
STEPS = 60
SURE = 12
"""Newton steps taken in full; most walls need 6 to 8 in all."""
SMALL = 100.0
"""Heat flow [W/m] below which the balance is measured against this: thin metal turns the last
digit of a temperature into some 1e-8 W/m."""
GOOD = 1e-9
"""What a result may leave unbalanced, share of the heat flow."""
CLOSED = 1e-10
"""What full Newton steps aim at, share of the heat flow."""
_TWO_PI = 2.0 * np.pi


class Solid(msgspec.Struct, frozen=True, kw_only=True):
    """A layer that conducts: material, thickness [m], and a factor on its conductivity [-]."""

    name: str
    curve: Curve
    thickness: Real
    factor: Real = 1.0


class Gap(msgspec.Struct, frozen=True, kw_only=True):
    """An empty layer: thickness [m], emissivities of its two faces, pressure [Pa absolute].

    ``factor`` scales the convection, ``still`` the conductivity of the gas against air.
    """

    name: str
    thickness: Real
    emissivity_in: Real
    emissivity_out: Real
    pressure: Real
    factor: Real = 1.0
    still: Real = 1.0


Layer = Solid | Gap


class Weather(msgspec.Struct, frozen=True, kw_only=True):
    """What takes the heat away outside."""

    ambient: Real
    """Air [K]."""
    surroundings: Real | None = None
    """What the surface sees [K]; ``None``: as the air."""
    wind: Real = 0.0
    """Across the run [m/s]."""
    emissivity: Real = 0.7
    orientation: Orientation = Orientation.HORIZONTAL
    height: float = 1.0
    """Of a vertical run [m]."""
    area_ratio: Real = 1.0
    """Surface of the convolutions over that of a plain cylinder [-]."""
    sun: Real = 0.0
    """Absorbed sunshine, mean over the circumference [W/m2]."""
    factor: Real = 1.0
    """On the convective film, for its scatter [-]."""
    film: Real | None = None
    """Convective film where it is known, in place of the relations [W/m2.K]."""


class Stack(msgspec.Struct, frozen=True, kw_only=True):
    """A wall from the gas to the weather; every number may be an array over samples."""

    radius: Real
    """Of the innermost surface [m]."""
    gas_temperature: Real
    """[K]"""
    gas_film: Real
    """Convection and radiation of gas and particles [W/m2.K]."""
    layers: tuple[Layer, ...]
    weather: Weather


class Solution(msgspec.Struct, frozen=True, kw_only=True):
    """Surfaces from inside to outside; rows are surfaces, columns samples."""

    radius: Array
    """Of each surface [m], (surfaces, samples)."""
    temperature: Array
    """Of each surface [K], (surfaces, samples)."""
    heat: Array
    """Heat to the weather per length [W/m], (samples,)."""
    residual: Array
    """Largest difference between any two elements over the heat flow, or over 100 W/m where less
    flows [-], (samples,)."""
    convection: Array
    """Film outside [W/m2.K], (samples,)."""
    radiation: Array
    """Film of radiation outside [W/m2.K], (samples,)."""
    rayleigh: Array
    """Outside, and of each gap in order, (1 + gaps, samples)."""
    beyond: dict[str, Flags]
    """By reason: samples in which a relation was used beyond its range."""
    steps: int
    """Newton steps of the slowest chunk."""

    @property
    def sound(self) -> Flags:
        """Samples that balance and stay within every convection relation."""
        good = self.residual <= GOOD
        for reason, mask in self.beyond.items():
            if reason.startswith("Rayleigh"):
                good &= ~mask
        return np.asarray(good)


_REFUSED = (
    ("radius", "m", 0.01, 20.0),
    ("gas_temperature", "K", 200.0, 1500.0),
    ("gas_film", "W/m2.K", 0.1, 1e6),
)
_WEATHER = (
    ("ambient", "K", 200.0, 345.0),
    ("wind", "m/s", 0.0, 60.0),
    ("emissivity", "", 0.0, 1.0),
    ("area_ratio", "", 1.0, 10.0),
    ("height", "m", 0.05, 200.0),
    ("sun", "W/m2", 0.0, 1200.0),
    ("factor", "", 0.05, 20.0),
)
_SOLID = (("thickness", "m", 1e-6, 5.0), ("factor", "", 1e-3, 1e3))
_GAP = (
    ("thickness", "m", 1e-6, 2.0),
    ("emissivity_in", "", 0.02, 1.0),
    ("emissivity_out", "", 0.02, 1.0),
    ("pressure", "Pa", 1e3, 2e7),
    ("factor", "", 0.05, 20.0),
    ("still", "", 0.05, 20.0),
)


def refuse(stack: Stack) -> None:
    """Raise :class:`takeup.errors.OutOfRange` naming the field that cannot be."""

    def each(
        where: str, thing: object, rows: Sequence[tuple[str, str, float, float]], whose: str
    ) -> None:
        for field, unit, low, high in rows:
            require_within(f"{where}{field}", getattr(thing, field), low=low, high=high,
                           unit=unit, whose=whose)  # fmt: skip

    each("", stack, _REFUSED, "the wall calculation")
    each("weather: ", stack.weather, _WEATHER, "the weather of a wall")
    if stack.weather.surroundings is not None:
        require_within("weather: surroundings", stack.weather.surroundings, low=150.0,
                       high=1000.0, unit="K", whose="the weather of a wall")  # fmt: skip
    if stack.weather.film is not None:
        require_within("weather: film", stack.weather.film, low=0.1, high=1e5, unit="W/m2.K",
                       whose="the weather of a wall")  # fmt: skip
    for layer in stack.layers:
        rows = _SOLID if isinstance(layer, Solid) else _GAP
        each(f"{layer.name}: ", layer, rows, "the layers of a wall")


def samples(stack: Stack) -> int:
    """Number of samples; scalars count as one."""
    shapes = [np.shape(value) for value in _numbers(stack)]
    found = np.broadcast_shapes(*shapes)
    return int(np.prod(found)) if found else 1


def _numbers(thing: object) -> list[Real]:
    found: list[Real] = []
    for name in getattr(thing, "__struct_fields__", ()):
        value = getattr(thing, name)
        if isinstance(value, float | int | np.ndarray) and not isinstance(value, bool):
            found.append(value)
        elif isinstance(value, msgspec.Struct) and not isinstance(value, Curve):
            found += _numbers(value)
        elif isinstance(value, tuple):
            for one in value:
                found += _numbers(one)
    return found


def solve(stack: Stack) -> Solution:
    """Temperatures, heat flow and what is left unbalanced, for all samples.

    Arrays must be one-dimensional and of equal length, or scalars.  Raises
    :class:`takeup.errors.OutOfRange` for numbers that no wall has.
    """
    refuse(stack)
    count = samples(stack)
    parts = [
        _Chunk(stack, slice(start, min(start + CHUNK, count)), count).run()
        for start in range(0, count, CHUNK)
    ]
    if len(parts) == 1:
        return parts[0]
    return Solution(
        radius=np.concatenate([part.radius for part in parts], axis=1),
        temperature=np.concatenate([part.temperature for part in parts], axis=1),
        heat=np.concatenate([part.heat for part in parts]),
        residual=np.concatenate([part.residual for part in parts]),
        convection=np.concatenate([part.convection for part in parts]),
        radiation=np.concatenate([part.radiation for part in parts]),
        rayleigh=np.concatenate([part.rayleigh for part in parts], axis=1),
        beyond={
            reason: np.concatenate([part.beyond[reason] for part in parts])
            for reason in parts[0].beyond
        },
        steps=max(part.steps for part in parts),
    )


class _Chunk:
    """One slice of the samples, its constants worked out once."""

    def __init__(self, stack: Stack, at: slice, count: int) -> None:
        self.size = at.stop - at.start

        def part(value: Real) -> Array:
            if np.ndim(value) == 0 or np.size(value) == 1:
                return np.full(self.size, float(np.reshape(value, ())))
            return np.asarray(value, dtype=float)[at]

        self.part = part
        self.layers = stack.layers
        radius = [part(stack.radius)]
        for layer in stack.layers:
            radius.append(radius[-1] + part(layer.thickness))
        self.radius = np.array(radius)
        self.gas = part(stack.gas_temperature)
        self.inner = _TWO_PI * radius[0] * part(stack.gas_film)
        self.shape = _TWO_PI / np.log1p(
            np.diff(self.radius, axis=0) / self.radius[:-1]
        )  # 2 pi / ln(ro / ri), exact for thin layers too
        self.factor = [part(layer.factor) for layer in stack.layers]
        self.gaps = {
            place: (
                cavity.gap_length(radius[place], radius[place + 1]),
                cavity.exchange(radius[place], radius[place + 1], part(layer.emissivity_in),
                                part(layer.emissivity_out)),
                part(layer.pressure),
                part(layer.still),
            )
            for place, layer in enumerate(stack.layers)
            if isinstance(layer, Gap)
        }  # fmt: skip
        self._outside(stack.weather)

    def _outside(self, weather: Weather) -> None:
        part = self.part
        self.weather = weather
        self.ambient = part(weather.ambient)
        self.seen = self.ambient if weather.surroundings is None else part(weather.surroundings)
        self.seen4 = self.seen**4
        ratio, emissivity = part(weather.area_ratio), part(weather.emissivity)
        # grooves see each other: the surface looks blacker, its radiating area stays plain
        self.apparent = emissivity / (emissivity + (1.0 - emissivity) / ratio)
        self.wind = part(weather.wind)
        self.girth = _TWO_PI * self.radius[-1]
        self.convecting = ratio * part(weather.factor)
        self.sun = part(weather.sun)
        self.film = None if weather.film is None else part(weather.film)

    def element(self, place: int, hot: Array, cold: Array) -> tuple[Array, Array, Array]:
        """Heat [W/m] through a layer and its slopes with the hot and the cold side [W/m.K]."""
        shape, layer = self.shape[place], self.layers[place]
        if isinstance(layer, Solid):
            shape = shape * self.factor[place]
            value_hot, total_hot = conductivity.both(layer.curve, hot)
            value_cold, total_cold = conductivity.both(layer.curve, cold)
            return shape * (total_hot - total_cold), shape * value_hot, shape * value_cold
        length, exchange, pressure, still = self.gaps[place]
        ratio, gas, _ = cavity.stirred(hot, cold, length, pressure, self.factor[place])
        carried = shape * gas * still * ratio
        slope = carried * np.where(ratio > 1.0, 1.25, 1.0)
        hot3, cold3 = hot * hot * hot, cold * cold * cold
        heat = carried * (hot - cold) + exchange * (hot3 * hot - cold3 * cold)
        return heat, slope + 4.0 * exchange * hot3, slope + 4.0 * exchange * cold3

    def outside(self, surface: Array) -> tuple[Array, Array, Array, Array]:
        """Heat [W/m] to the weather, its slope, the convective film and the Rayleigh number."""
        if self.film is not None:
            film, natural, ra = self.film, 0.0 * surface, 0.0 * surface
        else:
            film, natural, ra = outside_film(
                surface, self.ambient, diameter=2.0 * self.radius[-1], wind=self.wind,
                orientation=self.weather.orientation, height=self.weather.height,
            )  # fmt: skip
        film = film * self.convecting
        cube = surface * surface * surface
        heat = self.girth * (
            film * (surface - self.ambient)
            + self.apparent * SIGMA * (cube * surface - self.seen4)
            - self.sun
        )
        slope = self.girth * (film * (1.0 + natural / 3.5) + 4.0 * self.apparent * SIGMA * cube)
        return heat, slope, film, ra

    def start(self) -> Array:
        """A first guess: a chain of constant resistances."""
        middle = 0.5 * (self.gas + self.ambient)
        chain = [1.0 / self.inner]
        for place in range(len(self.layers)):
            _, slope, _ = self.element(place, middle + 1.0, middle)
            chain.append(1.0 / slope)
        chain.append(1.0 / (self.girth * 15.0))
        sums = np.cumsum(np.array(chain), axis=0)
        return np.asarray(self.gas - (self.gas - self.ambient) * sums[:-1] / sums[-1])

    def run(self) -> Solution:
        """Newton steps until every surface balances."""
        temperature = self.start()
        low = np.minimum(np.minimum(self.gas, self.ambient), self.seen) - 1.0
        high = np.maximum(np.maximum(self.gas, self.ambient), self.seen) + 300.0
        best: tuple[Array, ...] | None = None
        step = 0
        for step in range(1, STEPS + 1):
            heats, slopes_hot, slopes_cold, film, ra = self._elements(temperature)
            scale = np.maximum(np.abs(heats).max(axis=0), SMALL)
            off = (heats.max(axis=0) - heats.min(axis=0)) / scale
            now = (temperature, heats[-1], off, film, ra)
            if best is None or step <= SURE:
                best = now
            else:  # nearly there, or held up by a kink: keep what was best of each sample
                better = off <= best[2]
                best = tuple(np.where(better, a, b) for a, b in zip(now, best, strict=True))
            if best[2].max() <= (CLOSED if step <= SURE else GOOD):
                break
            change = _thomas(slopes_hot, slopes_cold, heats)
            if step > SURE:
                change *= 0.5  # a kink (still to stirred gas) may throw full steps to and fro
            temperature = np.clip(temperature + change, low, high)
        assert best is not None
        temperature, flow, off, film, ra = best
        return self._told(temperature, flow, off, film, ra, steps=step)

    def _elements(self, temperature: Array) -> tuple[Array, Array, Array, Array, Array]:
        count = len(self.layers)
        heats = np.empty((count + 2, self.size))
        hot, cold = np.empty_like(heats), np.empty_like(heats)
        heats[0] = self.inner * (self.gas - temperature[0])
        hot[0] = cold[0] = self.inner
        for place in range(count):
            heats[place + 1], hot[place + 1], cold[place + 1] = self.element(
                place, temperature[place], temperature[place + 1]
            )
        heats[-1], hot[-1], film, ra = self.outside(temperature[-1])
        cold[-1] = hot[-1]
        return heats, hot, cold, film, ra

    def _told(
        self, temperature: Array, heat: Array, off: Array, film: Array, ra: Array, *, steps: int
    ) -> Solution:
        beyond: dict[str, Flags] = {"Rayleigh number outside": np.asarray(ra > RA_MOST)}
        rayleigh = [ra]
        for place, layer in enumerate(self.layers):
            hot, cold = temperature[place], temperature[place + 1]
            if isinstance(layer, Gap):
                length, _, pressure, _ = self.gaps[place]
                _, _, inside = cavity.stirred(hot, cold, length, pressure)
                rayleigh.append(inside)
                beyond[f"Rayleigh number of {layer.name}"] = np.asarray(inside > cavity.RA_MOST)
            else:
                over = conductivity.above(layer.curve, np.maximum(hot, cold)) > 0.0
                beyond[f"table of {layer.name}"] = np.asarray(over)
        surface = temperature[-1]
        radiated = self.apparent * SIGMA * (surface**2 + self.seen**2) * (surface + self.seen)
        return Solution(
            radius=self.radius,
            temperature=temperature,
            heat=heat,
            residual=off,
            convection=film,
            radiation=radiated,
            rayleigh=np.array(rayleigh),
            beyond=beyond,
            steps=steps,
        )


def _thomas(hot: Array, cold: Array, heats: Array) -> Array:
    """Changes of the surface temperatures [K] that close the balance to first order.

    Surface i loses ``heats[i + 1]`` and gains ``heats[i]``; the system is tridiagonal and
    diagonally dominant, so that elimination needs no pivots.
    """
    surfaces = len(heats) - 1
    upper = np.empty((surfaces, heats.shape[1]))
    right = np.empty_like(upper)
    for i in range(surfaces):
        middle = cold[i] + hot[i + 1]
        gain = heats[i] - heats[i + 1]
        if i:
            middle = middle - hot[i] * upper[i - 1]
            gain = gain + hot[i] * right[i - 1]
        upper[i] = cold[i + 1] / middle
        right[i] = gain / middle
    for i in range(surfaces - 2, -1, -1):
        right[i] += upper[i] * right[i + 1]
    return right
