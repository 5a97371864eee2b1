"""The bellows calculator: a case from the register, worked out, and geometry back to a joint."""

from __future__ import annotations

import functools
import hashlib
import math
from collections.abc import Sequence
from importlib import resources
from typing import TYPE_CHECKING, Any

import msgspec

from takeup import __version__
from takeup.bellows.sizing.model import Choice, SizingResult
from takeup.desk import record
from takeup.desk.cases import cases
from takeup.desk.results import pack, unpack
from takeup.errors import Refused, TakeupError, UnknownName
from takeup.progress import Progress, silent
from takeup.register.entities import BellowsElement, Forming, HeatTreatment, Joint
from takeup.register.revisions import FieldChange, fact_differences

if TYPE_CHECKING:
    from pathlib import Path

    from takeup.assess.model import JointCase
    from takeup.bellows.hardware import HardwareCase
    from takeup.bellows.model import BellowsCase
    from takeup.bellows.sizing import SizingTask
    from takeup.desk.site import Site

METAL = (
    "convolution", "inside_diameter", "height", "pitch", "convolutions", "plies",
    "ply_thickness", "torus_radius", "mean_diameter", "tangent_length", "collar_length",
    "collar_thickness", "collar_material", "tube_diameter", "thinnest_ply", "ring_area",
    "ring_material", "fastener_area", "fastener_length", "fastener_material", "material",
    "weld_factor", "yield_strength",
)  # fmt: skip
"""Fields of a case that tell of the bellows itself, not of what is done to it."""
SIZING, SIZING_TASK = "sizing", "sizing task"
"""Kinds under which searches and what they were asked are kept."""
_SAME = 1e-9
"""Relative difference below which two values are one value written in two units."""


@functools.cache
def examples() -> dict[str, BellowsCase]:
    """Worked examples to start from, by name."""
    import tomllib

    from takeup.bellows.model import BellowsCase
    from takeup.given import take

    found = {}
    folder = resources.files("takeup.desk").joinpath("examples")
    for file in sorted(folder.iterdir(), key=lambda one: one.name):
        if not file.name.endswith(".toml"):
            continue
        taken = take(tomllib.loads(file.read_text(encoding="utf-8")), BellowsCase)
        assert taken.value is not None, (file.name, taken.faults)
        found[taken.value.name] = taken.value
    return found


def example(name: str) -> BellowsCase:
    """The example called ``name``."""
    try:
        return examples()[name]
    except KeyError:
        raise UnknownName("example", name, list(examples())) from None


def bellows_of(site: Site, tag: str, letter: str) -> BellowsElement:
    """The bellows ``letter`` of a joint; raises UnknownName with the nearest."""
    register = site.register()
    joint = register.get(Joint, tag)
    known = {one.letter.casefold(): one for one in register.bellows(joint.tag)}
    try:
        return known[letter.casefold()]
    except KeyError:
        names = [one.letter for one in known.values()]
        raise UnknownName(f"bellows of {joint.tag}", letter, names) from None


def from_register(site: Site, tag: str, letter: str, *, theory: bool = True) -> BellowsCase:
    """The case of one bellows as the register stands; what is unknown is named in ``missing``.

    Its movements are those of the model of the line where it has one; without ``theory`` as
    entered.
    """
    one = bellows_of(site, tag, letter)
    (case,) = cases(site, tags=[one.joint], theory=theory)
    return of_case(case, one)


def of_case(case: JointCase, one: BellowsElement) -> BellowsCase:
    """The case of one bellows of a joint; what is unknown is named in ``missing``."""
    from takeup.assess.build import bellows_case
    from takeup.evidence import temperature

    reports = tuple(
        temperature.watch(
            daily,
            joint=case.joint.tag,
            bellows=where,
            limits=case.limits,
            today=case.today,
            outage=case.next_outage.start if case.next_outage else None,
            run_start=case.run_start,
        )
        for where, _, daily in case.temperatures
    )
    return bellows_case(case, one, reports)


