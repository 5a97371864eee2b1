"""Readings of a line weighed: what is impossible left out, what stands out asked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import msgspec

from takeup.desk.diagnosis_evidence import Gathered, LeftOut, Used
from takeup.desk.diagnosis_words import Sides, plain, words
from takeup.errors import Cancelled, TakeupError
from takeup.line.diagnosis import Diagnosis, Explanation, Kind, Reading
from takeup.progress import Progress, silent
from takeup.units import System, shown

if TYPE_CHECKING:
    from takeup.line.diagnosis import Model, Options
    from takeup.line.model import Line

TIMES = 10.0
"""A movement so many times what theory has, or the growth of the whole line, is asked about."""
SMALL = 5e-3
"""Least movement that theory is taken to have there, for that [m, rad]."""
LEAST = 1e-3
"""Size below which a sign is not asked about [m, rad]."""
STANDS = (
    "Nothing stands before somebody looks: the order rests on stated chances of each fault, on "
    "the uncertainty of the readings and on the line as drawn. No work and no release on it alone."
)
NONE_FITS = 0.01
"""Chance of a misfit below which the leading explanation is not believed either."""


class Diagnosed(msgspec.Struct, frozen=True, kw_only=True):
    """What the readings of a line say, or why nothing can be said."""

    line: str
    used: tuple[Used, ...] = ()
    """In the order of ``diagnosis.readings``"""
    left_out: tuple[LeftOut, ...] = ()
    asked: tuple[str, ...] = ()
    """Readings that stand out: is the unit, the sign, the mark the right one?"""
    diagnosis: Diagnosis | None = None
    sides: Sides | None = None
    cautions: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    """Why the line cannot be diagnosed"""
    inputs_hash: str = ""

    @property
    def fits(self) -> bool:
        """Whether the best explanation leaves a misfit that chance can make."""
        return self.diagnosis is not None and self.diagnosis.chance >= NONE_FITS

    def words(self, reading: Reading) -> str:
        """A reading as one would say it on site."""
        return words(reading, self.sides) if self.sides is not None else reading.words

    def plain(self, explanation: Explanation) -> str:
        """An explanation in trade words."""
        return plain(explanation, self.sides)


class Inputs(msgspec.Struct, frozen=True, kw_only=True):
    """A line with its readings, ready to be weighed."""

    line: Line | None
    sides: Sides | None = None
    gathered: Gathered = Gathered(used=(), left_out=(), cautions=())
    faults: tuple[str, ...] = ()
    inputs_hash: str = ""
    system: System = System.METRIC


def strain(line: Line) -> float:
    """What the line's metal grows by from its cold to its hot state, the most of its pipes."""
    from takeup import materials

    states = {state.role: state for state in reversed(line.states) if state.role}
    if not {"cold", "hot"} <= states.keys():
        return 0.0

    def at(name: str, metal: str, role: str) -> float:
        state = states[role]
        temperature = state.temperatures.get(name, state.temperature)
        return float(materials.expansion_total(metal, temperature).value)

    return max(
        (at(p.name, p.metal, "hot") - at(p.name, p.metal, "cold") for p in line.pipes),
        key=abs,
        default=0.0,
    )


def weigh(
    tag: str, given: Inputs, progress: Progress = silent, *, options: Options | None = None
) -> Diagnosed:
    """Weigh readings already gathered."""
    base = Diagnosed(
        line=tag,
        left_out=given.gathered.left_out,
        sides=given.sides,
        cautions=given.gathered.cautions,
        faults=given.faults,
        inputs_hash=given.inputs_hash,
    )
    if given.line is None or given.faults:
        return base
    if not given.gathered.used:
        return msgspec.structs.replace(
            base,
            faults=("no reading of this line can be weighed yet; give marks of a joint hot and "
                    "cold, or readings of springs, guides and loads",),
        )  # fmt: skip
    from takeup.line.diagnosis import Options, candidates, model
    from takeup.line.diagnosis.judge import check, judge

    wanted = tuple(one.reading for one in given.gathered.used)
    try:
        check(wanted)
        known = {one.key for one in wanted}
        every = (*wanted, *(one for one in candidates(given.line) if one.key not in known))
        progress(0.1, "working out the sound line at other temperatures and frictions")
        made = model(given.line, every)
        used, left, asked = _looked_at(given, made)
        made = _only(made, used)
        if not used:
            return msgspec.structs.replace(
                base, left_out=(*base.left_out, *left), asked=asked,
                faults=("every reading stands out as impossible; check units and signs",),
            )  # fmt: skip
        progress(0.3, "weighing single faults and pairs")
        found = judge(made, options or Options())
    except TakeupError as fault:
        if isinstance(fault, Cancelled):
            raise
        return msgspec.structs.replace(base, faults=(str(fault),))
    progress(1.0, "weighed")
    cautions = (STANDS, *base.cautions, *found.cautions)
    return msgspec.structs.replace(
        base,
        used=used,
        left_out=(*base.left_out, *left),
        asked=asked,
        diagnosis=found,
        cautions=tuple(dict.fromkeys(cautions)),
    )


