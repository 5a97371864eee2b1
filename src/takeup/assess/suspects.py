"""Who is at fault, as far as the diagnosis of a line carries it.

Rules, all engineering assumptions with their limits open to the site:

- Where no explanation fits the readings (chance of the misfit under ``diagnosis.fits``), nobody
  is accused and nothing is hinted at.
- A place is accused when the chances of all explanations with a fault there add up to
  ``diagnosis.accuse`` or more.  From ``diagnosis.hint`` on it is a hint, and only that.
- Nobody is accused from afar: it takes a reading at the place that is off the sound line by more
  than ``OFF`` of its errors, or something seen wrong there.  A fault that is not among those looked
  for, such as a joint half locked, can look exactly like a fault of its sound neighbour.
- A support seen as drawn on a current walk is a hint at most: what was seen speaks before what is
  inferred.  So is everyone while the marks agree with the entered movement and not with the
  model: then the model may be what is wrong.
- Explanations that the readings cannot tell apart stay together, with the reading that would.
"""

from __future__ import annotations

from enum import StrEnum

import msgspec

from takeup.assess import expected
from takeup.assess.model import Evaluation, JointCase
from takeup.assess.reading import date_of, is_current, standing
from takeup.assess.theory import Bundle, DiagnosisSeen, Suspicion, turned_off
from takeup.checks import Ground, LimitKind, Strength
from takeup.evidence.facts import Observation
from takeup.sources import Source
from takeup.sources import Standing as Firmness

SOURCE = Source(
    document="Takeup",
    at="diagnosis of the line from marks; priors and model errors assumed",
    standing=Firmness.ASSUMPTION,
)
OFF = 2.0
"""Errors by which a reading must be off the sound line to speak for a fault at its place."""
NOT_FITTED = (
    "no single fault or pair of faults on the model explains the marks of this line: check the "
    "readings, and the line as drawn, before anything is set right"
)


def in_words(chance: float) -> str:
    """A chance with two decimals, never 0 or 1: nothing is certain by a diagnosis."""
    return "over 0.99" if chance > 0.995 else "under 0.01" if chance < 0.005 else f"{chance:.2f}"


class Suspect(msgspec.Struct, frozen=True, kw_only=True):
    """A place that the diagnosis points at."""

    fault: Suspicion
    """The likeliest fault there"""
    others: tuple[str, ...]
    """Other faults of the same place that the readings leave open"""
    chance: float
    """That the place has any of them"""
    seen: tuple[Observation, ...] = ()
    """What was seen wrong there"""
    why_not: str = ""
    """Why it is no more than a hint"""

    @property
    def words(self) -> str:
        """The fault with its chance."""
        more = f" (or {'; '.join(self.others)})" if self.others else ""
        return f"{self.fault.words}{more}, {in_words(self.chance)}"


class Suspects(msgspec.Struct, frozen=True, kw_only=True):
    """What the diagnosis says about one joint."""

    accused: tuple[Suspect, ...] = ()
    hints: tuple[Suspect, ...] = ()
    together: Bundle | None = None
    """The leading explanations where they cannot be told apart"""
    fits: bool = True
    sound: bool = False
    """Whether the readings cannot be told from those of the sound line"""
    next: str = ""


def suspects(case: JointCase, evaluation: Evaluation) -> Suspects | None:
    """Judge the diagnosis for one joint; ``None`` unless its own marks are off the theory."""
    found = None if case.theory is None else case.theory.diagnosis
    if found is None or not is_off(case, evaluation):
        return None
    limits = case.limits
    if found.chance < limits.value("diagnosis.fits"):
        return Suspects(fits=False, next=found.next)
    accuse, hint = limits.value("diagnosis.accuse"), limits.value("diagnosis.hint")
    doubt = _model_in_doubt(case, evaluation)
    accused, hints = [], []
    for one in _places(case, found):
        if one.chance < hint:
            continue
        why = "" if one.chance >= accuse else f"{one.chance:.2f} is below {accuse:.2f}"
        why = why or doubt or _seen_sound(case, one.fault) or _from_afar(case, found, one)
        if why:
            hints.append(msgspec.structs.replace(one, why_not=why))
        else:
            accused.append(one)
    lead = next(iter(found.bundles), None)
    together = None
    if lead is not None and not lead.sound and len(lead.explanations) > 1:
        held = set.intersection(
            *({fault.place for fault in one.faults} for one in lead.explanations)
        )
        if not held and lead.posterior >= hint:
            together = lead
    return Suspects(
        accused=tuple(accused),
        hints=tuple(hints),
        together=together,
        sound=lead is not None and lead.sound,
        next=lead.split if lead is not None and together is not None else found.next,
    )


