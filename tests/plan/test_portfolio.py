"""One option for each joint: exact, honest about force, lateness, ties and what is missing."""

import datetime as dt
import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeup.errors import Contradiction, Refused
from takeup.plan.model import Status
from takeup.plan.portfolio import choose
from takeup.plan.problem import JointChoices, OptionChoice, PortfolioProblem
from takeup.register.entities import OptionName
from tests.plan.samples import money

LEAVE, BOX, SHOP, NEW = (
    OptionName.LEAVE,
    OptionName.BOX_IN,
    OptionName.SHOP,
    OptionName.REPLACE,
)
DUE = dt.date(2025, 12, 1)


def one(name, cost=0.0, risk=0.0, *, allowed=True, late=0, forced=False):
    """One option of a joint."""
    return OptionChoice(
        name=name,
        cost=cost,
        risk_cost=risk,
        allowed=allowed,
        forced=forced,
        late_days=late,
        order_by=DUE if late else None,
    )


def joint(tag, *options, must=False):
    """A joint with its options."""
    return JointChoices(joint=tag, options=options, must_act=must)


def chosen(*joints, budget=None):
    """The portfolio of these joints."""
    return choose(PortfolioProblem(joints=joints, budget=budget))


@st.composite
def small(draw):
    """Up to four joints with up to four options, whole money, and a budget or none."""
    joints = []
    for number in range(draw(st.integers(1, 4))):
        names = draw(st.lists(st.sampled_from([BOX, SHOP, NEW]), unique=True, max_size=3))
        options = [one(LEAVE, 0, draw(st.integers(0, 300)), allowed=draw(st.booleans()))]
        options += [
            one(
                name,
                draw(st.integers(0, 200)),
                draw(st.integers(0, 300)),
                allowed=draw(st.booleans()),
                late=draw(st.sampled_from([0, 0, 30])),
            )
            for name in names
        ]
        joints.append(joint(f"EJ-{number}", *options, must=draw(st.booleans())))
    return tuple(joints), draw(st.none() | st.integers(0, 500))


def may(one_joint):
    """The rule in plain words: open and in time; acting where it must; else left."""
    found = [o for o in one_joint.options if o.allowed and o.late_days == 0]
    if one_joint.must_act:
        found = [o for o in found if o.name != LEAVE]
    return found or [o for o in one_joint.options if o.name == LEAVE]


@given(small())
@settings(max_examples=120, deadline=None)
def test_no_selection_is_better_than_the_chosen_one(given_problem):
    """Trying every selection finds the same least cost and risk, or no selection either."""
    joints, budget = given_problem
    every = [
        sum(o.cost + o.risk_cost for o in picks)
        for picks in itertools.product(*(may(j) for j in joints))
        if budget is None or sum(o.cost for o in picks) <= budget
    ]
    if not every:
        with pytest.raises(Refused):
            chosen(*joints, budget=budget)
        return
    made = chosen(*joints, budget=budget)

    assert made.status == Status.OPTIMAL
    assert made.objective == pytest.approx(min(every))
    assert made.bound == pytest.approx(made.objective)
    assert budget is None or made.spent <= budget
    if budget is not None:  # the curve passes through the plan itself
        at_budget = [sum_ for money_, sum_ in made.marginal if money_ == budget]
        assert at_budget


@given(small())
@settings(max_examples=60, deadline=None)
def test_regret_is_what_the_second_best_costs_more(given_problem):
    """Forbidding the choice of a joint makes the whole plan worse by its regret."""
    joints, budget = given_problem
    try:
        made = chosen(*joints, budget=budget)
    except Refused:
        return
    for number, choice in enumerate(made.choices):
        sets = [may(j) for j in joints]
        sets[number] = [o for o in sets[number] if o.name != choice.option]
        every = [
            sum(o.cost + o.risk_cost for o in picks)
            for picks in itertools.product(*sets)
            if budget is None or sum(o.cost for o in picks) <= budget
        ]
        if every:
            assert choice.regret == pytest.approx(min(every) - made.objective)
        else:
            assert choice.regret is None


@pytest.mark.parametrize(
    "options",
    [
        (one(LEAVE, 0, 100), one(NEW, 50, 0, allowed=False)),
        (
            one(LEAVE, 0, 100, allowed=False),
            one(NEW, 50, 0, allowed=False),
            one(BOX, allowed=False),
        ),
        (one(LEAVE, 0, 100), one(NEW, 50, 0, late=20)),
    ],
)
def test_a_joint_in_doubt_is_never_left_silently(options):
    """Where nothing that acts can be had it is left, and the plan asks for a person."""
    made = chosen(joint("EJ-1", *options, must=True))

    words = (
        "no option that acts is open and in time; it is left only because nothing else can be "
        "chosen: a person must decide"
    )
    (choice,) = made.choices
    assert choice.option == LEAVE
    assert choice.why == words
    assert made.excluded == (f"EJ-1: {words}",)


