"""All eight options, each condition with evidence or a question, and what blocks live work."""

import datetime as dt

import msgspec
import pytest

from takeup.demo.planted import PLANTED
from takeup.evidence.facts import Answer, Observation, Visit, VisitKind
from takeup.options.catalogue import OPTIONS, options
from takeup.options.model import Standing, Truth
from takeup.register.entities import OptionName, Quote, YesNo
from tests.assess.demo_site import TODAY, change, joint_cases, judge, verdicts

TAGS = sorted({row.joint for row in PLANTED})
LIVE = (OptionName.BOX_IN, OptionName.ONLINE_CLAMSHELL)
YES_ITEMS = ("O2", "O10", "O11", "O14", "O15")


def of(case, name, quotes=()):
    """One option of a case."""
    return next(o for o in options(case, judge(case), quotes) if o.name is name)


def told(case, date=TODAY, **items):
    """The case with answers (True, False), values, or values by place to option items."""
    visit = Visit(id="opt", unit="U", kind=VisitKind.HOT, date=date, inspector="-")
    seen = [o for o in case.observations if o.item not in items]
    for code, given in items.items():
        for place, said in (given if isinstance(given, dict) else {"-": given}).items():
            what = (
                {"answer": Answer.YES if said else Answer.NO}
                if isinstance(said, bool)
                else {"value": said}
            )
            seen.append(
                Observation(visit="opt", joint=case.joint.tag, item=code, place=place, **what)
            )
    return change(case, visits=(*case.visits, visit), observations=tuple(seen))


def ready(**changes):
    """A joint on which live work may be done: everything known and in favour."""
    case = joint_cases()["EJ-1301"]
    items = dict.fromkeys(YES_ITEMS, True) | {"O1": 0.012, "O3": 0.0}
    line = change(case.line, flammable=YesNo.NO, toxic=YesNo.NO, pipe_material="A516-70")
    return told(change(case, line=line, theory=holding(case)), **(items | changes))


def holding(case):
    """The theory of the case's line, on which locking the joint leaves everything within limits."""
    joints = tuple(
        msgspec.structs.replace(
            one, locked=msgspec.structs.replace(one.locked, share=0.5, unstated=())
        )
        if one.tag == case.joint.tag
        else one
        for one in case.theory.joints
    )
    return msgspec.structs.replace(case.theory, joints=joints)


def condition(option, id):
    """A condition of an option."""
    return next(c for c in option.conditions if c.id == id)


@pytest.mark.parametrize("tag", TAGS)
def test_all_eight_options_are_always_there(tag):
    """No option is hidden, in the order of the catalogue, whatever the joint."""
    found = options(joint_cases()[tag], verdicts()[tag])

    assert [option.name for option in found] == list(OptionName) == list(OPTIONS)


def test_a_joint_of_which_nothing_is_known_has_all_options_too():
    """Nothing known: eight options, none of them open, none called fitting."""
    case = joint_cases()["EJ-1602"]
    bare = change(case, bellows=(), hardware=(), observations=(), marks=(), tests=(), movements=())
    found = options(bare, judge(bare))

    assert len(found) == 8
    assert all(option.standing is not Standing.OPEN for option in found)


@pytest.mark.parametrize("tag", TAGS)
def test_each_condition_has_evidence_or_a_question(tag):
    """Met and not met say why; unknown asks; and the standing follows from them."""
    for option in options(joint_cases()[tag], verdicts()[tag]):
        essential = [c.truth for c in option.conditions if c.essential]
        for one in option.conditions:
            assert one.text, one.id
            assert one.because, one.id
        expected = (
            Standing.BLOCKED
            if Truth.NOT_MET in essential
            else Standing.OPEN_IF
            if Truth.UNKNOWN in essential
            else Standing.OPEN
        )
        assert option.standing is expected
        assert option.why


def test_an_unknown_item_is_asked_by_its_code():
    """The question names the check item that settles it."""
    case = joint_cases()["EJ-1602"]
    gas = condition(of(case, OptionName.BOX_IN), "wall")

    assert gas.truth is Truth.UNKNOWN
    assert "?" in gas.because
    assert "O1" in gas.because


