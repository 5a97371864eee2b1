"""Lines: their models as text, kept with the register, and what they say when worked out.

A model that cannot be worked out stays kept, with what is wrong in it.  Joints that a model
names without data are filled from the register; what the register does not tell is asked for
and never taken as something.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

import msgspec

from takeup.desk.line_joints import joints
from takeup.errors import Refused, TakeupError, UnknownName
from takeup.line.telling import Tell, named_in, si_words
from takeup.register.entities import Joint, LineModel
from takeup.register.entities import Line as RegisterLine
from takeup.units import shown

if TYPE_CHECKING:
    from takeup.desk.site import Site
    from takeup.line.model import Book, Line, RangeRule
    from takeup.line.report import LineReport
    from takeup.line.solve import Prepared, StateResult
    from takeup.line.text import JointData


class Kept(msgspec.Struct, frozen=True, kw_only=True):
    """A model after it was kept."""

    model: LineModel
    faults: tuple[str, ...]
    """What stands in the way of working it out, each with its line of the text"""


class Solved(msgspec.Struct, frozen=True, kw_only=True):
    """A line worked out, or why not."""

    line: Line | None
    report: LineReport | None
    results: tuple[StateResult, ...] = ()
    """Every state as solved, in the order of the report"""
    faults: tuple[str, ...]
    fault_lines: tuple[int, ...] = ()
    """Line of the text of each fault; 0: of the text or line as a whole"""
    asked: tuple[str, ...]
    """What the register does not tell of joints on this line"""
    ready: Prepared | None = None
    """The line as factorised, to ask more of"""


class Compared(msgspec.Struct, frozen=True, kw_only=True):
    """A joint's movement from cold to hot by one way of knowing it; ``None`` is unknown."""

    joint: str
    by: str
    """By theory, or where the register has it from"""
    axial: float | None
    """+ extension [m]"""
    lateral: float | None
    """Resultant [m]"""
    angular: float | None
    """Resultant [rad]"""
    uncertainty: float | None = None
    """Of the axial movement, 95 % [m]"""
    differs: bool = False
    """Whether marks lie off the theory by more than their own uncertainty"""


def compared(site: Site, report: LineReport) -> tuple[Compared, ...]:
    """Theory of every joint of the register on a line, beside what is expected and measured.

    Theory is cold to hot between the ends of the joint; marks are hot minus cold, of the joint
    or of one bellows.
    """
    from takeup.assess.verdict import evaluate
    from takeup.desk.cases import cases
    from takeup.register.entities import MovementCase, MovementRole

    register = site.register()
    rows: list[Compared] = []
    for move in report.ranges:
        if move.number is not None:
            continue
        rows.append(
            Compared(
                joint=move.tag,
                by="theory, cold to hot",
                axial=move.axial,
                lateral=math.hypot(*move.lateral),
                angular=math.hypot(*move.angular),
            )
        )
        joint = register.find(Joint, move.tag)
        if joint is None:
            continue
        rows += [
            Compared(
                joint=joint.tag,
                by=f"{one.role.value}, {one.name}",
                axial=one.axial,
                lateral=one.lateral,
                angular=one.angular,
            )
            for one in register.of_joint(MovementCase, joint.tag)
            if one.role in {MovementRole.EXPECTED, MovementRole.RATED}
        ]
        (evaluation,) = evaluate(cases(site, tags=[joint.tag], theory=False))
        rows += [
            Compared(
                joint=joint.tag,
                by=f"marks{'' if one.bellows == '-' else f' of bellows {one.bellows}'}, "
                f"{one.hot_visit} against {one.cold_visit}",
                axial=one.axial,
                lateral=one.lateral,
                angular=one.angular,
                uncertainty=one.uncertainty,
                differs=one.uncertainty is not None
                and abs(one.axial - move.axial) > one.uncertainty,
            )
            for one in evaluation.movements
            if one.axial is not None
        ]
    return tuple(rows)


def model(site: Site, tag: str) -> LineModel | None:
    """The model of line ``tag`` as kept; ``None`` where there is none.

    Raises :class:`takeup.errors.UnknownName` for a line that is not in the register.
    """
    register = site.register()
    return register.find(LineModel, register.get(RegisterLine, tag).tag)


