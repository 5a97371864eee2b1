"""What models of lines say of the joints on them, worked out once and kept while nothing changes.

Each line is solved, every joint on it is locked in turn and, where a mark is off the sound line,
the line is diagnosed.  What was worked out is kept by a hash of the text, of the facts of its
joints and of the readings, so that an unchanged line is not solved again.
"""

from __future__ import annotations

import hashlib
import math
import threading
from collections import OrderedDict
from collections.abc import Sequence
from typing import TYPE_CHECKING

import msgspec

from takeup import __version__
from takeup.errors import TakeupError
from takeup.units import shown

if TYPE_CHECKING:
    from takeup.assess.model import JointCase
    from takeup.assess.theory import JointTheory, Load, Locked, Move, Pull, Theory
    from takeup.desk.site import Site
    from takeup.line.model import Joint, Line
    from takeup.line.report import LineReport
    from takeup.line.solve import JointMovement, Prepared, StateResult
    from takeup.line.telling import Tell
    from takeup.register.entities import LineModel

KEEP = 256
"""Lines kept; the one used longest ago goes first."""
NOISE = 1e-9
"""Movements below this are rounding [m, rad]."""


NUMBERS = (ArithmeticError, ValueError)
"""What arithmetic may raise on a line that no engine foresaw: one line must not stop a site."""


def _broke(fault: Exception) -> str:
    return f"its numbers break down ({type(fault).__name__}: {fault}); look for sizes off by powers"