@pytest.mark.parametrize("name", LIVE)
def test_live_work_is_open_only_with_everything_settled(name):
    """The ready case is open; without any one of its answers it is not."""
    assert of(ready(), name).standing is Standing.OPEN
    for code in ("O1", "O3", "O15", "O2", "O11"):
        case = ready()
        less = change(case, observations=tuple(o for o in case.observations if o.item != code))
        assert of(less, name).standing is Standing.OPEN_IF, code


@pytest.mark.parametrize("name", LIVE)
@pytest.mark.parametrize(
    ("value", "standing"), [(YesNo.YES, Standing.BLOCKED), (None, Standing.OPEN_IF)]
)
def test_flammable_media_block_live_work(name, value, standing):
    """Flammable: no; not known whether flammable: a question, not a pass."""
    case = ready()

    assert of(change(case, line=change(case.line, flammable=value)), name).standing is standing


@pytest.mark.parametrize("name", LIVE)
@pytest.mark.parametrize(
    ("wall", "standing"),
    [(0.0048, Standing.OPEN), (0.00479, Standing.BLOCKED), (0.002, Standing.BLOCKED)],
)
def test_a_wall_under_4_8_mm_blocks_live_welding(name, wall, standing):
    """The published least wall: at it yes, under it no."""
    assert of(ready(O1=wall), name).standing is standing


@pytest.mark.parametrize("name", LIVE)
def test_the_thinnest_place_decides(name):
    """A thick reading at twelve o'clock does not hide a thin one at six."""
    assert of(ready(O1={"12": 0.012, "6": 0.004}), name).standing is Standing.BLOCKED
    assert of(ready(O1={"6": 0.004, "12": 0.012}), name).standing is Standing.BLOCKED


@pytest.mark.parametrize("name", LIVE)
@pytest.mark.parametrize("reading", [0.001, 0.05, {"A": 0.0, "B": 0.02}])
def test_any_gas_blocks_live_work(name, reading):
    """Anything above zero, at any place."""
    assert of(ready(O3=reading), name).standing is Standing.BLOCKED


def test_an_old_gas_reading_is_asked_anew():
    """A detector that read zero two years ago says nothing of today; a bad reading still blocks."""
    old = TODAY - dt.timedelta(days=700)
    # keeps the looks of this year, moves the option items back
    case, past = ready(), told(ready(), date=old, O3=0.0)
    past = change(
        past, visits=tuple(change(v, date=old) if v.id == "opt" else v for v in past.visits)
    )

    assert condition(of(case, OptionName.BOX_IN), "gas").truth is Truth.MET
    assert condition(of(past, OptionName.BOX_IN), "gas").truth is Truth.UNKNOWN
    assert "too long ago" in condition(of(past, OptionName.BOX_IN), "gas").because


def test_one_no_among_places_is_a_no():
    """A cuff that is not reachable is not made so by the other one."""
    option = of(ready(O14={"A": True, "B": False}), OptionName.ONLINE_CLAMSHELL)

    assert option.standing is Standing.BLOCKED


@pytest.mark.parametrize("name", LIVE)
@pytest.mark.parametrize("material", ["1.25Cr-0.5Mo", "P22", "5Cr-0.5Mo", "P9", "P91"])
def test_live_welding_is_blocked_on_chrome_moly_pipe(name, material):
    """Pipe that needs heat treatment after welding cannot be welded live."""
    case = ready()
    option = of(change(case, line=change(case.line, pipe_material=material)), name)

    assert option.standing is Standing.BLOCKED
    assert condition(option, "pwht").truth is Truth.NOT_MET


@pytest.mark.parametrize("name", LIVE)
@pytest.mark.parametrize("material", ["", "unobtainium 7"])
def test_an_unknown_pipe_material_is_asked(name, material):
    """What the pipe is made of is a question, not a pass."""
    case = ready()
    option = of(change(case, line=change(case.line, pipe_material=material)), name)

    assert condition(option, "pwht").truth is Truth.UNKNOWN
    assert option.standing is Standing.OPEN_IF