def hardware_items(site: Site) -> tuple[tuple[str, str], ...]:
    """Joint and item of all load-carrying hardware on record."""
    from takeup.assess.hardware import traceable
    from takeup.register.entities import Hardware

    try:
        register = site.register()
    except TakeupError:
        return ()
    return tuple((one.joint, one.item) for one in register.all(Hardware) if traceable(one))


def hardware_from_register(site: Site, tag: str, item: str) -> HardwareCase:
    """The load on an item of hardware and what was found on it, as the register stands."""
    from takeup.assess.defects import defects
    from takeup.assess.hardware import hardware_case, traceable
    from takeup.assess.verdict import evaluate
    from takeup.register.entities import Hardware

    one = site.register().get(Hardware, f"{tag}/{item}")
    if not traceable(one):
        raise Refused(f"{one.kind.value} carries no thrust: there is no path to trace through it")
    (case,) = cases(site, tags=[one.joint])
    (evaluation,) = evaluate((case,))
    found = tuple(seen.defect for seen in defects(case, one) if seen.defect is not None)
    return hardware_case(case, one, evaluation, found)


class Proposal(msgspec.Struct, frozen=True, kw_only=True):
    """What saving a case to a joint would change; nothing is stored by making one."""

    element: BellowsElement
    new: bool
    """Whether the joint has no bellows of this letter yet."""
    changes: tuple[FieldChange, ...]
    not_kept: tuple[str, ...]
    """Titles of what the case tells of the bellows and the register has no field for."""

    @property
    def seen(self) -> str:
        """A mark of the differences that a person was shown."""
        shown = msgspec.json.encode((self.element.key, self.new, self.changes))
        return hashlib.sha256(shown).hexdigest()[:24]


def proposal(site: Site, case: BellowsCase, tag: str, letter: str) -> Proposal:
    """Compare the geometry and metal of ``case`` with a bellows of the register.

    What the case does not know leaves the register as it is.  Raises UnknownName for a joint
    that is not in the register, and Refused without a letter.
    """
    register = site.register()
    joint = register.get(Joint, tag)
    if not letter.strip():
        raise Refused("say which bellows of the joint: A upstream or upper, then B, C")
    known = {one.letter.casefold(): one for one in register.bellows(joint.tag)}
    old = known.get(letter.strip().casefold())
    base = old or BellowsElement(joint=joint.tag, letter=letter.strip().upper())
    values, not_kept = _told(case, base)
    element = msgspec.structs.replace(base, **values)
    return Proposal(
        element=element,
        new=old is None,
        changes=fact_differences(old, element, register.system),
        not_kept=not_kept,
    )


def save(
    site: Site, case: BellowsCase, tag: str, letter: str, *, seen: str, author: str, reason: str
) -> Proposal:
    """Store the geometry and metal of ``case`` with the joint, as one revision.

    ``seen`` is the mark of the differences that the person was shown: when the register has
    changed since, nothing is stored.  Raises Refused for that, for no difference at all, and
    without author or reason.
    """
    found = proposal(site, case, tag, letter)
    if not found.changes:
        raise Refused(f"{found.element.key} already holds these values; nothing was stored")
    if seen != found.seen:
        raise Refused(
            f"{found.element.key} changed since you looked, or the input did; look at the "
            "differences again before you store them"
        )
    record.facts(site, [found.element], author, reason)
    return found