def _only(made: Model, used: Sequence[Used]) -> Model:
    """The model with the values of the readings that are used, the others not taken."""
    values = {one.reading.key: one.reading for one in used}
    readings = tuple(
        values.get(one.key, msgspec.structs.replace(one, value=None)) for one in made.readings
    )
    return msgspec.structs.replace(made, readings=readings)


def _looked_at(
    given: Inputs, made: Model
) -> tuple[tuple[Used, ...], tuple[LeftOut, ...], tuple[str, ...]]:
    """Readings that heat can make; what is impossible, and what is asked."""
    assert given.line is not None
    theory = dict(zip((one.key for one in made.readings), made.sound[0].values, strict=True))
    growth = abs(strain(given.line)) * length(given.line)
    used: list[Used] = []
    left: list[LeftOut] = []
    asked: list[str] = []
    for one in given.gathered.used:
        sound = float(theory[one.reading.key])
        what = f"{one.words} ({one.origin})"
        wrong = _impossible(one.reading, sound, growth, given.system)
        if wrong:
            left.append(LeftOut(what=what, why=wrong))
            asked.append(f"{what}: {wrong}")
            continue
        odd = "" if one.drawn else _odd(one.reading, sound, given.system)
        if odd:
            asked.append(f"{what}: {odd}")
        used.append(_against_record(one, sound) if one.drawn else one)
    return tuple(used), tuple(left), tuple(asked)


def quantity(reading: Reading) -> str:
    """Quantity kind of a reading's value."""
    if reading.kind == Kind.LOAD:
        return "force"
    return "angle" if reading.part.startswith("angular") else "movement"


def _impossible(reading: Reading, sound: float, growth: float, system: System) -> str:
    """Why a reading cannot be what heat and weight make; empty where it can."""
    kind, value = quantity(reading), reading.value or 0.0
    size = shown(value, kind, system)
    if kind == "force" and value > TIMES * max(sound, 1e3):
        return (
            f"{size} is more than ten times the {shown(sound, kind, system)} that a sound line "
            "puts there: is the unit right? Not weighed"
        )
    if kind == "angle" and abs(value) > 0.5:
        return f"{size} is no angle that a joint can turn: is the unit right? Not weighed"
    if kind == "movement" and abs(value) > growth + 0.1:
        return (
            f"{size} is more than heat can make the whole line grow "
            f"({shown(growth, kind, system)}): is the unit right, and the mark the same one? Not "
            "weighed"
        )
    return ""


def _odd(reading: Reading, sound: float, system: System) -> str:
    """What is asked about a reading that is possible all the same."""
    if reading.kind not in {Kind.JOINT, Kind.INDICATOR}:
        return ""
    kind, value, error = quantity(reading), reading.value or 0.0, reading.error or 0.0
    size, theory = shown(value, kind, system), shown(sound, kind, system)
    if abs(value) > TIMES * max(abs(sound), SMALL):
        return f"{size} is more than ten times the {theory} of theory. Weighed; is the unit right?"
    mirrored = abs(value + sound) < max(0.15 * abs(sound), 3.0 * error)
    if mirrored and abs(value - sound) > 6.0 * error and min(abs(value), abs(sound)) > LEAST:
        return (
            f"{size} has the size of theory ({theory}) and the other sign. Weighed; is it hot "
            "minus cold, and is + longer (or up, or open there)?"
        )
    return ""


def _against_record(one: Used, sound: float) -> Used:
    reading = msgspec.structs.replace(one.reading, value=(one.reading.value or 0.0) - sound)
    return msgspec.structs.replace(one, reading=reading)


def length(line: Line) -> float:
    """Length of the pieces end to end [m]."""
    place = {station.name: station.position for station in line.stations}
    return sum(math.dist(place[piece.start], place[piece.end]) for piece in line.pieces)