def is_off(case: JointCase, evaluation: Evaluation) -> bool:
    """Whether a measured movement of this joint is farther from the model than allowed."""
    for movement in evaluation.movements:
        moved = expected.move(case, movement.bellows)
        if movement.axial is None or moved is None:
            continue
        coarse = (movement.uncertainty or 0.0) > _allowed(case, moved.axial)
        if not coarse and _away(case, movement.axial, moved.axial):
            return True
    return _turned(case)


def _turned(case: JointCase) -> bool:
    """Whether a joint that turns was measured to turn otherwise than by the model."""
    found = None if case.theory is None else case.theory.diagnosis
    if found is None:
        return False
    share = case.limits.value("movement.agree_share")
    tag = case.joint.tag.casefold()
    return any(
        turned_off(one.measured, one.sound, one.error, share)
        for one in found.readings
        if one.kind == "angle" and one.place.casefold() == tag
    )


def _allowed(case: JointCase, theory: float) -> float:
    band = case.limits.value("movement.agree_band")
    return max(band, case.limits.value("movement.agree_share") * abs(theory))


def _away(case: JointCase, measured: float, theory: float) -> bool:
    return abs(measured - theory) > _allowed(case, theory)


def _model_in_doubt(case: JointCase, evaluation: Evaluation) -> str:
    """Why the model itself may be wrong, or nothing."""
    entered = expected.entered(case)
    check = expected.contradiction(case)
    if entered is None or entered[0] is None or check is None or (check.ratio or 0.0) <= 1.0:
        return ""
    measured = [m.axial for m in evaluation.movements if m.axial is not None]
    if measured and not any(_away(case, axial, entered[0]) for axial in measured):
        return "the marks agree with the entered movement and not with the model: check the model"
    return ""


def _places(case: JointCase, found: DiagnosisSeen) -> list[Suspect]:
    """Every place with the chance that it is at fault, likeliest first."""
    chances: dict[str, float] = {}
    faults: dict[str, dict[str, float]] = {}
    known: dict[tuple[str, str], Suspicion] = {}
    for bundle in found.bundles:
        for one in bundle.explanations:
            for fault in one.faults:
                chances[fault.place] = chances.get(fault.place, 0.0) + one.posterior
                own = faults.setdefault(fault.place, {})
                own[fault.words] = own.get(fault.words, 0.0) + one.posterior
                known[fault.place, fault.words] = fault
    made = []
    for place, chance in sorted(chances.items(), key=lambda pair: -pair[1]):
        order = sorted(faults[place], key=lambda words: -faults[place][words])
        made.append(
            Suspect(
                fault=known[place, order[0]],
                others=tuple(
                    words.split(place, 1)[-1].strip()
                    for words in order[1:]
                    if faults[place][words] >= 0.2 * faults[place][order[0]]
                ),
                chance=min(1.0, chance),
                seen=_seen(case, place, least=2),
            )
        )
    return made


def _seen(case: JointCase, place: str, least: int = 0) -> tuple[Observation, ...]:
    return tuple(
        one
        for one in standing(case)
        if one.grade is not None and one.grade >= least and one.place.casefold() == place.casefold()
    )


def _from_afar(case: JointCase, found: DiagnosisSeen, one: Suspect) -> str:
    """That nothing at the place itself speaks for the fault, or nothing."""
    if one.seen or role(case, one.fault) == Role.STATE:
        return ""
    own = [reading for reading in found.readings if reading.place == one.fault.place]
    if any(abs(reading.measured - reading.sound) > OFF * reading.error for reading in own):
        return ""
    return f"nothing read or seen at {one.fault.place} itself speaks for it"


def _seen_sound(case: JointCase, fault: Suspicion) -> str:
    """Why a support that was seen as drawn is not accused, or nothing."""
    if not fault.support:
        return ""
    seen = _seen(case, fault.place)
    current = [
        (date, one)
        for one in seen
        if (date := date_of(case, one)) is not None and is_current(case, date)
    ]
    if not current or any((one.grade or 0) >= 2 for _, one in current):
        return ""
    date = max(date for date, _ in current)
    return f"{fault.place} was seen as drawn on {date.isoformat()}: look at it again"


class Role(StrEnum):
    """What a suspected place is to the joint."""

    NEIGHBOUR = "neighbour"
    """A support, or another joint"""
    ITSELF = "joint"
    STATE = "state"
    """Not a place: the line runs otherwise than recorded"""


