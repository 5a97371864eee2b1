"""A solved line state by state: loads on supports, spring travels, joint movements, checks. SI."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence

import msgspec

from takeup.bellows.model import BellowsCase
from takeup.checks import Check
from takeup.line.anchors import AnchorReaction
from takeup.line.books import Books
from takeup.line.holding import Finding, PinForce, RodForce, findings, pin_forces, rod_forces
from takeup.line.holding import checks as holding_checks
from takeup.line.model import (
    Anchor,
    Book,
    ConstantSpring,
    Guide,
    Hold,
    Joint,
    Line,
    RangeRule,
    Rest,
    RodHanger,
    Stop,
    Strut,
    Support,
    VariableSpring,
)
from takeup.line.results import (
    MOVED,
    judge,
    own_movement,
    place_of,
    used,
    without_design,
)
from takeup.line.results import between as difference
from takeup.line.rows import pins_of, rubs
from takeup.line.solve import Certificate, JointMovement, Prepared, Reaction, StateResult
from takeup.line.supports import without_limit
from takeup.line.telling import Tell, si_words
from takeup.line.turning import furthest

NAMES: dict[type, str] = {
    Anchor: "anchor",
    Rest: "rest",
    Guide: "guide",
    Stop: "stop",
    RodHanger: "rod hanger",
    VariableSpring: "variable spring",
    ConstantSpring: "constant spring",
    Strut: "strut",
}


class SupportLoad(msgspec.Struct, frozen=True, kw_only=True):
    """Load of the line on a support in a state."""

    name: str
    kind: str
    station: str
    force: tuple[float, float, float]
    """East, north, up [N]"""
    moment: tuple[float, float, float]
    """About east, north, up [N.m]"""
    movement: tuple[float, float, float]
    """Of its station from installed [m]"""
    says: str = ""
    """Anything out of the ordinary, such as a rest that the line has lifted off"""


class SpringTravel(msgspec.Struct, frozen=True, kw_only=True):
    """Where a spring stands in its range in a state."""

    name: str
    kind: str
    movement: float
    """Up from installed [m]"""
    up: float
    """To the upper stop from installed [m]"""
    down: float
    """To the lower stop from installed [m]"""
    load: float
    """Carried [N]"""
    free: bool
    """Whether it moves, between its stops and not pinned or seized"""


class StateReport(msgspec.Struct, frozen=True, kw_only=True):
    """One state of a line."""

    state: str
    pressure: float
    temperature: float
    certificate: Certificate
    usable: bool
    """Whether the certificate allows use"""
    supports: tuple[SupportLoad, ...]
    springs: tuple[SpringTravel, ...]
    joints: tuple[JointMovement, ...]
    cautions: tuple[str, ...]
    findings: tuple[Finding, ...] = ()
    """What supports, rods and pins do that is worth a look"""
    rods: tuple[RodForce, ...] = ()
    pins: tuple[PinForce, ...] = ()


class BellowsUse(msgspec.Struct, frozen=True, kw_only=True):
    """What the line's movement makes of one bellows, by the bellows engine."""

    name: str
    """Tag, with A or B where the joint has two"""
    movement: JointMovement
    """Hot minus cold of the bellows, or of the joint where it has one"""
    usage: float | None
    """Of its life by the design curve, this movement alone [-]; ``None``: not evaluated"""
    valid: bool
    """False where the rule set does not cover it"""
    notes: tuple[str, ...]


class LineReport(msgspec.Struct, frozen=True, kw_only=True):
    """Every state of a line, with what to keep in mind."""

    line: str
    states: tuple[StateReport, ...]
    checks: tuple[Check, ...]
    """Stresses between the cold and the hot state, loads and travels against their limits"""
    ranges: tuple[JointMovement, ...]
    """Hot minus cold of every joint and of its bellows: what marks are compared with"""
    between: tuple[str, str] | None
    """The cold and the hot state of the checks; ``None``: no check was made"""
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    factors: Book = Book.APPENDIX_D
    """Whose factors the checks of stress take"""
    range_rule: RangeRule = RangeRule.PLAIN
    books: tuple[Books, ...] = ()
    """Every piece by Appendix D and by B31J: which gives more, and by how much"""
    reactions: tuple[AnchorReaction, ...] = ()
    """Loads on anchors as 319.5.1 estimates them, with cold spring"""
    bellows: tuple[BellowsUse, ...] = ()
    """What the movements from cold to hot mean for bellows whose data were handed in"""