def _told(case: BellowsCase, base: BellowsElement) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Register fields that the case tells, and titles of what cannot be kept."""
    from takeup.bellows.model import BellowsCase, Treatment
    from takeup.fields import specs

    titles = {spec.name: spec.title for spec in specs(BellowsCase)}
    usual = {field.name: field.default for field in msgspec.structs.fields(BellowsCase)}
    values: dict[str, Any] = {}
    lost = []
    for name in METAL:
        value = getattr(case, name)
        if not _known(name, value, case.missing):
            continue
        if not hasattr(base, name):
            if value != usual[name]:
                lost.append(titles[name])
            continue
        old = getattr(base, name)
        unsaid = old is None and value == 0.0
        if not unsaid and not _same(old, value):
            values[name] = value
    if case.treatment is not None and not {"treatment", "heat_treatment"} & set(case.missing):
        values["heat_treatment"] = (
            HeatTreatment.AS_FORMED
            if case.treatment == Treatment.AS_FORMED
            else HeatTreatment.ANNEALED
        )
    factor = case.forming_factor
    if factor is not None:
        if _same(factor, 0.6):
            values["forming"] = Forming.HYDRAULIC
        elif base.forming not in {Forming.MANDREL, Forming.ROLL} or not _same(factor, 1.0):
            lost.append(titles["forming_factor"])
    return values, tuple(lost)


def _known(name: str, value: object, missing: Sequence[str]) -> bool:
    if name in missing or value is None or value == "":
        return False
    return not (isinstance(value, float) and math.isnan(value))


def _same(old: object, new: object) -> bool:
    if isinstance(old, float) and isinstance(new, (int, float)):
        return math.isclose(old, new, rel_tol=_SAME)
    return old == new


def joints(site: Site) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Joints of the register with the letters of their bellows."""
    try:
        register = site.register()
    except TakeupError:
        return ()
    return tuple(
        (joint.tag, tuple(one.letter for one in register.bellows(joint.tag)))
        for joint in register.all(Joint)
    )


class Sized(msgspec.Struct, frozen=True, kw_only=True):
    """What is kept of a search: its result with only those of the set that are shown."""

    result: SizingResult
    not_beaten: int
    """How many the whole set held."""


def keep_task(site: Site, task: SizingTask) -> str:
    """Keep what a search is asked before it runs, and return the key of its result."""
    key = hashlib.sha256(msgspec.json.encode((task, __version__))).hexdigest()[:24]
    site.store.put_result(SIZING_TASK, key, key, __version__, site.now(), pack(task))
    return key


def run_sizing(site: Site, key: str, *, progress: Progress = silent) -> Sized:
    """Search the whole space of a kept task and keep the result under the same key."""
    from takeup.bellows.sizing import size

    result = size(sizing_task(site, key), progress)
    shown = tuple(one.candidate for one in result.choices)
    kept = Sized(result=msgspec.structs.replace(result, front=shown), not_beaten=len(result.front))
    site.store.put_result(SIZING, key, key, __version__, site.now(), pack(kept))
    return kept


def sizing_task(site: Site, key: str) -> SizingTask:
    """The task kept under ``key``; raises UnknownName where there is none."""
    from takeup.bellows.sizing import SizingTask

    stored = site.store.result(SIZING_TASK, key)
    task = unpack(stored.body, SizingTask) if stored else None
    if task is None:
        raise UnknownName("search", key)
    return task


def sizing_result(site: Site, key: str) -> Sized | None:
    """The result kept under ``key``, if the search ran to its end."""
    stored = site.store.result(SIZING, key)
    return unpack(stored.body, Sized) if stored else None


def sized(site: Site, key: str, number: int) -> Choice:
    """One of the bellows shown of a search; raises UnknownName for another number."""
    from takeup.bellows.sizing import choice

    kept = sizing_result(site, key)
    if kept is None:
        raise UnknownName("search", key)
    return choice(kept.result, number)


def requisition(site: Site, key: str, number: int) -> Path:
    """Write the data sheet of one bellows of a search as PDF and return where it lies."""
    from takeup.documents.requisition import Requisition, render

    one = sized(site, key, number)
    kept = sizing_result(site, key)
    assert kept is not None
    sheet = Requisition(result=kept.result, choice=one, system=site.system, made=site.now())
    return render(sheet, site.documents_folder / f"requisition-{key[:8]}-{number}.pdf")