def test_sensitised_pipe_needs_a_bead_and_a_penetrant_test():
    """304H is asked; a sound bead settles it, a cracked one blocks."""
    case = ready()
    case = change(case, line=change(case.line, pipe_material="304H"))
    asked = change(case, observations=tuple(o for o in case.observations if o.item != "O4"))

    assert condition(of(asked, OptionName.BOX_IN), "pwht").truth is Truth.UNKNOWN
    assert condition(of(told(case, O4=True), OptionName.BOX_IN), "pwht").truth is Truth.MET
    assert condition(of(told(case, O4=False), OptionName.BOX_IN), "pwht").truth is Truth.NOT_MET


def test_a_joint_to_act_on_now_cannot_be_left():
    """Leave is there, and blocked, with the headline as the reason."""
    option = of(joint_cases()["EJ-1503"], OptionName.LEAVE)

    assert option.standing is Standing.BLOCKED
    assert "nut" in option.why


def test_an_unproven_joint_is_not_simply_left():
    """Leaving what is not known asks for the evidence first."""
    assert of(joint_cases()["EJ-1201"], OptionName.LEAVE).standing is Standing.OPEN_IF


@pytest.mark.parametrize("tag", TAGS)
def test_temporary_repairs_expire_and_live_work_needs_no_outage(tag):
    """A box and an oversized shell come off again; the others do not expire."""
    for option in options(joint_cases()[tag], verdicts()[tag]):
        assert option.expires == (option.name in LIVE)
        assert option.needs_outage == (option.name not in {*LIVE, OptionName.LEAVE})
        assert option.hazards or option.cautions or option.name is OptionName.LEAVE


@pytest.mark.parametrize("tag", TAGS)
def test_chances_are_chances_and_costs_have_a_range(tag):
    """Between nothing and certainty; low, likely and high in order; an estimate class named."""
    for option in options(joint_cases()[tag], verdicts()[tag]):
        for chance in (option.lasts_to_next, option.lasts_to_second):
            assert chance is None or 0.0 <= chance <= 1.0
        assert 0.0 <= option.cost.low <= option.cost.likely <= option.cost.high
        assert 1 <= option.cost.estimate_class <= 5
        assert option.life_words


@pytest.mark.parametrize("tag", TAGS)
def test_steps_follow_steps_that_exist_and_never_wait_for_themselves(tag):
    """Each step names earlier steps of the same option; its chain is at least its longest step."""
    for option in options(joint_cases()[tag], verdicts()[tag]):
        done: set[str] = set()
        for step in option.tasks:
            assert set(step.after) <= done, (option.name, step.id)
            assert step.low <= step.hours <= step.high
            done.add(step.id)
        window = [step.hours for step in option.tasks if not step.before_outage]
        assert option.chain_hours >= max(window, default=0.0)


def test_the_sites_quote_replaces_the_class_figure():
    """A quoted price and lead time govern, with the better estimate class."""
    case = joint_cases()["EJ-1301"]
    quote = Quote(
        joint="EJ-1301", option=OptionName.REPLACE, cost=123456.0, lead=100 * 86400.0, basis="offer"
    )
    plain, quoted = of(case, OptionName.REPLACE), of(case, OptionName.REPLACE, (quote,))

    assert (plain.cost.estimate_class, quoted.cost.estimate_class) == (5, 3)
    assert quoted.cost.likely == 123456.0
    assert quoted.long_lead[0].lead == 100 * 86400.0


def test_a_leaking_inner_ply_is_not_mended_by_what_keeps_it():
    """Options that leave the cracked ply in place do not fit the cause; a new joint does."""
    found = {o.name: o for o in options(joint_cases()["EJ-1102"], verdicts()["EJ-1102"])}

    assert found[OptionName.REPLACE].fits_cause is True
    assert found[OptionName.LEAVE].fits_cause is False
    assert found[OptionName.LEAVE].cause_note


def test_without_a_known_cause_no_option_claims_to_fit():
    """Nothing found: fits is neither yes nor no."""
    case = joint_cases()["EJ-1101"]

    assert {o.fits_cause for o in options(case, verdicts()["EJ-1101"])} == {None}


def test_the_same_case_gives_the_same_options():
    """Options are computed, never drawn."""
    case = joint_cases()["EJ-1603"]

    assert options(case, judge(case)) == options(case, judge(case))