CAUTIONS = (
    "The line is taken as modelled: a support that is seized, lost or set otherwise changes loads "
    "and movements. Compare with what stands on site before anyone acts on it.",
)


UNJUDGED = (
    "What the movements mean for the bellows of {names} is not among these checks; see their "
    "calculation."
)
SMOOTH = (
    "Pins of {names} turn without friction: give friction and pin_diameter. Rusted pins hold the "
    "joint until the pipe overcomes them."
)
COLD_RODS = (
    "Rods of {names} stay as long as installed in every state: give rod_rise, or their temperature "
    'in a state as "TAG rods". Rods that heat up let the joint grow; rods that stay cold hold it.'
)


def report(
    ready: Prepared,
    results: Sequence[StateResult],
    *,
    factors: Book | None = None,
    range_rule: RangeRule | None = None,
    bellows: Mapping[str, BellowsCase] | None = None,
    elsewhere: Container[str] = (),
    tell: Tell = si_words,
) -> LineReport:
    """Tell ``results`` of :func:`takeup.line.solve.solve` on ``ready``.

    The checks are between the first state with the role cold and the last with the role hot;
    ``factors`` and ``range_rule`` stand before those of the line.  ``bellows`` holds the bellows
    of joints by tag, ``TAG A`` and ``TAG B`` where a joint has two: then the movements are worked
    out on them.  ``elsewhere`` names joints whose movement is judged beside this report.
    ``tell`` says numbers in findings in the reader's units.  ``ready`` must stand on moduli at
    room temperature, as it does unless told otherwise.
    """
    line = ready.line
    supports = {one.name: one for one in line.supports}
    states = {one.name: one for one in line.states}
    told = []
    for result in results:
        found = findings(ready, result, tell=tell)
        says = {one.name: one.says for one in found}
        loads = tuple(
            _load(supports[one.name], one, says.get(one.name, "")) for one in result.reactions
        )
        springs = tuple(
            _travel(one, result.reaction(one.name))
            for one in line.supports
            if isinstance(one, VariableSpring | ConstantSpring)
        )
        state = states[result.state]
        good = result.certificate.good
        cautions = [f"{one.name}: {one.says}" for one in found if not one.harmless]
        turned = furthest(line, result)
        if turned.too_far:
            cautions.insert(0, turned.says)
        if not good:
            cautions.insert(0, "The forces do not balance well enough: do not use this state.")
        told.append(
            StateReport(
                state=result.state,
                pressure=state.pressure,
                temperature=state.temperature,
                certificate=result.certificate,
                usable=good,
                supports=loads,
                springs=springs,
                joints=result.joints,
                cautions=tuple(cautions),
                findings=found,
                rods=rod_forces(ready, result),
                pins=pin_forces(ready, result),
            )
        )
    cold = next((one.name for one in line.states if one.role == "cold"), "")
    hot = next((one.name for one in reversed(line.states) if one.role == "hot"), "")
    judged = judge(ready, results, cold=cold, hot=hot, book=factors, rule=range_rule)
    between = (cold, hot) if cold and hot else None
    missing = (
        ()
        if between
        else ("No check was made of stresses and loads: give one state the role cold and one hot.",)
    )
    by_name = {one.state: one for one in results}
    more: list[Check] = []
    uses: tuple[BellowsUse, ...] = ()
    if between:
        uses, worked = _bellows(bellows or {}, by_name[cold], by_name[hot], line.cycles)
        more += worked
        more += (
            one
            for name in between
            for one in holding_checks(ready, by_name[name])
            if one.capacity is not None or name == hot  # what nobody gave is asked for once
        )
        more += without_limit(line)
        judged_by = {place_of(use.name)[0] for use in uses}
        judged_by |= {
            one.tag for one in line.pieces if isinstance(one, Joint) and one.tag in elsewhere
        }
        more += without_design(line, judged_by)
    return LineReport(
        line=line.tag,
        states=tuple(told),
        checks=(*judged.checks, *more),
        ranges=_ranges(results, cold, hot) if between else (),
        between=between,
        cautions=(*missing, *CAUTIONS, *_about_joints(line, bellows or {}), *judged.cautions),
        notes=(*line.notes, *(judged.notes if between else ())),
        factors=line.factors if factors is None else factors,
        range_rule=line.range_rule if range_rule is None else range_rule,
        books=judged.books,
        reactions=judged.reactions,
        bellows=uses,
    )


