"""Code stresses of a solved line in one array pass: displacement range, sustained, occasional."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

import msgspec
import numpy as np

from takeup import materials
from takeup.checks import Check, Quantity, compare
from takeup.errors import TakeupError
from takeup.line import codes, factors, planes, stress
from takeup.line.factors import Place
from takeup.line.frame import Frame
from takeup.line.model import Book, Line, Piece, Pipe, RangeRule, State
from takeup.materials import Family
from takeup.sources import Source, Standing
from takeup.units import Array

DUCTILE, COOL = 517.2e6, 644.3
"""Tensile strength [Pa] and metal temperature [K] up to which f of ferrous metal may reach 1.2."""
CREEP = 700.15
"""Metal temperature above which occasional allowables by 1.33 Sh rest on time too (427 C) [K]."""
GIRTH = 783.15
"""Metal temperature above which girth welds may be weaker than the pipe (510 C) [K]."""


OWNER = (
    "Variations of pressure and temperature need the owner's approval, metal that is not brittle, "
    "and no more than 1000 of them in the life of the line (302.2.4, from memory)."
)


class Acting(msgspec.Struct, frozen=True, kw_only=True):
    """Forces and moments of every place, each (n,) [N, N.m]."""

    axial: Array
    inplane: Array
    outplane: Array
    torsion: Array


class Placed(msgspec.Struct, frozen=True, kw_only=True):
    """Places of a line as arrays, n of them."""

    book: Book
    places: tuple[Place, ...]
    element: Any
    end: Any
    tangent: Array
    normal: Array
    area: Array
    """Nominal, and worn in row 1 (2, n) [m2]"""
    modulus: Array
    """Nominal and worn (2, n) [m3]"""
    bending: Array
    """For bending: effective at branches (2, n) [m3]"""
    factor: Array
    """In-plane, out-of-plane, torsion, axial (4, n)"""
    index: Array
    """Sustained: in-plane, out-of-plane, torsion, axial (4, n)"""
    inside: Array
    """Worn inside diameter (n,) [m]"""
    outside: Array

    def acting(self, ends: Array) -> Acting:
        """Section forces at the places from end forces of elements (m, 12); tension positive."""
        part = ends.reshape(-1, 2, 6)[self.element, self.end]
        part = np.where(self.end[:, None] == 0, -part, part)
        force, moment = part[:, :3], part[:, 3:]
        across = np.cross(self.normal, self.tangent)

        def along(values: Array, way: Array) -> Array:
            return np.asarray(np.einsum("ni,ni->n", values, way))

        return Acting(
            axial=along(force, self.tangent),
            inplane=along(moment, self.normal),
            outplane=along(moment, across),
            torsion=along(moment, self.tangent),
        )

    def range_stress(self, acting: Acting) -> Array:
        """SE of a difference of two states (n,) [Pa]; NaN where a factor is not known."""
        i = self.factor
        sa = i[3] * np.abs(acting.axial) / self.area[0]
        sb = np.hypot(i[0] * acting.inplane, i[1] * acting.outplane) / self.bending[0]
        st = i[2] * acting.torsion / (2.0 * self.modulus[0])
        return np.asarray(np.hypot(sa + sb, 2.0 * st))

    def sustained_stress(self, acting: Acting, pressure: float) -> Array:
        """SL of weight, pressure and other lasting loads (n,) [Pa], allowances off the wall."""
        i = self.index
        by_pressure = pressure * self.inside**2 / (self.outside**2 - self.inside**2)
        sa = np.abs(i[3] * acting.axial / self.area[1] + by_pressure)
        sb = np.hypot(i[0] * acting.inplane, i[1] * acting.outplane) / self.bending[1]
        st = i[2] * acting.torsion / (2.0 * self.modulus[1])
        return np.asarray(np.hypot(sa + sb, 2.0 * st))


def place(line: Line, made: Frame, book: Book | None = None) -> Placed:
    """Every judged end of ``line`` with its factors by ``book``, or by the book of the line."""
    chosen = line.factors if book is None else book
    tangent, normal = planes.directions(line, made)
    found = factors.places(line, made, chosen, tangent)
    element = np.array([one.element for one in found], dtype=np.intp)
    end = np.array([one.end for one in found], dtype=np.intp)
    outside = np.array([one.pipe.outside for one in found])
    wall = np.array([one.pipe.wall for one in found])
    worn = wall - np.array([one.pipe.allowance for one in found])
    inside = np.stack([outside - 2.0 * wall, outside - 2.0 * worn])
    modulus = math.pi / 32.0 * (outside**4 - inside**4) / outside
    bending = modulus.copy()
    own = normal[element] if len(found) else np.zeros((0, 3))
    for n, one in enumerate(found):
        if one.normal is not None:
            own[n] = one.normal
        if one.effective is not None:
            bending[:, n] = one.effective
    indices = [one.index for one in found]
    return Placed(
        book=chosen,
        places=found,
        element=element,
        end=end,
        tangent=tangent[element, end] if len(found) else np.zeros((0, 3)),
        normal=own,
        area=math.pi / 4.0 * (outside**2 - inside**2),
        modulus=modulus,
        bending=bending,
        factor=np.array(
            [(i.inplane, i.outplane, i.torsion, i.axial) for i in indices], dtype=float
        ).reshape(-1, 4).T,
        index=np.array([(*i.sustained, 1.0) for i in indices], dtype=float).reshape(-1, 4).T,
        inside=inside[1],
        outside=outside,
    )  # fmt: skip


class Allowed(msgspec.Struct, frozen=True, kw_only=True):
    """Allowables of one pipe between two states [Pa]; ``None`` with the reason in ``faults``."""

    cold: float | None
    hot: float | None
    f: float
    at: float
    """Metal temperature when hot [K]"""
    sources: tuple[str, ...]
    faults: tuple[str, ...]
    """Of the cold, then of the hot allowable; nothing where it is known"""


def basic_allowable(metal: str, temperature: float) -> tuple[float | None, Source | None, str]:
    """Basic allowable stress [Pa] with its source, or why it is not known."""
    try:
        found = materials.allowable_stress(metal, temperature)
    except TakeupError as reason:
        return None, None, str(reason)
    return float(found.value), found.source, ""


def range_factor(cycles: float, metal: str, temperature: float) -> float:
    """Stress range factor f [-]: at most 1.2 for cool ferrous metal of ordinary strength, else 1."""
    alloy = materials.alloy(metal)
    mild = alloy.family is not Family.NICKEL and alloy.tensile <= DUCTILE and temperature <= COOL
    return float(codes.cycle_factor(cycles, 1.2 if mild else 1.0))


def allowed(line: Line, metals: dict[str, str], cold: State, hot: State) -> dict[str, Allowed]:
    """Allowables by pipe name between two states."""
    found = {}
    for pipe in line.pipes:
        metal = metals[pipe.name]
        first = cold.temperatures.get(pipe.name, cold.temperature)
        last = hot.temperatures.get(pipe.name, hot.temperature)
        sc, _, cold_fault = basic_allowable(metal, first)
        sh, source, hot_fault = basic_allowable(metal, last)
        found[pipe.name] = Allowed(
            cold=sc, hot=sh, f=range_factor(line.cycles, metal, max(first, last)), at=last,
            sources=() if source is None else ("Allowable stress: " + source.cite(),),
            faults=(cold_fault, hot_fault),
        )  # fmt: skip
    return found


def weaker(*sources: Source) -> Source:
    """The first of those that stand on least, so that a check is not shown firmer than it is."""
    order = list(Standing)
    return max(sources, key=lambda one: order.index(one.standing))


def piece_name(piece: Piece) -> str:
    """A piece as checks call it."""
    return f"{type(piece).__name__.lower()} {piece.start} to {piece.end}"


class Shown(msgspec.Struct, frozen=True, kw_only=True):
    """What a check of stress says beside its figures."""

    id: str
    name: str
    symbol: str
    clause: Source
    valid: str
    cautions: tuple[str, ...] = ()


def worst_of(
    line: Line,
    names: Sequence[str],
    made: Frame,
    placed: Placed,
    demand: Array,
    capacity: Array,
    faults: Sequence[tuple[str, ...]],
    shown: Shown,
    more: Sequence[tuple[str, str, Array, str]] = (),
    says: Sequence[str] = (),
) -> Iterable[Check]:
    """One check a piece, of its worst place; a factor that is not known leaves it open.

    What is known to be beyond its limit is not met, whatever else is unknown.
    """
    by_piece: dict[int, list[int]] = {}
    for n, one in enumerate(placed.places):
        by_piece.setdefault(made.spots[one.element].piece, []).append(n)
    for number, own in by_piece.items():
        piece = line.pieces[number]
        known = [n for n in own if np.isfinite(demand[n])]
        unknown = [n for n in own if not np.isfinite(demand[n])]
        uses = {n: _use(float(demand[n]), float(capacity[n])) for n in known}
        at = max(uses, key=uses.__getitem__) if uses else unknown[0]
        over = known and demand[at] > capacity[at]
        open_ = bool(unknown) and not over
        if open_:
            at = unknown[0]
        one = placed.places[at]
        index = one.index
        # The faults of a piece's metal hold at all its places; factors are those of this place.
        missing = tuple(fault for fault in faults[at] if fault)
        if open_:
            missing = (*missing, index.refused or "a stress factor")
        station = names[int(made.ends[one.element, one.end])]
        weak = weaker(shown.clause, index.source)
        source = msgspec.structs.replace(
            shown.clause,
            at=f"{shown.clause.at}; factors: {_from(index.source)}",
            standing=weak.standing,
        )
        extra = says[at] if says else ""
        yield compare(
            id=f"{shown.id}@{piece.start}/{piece.end}",
            name=f"{shown.name}, {piece_name(piece)}",
            symbol=shown.symbol,
            demand=None if open_ else float(demand[at]),
            capacity=float(capacity[at]),
            kind="stress",
            source=source,
            valid=shown.valid,
            missing=missing,
            inputs=(
                *_indices(index, shown.symbol),
                Quantity(
                    name="Section modulus",
                    symbol="Z",
                    value=float(placed.bending[0 if shown.symbol == "SE" else 1, at]),
                    kind="volume",
                ),
                *(
                    Quantity(name=name, symbol=symbol, value=or_none(values[at]), kind=kind)
                    for name, symbol, values, kind in more
                ),
            ),
            because="; ".join(missing) if missing else f"at {station}{extra}",
            cautions=(*index.cautions, *shown.cautions),
        )


def _from(source: Source) -> str:
    return " ".join(part for part in (source.document, source.edition) if part) + f", {source.at}"


def or_none(value: float) -> float | None:
    """``None`` for what is not a finite number."""
    return float(value) if np.isfinite(value) else None


def _use(demand: float, capacity: float) -> float:
    return float(demand / capacity) if np.isfinite(capacity) and capacity > 0.0 else float(demand)


def _indices(index: factors.Index, symbol: str) -> tuple[Quantity, ...]:
    if symbol == "SE":
        values = (index.inplane, index.outplane, index.torsion)
        names = (("In-plane factor", "ii"), ("Out-of-plane factor", "io"), ("Torsion factor", "it"))
    else:
        values = index.sustained
        names = (("In-plane index", "Ii"), ("Out-of-plane index", "Io"), ("Torsion index", "It"))
    return tuple(
        Quantity(name=name, symbol=sign, value=or_none(value), kind="ratio")
        for (name, sign), value in zip(names, values, strict=True)
    )


def girth(pipes: Sequence[Pipe], state: State) -> tuple[str, ...]:
    """What to keep in mind where girth welds may be weaker than the pipe."""
    hot = [
        pipe.name
        for pipe in pipes
        if state.temperatures.get(pipe.name, state.temperature) > GIRTH
        and pipe.weld_strength is None
    ]
    if not hot:
        return ()
    return (
        f"Pipe {', '.join(hot)} is above 510 °C (950 °F) in state {state.name!r}: a strength reduction W of "
        "its girth welds (302.3.5(e), the designer's to judge) is not taken; give weld_strength.",
    )


def checks(
    line: Line,
    made: Frame,
    placed: Placed,
    ranged: Array,
    steady: Array,
    cold: State,
    hot: State,
    rule: RangeRule,
) -> Iterable[Check]:
    """Sustained stress and displacement range of every piece (302.3.5(c), (d))."""
    metals = {name: section.metal for name, section in made.sections.items()}
    limits = allowed(line, metals, cold, hot)
    se = placed.range_stress(placed.acting(ranged))
    sl = placed.sustained_stress(placed.acting(steady), hot.pressure)
    names = [made.spots[one.element].pipe for one in placed.places]
    sc, sh, f, at = (
        np.array([np.nan if v is None else v for v in row], dtype=float)
        for row in zip(
            *((limits[n].cold, limits[n].hot, limits[n].f, limits[n].at) for n in names),
            strict=True,
        )
    ) if names else (np.zeros(0),) * 4  # fmt: skip
    strength = np.array([one.pipe.weld_strength or 1.0 for one in placed.places])
    plain, liberal = stress.both_ranges(sc, sh, f, sl)
    taken = liberal if rule is RangeRule.LIBERAL else plain
    temperature = ("Metal temperature", "T", at, "temperature")
    valid = "D/T up to 100"
    faults = [limits[n].faults for n in names]
    yield from worst_of(
        line, made.names, made, placed, sl, strength * sh, [(one[1],) for one in faults],
        Shown(id="sustained", name="Sustained stress", symbol="SL", clause=stress.SUSTAINED,
              valid=valid, cautions=girth(line.pipes, hot)),
        (temperature, ("Strength reduction of welds", "W", strength, "ratio")),
    )  # fmt: skip
    other = plain if rule is RangeRule.LIBERAL else liberal
    number = "1a" if rule is RangeRule.LIBERAL else "1b"
    says = [_other(e, o, number) for e, o in zip(se, other, strict=True)]
    yield from worst_of(
        line, made.names, made, placed, se, taken, faults,
        Shown(
            id="range", name="Displacement stress range", symbol="SE",
            clause=stress.LIBERAL if rule is RangeRule.LIBERAL else stress.ALLOWED_RANGE,
            valid=valid,
        ),
        (
            temperature,
            ("Stress range factor", "f", f, "ratio"),
            ("Allowable range by equation 1a", "SA", plain, "stress"),
            ("Allowable range by equation 1b", "SA", liberal, "stress"),
            ("Sustained stress", "SL", sl, "stress"),
        ),
        says,
    )  # fmt: skip


def _other(demand: float, other: float, number: str) -> str:
    if not (np.isfinite(demand) and np.isfinite(other) and other > 0.0):
        return f"; equation {number} cannot be taken" if number == "1b" else ""
    return f"; by equation {number} the use is {demand / other:.3f}"


def occasional(
    line: Line, made: Frame, placed: Placed, steady: Array, state: State
) -> Iterable[Check]:
    """Sustained and occasional stress of every piece in an occasional state (302.3.6)."""
    metals = {name: section.metal for name, section in made.sections.items()}
    demand = placed.sustained_stress(placed.acting(steady), state.pressure)
    factor, why = occasional_limit(state)
    names = [made.spots[one.element].pipe for one in placed.places]
    looked = {
        pipe.name: (
            state.temperatures.get(pipe.name, state.temperature),
            *basic_allowable(
                metals[pipe.name], state.temperatures.get(pipe.name, state.temperature)
            ),
        )
        for pipe in line.pipes
    }
    sh = np.array([np.nan if looked[n][1] is None else looked[n][1] for n in names], dtype=float)
    at = np.array([looked[n][0] for n in names])
    strength = np.array([one.pipe.weld_strength or 1.0 for one in placed.places])
    cautions = girth(line.pipes, state)
    if not any(state.acceleration):
        cautions = (*cautions, OWNER)
    if any(looked[n][0] > CREEP for n in looked):
        cautions = (
            *cautions,
            "Above 427 °C (800 °F) the allowable of an occasional load may rest on yield at temperature and "
            "on creep by time too (302.3.6(a)); only the factor on Sh is taken here.",
        )
    for check in worst_of(
        line, made.names, made, placed, demand,
        strength * sh * (np.nan if factor is None else factor),
        [tuple(part for part in (looked[n][3], why) if part) for n in names],
        Shown(id="occasional", name=f"Sustained and occasional stress, {state.name}",
              symbol="SL", clause=stress.OCCASIONAL, valid="D/T up to 100", cautions=cautions),
        (
            ("Metal temperature", "T", at, "temperature"),
            ("Factor on the allowable", "k", np.full(len(names), np.nan if factor is None
                                                     else factor), "ratio"),
        ),
    ):  # fmt: skip
        yield msgspec.structs.replace(check, id=f"{check.id}@{state.name}")


def occasional_limit(state: State) -> tuple[float | None, str]:
    """Factor on Sh of an occasional state (302.3.6), or what is missing for it.

    Wind and earthquake are occasional as such; a variation of pressure or temperature is while it
    keeps to hours of 302.2.4(f).
    """
    if any(state.acceleration):
        return 1.33, ""
    factor, lacks = variation(state)
    return (None, lacks) if factor is None else (1.33 if factor > 1.0 else 1.0, "")


def variation(state: State) -> tuple[float | None, str]:
    """Factor on the allowable for pressure in an occasional state (302.2.4(f)), or what is missing."""
    if state.role != "occasional" or any(state.acceleration):
        return 1.0, ""
    if state.hours_each is None or state.hours_year is None:
        return None, (
            f"how long state {state.name!r} lasts: give hours_each and hours_year, or an "
            "acceleration for wind or earthquake"
        )
    return codes.occasional_factor(state.hours_each, state.hours_year), ""
