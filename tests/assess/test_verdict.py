"""Planted faults are found, verdicts are reproducible, and less evidence is never better."""

import datetime as dt

import numpy as np
import pytest

from takeup.assess import verdict
from takeup.assess.model import SEVERITY, Level, Mechanism, ThrustHolder
from takeup.checks import Outcome
from takeup.demo.planted import PLANTED
from takeup.evidence.facts import Bubbles, InterplyReading
from takeup.evidence.model import PlyVerdict
from takeup.register.entities import EventKind, LifeEvent, Wall
from tests.assess.demo_site import TODAY, change, joint_cases, judge, verdicts

TAGS = sorted({row.joint for row in PLANTED})
SOUND = "EJ-1101"


def mechanism(found, name):
    """The result of one mechanism."""
    return next(result for result in found.mechanisms if result.mechanism is name)


def words(result):
    """Everything a mechanism says."""
    return "\n".join(
        (result.summary, *(ground.claim for ground in result.grounds), *result.missing)
    )


@pytest.mark.parametrize("row", PLANTED, ids=lambda row: f"{row.joint}-{row.engine}")
def test_a_planted_fault_comes_out_at_its_level_and_in_its_words(row):
    """Each fault (or soundness) of the demo site shows where it was planted."""
    found = verdicts()[row.joint]

    assert found.level is row.level
    if row.mechanism is None:
        assert row.shows in found.headline
        return
    result = mechanism(found, row.mechanism)
    assert row.shows in words(result)
    if row.level is not Level.THIS_RUN:  # where something else governs
        assert result.level is row.level


def test_every_mechanism_has_a_planted_fault():
    """A mechanism that nothing tests on the demo site is not there."""
    assert {row.mechanism for row in PLANTED} >= set(Mechanism)


def test_verdicts_do_not_depend_on_time_order_or_company():
    """Twice, in reverse, and one by one: the same verdict with the same hash."""
    cases = tuple(joint_cases().values())
    again = verdict.assess(cases[::-1])[::-1]

    assert again == tuple(verdicts().values())
    for tag in ("EJ-1103", "EJ-1603"):
        assert judge(joint_cases()[tag]) == verdicts()[tag]


def test_the_hash_differs_between_joints():
    """No two cases share a hash."""
    hashes = {found.inputs_hash for found in verdicts().values()}

    assert len(hashes) == len(joint_cases())


def _bend(daily):
    value = daily.median.copy()
    value[-1] += 0.01
    return change(daily, median=value)


CHANGES = {
    "today": lambda c: change(c, today=c.today + dt.timedelta(days=1)),
    "line": lambda c: change(c, line=change(c.line, design_pressure=1.0)),
    "joint": lambda c: change(c, joint=change(c.joint, note="x")),
    "bellows": lambda c: change(c, bellows=c.bellows[:-1]),
    "observation": lambda c: change(c, observations=c.observations[:-1]),
    "mark": lambda c: change(c, marks=c.marks[:-1]),
    "reading": lambda c: change(c, readings=c.readings[:-1]),
    "outage": lambda c: change(c, second_outage=None),
    "history": lambda c: change(c, history=c.history[:-1]),
    "limit": lambda c: change(c, limits=c.limits.with_value("survival.act", 0.8, "x")),
    "temperature": lambda c: change(
        c, temperatures=((*c.temperatures[0][:2], _bend(c.temperatures[0][2])),)
    ),
}


@pytest.mark.parametrize("name", CHANGES)
def test_the_hash_follows_every_input(name):
    """A changed fact, limit or reading changes the hash; the same case does not."""
    case = joint_cases()["EJ-1103"]

    assert verdict.hash_of(change(case)) == verdict.hash_of(case)
    assert verdict.hash_of(CHANGES[name](case)) != verdict.hash_of(case)


