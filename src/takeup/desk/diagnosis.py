"""From what is on record about a line to what may be wrong with it, kept, and told in short.

The register's marks and line readings become readings; what cannot be used is listed with why.
What stands out (a size or a sign that heat cannot make) is asked, not believed.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import msgspec

from takeup import __version__
from takeup.desk import lines, record
from takeup.desk.diagnosis_evidence import Gathered, LeftOut, Used, campaigns, gather
from takeup.desk.diagnosis_placed import Unfit, placed, value_of
from takeup.desk.diagnosis_words import Sides, how, look, places, plain, sides, words
from takeup.desk.line_joints import joints
from takeup.desk.results import pack, unpack
from takeup.errors import Cancelled, Refused, TakeupError
from takeup.line.diagnosis import Diagnosis, Explanation, Fault, Group, Hint, Kind, Reading
from takeup.progress import Progress, silent
from takeup.units import System, shown

if TYPE_CHECKING:
    from takeup.desk.diagnosis_file import ReadingsFile
    from takeup.desk.site import Site
    from takeup.evidence.facts import LineReading, Visit
    from takeup.line.diagnosis import Model, Options
    from takeup.line.model import Line

KIND = "line_diagnosis"
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


class Summary(msgspec.Struct, frozen=True, kw_only=True):
    """A diagnosis in short, for verdicts and documents."""

    line: str
    leading: str
    """The leading group in trade words: its likeliest explanation first"""
    members: tuple[str, ...]
    """Every explanation of that group; they cannot be told apart"""
    probability: float
    """Of the group [-]"""
    places: tuple[str, ...]
    """Supports and joints that its likeliest explanation blames"""
    shared: tuple[str, ...]
    """Faults that every explanation of the group has, in words"""
    sound_leads: bool
    """Whether *everything sound* is among the leading group"""
    fits: bool
    """Whether the best explanation fits the readings at all"""
    next_reading: str
    """The reading that would tell most; empty where none would"""
    readings: int
    left_out: int
    asked: int
    cautions: tuple[str, ...]


class Inputs(msgspec.Struct, frozen=True, kw_only=True):
    """A line with its readings, ready to be weighed."""

    line: Line | None
    sides: Sides | None = None
    gathered: Gathered = Gathered(used=(), left_out=(), cautions=())
    faults: tuple[str, ...] = ()
    inputs_hash: str = ""
    system: System = System.METRIC


def inputs(
    site: Site,
    tag: str,
    *,
    extra: ReadingsFile | None = None,
    file: str = "",
) -> Inputs:
    """The model of line ``tag`` and the readings on record, with those of a file before them.

    Raises :class:`takeup.errors.UnknownName` for a line that is not in the register and what
    :func:`takeup.desk.diagnosis_file.used` raises.
    """
    from takeup.line.text import examine

    kept = lines.model(site, tag)
    if kept is None:
        return Inputs(
            line=None,
            faults=(
                f"line {tag} has no model yet; write one on its page or keep one with "
                "'takeup keep-line', then its readings can be weighed",
            ),
        )
    known, asked = joints(site, kept.line)
    read = examine(kept.text, joints=known)
    if read.line is None:
        return Inputs(line=None, faults=(*(one.words() for one in read.faults), *asked))
    try:
        found = sides(read.line)
        grown = strain(read.line)
    except TakeupError as fault:
        return Inputs(line=read.line, faults=(str(fault),))
    gathered = gather(site.register(), read.line, found, kept.line, grown)
    return _with(read.line, found, gathered, extra, file, site.system)


def inputs_of(line: Line, extra: ReadingsFile, file: str, system: System = System.METRIC) -> Inputs:
    """A line by itself, with the readings of a file."""
    nothing = Gathered(used=(), left_out=(), cautions=())
    return _with(line, sides(line), nothing, extra, file, system)


def _with(
    line: Line,
    found: Sides,
    gathered: Gathered,
    extra: ReadingsFile | None,
    file: str,
    system: System,
) -> Inputs:
    if extra is not None:
        from takeup.desk.diagnosis_file import used

        more = used(extra, line, found, file)
        keys = {one.reading.key for one in more}
        replaced = [one for one in gathered.used if one.reading.key in keys]
        left = [
            *gathered.left_out,
            *(LeftOut(what=f"{one.words} ({one.origin})", why=f"{file} gives it anew")
              for one in replaced),
        ]  # fmt: skip
        rest = [one for one in gathered.used if one.reading.key not in keys]
        gathered = campaigns([*more, *rest], left)
    body = msgspec.json.encode((line, gathered, __version__))
    return Inputs(
        line=line,
        sides=found,
        gathered=gathered,
        inputs_hash=hashlib.sha256(body).hexdigest(),
        system=system,
    )


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


def diagnose(
    site: Site,
    tag: str,
    *,
    extra: ReadingsFile | None = None,
    file: str = "the file",
    progress: Progress = silent,
) -> Diagnosed:
    """Weigh what is on record of line ``tag``, with the readings of a file before it.

    What stands in the way is told in ``faults``.  Raises as :func:`inputs`, and
    :class:`takeup.errors.Cancelled` where ``progress`` says so.
    """
    progress(0.0, "gathering readings")
    return weigh(tag, inputs(site, tag, extra=extra, file=file), progress)


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
    growth = abs(strain(given.line)) * _length(given.line)
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


def _length(line: Line) -> float:
    """Length of the pieces end to end [m]."""
    place = {station.name: station.position for station in line.stations}
    return sum(math.dist(place[piece.start], place[piece.end]) for piece in line.pieces)


# -- further readings ------------------------------------------------------------------------


def add(
    site: Site,
    tag: str,
    readings: Sequence[LineReading],
    author: str,
    reason: str,
    *,
    visits: Sequence[Visit] = (),
    sure: bool = False,
) -> int:
    """Keep readings of a line, with visits that are new, as one change.

    Raises :class:`takeup.errors.Refused` for a place, side or size that the line's model cannot
    have (a size only unless ``sure``), and what :func:`takeup.desk.record.facts` raises.
    """
    now = inputs(site, tag)
    if now.line is None or now.sides is None:
        raise Refused(f"no reading can be placed on the line: {'; '.join(now.faults)}")
    most = abs(strain(now.line)) * _length(now.line) + 0.1
    try:
        moved = [placed(now.line, now.sides, one) for one in readings]
        values = [value_of(one) for one in readings]
    except Unfit as fault:
        raise Refused(f"{fault}") from fault
    lengths = [
        value for at, one, value in zip(moved, readings, values, strict=True)
        if at.kind != Kind.LOAD and one.angle is None and at.kind != Kind.INDICATOR
    ]  # fmt: skip
    pointers = [v for at, v in zip(moved, values, strict=True) if at.kind == Kind.INDICATOR]
    if len(pointers) == 2:
        lengths.append(pointers[0] - pointers[1])
    worst = max(lengths, key=abs, default=0.0)
    if abs(worst) > most and not sure:
        raise Refused(
            f"{shown(worst, 'movement', site.system)} is more than heat can make the whole line "
            f"grow ({shown(most - 0.1, 'movement', site.system)}): is the unit right? Say that you "
            "are sure to keep it all the same"
        )
    return record.facts(site, [*visits, *readings], author, reason)


# -- kept ------------------------------------------------------------------------------------


def run(site: Site, tag: str, *, progress: Progress = silent) -> Diagnosed:
    """Weigh what is on record of a line and keep the result."""
    found = diagnose(site, tag, progress=progress)
    if found.diagnosis is not None:
        site.store.put_result(
            KIND, found.line, found.inputs_hash, __version__, site.now(), pack(found)
        )
    return found


class Kept(msgspec.Struct, frozen=True, kw_only=True):
    """A kept diagnosis and what there is to weigh now."""

    found: Diagnosed | None
    """The kept one; ``None`` where nothing was weighed yet"""
    fresh: bool
    """Whether it rests on what is on record now"""
    now: Inputs


def latest(site: Site, tag: str) -> Kept:
    """The newest kept diagnosis of a line; raises as :func:`inputs`."""
    now = inputs(site, tag)
    stored = site.store.result(KIND, tag)
    found = unpack(stored.body, Diagnosed) if stored is not None else None
    fresh = stored is not None and found is not None and stored.inputs_hash == now.inputs_hash
    return Kept(found=found, fresh=fresh, now=now)


def current(site: Site, tag: str, *, progress: Progress = silent) -> Diagnosed:
    """The kept diagnosis where it rests on what is on record now, else a new one, kept."""
    kept = latest(site, tag)
    if kept.fresh and kept.found is not None:
        return kept.found
    found = weigh(kept.now.line.tag if kept.now.line else tag, kept.now, progress)
    if found.diagnosis is not None:
        site.store.put_result(KIND, tag, found.inputs_hash, __version__, site.now(), pack(found))
    return found


# -- in short --------------------------------------------------------------------------------


def sound_group(found: Diagnosed) -> Group | None:
    """The group that holds *everything sound*, where it is listed."""
    return found.diagnosis.group_of() if found.diagnosis is not None else None


def summary(found: Diagnosed) -> Summary | None:
    """A diagnosis in short; ``None`` where nothing was weighed. Pure."""
    result = found.diagnosis
    if result is None or not result.groups:
        return None
    first = result.groups[0]
    hint = result.next or (first.split[0] if first.split else None)
    members = tuple(found.plain(one) for one in first.explanations)
    more = len(members) - 1
    leading = members[0]
    if more:
        leading += f", or one of {more} other{'s' if more > 1 else ''} that look the same"
    if not found.fits:
        leading = f"nothing fits the readings; nearest is: {leading}"
    return Summary(
        line=found.line,
        leading=leading,
        members=members,
        probability=first.posterior,
        places=places(first.explanations[0]),
        shared=tuple(fault.name for fault in shared(first)),
        sound_leads=any(not one.faults for one in first.explanations),
        fits=found.fits,
        next_reading=found.words(hint.reading) if hint is not None else "",
        readings=len(found.used),
        left_out=len(found.left_out),
        asked=len(found.asked),
        cautions=found.cautions,
    )


def next_words(found: Diagnosed, hint: Hint | None) -> tuple[str, str]:
    """A reading to take next, and how; empty where there is none."""
    return (found.words(hint.reading), how(hint.reading)) if hint is not None else ("", "")


def looks(found: Diagnosed, explanation: Explanation) -> tuple[tuple[str, str], ...]:
    """What to look at on site for each fault of an explanation, and what to look for."""
    return tuple(
        (fault.place, seen) for fault in explanation.faults if (seen := look(fault, found.sides))
    )


def shared(group: Group) -> tuple[Fault, ...]:
    """Faults that every explanation of a group has: what stays when they cannot be told apart."""
    first, *rest = group.explanations
    return tuple(fault for fault in first.faults if all(fault in one.faults for one in rest))


def by_place(found: Diagnosed) -> tuple[tuple[str, float], ...]:
    """How likely something is wrong at each place, at least, over all explanations listed."""
    shares: dict[str, float] = {}
    for group in found.diagnosis.groups if found.diagnosis is not None else ():
        for one in group.explanations:
            for place in {fault.place for fault in one.faults}:
                shares[place] = shares.get(place, 0.0) + one.posterior
    return tuple(sorted(shares.items(), key=lambda pair: -pair[1]))
