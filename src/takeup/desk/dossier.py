"""Gather everything known and concluded about one joint."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from takeup.desk import assess, plan
from takeup.desk.cases import cases

if TYPE_CHECKING:
    from collections.abc import Sequence

    from takeup.ageing.attachment_case import AttachmentReport
    from takeup.assess.model import JointCase, Verdict
    from takeup.desk.site import Site
    from takeup.documents.model import Dossier, FactChange, WallLook
    from takeup.plan.model import Plan


def dossier(site: Site, tag: str, today: dt.date | None = None) -> Dossier:
    """Gather the dossier of one joint; raises UnknownName with the nearest tags."""
    return dossiers(site, [tag], today)[0]


def dossiers(
    site: Site,
    tags: Sequence[str] | None = None,
    today: dt.date | None = None,
    *,
    paper: bool = False,
) -> tuple[Dossier, ...]:
    """Gather dossiers of ``tags``, or of all joints, reading verdicts and plan once.

    ``paper`` adds what only the document shows: attachments on hot pipe and the wall, drawn.
    """
    gathered = cases(site, today=today, tags=tags)
    verdicts = assess.latest(site)
    made = plan.latest(site)
    asked = _questions(site)
    return tuple(
        _one(
            site,
            case,
            verdicts.get(case.joint.tag),
            made,
            tuple(asked.get(case.joint.tag.casefold(), ())),
            paper=paper,
        )
        for case in gathered
    )


def _questions(site: Site) -> dict[str, list[str]]:
    """What stands out about each joint and its bellows, by case-folded tag."""
    from takeup.register.contradictions import incomplete

    found: dict[str, list[str]] = {}
    for question in incomplete(site.register()):
        tag = str(getattr(question.fact, "joint", "") or getattr(question.fact, "tag", ""))
        words = f"{question.fact.key}: {question.wrong}; expected: {question.right}"
        found.setdefault(tag.casefold(), []).append(words)
    return found


def _one(
    site: Site,
    case: JointCase,
    verdict: Verdict | None,
    made: Plan | None,
    questions: tuple[str, ...],
    *,
    paper: bool,
) -> Dossier:
    from takeup.documents.model import Dossier
    from takeup.evidence.facts import Photo
    from takeup.options import catalogue
    from takeup.register.entities import Decision, Quote

    register = site.register()
    tag = case.joint.tag
    options = made.of_joint(tag) if made else ()
    if not options and verdict is not None:
        options = catalogue.options(case, verdict, register.of_joint(Quote, tag))
    choice = None
    if made is not None:
        choice = next((c for c in made.portfolio.choices if c.joint == tag), None)
    decision = None
    if case.next_outage is not None:
        decision = register.find(Decision, f"{tag}/{case.next_outage.tag}")
    model = case.theory
    worked = site.theories.get(model.key) if model is not None and model.solved else None
    return Dossier(
        system=register.plant.units,
        case=case,
        verdict=verdict,
        options=options,
        choice=choice,
        decision=decision,
        photos=register.of_joint(Photo, tag),
        photo_folder=str(site.photo_folder),
        history=history(site, tag),
        questions=questions,
        line=worked.line if worked is not None else None,
        line_state=worked.state if worked is not None else None,
        attachments=_attachments(site, case) if paper else (),
        wall=_wall(site, case) if paper else None,
        made=site.now(),
    )


def _attachments(site: Site, case: JointCase) -> tuple[tuple[str, AttachmentReport], ...]:
    from takeup.desk.attachments import report

    found = [(one.item, report(site, case, one.item)[1]) for one in case.attachments if one.stands]
    return tuple((item, made) for item, made in found if made is not None)


def _wall(site: Site, case: JointCase) -> WallLook | None:
    from takeup.desk import heat
    from takeup.documents.model import WallLook

    if case.wall_model is None:
        return None
    found = heat.solved(site, case.joint.tag)
    return WallLook(
        study=found.study,
        reading=None if found.shown is None else found.shown.reading,
        reading_words="" if found.shown is None else found.shown.where,
        faults=found.faults,
    )


def history(site: Site, tag: str, limit: int = 200) -> tuple[FactChange, ...]:
    """The revisions of everything that belongs to a joint, newest first."""
    from takeup.documents.model import FactChange
    from takeup.register import revisions

    found = site.store.history_of_joint(tag, limit)
    system = site.register().plant.units
    return tuple(
        FactChange(
            time=revision.time,
            author=revision.author,
            reason=revision.reason,
            kind=revision.kind,
            key=revision.key,
            revision=revision.number,
            fields=tuple(
                (change.title, change.old, change.new)
                for change in revisions.differences(before, revision, system)
            ),
        )
        for revision, before in found
    )