def without_reassurance(case):
    """The case less each piece of reassuring evidence, one at a time and all at once."""
    good = [o for o in case.observations if o.grade in {0, 1}]
    for seen in good:
        yield (
            f"{seen.ref}",
            change(case, observations=tuple(o for o in case.observations if o is not seen)),
        )
    bad = tuple(o for o in case.observations if o.grade not in {0, 1})
    plies = verdicts()[case.joint.tag].evaluation.plies
    tight = {(r.bellows, r.date) for r in plies if r.verdict is PlyVerdict.TIGHT}
    for key in tight:
        yield (
            f"tight {key}",
            change(case, tests=tuple(t for t in case.tests if (t.bellows, t.date) != key)),
        )
    leaking = tuple(t for t in case.tests if (t.bellows, t.date) not in tight)
    reports = verdicts()[case.joint.tag].evaluation.temperatures
    calm = {r.tag for r in reports if r.state == "in band"}
    for tag in calm:
        yield (
            f"series {tag}",
            change(case, temperatures=tuple(t for t in case.temperatures if t[1] != tag)),
        )
    restless = tuple(t for t in case.temperatures if t[1] not in calm)
    yield "all", change(case, observations=bad, tests=leaking, temperatures=restless)


@pytest.mark.parametrize("tag", sorted(TAGS))
def test_taking_reassuring_evidence_away_never_improves_a_verdict(tag):
    """Grades 0 and 1, tight tests and calm histories: without them it stands no better."""
    base = verdicts()[tag]
    names, cases = zip(*without_reassurance(joint_cases()[tag]), strict=True)

    for name, found in zip(names, verdict.assess(cases), strict=True):
        assert SEVERITY[found.level] >= SEVERITY[base.level], name


def test_without_any_reassurance_the_sound_joint_is_unproven():
    """The property above has teeth: soundness rests on evidence that can be lost."""
    *_, (_, bare) = without_reassurance(joint_cases()[SOUND])

    assert judge(bare).level is Level.UNPROVEN


ESSENTIAL = {
    "installed": (
        lambda c: change(c, joint=change(c.joint, installed=None), events=()),
        Mechanism.AGE,
    ),
    "outages": (lambda c: change(c, next_outage=None, second_outage=None), Mechanism.AGE),
    "observations": (lambda c: change(c, observations=()), Mechanism.DAMAGE),
    "tests": (lambda c: change(c, tests=(), readings=()), Mechanism.PLY),
    "plies": (
        lambda c: change(c, bellows=tuple(change(b, plies=None) for b in c.bellows)),
        Mechanism.PLY,
    ),
    "geometry": (
        lambda c: change(c, bellows=tuple(change(b, height=None) for b in c.bellows)),
        Mechanism.PRESSURE,
    ),
    "material": (
        lambda c: change(c, bellows=tuple(change(b, material="") for b in c.bellows)),
        Mechanism.PRESSURE,
    ),
    "pressure": (
        lambda c: change(c, line=change(c.line, operating_pressure=None)),
        Mechanism.PRESSURE,
    ),
    "bellows": (lambda c: change(c, bellows=()), Mechanism.PRESSURE),
    "hardware": (lambda c: change(c, hardware=(), supports=()), Mechanism.THRUST),
}


@pytest.mark.parametrize("name", ESSENTIAL)
def test_unknown_is_never_a_pass(name):
    """Without an essential input the mechanism is unproven, asks for it, and so is the joint."""
    take, which = ESSENTIAL[name]
    found = judge(take(joint_cases()[SOUND]))
    result = mechanism(found, which)

    assert result.level is Level.UNPROVEN
    assert result.missing
    assert found.level is Level.UNPROVEN
    assert found.missing


@pytest.mark.parametrize("tag", sorted(TAGS))
def test_what_misses_an_input_is_not_evaluated(tag):
    """Met and not met have a demand and a capacity or a reason; not evaluated says what lacks."""
    for check in verdicts()[tag].checks:
        if check.outcome is Outcome.NOT_EVALUATED:
            assert check.because, check.id
        elif check.outcome is not Outcome.DOES_NOT_APPLY:
            known = check.demand is not None and check.capacity is not None
            assert known or check.because, check.id


