"""Rings and cones on hot pipe: proposed from the register, kept as text, worked out, kept.

Nothing is assumed: what neither the register nor the text says is asked for by name, and as long
as something is asked for nothing is worked out.  A result is kept with the hash of what it rests
on and counts only while that stands.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from typing import TYPE_CHECKING, Any

import msgspec

from takeup import __version__
from takeup.assess.attached import CONES, Attached, State
from takeup.assess.starts import starts
from takeup.desk.attachments_draft import draft, text_of
from takeup.desk.results import pack, unpack
from takeup.errors import Refused, TakeupError, UnknownName
from takeup.progress import Progress, silent
from takeup.register.entities import AttachmentModel, Hardware, HardwareKind, Joint, Wall, YesNo

if TYPE_CHECKING:
    from takeup.ageing.attachment_case import AttachmentCase, AttachmentReport
    from takeup.assess.model import JointCase
    from takeup.desk.site import Site
    from takeup.heat.attachment.solve import Answer

__all__ = [
    "CONES", "Item", "Read", "attached", "draft", "items", "keep", "model", "read", "report", "run", "text_of",
    "titled",
]  # fmt: skip
KIND = "attachment"
_ALWAYS = (
    "kind", "inside_diameter", "wall", "pipe_metal", "gas", "gas_film", "ambient", "air_film",
    "emissivity", "heat_up", "cool_down", "examined",
)  # fmt: skip
_RING = (
    "ring_metal", "ring_outside_diameter", "ring_width", "fillet", "insulation", "pressure",
)  # fmt: skip
_INSULATED = ("insulation_conductivity", "ring_covered")


class Read(msgspec.Struct, frozen=True, kw_only=True):
    """The text of an attachment as read."""

    case: AttachmentCase | None
    """Whole and sound, ready to be worked out; else ``None``"""
    asked: tuple[str, ...] = ()
    """What the text has to say yet, by title and key"""
    faults: tuple[str, ...] = ()


class Item(msgspec.Struct, frozen=True, kw_only=True):
    """An attachment that a joint has or may have."""

    item: str
    title: str
    model: AttachmentModel | None
    """``None`` where no text is kept yet"""
    attached: Attached | None


def items(site: Site, case: JointCase) -> tuple[Item, ...]:
    """Rings of the register, the cones of a hot wall, and whatever else a text is kept of.

    ``case`` is that of the joint, with its attachments.
    """
    register = site.register()
    tag = case.joint.tag
    models = {one.item.casefold(): one for one in register.of_joint(AttachmentModel, tag)}
    seen = {one.item.casefold(): one for one in case.attachments}
    names = [
        one.item
        for one in case.hardware
        if one.kind == HardwareKind.RING and one.on_hot_pipe != YesNo.NO
    ]
    if case.joint.wall in {Wall.HOT, Wall.UNLINED}:
        names.append(CONES)
    names += [one.item for one in models.values()]
    every = {name.casefold(): name for name in reversed(names)}
    ordered = [every[key] for key in dict.fromkeys(name.casefold() for name in names)]
    return tuple(
        Item(
            item=name,
            title=titled(tag, name),
            model=models.get(name.casefold()),
            attached=seen.get(name.casefold()),
        )
        for name in ordered
    )


def titled(tag: str, item: str) -> str:
    """An attachment in words."""
    return f"cones of {tag}" if item.casefold() == CONES else f"ring {item}"


def model(site: Site, tag: str, item: str) -> AttachmentModel | None:
    """The text kept of an attachment; ``None`` where there is none.

    Raises :class:`takeup.errors.UnknownName` for an unknown joint, and for an item that is
    neither hardware of the joint, nor its cones, nor kept.
    """
    register = site.register()
    joint = register.get(Joint, tag)
    kept = register.find(AttachmentModel, f"{joint.tag}/{item}")
    if kept is not None:
        return kept
    known = [one.item for one in register.of_joint(Hardware, joint.tag)]
    if item.casefold() not in {CONES, *(name.casefold() for name in known)}:
        raise UnknownName(f"attachment of {joint.tag}", item, [*known, CONES])
    return None


def keep(
    site: Site, tag: str, item: str, text: str, author: str, reason: str, *, note: str = ""
) -> Read:  # fmt: skip
    """Keep ``text`` as the attachment ``item`` of joint ``tag``, whether or not it is whole.

    Raises :class:`takeup.errors.Refused` for an empty text or no author, and as :func:`model`.
    """
    if not text.strip():
        raise Refused("the text of the attachment is empty; nothing was kept")
    if not author.strip():
        raise Refused("say who keeps the attachment; nothing was kept")
    before = model(site, tag, item)
    joint = site.register().get(Joint, tag)
    own = [one.item for one in site.register().of_joint(Hardware, joint.tag)]
    name = next((one for one in [*own, CONES] if one.casefold() == item.casefold()), item)
    made = AttachmentModel(
        joint=joint.tag,
        item=before.item if before is not None else name,
        text=text.replace("\r\n", "\n"),
        note=note,
    )
    with site.change(author, reason or "attachment on hot pipe kept") as change:
        change.put_many([made])
    return read(text)


def read(text: str) -> Read:
    """Read the text of an attachment; what it leaves out is asked for, a zero has to be written."""
    from takeup.ageing.attachment_case import AttachmentCase, task_of
    from takeup.given import raw_of, take

    try:
        raw = raw_of("attachment.toml", text.encode())
    except TakeupError as fault:
        return Read(case=None, faults=(str(fault),))
    asked = _asked(raw)
    taken = take(raw, AttachmentCase)
    absent = {f"$.{name}" for name in _ALWAYS if name not in raw}
    faults = tuple(
        f"{one.place} {one.wrong}" for one in taken.faults if one.place not in absent
    )  # fmt: skip
    if taken.value is None or asked or faults:
        return Read(case=None, asked=asked, faults=faults)
    case = taken.value
    try:
        task_of(case)
    except TakeupError as fault:
        return Read(case=None, faults=(str(fault),))
    return Read(case=case)


def _asked(raw: dict[str, Any]) -> tuple[str, ...]:
    from takeup.ageing.attachment_case import AttachmentCase, AttachmentKind
    from takeup.fields import specs

    titles = {one.name: one.title for one in specs(AttachmentCase)}
    wanted = list(_ALWAYS)
    kind = str(raw.get("kind", "")).casefold()
    if kind == AttachmentKind.RING.value:
        wanted += _RING
        if raw.get("insulation"):
            wanted += _INSULATED
    elif kind == AttachmentKind.FORMED.value:
        wanted.append("knuckle")
    asked = [f"{titles[name].lower()} ({name})" for name in wanted if name not in raw]
    if kind in {AttachmentKind.FORMED.value, AttachmentKind.CORNERS.value}:
        pieces = raw.get("pieces")
        if not isinstance(pieces, list) or len(pieces) < 2:
            asked.append("pieces from the hot end on: pipe, cone, cuff ([[pieces]])")
    return tuple(asked)


def hash_of(case: AttachmentCase) -> str:
    """Hash of what the calculation rests on: all but its name and the starts, which are counted."""
    bare = msgspec.structs.replace(case, name="", starts_so_far=None, starts_to_come=None)
    return hashlib.sha256(__version__.encode() + msgspec.json.encode(bare)).hexdigest()


def run(site: Site, tag: str, item: str, *, progress: Progress = silent) -> AttachmentReport:
    """Work out an attachment and keep the result with the hash of its input.

    Raises :class:`takeup.errors.MissingInput` naming what is asked for,
    :class:`takeup.errors.Refused` where it is out of range, as :func:`model`, and
    :class:`takeup.errors.Cancelled` where ``progress`` says so; then nothing is kept.
    """
    from takeup.ageing.attachment_case import Worked, evaluate
    from takeup.errors import MissingInput

    kept = model(site, tag, item)
    if kept is None:
        raise UnknownName("text of attachment", f"{tag}/{item}")
    progress(0.0, "reading the text")
    given = read(kept.text)
    if given.asked:
        raise MissingInput(titled(kept.joint, kept.item), given.asked)
    if given.case is None:
        raise Refused(f"{titled(kept.joint, kept.item)}: {'; '.join(given.faults)}")
    found = evaluate(given.case, progress=progress)
    site.store.put_result(
        KIND, f"{kept.joint}/{kept.item}", hash_of(given.case), __version__, site.now(),
        pack(Worked(case=given.case, answer=found.answer)),
    )  # fmt: skip
    return found


def attached(site: Site, case: JointCase) -> tuple[Attached, ...]:
    """Every attachment kept with a joint, with its current result and its starts counted.

    The starts are counted anew each time: a further start-up needs no new calculation.
    """
    register = site.register()
    return tuple(
        _attached(site, case, kept)[0]
        for kept in register.of_joint(AttachmentModel, case.joint.tag)
    )


def report(site: Site, case: JointCase, item: str) -> tuple[Attached, AttachmentReport | None]:
    """An attachment of a joint with what is drawn of it; no drawing unless it is current.

    Raises :class:`takeup.errors.UnknownName` where nothing is kept under ``item``.
    """
    kept = site.register().find(AttachmentModel, f"{case.joint.tag}/{item}")
    if kept is None:
        raise UnknownName("text of attachment", f"{case.joint.tag}/{item}")
    return _attached(site, case, kept)


def _attached(
    site: Site, case: JointCase, kept: AttachmentModel
) -> tuple[Attached, AttachmentReport | None]:
    from takeup.ageing.attachment import judge
    from takeup.ageing.attachment_case import AttachmentReport, Worked, headline, task_of

    given = read(kept.text)
    bare = Attached(
        item=kept.item, title=titled(kept.joint, kept.item), state=State.OPEN, asked=given.asked,
        faults=given.faults,
    )  # fmt: skip
    if given.case is None:
        faulty = State.FAULTY if given.faults else State.OPEN
        return msgspec.structs.replace(bare, state=faulty), None
    counts = starts(
        case, typed=given.case.starts_so_far, typed_to_come=given.case.starts_to_come
    )  # fmt: skip
    key = hash_of(given.case)
    bare = msgspec.structs.replace(bare, starts=counts, inputs_hash=key)
    stored = site.store.result(KIND, f"{kept.joint}/{kept.item}")
    found = None if stored is None else unpack(stored.body, Worked)
    if stored is None or found is None:
        return bare, None
    if stored.inputs_hash != key:
        return msgspec.structs.replace(bare, state=State.STALE, worked=_utc(stored.time)), None
    task = task_of(given.case)
    try:
        judged = judge(
            task, found.answer, examined=given.case.examined, cycles_so_far=counts.so_far,
            cycles_to_come=counts.to_next,
        )  # fmt: skip
    except TakeupError as fault:
        return msgspec.structs.replace(bare, state=State.FAULTY, faults=(str(fault),)), None
    words = headline(judged)
    whole = msgspec.structs.replace(
        bare, state=State.CURRENT, judged=judged, headline=words, worked=_utc(stored.time),
        cautions=_against_measured(case, found.answer),
    )  # fmt: skip
    return whole, AttachmentReport(
        case=given.case, task=task, answer=found.answer, judged=judged, headline=words
    )


FAR = 40.0
"""A computed pipe temperature further than this from the measured one is told [K]"""


def _against_measured(case: JointCase, answer: Answer) -> tuple[str, ...]:
    from takeup.units import shown

    measured, ring = case.line.shell_temperature, answer.ring
    if measured is None or ring is None or abs(ring.pipe - measured) <= FAR:
        return ()
    system = case.plant.units
    return (
        f"The pipe beside the ring comes out at {shown(ring.pipe, 'temperature', system)} and is "
        f"measured at {shown(measured, 'temperature', system)}: put films and insulation right "
        "first; the range of stress goes with the pipe's temperature over the ring's.",
    )


def _utc(time: dt.datetime) -> dt.datetime:
    return time if time.tzinfo is not None else time.replace(tzinfo=dt.UTC)
