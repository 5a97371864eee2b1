"""What was seen wrong with load-carrying hardware, read as defects of its load path."""

from __future__ import annotations

import re

import msgspec

from takeup.assess.model import JointCase
from takeup.assess.reading import standing
from takeup.bellows.hardware.model import Defect, DefectKind, End
from takeup.evidence.facts import Observation
from takeup.register.entities import Hardware, HardwareKind

SEEN = ("HH1", "HH2", "HH3", "HH4", "CH1", "CH2", "CH3", "CH4", "XL1", "XT1", "XP1")
"""Check items that may find a part of the path wrong."""
LEAST_GRADE = 3
"""From this grade on what was seen takes a part out of the path or weakens it."""


UNREAD = (
    "its words name no nut, rod, pin, weld, plate, ring or link that is wrong, so the load path "
    "is worked out without it"
)


class Seen(msgspec.Struct, frozen=True, kw_only=True):
    """An observation read as a defect of the path, or not."""

    observation: Observation
    defect: Defect | None
    why: str
    """How it was read."""


_GONE = re.compile(r"\b(gone|missing|lost|fell|fallen|off|absent)\b")
_LOOSE = re.compile(r"\b(loose|slack|not bearing|backed off)\b")
_BROKEN = re.compile(r"\b(broken|sheared|snapped|parted|severed)\b")
_CRACK = re.compile(r"\b(crack|cracks|cracked|cracking|linear indication)\b")
_BENT = re.compile(r"\b(bent|bowed)\b")
_WORN = re.compile(r"\b(worn|oval|galled|wear)\b")
_LIMIT = re.compile(r"\b(no gap|slot end|end of (the|its) slot|packed|engaged|bears on the lug)\b")
_KEEPER = re.compile(r"\b(keeper|cotter|split pin|retainer)\b")


def defects(case: JointCase, item: Hardware) -> tuple[Seen, ...]:
    """What stands from walks and inspections at grade 3 or 4, read as defects of the path.

    The words of the observation decide which part is meant; words that name no part of this
    hardware are handed back unread, never guessed.
    """
    found = []
    for seen in standing(case, SEEN):
        if seen.grade is None or seen.grade < LEAST_GRADE:
            continue
        text = f"{seen.place} {seen.text}".casefold()
        kind = _kind(item.kind, seen, text)
        if kind is None:
            if seen.item.upper() != "CH3":  # welds of rings and cones are another mechanism's
                found.append(Seen(observation=seen, defect=None, why=UNREAD))
            continue
        number, said = _number(text)
        most = (item.count or number) if item.kind in _RODS else 2
        defect = Defect(
            kind=kind,
            number=min(number, most),
            end=End.B if re.search(r"\bend b\b", text) else End.A,
            unit=2 if re.search(r"\b(hinge|unit|gimbal) 2\b", text) else 1,
            note=seen.text,
        )
        why = "" if said else "which one is not said: the first is taken"
        found.append(Seen(observation=seen, defect=defect, why=why))
    return tuple(found)


_RODS = frozenset({HardwareKind.TIE_ROD, HardwareKind.LIMIT_ROD})
_PINNED = frozenset({HardwareKind.HINGE, HardwareKind.SLOTTED_HINGE, HardwareKind.GIMBAL})


def _kind(kind: HardwareKind, seen: Observation, text: str) -> DefectKind | None:
    """The defect that the words of an observation name, for this kind of hardware."""
    code = seen.item.upper()
    if code == "CH3" and not re.search(r"\b(lug|gusset|hinge|rod|tie|gimbal)\b", text):
        return None
    if _CRACK.search(text):
        if re.search(r"\bweld|\btoe\b|\bfillet", text) or code == "CH3":
            return DefectKind.WELD_CRACKED
        if kind == HardwareKind.GIMBAL and "ring" in text:
            return DefectKind.RING_CRACKED
        if kind in _PINNED and re.search(r"\b(plate|arm|lug|hinge)\b", text):
            return DefectKind.PLATE_CRACKED
    if kind in _RODS:
        return _of_rods(kind, code, text)
    if kind == HardwareKind.PANTOGRAPH:
        if _BROKEN.search(text) and re.search(r"\b(link|bar|arm|linkage)\b", text):
            return DefectKind.LINK_BROKEN
        return DefectKind.AT_LIMIT if _LIMIT.search(text) else None
    if kind == HardwareKind.SLOTTED_HINGE and _LIMIT.search(text):
        return DefectKind.AT_LIMIT
    if re.search(r"\bpins?\b", text) and not _KEEPER.search(text):
        if _GONE.search(text) or _BROKEN.search(text):
            return DefectKind.PIN_MISSING
        if _BENT.search(text):
            return DefectKind.PIN_BENT
        if _WORN.search(text):
            return DefectKind.PIN_WORN
    return None


def _of_rods(kind: HardwareKind, code: str, text: str) -> DefectKind | None:
    if kind == HardwareKind.LIMIT_ROD and (code in {"HH2", "XL1"} or _LIMIT.search(text)):
        return DefectKind.AT_LIMIT
    if "nut" in text and _GONE.search(text):
        return DefectKind.NUT_MISSING
    if "rod" in text and (_BROKEN.search(text) or _GONE.search(text) or _CRACK.search(text)):
        return DefectKind.ROD_BROKEN
    if _LOOSE.search(text):
        return DefectKind.NUT_LOOSE
    return None


def _number(text: str) -> tuple[int, bool]:
    """The number of the rod, pin or side meant, and whether it was said."""
    found = re.search(r"\b(?:rod|pin|side|lug|plate|bar|nut|no\.?)\s*(\d+)", text)
    if found is None:
        return 1, False
    return max(1, int(found[1])), True
