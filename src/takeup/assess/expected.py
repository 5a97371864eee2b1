"""The movement that is expected of a joint: from the model of its line, else as entered.

A model that solves speaks for the main case and for every entered case that bears the name of
one of its states; what was entered stands beside it and a contradiction is told.  Without such a
model the entered movement counts, and it is said that nothing computed it.
"""

from __future__ import annotations

import msgspec

from takeup.assess.model import JointCase
from takeup.assess.theory import WHOLE, JointTheory, Move
from takeup.checks import Check, Ground, LimitKind, Outcome, Quantity, Strength, compare
from takeup.register.entities import MovementCase, MovementRole
from takeup.sources import practice
from takeup.units import shown

MAIN = frozenset({"normal", "operating", "design"})
"""Names of the main case among several."""
ENTERED = practice("movement as entered")
Triple = tuple[float | None, float | None, float | None]


class Expected(msgspec.Struct, frozen=True, kw_only=True):
    """One movement case that counts, with what the model says in its place."""

    row: MovementCase
    move: Move | None
    """``None``: as entered"""


def row(case: JointCase, role: MovementRole) -> MovementCase | None:
    """The main entered row of a role."""
    rows = [one for one in case.movements if one.role == role]
    return next((one for one in rows if one.name.casefold() in MAIN), next(iter(rows), None))


def theory(case: JointCase) -> JointTheory | None:
    """What the model says of this joint; ``None`` without a model that solves and has it."""
    return None if case.theory is None else case.theory.of(case.joint.tag)


def move(case: JointCase, bellows: str = WHOLE) -> Move | None:
    """Cold to hot by the model, of the joint or of one of its bellows."""
    found = theory(case)
    if found is None or case.theory is None:
        return None
    return found.move(case.theory.hot, bellows)


def cases(case: JointCase) -> tuple[Expected, ...]:
    """Every expected case that was entered, each with the model's movement where it has one."""
    found = theory(case)
    main = row(case, MovementRole.EXPECTED)
    made = []
    for one in case.movements:
        if one.role != MovementRole.EXPECTED:
            continue
        moved = None
        if found is not None and case.theory is not None:
            own = [m for m in found.moves if m.bellows == WHOLE]
            moved = next((m for m in own if m.state.casefold() == one.name.casefold()), None)
            if moved is None and one is main:
                moved = found.move(case.theory.hot)
        made.append(Expected(row=one, move=moved))
    return tuple(made)


def triple(case: JointCase, bellows: str = WHOLE) -> Triple | None:
    """Axial, lateral and angular that marks are compared with: by the model, else as entered."""
    moved = move(case, bellows)
    if moved is not None:
        return moved.axial, moved.across, moved.tilt
    return entered(case)


def entered(case: JointCase) -> Triple | None:
    """The main expected movement as entered."""
    found = row(case, MovementRole.EXPECTED)
    return None if found is None else (found.axial, found.lateral, found.angular)


def axial(case: JointCase, bellows: str = WHOLE) -> float | None:
    """Expected axial movement [m], + extension."""
    found = triple(case, bellows)
    return None if found is None else found[0]


def ground(case: JointCase) -> Ground | None:
    """Where the expected movement comes from; ``None`` where none is known."""
    model, moved = case.theory, move(case)
    if model is not None and moved is not None:
        return Ground(
            claim=f"{case.joint.tag} should move from cold to hot {_words(case, moved)}, by the model of "
            f"line {model.line}, revision {model.revision}",
            evidence=(f"line_model:{model.line}", *(r.ref for r in _rows(case))),
            rule=f"line in balance in {model.cold!r} and {model.hot!r}, residual "
            f"{max(model.residual or 0.0, model.balance or 0.0):.0e}; movement between the ends "
            "of the joint",
            source=model.source,
            limit_kind=LimitKind.DERIVED,
            strength=Strength.CALCULATED,
        )
    found = row(case, MovementRole.EXPECTED)
    if found is None:
        return None
    basis = f"; basis on record: {found.basis}" if found.basis else ""
    return Ground(
        claim=f"the expected movement of {case.joint.tag} is entered, not computed: "
        f"{without(case)}{basis}",
        evidence=(found.ref,),
        rule="a model of the line that solves goes before what was entered",
        source=ENTERED,
        strength=Strength.TOLD,
    )


def without(case: JointCase) -> str:
    """Why the model does not give the movement of this joint."""
    model = case.theory
    if model is None:
        return f"line {case.line.tag} has no model"
    if not model.solved:
        more = f" (and {len(model.faults) - 1} more)" if len(model.faults) > 1 else ""
        return f"the model of line {model.line} cannot be worked out: {model.faults[0]}{more}"
    return f"{case.joint.tag} is not on the model of line {model.line}"


def missing(case: JointCase) -> tuple[str, ...]:
    """What to give so that the movement can be computed."""
    model = case.theory
    if theory(case) is not None:
        return ()
    if model is None:
        return (f"a model of line {case.line.tag}, so that movements are computed, not entered",)
    if not model.solved:
        return (
            f"the model of line {model.line} mended: {model.faults[0]}",
            *(f"for the model of line {model.line}: {one}" for one in model.asked),
        )
    return (f"{case.joint.tag} put on the model of line {model.line}",)


def contradiction(case: JointCase) -> Check | None:
    """Entered against computed axial movement; ``None`` unless both are known."""
    found, moved, model = row(case, MovementRole.EXPECTED), move(case), case.theory
    if found is None or found.axial is None or moved is None or model is None:
        return None
    band, share = case.limits["movement.agree_band"], case.limits["movement.agree_share"]
    away = abs(found.axial - moved.axial)
    allowed = max(band.value, share.value * abs(moved.axial))
    words = (
        f"entered {_signed(case, found.axial)}, by the model of line {model.line}, revision "
        f"{model.revision}, {_signed(case, moved.axial)}"
    )
    if away > allowed:
        words += ": they contradict; the model is used, settle which is right"
    return compare(
        id="movement.entered",
        name="Entered expected movement against the line model",
        demand=away,
        capacity=allowed,
        kind="movement",
        source=share.source,
        limit_kind=share.limit_kind,
        because=words,
        inputs=(
            Quantity(name="entered axial movement", value=found.axial, kind="movement"),
            Quantity(name="axial movement by the model", value=moved.axial, kind="movement"),
        ),
    )


def told(check: Check, case: JointCase) -> Ground | None:
    """The ground of a contradiction between what was entered and the model."""
    if check.outcome != Outcome.NOT_MET or case.theory is None:
        return None
    return Ground(
        claim=check.because,
        evidence=(f"check:{check.id}", f"line_model:{case.theory.line}"),
        rule="entered and computed movement agree within the share or band of agreement",
        source=check.source,
        limit_kind=check.limit_kind,
        strength=Strength.CALCULATED,
    )


def _rows(case: JointCase) -> tuple[MovementCase, ...]:
    found = row(case, MovementRole.EXPECTED)
    return () if found is None else (found,)


def _signed(case: JointCase, value: float) -> str:
    """A movement as the site reads it, with its sign."""
    text = shown(value, "movement", case.plant.units)
    rises = value > 0.0 and any(digit in text for digit in "123456789")
    return f"+{text}" if rises else text


def _words(case: JointCase, moved: Move) -> str:
    system = case.plant.units
    parts = [f"{_signed(case, moved.axial)} axially"]
    if moved.across >= 5e-5:
        parts.append(f"{shown(moved.across, 'movement', system)} laterally")
    if moved.tilt >= 1e-4:
        parts.append(f"{shown(moved.tilt, 'angle', system)} in angle")
    return ", ".join(parts)