def _bellows(
    cases: Mapping[str, BellowsCase], cold: StateResult, hot: StateResult, cycles: float
) -> tuple[tuple[BellowsUse, ...], tuple[Check, ...]]:
    """What the bellows engine says of each, and its checks of this movement."""
    uses, checks = [], []
    known = {(one.tag, one.number) for one in hot.joints}
    told = {key: case for key, case in cases.items() if place_of(key) in known}
    for key, found in used(told, cold, hot, cycles).items():
        uses.append(
            BellowsUse(
                name=key,
                movement=own_movement(cold, hot, *place_of(key)),
                usage=found.usage,
                valid=found.valid,
                notes=(*found.notes, *(f"unknown: {one}" for one in found.missing)),
            )
        )
        checks += [
            msgspec.structs.replace(
                one, id=f"bellows.{key}.{one.id}", name=f"{one.name}, bellows of {key}"
            )
            for one in found.checks
            if one.id.endswith(f"@{MOVED}")
        ]
    return tuple(uses), tuple(checks)


def _about_joints(line: Line, cases: Mapping[str, BellowsCase]) -> tuple[str, ...]:
    joints = [one for one in line.pieces if isinstance(one, Joint)]
    known = {place_of(key)[0] for key in cases}
    open_ = [one.tag for one in joints if one.tag not in known and not one.locked]
    said = {name for state in line.states for name in state.temperatures}
    cold = [
        one.tag
        for one in joints
        if any(h.hold in {Hold.TIED, Hold.LIMIT} and h.rod_rise is None for h in one.hardware)
        and not any(name.startswith(f"{one.tag} rods") for name in said)
    ]
    smooth = [
        one.tag
        for one in joints
        if any(pins_of(one, n) is not None and not rubs(one, n) for n in range(len(one.bellows)))
    ]
    found = []
    if smooth:
        found.append(SMOOTH.format(names=", ".join(smooth)))
    if open_:
        found.append(UNJUDGED.format(names=", ".join(open_)))
    if cold:
        found.append(COLD_RODS.format(names=", ".join(cold)))
    return tuple(found)


def _ranges(results: Sequence[StateResult], cold: str, hot: str) -> tuple[JointMovement, ...]:
    by_name = {one.state: one for one in results}
    return tuple(
        difference(by_name[cold], by_name[hot], one.tag, one.number) for one in by_name[hot].joints
    )


def _load(support: Support, found: Reaction, says: str) -> SupportLoad:
    return SupportLoad(
        name=found.name,
        kind=NAMES[type(support)],
        station=support.station,
        force=_plus(found.force),
        moment=_plus(found.moment),
        movement=_plus(found.movement),
        says=says,
    )


def _plus(values: tuple[float, float, float]) -> tuple[float, float, float]:
    """Without minus zeros, which read as if something pulled."""
    return values[0] + 0.0, values[1] + 0.0, values[2] + 0.0


def _travel(spring: VariableSpring | ConstantSpring, found: Reaction) -> SpringTravel:
    moved = found.movement[2]
    still = spring.pinned if isinstance(spring, VariableSpring) else spring.seized
    return SpringTravel(
        name=spring.name,
        kind=NAMES[type(spring)],
        movement=moved,
        up=spring.travel_up,
        down=spring.travel_down,
        load=-found.force[2],
        free=not still and -spring.travel_down < moved < spring.travel_up,
    )
