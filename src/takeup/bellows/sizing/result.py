"""The door of the room: a task in, the non-dominated set with grounds and reports out."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from takeup.bellows.engine import evaluate, evaluate_many
from takeup.bellows.model import Assembly, BellowsReport
from takeup.bellows.plies import surviving_ply
from takeup.bellows.sizing import grounds
from takeup.bellows.sizing.batch import goals_matrix
from takeup.bellows.sizing.choose import choose
from takeup.bellows.sizing.metal import at_rest
from takeup.bellows.sizing.model import Candidate, Choice, NearMiss, SizingResult, SizingTask
from takeup.bellows.sizing.search import CHUNK, Found, Search
from takeup.checks import Ground, Outcome
from takeup.errors import UnknownName
from takeup.progress import Progress, part, silent

ASKED = "asked for by number"
HARDWARE = (
    "Mass is of bellows metal and rings only; tie rods, hinges, gimbals, spool, collars and "
    "sleeves come on top."
)
THRUST = (
    "Pressure thrust does not go away with a softer bellows: whatever holds it now must hold the "
    "thrust of the replacement, at test pressure too."
)
NOT_MADE = (
    "The search knows no maker's tooling: ask whether height, pitch and radius can be formed in "
    "this sheet before the requisition goes out."
)


def size(task: SizingTask, progress: Progress = silent, *, chunk: int = CHUNK) -> SizingResult:
    """Search the whole space of ``task``.

    Every combination is either excluded by envelope or shape, with its reason counted, or
    worked out by the engine and held against every check.  Returned are the non-dominated set
    over stiffness, thrust, live length, mass and least margin, a thinned list with full
    reports, and what binds.  Nothing depends on ``chunk``, the rows worked out at a time.

    Raises :class:`takeup.errors.Contradiction` for a task that leaves no space,
    :class:`takeup.errors.Cancelled` when told to stop, and what :func:`takeup.bellows.evaluate`
    raises for a duty that cannot be true.
    """
    search = Search(task)
    found = search.run(part(progress, 0.0, 0.9), chunk)
    first = _a_report(search, found)
    families, checks = grounds.failed(found.tally, first)
    reasons = grounds.excluded(found.excluded)
    said = grounds.binding(task, found.evaluated, families)
    nearest: tuple[NearMiss, ...] = ()
    if found.feasible == 0:
        if found.evaluated == 0:
            said = [grounds.nothing_inside(task, found.space, reasons)]
        nearest, more = grounds.nearest(task, found.tally, search.case, first)
        said = [*grounds.unmeasured(task, checks, found.evaluated), *more, *said]
        said += _lifted(task, part(progress, 0.9, 1.0), chunk)
    front = search.candidates(found.front)
    choices = _choices(task, search, found, front)
    progress(1.0, f"{found.feasible:,} meet every check")
    return SizingResult(
        task=task,
        space=found.space,
        evaluated=found.evaluated,
        feasible=found.feasible,
        excluded=reasons,
        failed=families,
        failed_checks=checks,
        goals=found.goals,
        front=front,
        choices=choices,
        nearest=nearest,
        grounds=tuple(said),
        notes=_notes(task, found),
    )


def _a_report(search: Search, found: Found) -> BellowsReport | None:
    """The report of some candidate, for the names of its checks."""
    if len(found.front.number):
        return evaluate(at_rest(search.case(int(found.front.number[0]))))
    if found.tally.misses:
        return evaluate(at_rest(search.case(found.tally.misses[0][1])))
    return None


def _lifted(task: SizingTask, progress: Progress, chunk: int) -> list[Ground]:
    """What lifting one limit of the envelope at a time would do."""
    replace = msgspec.structs.replace
    tries = []
    if task.outside_diameter is not None:
        tries.append(
            ("the outside diameter", replace(task, outside_diameter=None), "outside_diameter")
        )
    if task.live_length is not None:
        tries.append(("the live length", replace(task, live_length=None), "live_length"))
    said = []
    for at, (what, wider, figure) in enumerate(tries):
        search = Search(wider, least=figure)
        found = search.run(part(progress, at / len(tries), (at + 1) / len(tries)), chunk)
        said.append(grounds.relaxed(task, what, found.feasible, search.least_seen))
    return said


def _choices(
    task: SizingTask, search: Search, found: Found, front: tuple[Candidate, ...]
) -> tuple[Choice, ...]:
    """The thinned list, each worked out once more by the path of reports."""
    chosen = choose(goals_matrix(found.goals, found.front.columns), found.goals, task.show)
    candidates = [front[at] for at, _ in chosen]
    return _worked(search, candidates, [reasons for _, reasons in chosen])


def _worked(
    search: Search, candidates: Sequence[Candidate], reasons: Sequence[tuple[str, ...]]
) -> tuple[Choice, ...]:
    cases = [search.case(candidate.number) for candidate in candidates]
    choices = []
    for candidate, why, case, report in zip(
        candidates, reasons, cases, evaluate_many(cases), strict=True
    ):
        _confirm(report)
        alone: tuple[BellowsReport, ...] = ()
        if case.plies == 2:
            alone = evaluate_many([surviving_ply(case, "inner"), surviving_ply(case, "outer")])
        choices.append(
            Choice(reasons=why, candidate=candidate, case=case, report=report, ply_alone=alone)
        )
    return tuple(choices)


def choice(result: SizingResult, number: int) -> Choice:
    """Any one of the non-dominated set, worked out in full.

    Raises :class:`takeup.errors.UnknownName` for a number that is not in the set.
    """
    for shown in result.choices:
        if shown.candidate.number == number:
            return shown
    for candidate in result.front:
        if candidate.number == number:
            return _worked(Search(result.task), [candidate], [(ASKED,)])[0]
    raise UnknownName(
        "candidate", str(number), [str(shown.candidate.number) for shown in result.choices]
    )


def _confirm(report: BellowsReport) -> None:
    """Both paths of the engine must say the same; a candidate that fails here is a defect."""
    good = {Outcome.MET, Outcome.DOES_NOT_APPLY}
    bad = [check.id for check in report.checks if check.outcome not in good]
    assert report.valid and not bad, (
        f"{report.name}: the search counts this bellows as fully checked, its report does not: "
        f"{', '.join(bad) or 'not covered by the rule set'}"
    )


def _notes(task: SizingTask, found: Found) -> tuple[str, ...]:
    notes = [
        f"No bellows of {alloy} counts as checked. {why}" for alloy, why in found.unchecked.items()
    ]
    if not found.feasible:
        return tuple(notes)
    notes += [THRUST, HARDWARE, NOT_MADE]
    if task.testable and not task.each_ply_alone:
        notes.append(
            "Two plies with a test port: whether one ply alone holds is worked out for each "
            "bellows shown, but was not asked for."
        )
    if task.assembly != Assembly.SINGLE:
        notes.append("Hardware of the assembly is not sized here: trace thrust through it.")
    return tuple(notes)