def keep(
    site: Site, tag: str, text: str, author: str, reason: str, *, note: str = ""
) -> Kept:  # fmt: skip
    """Keep ``text`` as the model of line ``tag``, whether or not it can be worked out.

    Raises :class:`takeup.errors.Refused` for an empty text or no author.
    """
    if not text.strip():
        raise Refused("the text of the model is empty; nothing was kept")
    if not author.strip():
        raise Refused("say who keeps the model; nothing was kept")
    line = site.register().get(RegisterLine, tag)
    made = LineModel(line=line.tag, text=text.replace("\r\n", "\n"), note=note)
    with site.change(author, reason or "model of the line kept") as change:
        change.put_many([made])
    return Kept(model=made, faults=solved(site, line.tag).faults)


def solved(
    site: Site, tag: str, *, factors: Book | None = None, range_rule: RangeRule | None = None
) -> Solved:  # fmt: skip
    """Work out the model of line ``tag`` with the joints of the register.

    ``factors`` and ``range_rule`` stand before those of the text.
    Faults of the text or of the line are told in the result.  Raises
    :class:`takeup.errors.UnknownName` where the line has no model.
    """
    kept = model(site, tag)
    if kept is None:
        raise UnknownName("model of line", tag, [m.line for m in site.register().all(LineModel)])
    known, asked = joints(site, kept.line)
    found = work_out(
        kept.text, known, asked, factors=factors, range_rule=range_rule, tell=_reader(site)
    )  # fmt: skip
    return _of(kept.line, found)


def _reader(site: Site) -> Tell:
    """Numbers in the units that the site prefers to read."""
    system = site.system

    def tell(value: float, kind: str) -> str:
        return shown(value, kind, system)

    return tell


def looked_at(
    site: Site,
    tag: str,
    text: str,
    *,
    factors: Book | None = None,
    range_rule: RangeRule | None = None,
) -> Solved:
    """What ``text`` would say as the model of line ``tag``; nothing is kept."""
    name = site.register().get(RegisterLine, tag).tag
    known, asked = joints(site, name)
    found = work_out(
        text, known, asked, factors=factors, range_rule=range_rule, tell=_reader(site)
    )  # fmt: skip
    return _of(name, found)


def _of(tag: str, found: Solved) -> Solved:
    """With a caution where the text is headed by another line than it is kept for."""
    if found.line is None or found.report is None:
        return found
    if found.line.tag.strip().casefold() == tag.casefold():
        return found
    caution = (
        f"The text is headed line {found.line.tag!r} and is kept for {tag}: see that it is not "
        "the model of another line."
    )
    report = msgspec.structs.replace(found.report, cautions=(caution, *found.report.cautions))
    return msgspec.structs.replace(found, report=report)


def work_out(
    text: str,
    known: Mapping[str, JointData],
    asked: tuple[str, ...] = (),
    *,
    factors: Book | None = None,
    range_rule: RangeRule | None = None,
    tell: Tell = si_words,
) -> Solved:
    """Read and solve ``text``; what is wrong with it is told, not raised.

    ``factors`` and ``range_rule`` stand before those of the text; ``tell`` says numbers in
    findings in the reader's units.
    """
    from takeup.line.report import report
    from takeup.line.solve import prepare, solve
    from takeup.line.text import examine

    read = examine(text, joints=known)
    if read.line is None:
        faults = tuple(fault.words() for fault in read.faults)
        lines = tuple(fault.line for fault in read.faults)
        return Solved(line=None, report=None, faults=faults, fault_lines=lines, asked=asked)
    try:
        ready = prepare(read.line)
        results = solve(ready)
        found = report(
            ready, results, factors=factors, range_rule=range_rule, elsewhere=known, tell=tell
        )
    except TakeupError as fault:
        at = named_in(str(fault), read.line)
        words = f"line {at}: {fault}" if at else str(fault)
        return Solved(
            line=read.line, report=None, faults=(words,), fault_lines=(at,), asked=asked
        )  # fmt: skip
    return Solved(
        line=read.line, report=found, results=results, faults=(), asked=asked, ready=ready
    )  # fmt: skip
