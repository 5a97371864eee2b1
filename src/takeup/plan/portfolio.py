"""Portfolio: one option for each joint under the budget, exactly, with what stood near. Pure."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec
import numpy as np

from takeup.errors import Refused
from takeup.options.model import Money
from takeup.plan.model import Choice, LateOption, Portfolio, Status
from takeup.plan.problem import JointChoices, OptionChoice, PortfolioProblem
from takeup.plan.solvers.pick import choose as pick_one_each
from takeup.progress import Progress, silent
from takeup.register.entities import OptionName

EXACT_REGRET = 60
"""Up to so many joints the second best of each is found by solving again without the best."""
TIE = 0.5
"""Money; plans nearer to each other than this are called equal."""


class _Solved(msgspec.Struct, frozen=True):
    picks: tuple[OptionChoice, ...]
    objective: float
    bound: float
    proven: bool


def choose(
    problem: PortfolioProblem,
    *,
    costs: dict[tuple[str, OptionName], Money] | None = None,
    notes: Sequence[str] = (),
    progress: Progress = silent,
) -> Portfolio:
    """Minimise cost plus risk cost within the budget; proven, or with its gap.

    A forced option (a person's decision) is kept and priced.  An option that can no longer
    be ordered in time is not taken; when it was the preferred one that is said.  Raises
    :class:`takeup.errors.Refused` naming the must-do list when the budget cannot carry it.
    """
    excluded = tuple(
        words
        for one in problem.joints
        if (words := _shut(one) if not _allowed(one, late=False) else _stranded(one))
    )
    joints = [one for one in problem.joints if _allowed(one, late=False)]
    progress(0.0, "choosing options")
    preferred = _solve(joints, None, late=True)
    best = _solve(joints, problem.budget, late=False)
    if best is None:
        _refuse(joints, problem.budget)
    assert best is not None
    late = _late(joints, preferred, best)
    choices = []
    for number, (one, pick) in enumerate(zip(joints, best.picks, strict=True)):
        progress(0.1 + 0.7 * number / max(1, len(joints)), f"second best of {one.joint}")
        choices.append(_choice(number, one, pick, joints, problem.budget, best))
    progress(0.85, "what more or less money would buy")
    marginal = _marginal(joints, problem.budget, best)
    spent = sum(pick.cost for pick in best.picks)
    ranged = _range(joints, best, costs)
    progress(1.0, "chosen")
    gap = 0.0 if best.proven else (best.objective - best.bound) / max(1.0, abs(best.objective))
    return Portfolio(
        status=Status.OPTIMAL if best.proven else Status.FEASIBLE,
        budget=problem.budget,
        spent=spent,
        cost=ranged,
        objective=best.objective,
        bound=best.bound,
        gap=gap,
        choices=tuple(choices),
        late=late,
        excluded=excluded,
        marginal=marginal,
        notes=tuple(notes),
    )


def _allowed(one: JointChoices, *, late: bool) -> list[OptionChoice]:
    """Options that may be taken; a forced one stands alone.

    With ``late`` those count too that could no longer be ordered in time.  Where nothing else
    can be chosen, or nothing that acts on a joint that must be acted on, leaving it is all
    that remains, allowed or not; :func:`_stranded` says so in words.
    """
    forced = [option for option in one.options if option.forced]
    if forced:
        return forced
    found = [option for option in one.options if option.allowed and (late or option.late_days == 0)]
    if one.must_act:
        acting = [option for option in found if option.name != OptionName.LEAVE]
        if acting:
            return acting
    if one.must_act or not found:
        found = [option for option in one.options if option.name == OptionName.LEAVE]
    return found


def _shut(one: JointChoices) -> str:
    """Why a joint has no choice at all."""
    if any(option.allowed for option in one.options):
        return f"{one.joint}: no option that is open is in time: a person must decide"
    return f"{one.joint}: no option is open"


def _stranded(one: JointChoices) -> str:
    """Words for a joint that is left only because nothing else can be chosen; else empty."""
    options = _allowed(one, late=False)
    if any(option.forced or option.name != OptionName.LEAVE for option in options):
        return ""
    if one.must_act:
        return (
            f"{one.joint}: no option that acts is open and in time; it is left only because "
            "nothing else can be chosen: a person must decide"
        )
    if not options[0].allowed:
        return (
            f"{one.joint}: no option is open and in time; it is left only because nothing else "
            "can be chosen: a person must decide"
        )
    return ""


def _solve(
    joints: Sequence[JointChoices],
    budget: float | None,
    *,
    late: bool,
    without: tuple[int, OptionName] | None = None,
) -> _Solved | None:
    sets = []
    for number, one in enumerate(joints):
        options = _allowed(one, late=late)
        if without is not None and without[0] == number:
            options = [option for option in options if option.name != without[1]]
        sets.append(options)
    if not joints:
        return _Solved((), 0.0, 0.0, True)
    if any(not options for options in sets):
        return None
    if budget is None:
        picks = tuple(
            min(options, key=lambda o: (o.cost + o.risk_cost, o.cost)) for options in sets
        )
        total = sum(pick.cost + pick.risk_cost for pick in picks)
        return _Solved(picks, total, total, True)
    found = pick_one_each(
        [[option.cost + option.risk_cost for option in options] for options in sets],
        [[[option.cost] for option in options] for options in sets],
        [budget],
    )
    if not found.feasible:
        return None
    picks = tuple(options[at] for options, at in zip(sets, found.picks, strict=True))
    return _Solved(picks, found.objective, found.bound, found.proven)


def _refuse(joints: Sequence[JointChoices], budget: float | None) -> None:
    """Say which joints the budget cannot carry even at the least cost."""
    least = [
        (min(_allowed(one, late=False), key=lambda o: o.cost), one)
        for one in joints
        if _allowed(one, late=False)
    ]
    must = sorted(
        ((option.cost, one.joint, option) for option, one in least if option.cost > 0),
        key=lambda item: -item[0],
    )
    total = sum(cost for cost, _, _ in must)
    named = ", ".join(
        f"{joint} ({option.name.value}, {cost / 1e3:,.0f} k)" for cost, joint, option in must[:8]
    )
    raise Refused(
        f"the budget of {(budget or 0.0) / 1e3:,.0f} k cannot carry even the cheapest option of "
        f"every joint, {total / 1e3:,.0f} k: {named}. Raise the budget, or decide for a joint that "
        "it is left and why. The last plan is kept"
    )


def _late(
    joints: Sequence[JointChoices], preferred: _Solved | None, best: _Solved
) -> tuple[LateOption, ...]:
    if preferred is None:
        return ()
    found = []
    for one, wanted, taken in zip(joints, preferred.picks, best.picks, strict=True):
        if taken.forced and taken.late_days > 0 and taken.order_by is not None:
            found.append(
                LateOption(
                    joint=one.joint,
                    preferred=taken.name,
                    taken=taken.name,
                    order_by=taken.order_by,
                    late_days=taken.late_days,
                    words=f"{taken.name.value} was decided by a person, but preparing it had to "
                    f"start by {taken.order_by.isoformat()}, {_days(taken.late_days)} ago, on normal "
                    "lead times. Ask for an expedited delivery, or decide otherwise.",
                )
            )
            continue
        if wanted.late_days <= 0 or wanted.name == taken.name or wanted.order_by is None:
            continue
        found.append(
            LateOption(
                joint=one.joint,
                preferred=wanted.name,
                taken=taken.name,
                order_by=wanted.order_by,
                late_days=wanted.late_days,
                words=f"{wanted.name.value} would be preferred, but preparing it had to start by "
                f"{wanted.order_by.isoformat()}, {_days(wanted.late_days)} ago, on normal lead "
                f"times; {taken.name.value} is taken instead. Ask for an expedited delivery.",
            )
        )
    return tuple(found)


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"


def _choice(
    number: int,
    one: JointChoices,
    pick: OptionChoice,
    joints: Sequence[JointChoices],
    budget: float | None,
    best: _Solved,
) -> Choice:
    second, regret = None, None
    if not pick.forced:
        if len(joints) <= EXACT_REGRET or budget is None:
            other = _solve(joints, budget, late=False, without=(number, pick.name))
            if other is not None:
                second = other.picks[number].name
                regret = max(0.0, other.objective - best.objective)
        else:
            rest = [o for o in _allowed(one, late=False) if o.name != pick.name]
            if rest:
                near = min(rest, key=lambda o: o.cost + o.risk_cost)
                second = near.name
                regret = max(0.0, near.cost + near.risk_cost - pick.cost - pick.risk_cost)
    tie = regret is not None and regret <= TIE
    if pick.forced:
        why = "decided by a person"
    elif stranded := _stranded(one):
        why = stranded.removeprefix(f"{one.joint}: ")
    elif second is None:
        why = "the only option that is open and in time"
    elif tie:
        why = f"as good as {second.value}: the figures do not decide between them"
    else:
        why = f"least cost and risk together; {second.value} would be worse by {regret or 0:,.0f}"
    return Choice(
        joint=one.joint,
        option=pick.name,
        forced=pick.forced,
        cost=pick.cost,
        risk_cost=pick.risk_cost,
        second_best=second,
        regret=regret,
        tie=tie,
        why=why,
    )


def _marginal(
    joints: Sequence[JointChoices], budget: float | None, best: _Solved
) -> tuple[tuple[float, float], ...]:
    """Residual risk at budgets from the least that works to where more buys nothing."""
    if not joints:
        return ()
    least = sum(min(o.cost for o in _allowed(one, late=False) or one.options) for one in joints)
    free = _solve(joints, None, late=False)
    most = sum(pick.cost for pick in free.picks) if free else least
    points = []
    for money in sorted({*np.linspace(least, max(most, least), 11).tolist(), budget or most}):
        solved = _solve(joints, money + 1e-6 * max(1.0, money), late=False)
        if solved is not None:
            points.append((float(money), sum(pick.risk_cost for pick in solved.picks)))
    return tuple(points)


def _range(
    joints: Sequence[JointChoices],
    best: _Solved,
    costs: dict[tuple[str, OptionName], Money] | None,
) -> Money:
    spent = sum(pick.cost for pick in best.picks)
    if not costs:
        return Money(likely=spent, low=spent, high=spent, estimate_class=5, basis="as given")
    found = [
        money
        for one, pick in zip(joints, best.picks, strict=True)
        if (money := costs.get((one.joint, pick.name))) is not None
    ]
    worst = max((money.estimate_class for money in found), default=5)
    return Money(
        likely=spent,
        low=sum(money.low for money in found),
        high=sum(money.high for money in found),
        estimate_class=worst,
        basis="sum of the joints' ranges, all low or all high together: wider than the total's",
    )
