"""A design and what was found on it, set side by side."""

from __future__ import annotations

from takeup.bellows.as_found import cases, loss
from takeup.bellows.as_found.compare import check_rows, figure_rows, refused
from takeup.bellows.as_found.findings import findings
from takeup.bellows.as_found.lives import life
from takeup.bellows.as_found.model import AsFound, AsFoundReport, LostPly, Variant
from takeup.bellows.as_found.shape import NEVER, PRESSURE_OFF, distortion
from takeup.bellows.as_found.travel import travel
from takeup.bellows.engine import evaluate, evaluate_many
from takeup.bellows.model import BellowsCase
from takeup.limits import Limits, defaults

ONLY_RULES = (
    "Shown is what the design's own rules say of the state found. Cracks, dents, leaks and attack "
    "of the metal are not in them: the decision is the engineer's."
)


def examine(case: BellowsCase, found: AsFound, limits: Limits | None = None) -> AsFoundReport:
    """Work out ``case`` as designed and as found, and say what the difference means.

    ``limits`` holds the site's limits ``distortion.pitch`` and ``thickness.soon``.  Raises
    :class:`takeup.errors.Contradiction`, :class:`takeup.errors.OutOfRange` and
    :class:`takeup.errors.UnknownName` for a design or a finding that cannot be true; a variant
    of what was found that cannot be worked out leaves its checks open and says why.
    """
    limits = limits or defaults()
    limit = limits.value("distortion.pitch")
    planned, case = case, cases.with_done(case, found.done)
    known = cases.done_known(case, found)
    designed = evaluate(case)
    made = cases.as_found(case, found)
    lost = found.lost_ply != LostPly.NONE
    left_over = [
        (f"{name}, {found.lost_ply.value} ply lost", loss.survivor(one, found.lost_ply))
        for name, one in made
        if lost
    ]
    whole = [one for _, one in made]
    standing = left_over or list(made)
    reports = evaluate_many([one for _, one in standing])
    variants = tuple(
        Variant(name=name, case=one, report=report)
        for (name, one), report in zip(standing, reports, strict=True)
    )
    remaining = life([case, *whole], [one.case for one in variants], found, done_known=known)
    shape = distortion(case, found, limit)
    moved = None if found.travel is None else travel(whole, found.travel, done_known=known)
    least = cases.least_thickness(case, found)
    thinned = (
        None if least is None else loss.corrosion(variants, found, least, cases.formed_ply(case))
    )
    plies = loss.ply_loss(found.lost_ply, variants, remaining) if lost else None
    rows = check_rows(designed, variants)
    creep = loss.hand_overs(variants)
    return AsFoundReport(
        name=case.name or found.name,
        designed=designed,
        variants=variants,
        checks=rows,
        figures=figure_rows(designed, variants),
        crossed=tuple(row.id for row in rows if row.crosses),
        life=remaining,
        distortion=shape,
        travel=moved,
        ply_loss=plies,
        corrosion=thinned,
        findings=findings(
            case,
            variants,
            rows,
            shape,
            moved,
            plies,
            thinned,
            remaining,
            creep,
            limit,
            limits.value("thickness.soon"),
        ),
        notes=_notes(planned, found, variants),
        cautions=(ONLY_RULES, *((NEVER, PRESSURE_OFF) if shape is not None else ()))
        + (plies.cautions if plies else ()),
        hand_overs=creep,
    )


def _notes(case: BellowsCase, found: AsFound, variants: tuple[Variant, ...]) -> tuple[str, ...]:
    notes = []
    if cases.least_thickness(case, found) is not None and case.plies > 1:
        notes.append(cases.ALL_PLIES)
    if len(variants) > 1:
        notes.append(cases.CORNERS)
    lean = cases.lean_note([one.case for one in variants], case)
    notes += [lean] if lean else []
    plan = {move.name: move.cycles for move in case.movements}
    notes += [
        f"{one.name}: {one.cycles:.0f} cycles done, {plan[one.name]:.0f} planned; the count is "
        "raised to those done."
        for one in found.done
        if one.cycles > plan[one.name]
    ]
    names = {condition.name.lower() for condition in case.conditions}
    if found.metal_temperature is not None:
        if "operating" not in names:
            notes.append(
                "The metal temperature found is not used: the case has no operating condition."
            )
        elif any(
            condition.name.lower() == "operating"
            and (condition.allowable_stress is not None or condition.modulus is not None)
            for condition in case.conditions
        ):
            notes.append(
                "At the temperature found, allowable stress and modulus come from the tables: the "
                "values given hold for the temperature they were given at."
            )
    for one in variants:
        if refused(one.report):
            notes.append(f"{one.name}: cannot be worked out. {one.report.checks[0].because}")
        notes += one.report.notes
    return tuple(dict.fromkeys(notes))
