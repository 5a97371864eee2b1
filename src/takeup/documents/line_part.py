"""The line of a joint in its dossier: how it moves, what it carries, what is suspected.

Everything stands on the theory that the verdict rests on; without a model that solves, what is
in the way is told and nothing is drawn.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import msgspec

from takeup.assess import expected
from takeup.assess.suspects import Suspects, in_words, suspects
from takeup.assess.theory import WHOLE, DiagnosisSeen, Load, Theory
from takeup.checks import Check, Outcome
from takeup.documents.drawing import PRINT, Palette, isometric
from takeup.documents.drawing.marks_against import MarkRow, marks_against
from takeup.documents.model import Dossier
from takeup.documents.words import check_row
from takeup.errors import TakeupError
from takeup.register.entities import MovementRole
from takeup.units import System, shown

STRESSES = 8
"""Checks of stress shown: the nearest to their limit, and all that are not met."""
GROUPS = 5
SERIES = 4
"""Explanations drawn beside the sound line and the measured value."""
DRAWN, ACROSS, TALLEST = 560.0, 174.0, 150.0
"""Width of the drawing [px], the text it stands in and the most of its height [mm]."""
STILL = 1.0
"""Less than this is no load [N]."""
GOOD = 1e-6
"""Largest unbalance of a state that may be used [-]."""


class LinePart(msgspec.Struct, frozen=True, kw_only=True):
    """What the dossier says of the line of its joint."""

    title: str
    why_not: str = ""
    """Why nothing is computed; empty when it is"""
    asked: tuple[str, ...] = ()
    model: str = ""
    certificate: str = ""
    drawing: str = ""
    """SVG of the line as it stands hot; empty where it cannot be drawn"""
    tall: float = 0.0
    """Height of the drawing on paper [mm]"""
    caption: str = ""
    move_heads: tuple[str, ...] = ()
    moves: tuple[tuple[str, ...], ...] = ()
    """A row a quantity"""
    loads: tuple[tuple[str, ...], ...] = ()
    idle: tuple[str, ...] = ()
    """Supports that carry nothing in either state"""
    pulls: tuple[tuple[str, ...], ...] = ()
    stresses: tuple[dict[str, str], ...] = ()
    stress_words: str = ""
    others: tuple[dict[str, str], ...] = ()
    """Checks of loads and travels that were decided"""
    undecided: str = ""
    locked: tuple[str, ...] = ()
    lock_cautions: tuple[str, ...] = ()
    diagnosis: str = ""
    groups: tuple[tuple[str, ...], ...] = ()
    marks: str = ""
    """SVG of readings beside what explanations would show"""
    diagnosis_cautions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def line_part(dossier: Dossier, palette: Palette = PRINT, *, draw: bool = True) -> LinePart:
    """Gather what the model of the line says of the joint of a dossier; drawn only if asked."""
    case, system = dossier.case, dossier.system
    title = f"Line {case.line.tag} by its model"
    model = case.theory
    if model is None or expected.theory(case) is None:
        return LinePart(
            title=title,
            why_not=f"Not computed: {expected.without(case)}. The movement of {case.joint.tag} is "
            "as entered.",
            asked=expected.missing(case),
            cautions=() if model is None or not model.solved else model.cautions,
        )
    own = expected.theory(case)
    assert own is not None
    judged = None
    if dossier.verdict is not None:
        judged = suspects(case, dossier.verdict.evaluation)
    drawing = _drawing(dossier, model, judged, palette) if draw else ""
    stresses = [c for c in model.checks if c.kind == "stress"]
    shown_ = _nearest(stresses)
    rest = [c for c in model.checks if c.kind != "stress" and c.outcome in _DECIDED]
    return LinePart(
        title=title,
        model=f"Model of revision {model.revision}, between {model.cold!r} and {model.hot!r}: "
        f"{shown(model.temperature, 'temperature', system)}, "
        f"{shown(model.pressure, 'pressure', system)} gauge.",
        certificate=f"Solved to a residual of {_power(model.residual)} and a balance of loads and "
        f"reactions of {_power(model.balance)} (usable below {_power(GOOD)}).",
        drawing=drawing,
        tall=_tall(drawing),
        caption=f"Line {model.line} in {model.hot!r}; {case.joint.tag} is ringed. Deflection "
        "exaggerated as stated in the drawing.",
        move_heads=("cold to hot", "theory", *_letters(dossier), "entered", "measured", "rated"),
        moves=_moves(dossier),
        loads=_loads(model, system),
        idle=tuple(own[0].name for own in _pairs(model) if _idle(own)),
        pulls=tuple(
            (
                pull.part,
                pull.state,
                shown(pull.force, "force", system),
                "–" if pull.most is None else shown(pull.most, "force", system),
                shown(pull.across, "force", system),
            )
            for pull in own.pulls
            if pull.state in {model.cold, model.hot}
        ),
        stresses=tuple(_row(c, system) for c in shown_),
        stress_words=_stress_words(stresses, shown_),
        others=tuple(_row(c, system) for c in rest),
        undecided=_undecided(model.checks),
        locked=own.locked.words if own.locked is not None else (
            f"Not evaluated: {own.lock_fault or 'the joint was not locked in this model'}.",
        ),
        lock_cautions=own.locked.cautions if own.locked is not None else (),
        **_diagnosed(model, judged, system, palette if draw else None),
        cautions=model.cautions,
        notes=model.notes,
    )  # fmt: skip


_DECIDED = frozenset({Outcome.MET, Outcome.NOT_MET})


def _row(check: Check, system: System) -> dict[str, str]:
    """A check as a row; its name says already where it is."""
    star = " *" if check.provisional else ""
    return check_row(check, system) | {"name": check.name + star}


def _nearest(stresses: Sequence[Check]) -> list[Check]:
    """The checks of stress to show, nearest to the limit first."""
    ordered = sorted(stresses, key=lambda c: -(c.ratio or 0.0))
    unmet = sum(c.outcome == Outcome.NOT_MET for c in ordered)
    decided = [c for c in ordered if c.outcome in _DECIDED]
    return decided[: max(STRESSES, unmet)]


def _stress_words(stresses: Sequence[Check], told: Sequence[Check]) -> str:
    unmet = sum(c.outcome == Outcome.NOT_MET for c in stresses)
    open_ = [c for c in stresses if c.outcome == Outcome.NOT_EVALUATED]
    words = f"{len(stresses)} checks of sustained stress and of stress range, {unmet} not met"
    if open_:
        words += f", {len(open_)} not evaluated ({open_[0].because})"
    return words + f"; the {len(told)} nearest to their limit are shown."


def _undecided(checks: Sequence[Check]) -> str:
    found = [
        c for c in checks
        if c.outcome == Outcome.NOT_EVALUATED and c.kind != "stress"
        and not c.id.startswith("movement.")
    ]  # fmt: skip
    names = list(dict.fromkeys(c.because.removeprefix("unknown: ") for c in found))
    if not names:
        return ""
    more = f"; and {len(names) - 6} more" if len(names) > 6 else ""
    return "Not evaluated for want of: " + "; ".join(names[:6]) + more + "."


def _power(value: float | None) -> str:
    return "unknown" if value is None else f"{value:.0e}".replace("e-0", "e-")


def _drawing(dossier: Dossier, model: Theory, judged: Suspects | None, palette: Palette) -> str:
    if dossier.line is None:
        return ""
    pointed = {dossier.case.joint.tag: "this joint"}
    for one in judged.accused if judged is not None else ():
        pointed[one.fault.place] = "suspected"
    known = {getattr(one, "tag", "") for one in dossier.line.pieces}
    known |= {one.name for one in dossier.line.supports}
    try:
        return isometric(
            dossier.line,
            dossier.line_state,
            checks=[c for c in model.checks if c.outcome == Outcome.NOT_MET],
            pointed={name: words for name, words in pointed.items() if name in known},
            system=dossier.system,
            palette=palette,
            width=DRAWN,
        )
    except TakeupError:
        return ""  # the tables stand without the drawing


def _tall(drawing: str) -> float:
    """Height on paper of a drawing as wide as the text, or as tall as may be [mm]."""
    found = re.search(r'viewBox="0 0 ([0-9.]+) ([0-9.]+)"', drawing)
    if found is None:
        return TALLEST
    wide, tall = float(found[1]), float(found[2])
    return min(TALLEST, ACROSS * tall / wide)


def _letters(dossier: Dossier) -> tuple[str, ...]:
    """Bellows with a column of their own: those of a joint with several, as the model has them."""
    letters = [one.letter for one in dossier.case.bellows]
    if len(letters) < 2:
        return ()
    return tuple(
        f"bellows {letter}" for letter in letters if expected.move(dossier.case, letter) is not None
    )


def _moves(dossier: Dossier) -> tuple[tuple[str, ...], ...]:
    """Axial, lateral and angular: theory, bellows by bellows, entered, measured, rated."""
    case, system = dossier.case, dossier.system
    whole = expected.triple(case)
    parts = [expected.triple(case, words.split()[-1]) for words in _letters(dossier)]
    entered, rated = expected.entered(case), expected.row(case, MovementRole.RATED)
    limit = None if rated is None else (rated.axial, rated.lateral, rated.angular)
    measured = None
    if dossier.verdict is not None:
        measured = next(
            (
                m
                for m in dossier.verdict.evaluation.movements
                if m.axial is not None and m.bellows == WHOLE
            ),
            next((m for m in dossier.verdict.evaluation.movements if m.axial is not None), None),
        )
    rows = []
    for at, (name, kind) in enumerate(
        (("axial, + extension", "movement"), ("lateral", "movement"), ("angular", "angle"))
    ):
        read = None if measured is None else (measured.axial, measured.lateral, measured.angular)
        said = "not read" if read is None or read[at] is None else shown(read[at], kind, system)
        if at == 0 and measured is not None and measured.uncertainty is not None:
            said += f" ± {shown(measured.uncertainty, kind, system)}"
        if measured is not None and at == 0 and measured.bellows != WHOLE:
            said += f" (bellows {measured.bellows})"
        rows.append(
            (
                name,
                *(
                    "unknown" if one is None or one[at] is None else shown(one[at], kind, system)
                    for one in (whole, *parts, entered)
                ),
                said,
                "unknown" if limit is None or limit[at] is None else shown(limit[at], kind, system),
            )
        )
    return tuple(rows)


def _loads(model: Theory, system: System) -> tuple[tuple[str, ...], ...]:
    """Every support cold and hot, anchors and nozzles first."""
    limits = {c.id: c for c in model.checks if c.id.startswith("load.")}
    rows = []
    for own in _pairs(model):
        if _idle(own):
            continue
        for load in own:
            check = limits.get(f"load.{load.name}@{load.state}")
            moment = (sum(m * m for m in load.moment)) ** 0.5
            rows.append(
                (
                    f"{load.name} ({load.kind})" if load is own[0] else "",
                    load.state,
                    *(shown(_quiet(part), "force", system) for part in load.force),
                    shown(moment, "moment", system) if moment > 1.0 else "–",
                    _use(check, load),
                    load.says,
                )
            )
    return tuple(rows)


def _pairs(model: Theory) -> list[list[Load]]:
    """Loads cold and hot by support, nozzles and anchors first."""
    order = {"nozzle": 0, "anchor": 1}
    pairs: dict[str, list[Load]] = {}
    for load in model.loads:
        if load.state in {model.cold, model.hot}:
            pairs.setdefault(load.name, []).append(load)
    return sorted(pairs.values(), key=lambda own: order.get(own[0].kind, 2))


def _idle(own: Sequence[Load]) -> bool:
    """Whether a support carries nothing and says nothing; a nozzle or anchor is always told."""
    told = own[0].kind in {"nozzle", "anchor"}
    return not told and all(load.size < STILL and not load.says for load in own)


def _use(check: Check | None, load: Load) -> str:
    if check is not None and check.ratio is not None:
        return f"{check.ratio:.2f} {check.outcome.value}"
    return "not stated" if load.kind in {"nozzle", "anchor"} else "–"


def _quiet(force: float) -> float:
    """Without the noise of a solution [N]."""
    return force if abs(force) >= 0.5 else 0.0


def _diagnosed(
    model: Theory, judged: Suspects | None, system: System, palette: Palette | None
) -> dict[str, Any]:
    seen = model.diagnosis
    if seen is None:
        return {"diagnosis": f"No diagnosis: {model.undiagnosed}." if model.undiagnosed else ""}
    if judged is None:
        words = "The marks of this joint agree with the model; the diagnosis is of the whole line."
    elif not judged.fits:
        words = "Nothing on the model explains the readings: nobody is accused."
    elif judged.accused:
        words = "At fault by the stated rule: " + "; ".join(one.words for one in judged.accused)
        words += ". To be looked at on site before anything is done."
    elif judged.sound:
        words = "The readings cannot be told from those of a sound line: nobody is accused."
    else:
        words = "No fault is likely enough to be accused; hints only."
    if seen.next:
        words += f" Reading that would tell most: {seen.next}."
    return {
        "diagnosis": words,
        "groups": tuple(_group(seen, at) for at in range(min(GROUPS, len(seen.bundles)))),
        "marks": _marks(seen, system, palette) if palette is not None else "",
        "diagnosis_cautions": (*seen.asked, *seen.cautions),
    }


def _group(seen: DiagnosisSeen, at: int) -> tuple[str, ...]:
    one = seen.bundles[at]
    names = [e.words for e in one.explanations]
    more = f", or {len(names) - 3} more that look the same" if len(names) > 3 else ""
    return in_words(one.posterior), "; or ".join(names[:3]) + more, one.split or "–"


def _marks(seen: DiagnosisSeen, system: System, palette: Palette) -> str:
    """Readings beside the sound line and the leading explanation of each group."""
    leaders = [
        bundle.explanations[0]
        for bundle in seen.bundles
        if bundle.explanations[0].faults
        and len(bundle.explanations[0].predicted) == len(seen.readings)
    ][:SERIES]
    rows = [
        MarkRow(
            name=reading.words,
            kind=reading.kind,
            measured=reading.measured,
            error=reading.error,
            predicted=(reading.sound, *(one.predicted[at] for one in leaders)),
        )
        for at, reading in enumerate(seen.readings)
    ]
    series = ("the sound line", *(f"{one.words} ({in_words(one.posterior)})" for one in leaders))
    return marks_against(rows, series, system=system, palette=palette)