_WHO = {
    Role.NEIGHBOUR: "neighbour at fault",
    Role.ITSELF: "joint at fault",
    Role.STATE: "marks explained by",
}


def role(case: JointCase, fault: Suspicion) -> Role:
    """Whether a fault is of the joint itself, of a neighbour or of how the line runs."""
    if fault.place.casefold() == case.joint.tag.casefold():
        return Role.ITSELF
    return Role.STATE if fault.what == "other" else Role.NEIGHBOUR


def neighbours(case: JointCase, judged: Suspects | None) -> tuple[Suspect, ...]:
    """Accused supports and other joints."""
    found = judged.accused if judged is not None else ()
    return tuple(one for one in found if role(case, one.fault) == Role.NEIGHBOUR)


def grounds(case: JointCase, judged: Suspects | None) -> tuple[Ground, ...]:
    """The grounds of a diagnosis: accusations calculated, what stays open statistical."""
    if judged is None or case.theory is None:
        return ()
    found = []
    for one in judged.accused:
        also = f"; seen so: {one.seen[0].text or one.seen[0].item}" if one.seen else ""
        claim = f"{_WHO[role(case, one.fault)]}: {one.words}{also}"
        found.append(_ground(case, claim, one, Strength.CALCULATED))
    found += [
        _ground(case, f"hint, not shown: {one.words}; {one.why_not}", one, Strength.STATISTICAL)
        for one in judged.hints
    ]
    if judged.together is not None and not judged.accused:
        found.append(
            _ground(case, f"cannot be told apart: {alternatives(judged.together)}, together "
                    f"{in_words(judged.together.posterior)}", None, Strength.STATISTICAL)
        )  # fmt: skip
    return tuple(found)


def alternatives(bundle: Bundle, most: int = 4) -> str:
    """The explanations of a bundle in words."""
    names = [one.words for one in bundle.explanations]
    more = f" or {len(names) - most} more" if len(names) > most else ""
    return " or ".join(names[:most]) + more


def _ground(case: JointCase, claim: str, one: Suspect | None, strength: Strength) -> Ground:
    assert case.theory is not None
    return Ground(
        claim=claim,
        evidence=(
            f"line_model:{case.theory.line}",
            *(seen.ref for seen in (one.seen if one is not None else ())),
        ),
        rule="chances of all explanations with a fault there, singles and pairs; "
        f"{case.limits.value('diagnosis.accuse'):.0%} and more accuses, "
        f"{case.limits.value('diagnosis.hint'):.0%} and more hints",
        source=SOURCE,
        limit_kind=LimitKind.RULE_OF_THUMB,
        strength=strength,
    )


def asked(case: JointCase, judged: Suspects | None) -> tuple[str, ...]:
    """Readings and looks that would settle the diagnosis."""
    if judged is None or case.theory is None or case.theory.diagnosis is None:
        return ()
    found = list(case.theory.diagnosis.asked)
    if not judged.fits:
        return (*found, NOT_FITTED)
    if judged.together is not None and judged.next:
        found.append(f"{judged.next}: it would split {alternatives(judged.together)}")
    elif judged.next and not judged.accused:
        found.append(f"{judged.next}: it would tell most about what is at fault on this line")
    found += [f"a look at {one.fault.place}: {one.fault.words}" for one in judged.hints]
    return tuple(found)


_OWN_CAUSE = {"stiffened": "packed", "pins": "hardware", "locked": "hardware"}


def causes(case: JointCase, judged: Suspects | None) -> tuple[str, ...]:
    """Causes of the cause-to-option map that an accusation shows."""
    found = []
    for one in judged.accused if judged is not None else ():
        what = role(case, one.fault)
        if what == Role.NEIGHBOUR:
            found.append("support_fault")
        elif what == Role.ITSELF and one.fault.what in _OWN_CAUSE:
            found.append(_OWN_CAUSE[one.fault.what])
    return tuple(dict.fromkeys(found))


def changing(case: JointCase, judged: Suspects | None) -> tuple[str, ...]:
    """What would take an accusation back, or settle it."""
    found = []
    for one in judged.accused if judged is not None else ():
        if role(case, one.fault) == Role.STATE:
            found.append("the metal temperature of the line read hot, and the model set to it")
        else:
            found.append(
                f"{one.fault.place} found sound on site, or set right, and the marks read again"
            )
    return tuple(dict.fromkeys(found))
