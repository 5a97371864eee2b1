"""What every option is built from: conditions, tasks, cost, lead, life after. Data beside it."""

from __future__ import annotations

import csv
import functools
import math
from importlib import resources

import msgspec

from takeup.ageing.model import LifeRecord
from takeup.assess.joint_types import type_facts
from takeup.assess.model import JointCase, Level, Mechanism, Verdict
from takeup.assess.reading import date_of, is_current, standing
from takeup.checks import LimitKind
from takeup.errors import UnknownName
from takeup.evidence.facts import Answer
from takeup.options.model import Condition, LongLead, Money, Task, Truth
from takeup.register.entities import Crew, OptionName, Quote, Wall, YesNo
from takeup.sources import Source, Standing, practice
from takeup.units import DAY

WEEK = 7 * DAY
REFERENCE_DIAMETER = 1.2
"""m; the class figures are for joints of 0.9 to 1.5 m."""
PRACTICE = practice("conditions of repair options")
LEADS = practice("lead times")
NICKEL = 1.3


def condition(
    id: str,
    text: str,
    truth: Truth,
    because: str,
    *,
    evidence: tuple[str, ...] = (),
    essential: bool = True,
    source: Source = PRACTICE,
    limit_kind: LimitKind = LimitKind.RULE_OF_THUMB,
) -> Condition:
    """A condition with its evidence or the question to ask."""
    return Condition(
        id=id,
        text=text,
        truth=truth,
        because=because,
        evidence=evidence,
        essential=essential,
        source=source,
        limit_kind=limit_kind,
    )


def answered(
    case: JointCase, code: str, id: str, text: str, question: str, *, essential: bool = True
) -> Condition:
    """A yes/no condition from the answers to a check item; not answered is unknown.

    Of each place on the joint the newest answer counts, and one no among them is a no.
    """
    known = [one for one in standing(case, (code,)) if one.answer is not None]
    seen = min(known, key=lambda one: (one.answer == Answer.YES, one.place), default=None)
    if seen is None:
        return condition(id, text, Truth.UNKNOWN, f"{question} (item {code})", essential=essential)
    yes = seen.answer == Answer.YES
    said = seen.text or ("yes" if yes else "no")
    return condition(
        id,
        text,
        Truth.MET if yes else Truth.NOT_MET,
        f"{said} ({seen.visit})",
        evidence=(seen.ref,),
        essential=essential,
    )


def measured(
    case: JointCase,
    code: str,
    id: str,
    text: str,
    question: str,
    *,
    limit: str,
    at_least: bool,
    essential: bool = True,
) -> Condition:
    """A measured condition against a limit; not measured, or too long ago, is unknown.

    Of each place on the joint the newest reading counts, and the worst of them is judged.
    """
    from takeup.units import shown

    bound = case.limits[limit]
    known = [one for one in standing(case, (code,)) if one.value is not None]
    sign = 1.0 if at_least else -1.0
    seen = min(known, key=lambda one: (sign * (one.value or 0.0), one.place), default=None)
    if seen is None or seen.value is None:
        return condition(
            id,
            text,
            Truth.UNKNOWN,
            f"{question} (item {code})",
            essential=essential,
            source=bound.source,
            limit_kind=bound.limit_kind,
        )
    good = seen.value >= bound.value if at_least else seen.value <= bound.value
    system = case.plant.units
    oldest = min(date for one in known if (date := date_of(case, one)) is not None)
    if good and not is_current(case, oldest):
        return condition(
            id,
            text,
            Truth.UNKNOWN,
            f"last read on {oldest.isoformat()}, too long ago: {question} (item {code})",
            evidence=(seen.ref,),
            essential=essential,
            source=bound.source,
            limit_kind=bound.limit_kind,
        )
    return condition(
        id,
        text,
        Truth.MET if good else Truth.NOT_MET,
        f"{shown(seen.value, bound.kind, system)} read on {seen.visit}, limit "
        f"{shown(bound.value, bound.kind, system)}",
        evidence=(seen.ref,),
        essential=essential,
        source=bound.source,
        limit_kind=bound.limit_kind,
    )


def recorded(
    value: YesNo | None,
    wanted: YesNo,
    id: str,
    text: str,
    question: str,
    evidence: tuple[str, ...],
    *,
    essential: bool = True,
) -> Condition:
    """A condition from a yes/no field of the register; unknown stays unknown."""
    if value is None:
        return condition(id, text, Truth.UNKNOWN, question, essential=essential)
    return condition(
        id,
        text,
        Truth.MET if value == wanted else Truth.NOT_MET,
        f"on record: {value.value}",
        evidence=evidence,
        essential=essential,
    )


# -- what the joint is -----------------------------------------------------------------------


def diameter(case: JointCase) -> float:
    """Bellows (else pipe, else reference) diameter [m] by which class figures are scaled."""
    found = [one.inside_diameter for one in case.bellows if one.inside_diameter]
    return max(found, default=case.line.diameter or REFERENCE_DIAMETER)


def bellows_count(case: JointCase) -> int:
    """How many bellows the joint has: on record, else by its type."""
    return len(case.bellows) or type_facts(case.joint.type).bellows