@pytest.mark.parametrize("tag", sorted(TAGS))
def test_unproven_asks_and_every_ground_has_evidence(tag):
    """A mechanism without evidence says what would settle it; a claim names its facts."""
    found = verdicts()[tag]

    for result in found.mechanisms:
        if result.applies and result.level is Level.UNPROVEN:
            assert result.missing or result.summary, result.mechanism
        for ground in result.grounds:
            assert ground.evidence, ground.claim
    assert found.grounds or found.level is Level.UNPROVEN
    assert str(found.level) != "" and found.headline.endswith(".")


def test_growth_is_not_evaluated_while_the_wall_is_unknown():
    """Hot or cold wall decides which temperature makes the pipe grow: it is asked first."""
    case = joint_cases()[SOUND]
    found = judge(change(case, joint=change(case.joint, wall=None)))
    result = mechanism(found, Mechanism.MOVEMENT)
    growth = next(check for check in result.checks if check.id.startswith("growth"))

    assert growth.outcome is Outcome.NOT_EVALUATED
    assert "hot wall or cold wall" in growth.because
    assert any("cold wall" in line for line in result.missing)


def test_the_gas_temperature_never_stands_in_for_the_shell():
    """A cold-wall line without a shell temperature asks for it, gas temperature or not."""
    case = joint_cases()[SOUND]
    line = change(case.line, shell_temperature=None, gas_temperature=950.0)
    found = judge(change(case, line=line, joint=change(case.joint, wall=Wall.COLD)))
    growth = next(
        check
        for check in mechanism(found, Mechanism.MOVEMENT).checks
        if check.id.startswith("growth")
    )

    assert growth.outcome is Outcome.NOT_EVALUATED
    assert "gas temperature is not used" in growth.because


@pytest.mark.parametrize("tag", sorted(TAGS))
def test_thrust_is_stated_first_and_by_whom(tag):
    """Every verdict says how much thrust there is, or what is missing, and who holds it."""
    thrust = verdicts()[tag].thrust

    assert thrust.why
    assert thrust.forces or thrust.missing
    for _, pressure, force in thrust.forces:
        assert force == pytest.approx(pressure * thrust.area)
    if thrust.holder in {ThrustHolder.NOBODY, ThrustHolder.UNKNOWN}:
        assert thrust.missing


def test_evidence_goes_stale():
    """Three years on without a new look the sound joint is unproven, not sound."""
    case = joint_cases()[SOUND]
    later = change(
        case,
        today=TODAY + dt.timedelta(days=3 * 365),
        next_outage=case.second_outage,
        second_outage=None,
    )

    assert judge(later).level is Level.UNPROVEN


def test_a_joint_installed_after_today_has_no_age_and_stops_nobody():
    """A slip in one date leaves that joint unproven; the others are judged all the same."""
    case = joint_cases()[SOUND]
    slip = change(case, joint=change(case.joint, installed=TODAY + dt.timedelta(days=400)))
    first, second = verdict.assess((slip, case))

    assert first.level is Level.UNPROVEN
    assert second == verdicts()[SOUND]


def test_the_sites_own_limits_govern():
    """A site that replaces at four years has the five-year-old joint in doubt."""
    case = joint_cases()[SOUND]
    limits = case.limits.with_value("age.replace", 10 * 365.25 * 86400, "site")
    old = change(
        case, limits=limits, joint=change(case.joint, installed=dt.date(2012, 1, 1)), events=()
    )

    assert mechanism(judge(old), Mechanism.AGE).level is Level.IN_DOUBT
    assert "whatever the inspection says" in mechanism(judge(old), Mechanism.AGE).summary


def replaced(case, letter, date):
    """The case with a renewal on record."""
    event = LifeEvent(joint=case.joint.tag, date=date, kind=EventKind.REPLACED, bellows=letter)
    return change(case, events=(*case.events, event))