class Worked(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """A line worked out for its joints, with what a drawing of it needs."""

    theory: Theory
    line: Line | None = None
    state: StateResult | None = None
    """The hot state; ``None`` where nothing is solved"""


class Theories:
    """Lines already worked out, by the hash of what they rest on. One for each open site."""

    def __init__(self, keep: int = KEEP) -> None:
        self.keep, self.solved = keep, 0
        self._known: OrderedDict[str, Worked] = OrderedDict()
        self._lock = threading.Lock()  # pages of one site are made in several threads

    def get(self, key: str) -> Worked | None:
        """What is kept under ``key``."""
        with self._lock:
            found = self._known.get(key)
            if found is not None:
                self._known.move_to_end(key)
            return found

    def put(self, key: str, made: Worked) -> Worked:
        """Keep ``made``; ``solved`` counts how often anything was worked out."""
        with self._lock:
            self.solved += 1
            self._known[key] = made
            while len(self._known) > self.keep:
                self._known.popitem(last=False)
        return made


def worked(site: Site, tag: str, cases: Sequence[JointCase]) -> Worked | None:
    """The model of line ``tag`` worked out; ``None`` where the line has no model.

    ``cases`` are those of all joints on the line, for their marks.  Faults are told in the
    theory, not raised.
    """
    from takeup.register.entities import LineModel

    kept = site.register().find(LineModel, tag)
    if kept is None:
        return None
    key = _key(site, kept, cases)
    known = site.theories.get(key)
    if known is not None:
        return known
    return site.theories.put(key, _work(site, kept, key, cases))


def _key(site: Site, kept: LineModel, cases: Sequence[JointCase]) -> str:
    """Hash over everything that the theory of a line is made from."""
    from takeup.evidence.facts import LineReading, Visit
    from takeup.register.entities import Joint, Support

    register = site.register()
    digest = hashlib.sha256(f"{__version__}\x00{kept.line}\x00{kept.text}".encode())
    digest.update(site.system.value.encode())  # numbers in sentences are in the reader's units
    digest.update(str(_revision(site, kept)).encode())
    for joint in register.of_line(Joint, kept.line):
        own = next((case for case in cases if case.joint.tag == joint.tag), None)
        digest.update(msgspec.json.encode(joint))
        if own is not None:
            digest.update(
                msgspec.json.encode(
                    (own.line, own.bellows, own.hardware, own.marks, own.visits, own.events,
                     own.today)
                )
            )  # fmt: skip
            for _, _, daily in own.temperatures:  # the metal temperature of a bellows in its rate
                digest.update(daily.median.tobytes())
    read = register.of_line(LineReading, kept.line)
    at = {one.visit.casefold() for one in read}
    seen_at = [one for one in register.all(Visit) if one.id.casefold() in at]
    digest.update(msgspec.json.encode((register.of_line(Support, kept.line), read, seen_at)))
    if cases:
        digest.update(
            msgspec.json.encode(
                {k: v.value for k, v in cases[0].limits.items() if k.startswith("movement.")}
            )
        )
    return digest.hexdigest()


def _revision(site: Site, kept: LineModel) -> int:
    from takeup.register.entities import LineModel

    return max((one.number for one in site.store.history(LineModel.KIND, kept.line)), default=0)


def _work(site: Site, kept: LineModel, key: str, cases: Sequence[JointCase]) -> Worked:
    from takeup.assess.theory import Theory
    from takeup.desk import lines
    from takeup.desk.theory_diagnosis import diagnosed

    head = Theory(line=kept.line, key=key, revision=_revision(site, kept))
    try:
        solved = lines.solved(site, kept.line)
    except NUMBERS as fault:
        return Worked(theory=msgspec.structs.replace(head, faults=(_broke(fault),)))
    head = msgspec.structs.replace(head, asked=solved.asked)
    line, ready, results, found = solved.line, solved.ready, solved.results, solved.report
    if line is None or ready is None or found is None:
        faults = solved.faults or ("its text gives no line",)
        return Worked(theory=msgspec.structs.replace(head, faults=faults), line=line)
    if found.between is None:
        fault_ = "no state has the role cold, or none the role hot: movement is hot minus cold"
        return Worked(theory=msgspec.structs.replace(head, faults=(fault_,)), line=line)
    by_name = {one.state: one for one in results}
    cold, hot = (by_name[name] for name in found.between)
    bad = [one.state for one in (cold, hot) if not one.certificate.good]
    if bad:
        fault_ = f"state {' and '.join(bad)} is not in balance well enough to be used"
        return Worked(theory=msgspec.structs.replace(head, faults=(fault_,)), line=line, state=hot)
    state = next(one for one in line.states if one.name == hot.state)
    theory = msgspec.structs.replace(
        head,
        cold=cold.state,
        hot=hot.state,
        pressure=state.pressure,
        temperature=state.temperature,
        joints=_joints(site, ready, results, found, cold, hot),
        loads=_loads(line, found),
        checks=found.checks,
        residual=max(one.certificate.residual for one in (cold, hot)),
        balance=max(one.certificate.balance for one in (cold, hot)),
        cautions=tuple(
            dict.fromkeys((*(c for one in found.states for c in one.cautions), *found.cautions))
        ),
        notes=found.notes,
    )
    try:
        told, why = diagnosed(site, line, theory, cases[0].limits)
    except NUMBERS as fault:
        told, why = None, f"diagnosis was not possible: {_broke(fault)}"
    return Worked(
        theory=msgspec.structs.replace(theory, diagnosis=told, undiagnosed=why),
        line=line,
        state=hot,
    )


def _joints(
    site: Site,
    ready: Prepared,
    results: Sequence[StateResult],
    found: LineReport,
    cold: StateResult,
    hot: StateResult,
) -> tuple[JointTheory, ...]:
    from takeup.assess.theory import WHOLE, JointTheory
    from takeup.line.model import Joint
    from takeup.line.results import between

    system = site.system

    def tell(value: float, kind: str) -> str:
        return shown(value, kind, system)

    made = []
    again = _for_locking(ready, cold, hot)
    for piece in ready.line.pieces:
        if not isinstance(piece, Joint):
            continue
        letters = [one.letter for one in site.register().bellows(piece.tag)]
        names: list[tuple[int | None, str]] = [(None, WHOLE)]
        if len(letters) == len(piece.bellows):
            names += list(enumerate(letters))
        moves = tuple(
            _move(between(cold, result, piece.tag, number), result.state, letter)
            for result in results
            if result.certificate.good and result is not cold
            for number, letter in names
        )
        locked, fault = _locked(again, piece.tag, hot, tell)
        made.append(
            JointTheory(
                tag=piece.tag,
                moves=moves,
                pulls=_pulls(found, piece),
                locked=locked,
                lock_fault=fault,
            )
        )
    return tuple(made)


def _move(moved: JointMovement, state: str, letter: str) -> Move:
    from takeup.assess.theory import Move

    def still(value: float) -> float:
        return float(value) if abs(value) >= NOISE else 0.0

    return Move(
        state=state,
        bellows=letter,
        axial=still(moved.axial),
        lateral=(still(moved.lateral[0]), still(moved.lateral[1])),
        angular=(still(moved.angular[0]), still(moved.angular[1])),
        torsion=still(moved.torsion),
    )


def _pulls(found: LineReport, piece: Joint) -> tuple[Pull, ...]:
    from takeup.assess.theory import Pull

    made = []
    for state in found.states:
        made += [
            Pull(
                part=rods.name,
                state=state.state,
                force=rods.total,
                most=max(rods.tension, key=abs, default=0.0),
            )
            for rods in state.rods
            if rods.tag == piece.tag
        ]
        made += [
            Pull(
                part=f"pins of bellows {pins.number + 1}",
                state=state.state,
                force=pins.axial,
                across=pins.shear,
                thrust=state.pressure
                * math.pi
                / 4.0
                * piece.bellows[pins.number].mean_diameter ** 2,
            )
            for pins in state.pins
            if pins.tag == piece.tag
        ]
    return tuple(made)


class _Again(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """The line with the next cool-down and heat-up, solved."""

    ready: Prepared
    before: tuple[StateResult, ...]


def _for_locking(ready: Prepared, cold: StateResult, hot: StateResult) -> _Again | str:
    from takeup.line.solve import prepare, solve
    from takeup.line.what_if import with_next_cycle

    try:
        made = prepare(with_next_cycle(ready.line, cold.state, hot.state))
        return _Again(ready=made, before=solve(made))
    except TakeupError as fault:
        return str(fault)
    except NUMBERS as fault:
        return _broke(fault)


def _locked(
    again: _Again | str, tag: str, hot: StateResult, tell: Tell
) -> tuple[Locked | None, str]:
    """The joint held where it stands hot, through the next cool-down and heat-up."""
    from takeup.assess.theory import Locked
    from takeup.line.what_if import Lock, what_if
    from takeup.line.what_if_told import first_to_give

    if isinstance(again, str):
        return None, again
    try:
        found = what_if(
            again.ready, [Lock(joint=tag, state=hot.state)], before=again.before, tell=tell
        )
    except TakeupError as fault:
        return None, str(fault)
    except NUMBERS as fault:
        return None, _broke(fault)
    if not all(one.certificate.good for one in found.after):
        return None, "the locked line is not in balance well enough to be used"
    first = first_to_give(found.ready, found.after)
    return (
        Locked(
            state=hot.state,
            part=first.use.name if first is not None else "",
            share=first.use.share if first is not None else None,
            when=first.state if first is not None else "",
            unstated=tuple(
                one.name
                for one in found.ready.line.supports
                if hasattr(one, "allowed") and one.allowed is None
            ),
            words=found.words,
            cautions=found.cautions,
        ),
        "",
    )


def _loads(line: Line, found: LineReport) -> tuple[Load, ...]:
    from takeup.assess.theory import Load
    from takeup.line.model import Anchor

    nozzles = {one.name for one in line.supports if isinstance(one, Anchor) and one.nozzle}
    return tuple(
        Load(
            name=one.name,
            kind="nozzle" if one.name in nozzles else one.kind,
            state=state.state,
            force=one.force,
            moment=one.moment,
            nozzle=one.name in nozzles,
            says=one.says,
        )
        for state in found.states
        for one in state.supports
    )