def nickel(case: JointCase) -> bool:
    """Whether a bellows is of nickel alloy."""
    from takeup.materials import Family, alloy

    for one in case.bellows:
        try:
            if one.material and alloy(one.material).family == Family.NICKEL:
                return True
        except UnknownName:
            continue
    return False


def lined(case: JointCase) -> bool:
    """Whether the line is refractory-lined at the joint."""
    return case.joint.wall in {Wall.COLD, Wall.HOT} and diameter(case) >= 0.6


def plies(case: JointCase) -> int | None:
    """The largest number of plies on record."""
    return max((one.plies for one in case.bellows if one.plies), default=None)


# -- tables ----------------------------------------------------------------------------------


@functools.cache
def _rows(name: str) -> tuple[dict[str, str], ...]:
    text = resources.files("takeup.options").joinpath(name).read_text("utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def hazards(option: OptionName) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Hazards and cautions of an option."""
    rows = [row for row in _rows("cautions.csv") if row["option"] in {option.value, "*"}]
    return (
        tuple(row["hazard"] for row in rows if row["hazard"]),
        tuple(row["caution"] for row in rows if row["caution"]),
    )


def cost(case: JointCase, option: OptionName, quote: Quote | None) -> Money:
    """Cost with its class and range: the site's quote, else the class figure scaled."""
    if quote is not None and quote.cost is not None:
        return Money(
            likely=quote.cost,
            low=0.85 * quote.cost,
            high=1.2 * quote.cost,
            estimate_class=3,
            basis=f"{quote.basis or 'site figure'}; class 3 range -15/+20 %",
        )
    variant = "lined" if option == OptionName.REPLACE and lined(case) else ""
    if option == OptionName.REPLACE and not variant:
        variant = "plain"
    row = next(
        r for r in _rows("costs.csv") if r["option"] == option.value and r["variant"] == variant
    )
    scale = (diameter(case) / REFERENCE_DIAMETER) ** float(row["exponent"])
    scale *= 1.0 + float(row["per_bellows"]) * (bellows_count(case) - 1)
    metal = NICKEL if row["alloy"] == "yes" and nickel(case) else 1.0
    low, high = (1e3 * float(row[name]) * scale * metal for name in ("low", "high"))
    words = f"class figure, diameter {diameter(case):.2f} m, {bellows_count(case)} bellows"
    return Money(
        likely=math.sqrt(low * high),
        low=low,
        high=high,
        estimate_class=5,
        basis=words + (", nickel alloy" if metal > 1 else "") + "; USD of 2024, site to confirm",
    )


def leads(case: JointCase, option: OptionName, quote: Quote | None) -> tuple[LongLead, ...]:
    """What must be ordered, and how long that takes."""
    rows = []
    for row in _rows("leads.csv"):
        if row["option"] != option.value:
            continue
        if row["max_diameter"] and diameter(case) > float(row["max_diameter"]):
            continue
        if row["nickel"] and (row["nickel"] == "yes") != nickel(case):
            continue
        if row["lined"] and (row["lined"] == "yes") != lined(case):
            continue
        rows.append(row)
    found = []
    for row in rows[:1]:  # the first row that fits is the most particular one
        low, likely, high = (float(row[name]) * WEEK for name in ("low", "likely", "high"))
        source = LEADS
        if quote is not None and quote.lead is not None:
            low, likely, high = 0.85 * quote.lead, quote.lead, 1.3 * quote.lead
            source = Source(document="Site", at=quote.basis or "quote", standing=Standing.READ)
        found.append(
            LongLead(
                item=row["item"],
                lead=likely,
                lead_low=low,
                lead_high=high,
                on_site=float(row["on_site"]) * WEEK,
                preparation=float(row["preparation"]) * WEEK,
                source=source,
            )
        )
    return tuple(found)


def tasks(case: JointCase, option: OptionName) -> tuple[Task, ...]:
    """The steps of an option, scaled with diameter and number of bellows."""
    scale = max(0.6, diameter(case) / REFERENCE_DIAMETER)
    count = bellows_count(case)
    own = [row for row in _rows("tasks.csv") if row["option"] in {option.value, "*"}]
    if not lined(case):
        own = [row for row in own if row["id"] not in {"lining", "dry_out"}]
    known = {row["id"] for row in own}
    in_window = [row for row in own if row["option"] != "*" and not row["before"]]
    made = []
    for row in own:
        factor = (scale if row["scale"] == "D" else 1.0) * (count if row["per"] == "bellows" else 1)
        after: list[str] = []
        for name in filter(None, row["after"].split("|")):
            after += _last(in_window) if name == "@" else _resolve(name, known)
        made.append(
            Task(
                id=row["id"],
                name=row["name"],
                hours=_half(float(row["hours"]) * factor),
                low=_half(float(row["low"]) * factor),
                high=_half(float(row["high"]) * factor),
                crew=Crew(row["crew"]) if row["crew"] else None,
                gangs=int(row["gangs"]),
                elapsed=row["elapsed"] == "yes",
                may_span=row["may_span"] == "yes",
                before_outage=row["before"] == "yes",
                after=tuple(dict.fromkeys(after)) or (),
                hold_point=row["hold"] == "yes",
            )
        )
    return tuple(made)


def _last(rows: list[dict[str, str]]) -> list[str]:
    """The last step of the option's own work; the inspection where it has none."""
    return [rows[-1]["id"]] if rows else ["inspect"]


def _resolve(name: str, known: set[str]) -> list[str]:
    if name in known:
        return [name]
    # an unlined joint has no lining steps: what follows them follows what came before
    return {"dry_out": ["nde"], "lining": ["nde"]}.get(name, [])


def _half(hours: float) -> float:
    return max(0.5, round(2.0 * hours) / 2.0)


def chain_hours(steps: tuple[Task, ...]) -> float:
    """The longest chain of steps in the window [h], working and elapsed hours added."""
    length: dict[str, float] = {}
    for step in steps:
        if step.before_outage:
            continue
        before = max((length.get(name, 0.0) for name in step.after), default=0.0)
        length[step.id] = before + step.hours
    return max(length.values(), default=0.0)


# -- life after ------------------------------------------------------------------------------


class Life(msgspec.Struct, frozen=True, kw_only=True):
    """Chances with an option, and what they rest on."""

    to_next: float | None
    to_second: float | None
    words: str


def as_is(case: JointCase, verdict: Verdict) -> tuple[float | None, float | None]:
    """Chances without doing anything: age statistics, capped by what was found on the joint."""
    survival = verdict.evaluation.survival
    if survival is None:
        return None, None
    cap = {
        Level.ACT_NOW: "belief.act_now",
        Level.IN_DOUBT: "belief.in_doubt",
        Level.UNPROVEN: "belief.unproven",
    }.get(verdict.level)
    to_next = survival.to_next
    run = survival.to_second / survival.to_next if survival.to_next > 0 else 0.0
    if case.second_outage is None:
        return min(to_next, case.limits.value(cap)) if cap else to_next, None
    if cap is not None:
        to_next = min(to_next, case.limits.value(cap))
    # age alone is what the statistics already speak of; evidence on the joint caps them
    if verdict.level != Level.CARRIES_ON and verdict.governing != Mechanism.AGE:
        run = min(run, case.limits.value("belief.this_run"))
    return to_next, to_next * run


def renewed(case: JointCase, verdict: Verdict, share: float, what: str) -> Life:
    """Chances when the bellows is renewed at the next outage to ``share`` of a new life."""
    to_next, _ = as_is(case, verdict)
    survival = verdict.evaluation.survival
    if survival is None or case.next_outage is None or case.second_outage is None:
        return Life(
            to_next=to_next,
            to_second=None,
            words=f"{what}; chance not known: age or outages are not on record",
        )
    run = (case.second_outage.start - case.next_outage.start).days / 365.25
    chance = _new_life(case, run / share)
    low, high = share * survival.typical_low, share * survival.typical_high
    return Life(
        to_next=to_next,
        to_second=chance,
        words=f"{what}: {low:.0f} to {high:.0f} years typical of this service; "
        f"{chance:.0%} to last the run after the outage",
    )


@functools.lru_cache(maxsize=4096)
def _new_life_cached(
    service: str, run: float, records: tuple[LifeRecord, ...], shape: tuple[float, float]
) -> float:
    from takeup.ageing import survival

    found = survival.lasting_many(service, [0.0], [run], [run], records, shape_span=shape)[0]
    return found.to_next


def _new_life(case: JointCase, run: float) -> float:
    shape = (case.limits.value("weibull.shape_low"), case.limits.value("weibull.shape_high"))
    return _new_life_cached(case.line.service.value, round(run, 6), case.history, shape)


def kept(case: JointCase, verdict: Verdict, what: str) -> Life:
    """Chances when the bellows stays: its age goes on."""
    to_next, to_second = as_is(case, verdict)
    return Life(to_next=to_next, to_second=to_second, words=what)


def cause_fit(option: OptionName, causes: tuple[str, ...]) -> tuple[bool | None, str]:
    """Whether an option mends what the evidence shows; ``None`` when no cause is known."""
    rows = {row["cause"]: row for row in _rows("causes.csv")}
    known = [rows[cause] for cause in causes if cause in rows]
    if not known:
        return None, ""
    against = [row for row in known if option.value in row["does_not_fit"].split("|")]
    if against:
        return False, f"does not mend {against[0]['words']}: {against[0]['why']}"
    fitting = [row for row in known if option.value in row["fits"].split("|")]
    if len(fitting) == len(known):
        return True, f"mends {known[0]['words']}: {known[0]['why']}"
    if fitting:
        left = next(row for row in known if row not in fitting)
        return False, f"mends {fitting[0]['words']}, but not {left['words']}: {left['why']}"
    return False, f"does not mend {known[0]['words']}: {known[0]['why']}"


def cause_words(cause: str) -> str:
    """A cause in words."""
    return next((r["words"] for r in _rows("causes.csv") if r["cause"] == cause), cause)