@pytest.mark.parametrize("letter", ["-", "A"])
def test_a_leak_of_the_bellows_before_says_nothing_of_the_new_one(letter):
    """After renewal the old interply test counts neither for nor against."""
    case = joint_cases()["EJ-1102"]
    since = max(test.date for test in case.tests) + dt.timedelta(days=1)
    found = judge(replaced(case, letter, since))
    plies = mechanism(found, Mechanism.PLY)

    assert not any(r.bellows == "A" for r in found.evaluation.plies)
    assert plies.level is Level.UNPROVEN
    assert any("interply test" in line for line in plies.missing)


def retested(case, pressures, **changes):
    """The case with a later test of bellows A; pressures in kPa every ten minutes."""
    last = max(test.date for test in case.tests)
    like = next(t for t in case.tests if t.bellows == "A" and t.date == last)
    date = last + dt.timedelta(days=30)
    test = change(like, date=date, visit="", **changes)
    readings = [
        InterplyReading(
            joint=like.joint,
            bellows="A",
            date=date,
            minute=600.0 * n,
            pressure=1e3 * pressure,
            temperature=293.15,
        )
        for n, pressure in enumerate(pressures)
    ]
    return change(case, tests=(*case.tests, test), readings=(*case.readings, *readings))


def plies_of(case):
    """What the ply mechanism says of a case."""
    return mechanism(judge(case), Mechanism.PLY)


@pytest.mark.parametrize(
    ("pressures", "bubbles"),
    [
        pytest.param([50, 40, 30, 20], Bubbles.NOT_LOOKED, id="steady fall, nobody soaped"),
        pytest.param([3, 0, 0, 0], Bubbles.NONE, id="will not build"),
    ],
)
def test_gas_lost_in_a_later_test_overrules_an_older_pass(pressures, bubbles):
    """A pass does not outlive a test that lost its gas, though that names no ply."""
    found = plies_of(retested(joint_cases()[SOUND], pressures, bubbles=bubbles))

    assert found.level is Level.UNPROVEN
    assert "inconclusive" in found.summary


def test_a_later_test_that_proves_nothing_leaves_the_older_pass():
    """A port not proven open says nothing either way."""
    found = plies_of(retested(joint_cases()[SOUND], [50, 50, 50, 50], port_to_port=None))

    assert found.level is Level.CARRIES_ON


def test_a_leak_found_stays_found():
    """No later pass makes an inner ply whole: it is asked why the later test says so."""
    found = plies_of(retested(joint_cases()["EJ-1102"], [50, 50, 50, 50], bubbles=Bubbles.NONE))

    assert found.level is Level.IN_DOUBT
    assert any("after an inner ply leaked" in line for line in found.missing)


def test_marks_of_the_bellows_before_are_no_movement_of_the_new_one():
    """Positions start anew with a new bellows."""
    case = joint_cases()[SOUND]
    since = max(visit.date for visit in case.visits) + dt.timedelta(days=1)

    assert verdicts()[SOUND].evaluation.movements
    assert not judge(replaced(case, "-", since)).evaluation.movements


def test_what_is_dated_after_today_does_not_count():
    """A look back in time sees only what was known then."""
    case = joint_cases()["EJ-1503"]
    early = min(visit.date for visit in case.visits) - dt.timedelta(days=1)
    found = judge(change(case, today=early))

    assert mechanism(found, Mechanism.DAMAGE).level is Level.UNPROVEN
    assert not mechanism(found, Mechanism.THRUST).findings


def test_readings_belong_to_the_test_of_their_bellows_and_date():
    """A reading of another day does not lengthen a hold."""
    case = joint_cases()["EJ-1102"]
    stray = InterplyReading(
        joint="EJ-1102", bellows="A", date=dt.date(2001, 1, 1), minute=9e9, pressure=0.0
    )

    found = judge(change(case, readings=(*case.readings, stray)))
    assert found.evaluation.plies == verdicts()["EJ-1102"].evaluation.plies


def test_verdicts_hold_finite_numbers():
    """No figure or check carries a NaN or an infinity to a page."""
    for found in verdicts().values():
        for check in found.checks:
            for value in (check.demand, check.capacity, check.ratio):
                assert value is None or np.isfinite(value), check.id