def test_an_acting_option_in_time_is_taken_for_a_joint_in_doubt():
    """However cheap leaving looks, and nothing is said to be missing."""
    made = chosen(joint("EJ-1", one(LEAVE, 0, 1), one(NEW, 500, 0), must=True))

    assert made.choices[0].option == NEW
    assert made.excluded == ()


def test_a_sound_joint_may_be_left_without_a_word():
    """Leaving as the one open option of a sound joint is nothing to decide."""
    made = chosen(joint("EJ-1", one(LEAVE, 0, 10), one(NEW, 50, 0, allowed=False)))

    assert made.excluded == ()
    assert made.choices[0].why == "the only option that is open and in time"


def test_leaving_that_is_not_open_is_said_for_a_sound_joint_too():
    """A blocked LEAVE taken for want of anything else is named."""
    made = chosen(joint("EJ-1", one(LEAVE, 0, 10, allowed=False), one(NEW, 5, 0, late=9)))

    assert made.choices[0].option == LEAVE
    assert made.excluded[0].startswith("EJ-1: no option is open and in time; it is left only")


def test_a_person_may_leave_a_joint_in_doubt():
    """A decision stands, says whose it is, and is not listed as undecided."""
    made = chosen(joint("EJ-1", one(LEAVE, 0, 10, forced=True), one(NEW, 5, 0), must=True))

    assert made.choices[0].option == LEAVE
    assert made.choices[0].why == "decided by a person"
    assert made.excluded == ()


def test_a_decided_option_that_is_late_says_so():
    """Force does not make a bellows arrive: the days lost are named."""
    made = chosen(joint("EJ-1", one(LEAVE, 0, 10), one(NEW, 50, 0, late=14, forced=True)))

    (late,) = made.late
    assert (late.joint, late.preferred, late.taken, late.late_days) == ("EJ-1", NEW, NEW, 14)
    assert "decided by a person, but preparing it had to start by 2025-12-01, 14 days ago" in (
        late.words
    )


def test_a_preferred_option_that_is_late_is_named_beside_what_is_taken():
    """The better option that came too late is not forgotten."""
    made = chosen(joint("EJ-1", one(LEAVE, 0, 100), one(BOX, 20, 50), one(NEW, 50, 0, late=14)))

    (late,) = made.late
    assert (late.preferred, late.taken) == (NEW, BOX)
    assert "14 days ago" in late.words


def test_a_joint_with_nothing_in_time_and_no_leave_is_put_aside():
    """It is excluded with its reason and the others are still planned."""
    made = chosen(
        joint("EJ-1", one(NEW, 50, 0, late=3)),
        joint("EJ-2", one(LEAVE, 0, 1)),
        joint("EJ-3", one(NEW, 50, 0, allowed=False)),
    )

    assert [choice.joint for choice in made.choices] == ["EJ-2"]
    assert made.excluded == (
        "EJ-1: no option that is open is in time: a person must decide",
        "EJ-3: no option is open",
    )


def test_a_budget_below_the_must_do_list_is_refused_with_the_list():
    """The message names joints, options and the sum."""
    with pytest.raises(Refused, match=r"100 k cannot carry .* 250 k: EJ-1 \(replace, 250 k\)"):
        chosen(
            joint("EJ-1", one(LEAVE, 0, 9), one(NEW, 250e3, 0), must=True),
            joint("EJ-2", one(LEAVE, 0, 9), one(NEW, 10e3, 0)),
            budget=100e3,
        )


def test_a_tie_is_said():
    """Two equal options are called equal, and which is second."""
    made = chosen(joint("EJ-1", one(LEAVE, 0, 200), one(SHOP, 90, 110)))

    (choice,) = made.choices
    assert choice.tie
    assert "as good as" in choice.why


def test_range_of_the_total_adds_lows_and_highs():
    """Ranges of the chosen options add, and only of those."""
    problem = PortfolioProblem(
        joints=(joint("A", one(LEAVE, 0, 99), one(NEW, 10, 0)), joint("B", one(NEW, 20, 0))),
        budget=None,
    )
    made = choose(
        problem,
        costs={
            ("A", NEW): money(10, 8, 15),
            ("B", NEW): money(20, 15, 40),
            ("A", LEAVE): money(0, 0, 999),
        },
    )
    assert (made.cost.likely, made.cost.low, made.cost.high) == (30, 23, 55)


@pytest.mark.parametrize(
    "options",
    [
        (one(NEW), one(NEW)),
        (one(NEW, forced=True), one(LEAVE, forced=True)),
        (one(NEW, -1.0),),
        (one(NEW, 0.0, -1.0),),
    ],
)
def test_nonsense_is_refused_when_made(options):
    """Twice the same, twice forced, money below zero."""
    with pytest.raises(Contradiction):
        joint("EJ-1", *options)


def test_no_joints_no_plan_no_fault():
    """An empty register has an empty plan."""
    made = chosen()
    assert (made.choices, made.spent, made.status) == ((), 0.0, Status.OPTIMAL)
