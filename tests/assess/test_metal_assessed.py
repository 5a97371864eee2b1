"""What years at temperature did to the metal of a joint, in the verdict."""

import datetime as dt

import msgspec
import numpy as np
import pytest

from takeup.assess import metallurgy, verdict
from takeup.assess.model import Level, Mechanism
from takeup.assess.soaks import metals
from takeup.checks import Outcome, Strength
from takeup.heat.exposure import Answer
from takeup.register.entities import Hardware, HardwareKind, Wall, YesNo

from .demo_site import joint_cases


def _case(alloy, kelvin, *, wall=Wall.COLD, pipe="A516-70", shell=420.0, **line):
    """A joint without history: alloy and recorded temperature of its bellows, pipe and line."""
    case = joint_cases()["EJ-1101"]
    bellows = tuple(
        msgspec.structs.replace(one, material=alloy, metal_temperature=kelvin)
        for one in case.bellows
    )
    return msgspec.structs.replace(
        case,
        bellows=bellows,
        temperatures=(),
        joint=msgspec.structs.replace(case.joint, wall=wall),
        line=msgspec.structs.replace(
            case.line, pipe_material=pipe, shell_temperature=shell, **line
        ),
    )


def _judged(case):
    (evaluation,) = verdict.evaluate((case,))
    return metallurgy.assess(case, evaluation)


def _check(result, id):
    return next(check for check in result.checks if check.id == id)


def test_aged_alloy_625_lasts_this_run_only():
    """Years at 600 °C by the record: expected, told as taken for all years, never measured."""
    result = _judged(_case("alloy 625", 873.15))

    assert result.level is Level.THIS_RUN
    assert _check(result, "metal.aged@A").outcome is Outcome.NOT_MET
    ground = next(g for g in result.grounds if "Ageing" in g.claim)
    assert ground.strength is Strength.ASSUMED
    assert "taken to have stood for all" in ground.rule
    assert any("ductility" in words for words in result.cautions)


def test_cool_metal_is_shown_unchanged():
    """Nothing happens to alloy 625 and carbon steel below their ranges."""
    result = _judged(_case("alloy 625", 500.0))

    assert result.level is Level.CARRIES_ON
    assert _check(result, "creep@A").outcome is Outcome.DOES_NOT_APPLY


@pytest.mark.parametrize(
    ("changed", "asked"),
    [
        ({"alloy": "", "kelvin": 500.0}, "the alloy of bellows A"),
        ({"alloy": "alloy 625", "kelvin": None}, "hours at temperature of bellows A"),
        ({"alloy": "alloy 625", "kelvin": 500.0, "shell": None}, "hours at temperature of pipe"),
    ],
    ids=["alloy", "bellows temperature", "pipe temperature"],
)
def test_no_hours_are_never_a_pass(changed, asked):
    """What is not known leaves the metal unproven and is asked for."""
    result = _judged(_case(**changed))

    assert result.level is Level.UNPROVEN
    assert any(words.startswith(asked) for words in result.missing)


def test_unknown_age_clears_nothing():
    """Without years in service a history of a few years does not show what came before it."""
    case = joint_cases()["EJ-1302"]
    young = msgspec.structs.replace(
        case,
        joint=msgspec.structs.replace(case.joint, installed=None),
        events=(),
        bellows=tuple(msgspec.structs.replace(b, installed=None) for b in case.bellows),
    )
    result = _judged(young)

    assert result.level is Level.UNPROVEN
    assert "years before the history are not known" in _check(result, "metal.aged@A").because


@pytest.mark.parametrize(
    ("sulphides", "level", "asked"),
    [
        (YesNo.NO, Level.CARRIES_ON, ""),
        (YesNo.YES, Level.UNPROVEN, "opened and kept at shutdown"),
        (None, Level.UNPROVEN, "whether it carries sulphides"),
    ],
)
def test_a_sensitised_bellows_is_as_safe_as_its_shutdowns(sulphides, level, asked):
    """Where no sulphide comes it carries on; else how the line is shut down is asked."""
    case = _case("304H", 873.15, sulphides=sulphides)
    result = _judged(case)
    (evaluation,) = verdict.evaluate((case,))

    assert _check(result, "metal.sensitised@A").outcome is Outcome.NOT_MET
    assert metallurgy.sensitised(case, evaluation) is Answer.YES
    shut = [words for words in result.missing if words.startswith("of line")]
    assert bool(shut) == bool(asked)
    if asked:
        assert result.level is level
        assert asked in shut[0]
    else:
        assert result.level is not Level.THIS_RUN


def test_rings_and_hot_pipe_are_judged_by_their_own_metal():
    """A ring of carbon steel at 520 °C graphitises beside a pipe that does not."""
    case = _case("alloy 625", 500.0, wall=Wall.HOT, pipe="304H", shell=None)
    ring = Hardware(joint=case.joint.tag, item="R1", kind=HardwareKind.RING, material="A516-70",
                    on_hot_pipe=YesNo.YES, temperature=793.15)  # fmt: skip
    case = msgspec.structs.replace(
        case,
        hardware=(*case.hardware, ring),
        joint=msgspec.structs.replace(case.joint, installed=dt.date(2003, 5, 1)),
        events=(),
    )
    result = _judged(case)

    assert _check(result, "metal.graphite@R1").outcome is Outcome.NOT_MET
    assert result.level in {Level.THIS_RUN, Level.IN_DOUBT}
    assert (
        "gas temperature, as a hot wall has it" in _check(result, "metal.sensitised@pipe").because
    )


def test_creep_without_stress_or_curve_is_not_evaluated_and_says_what_is_missing():
    """Alloy 625 has no public curve here; a bellows without sizes has no stress."""
    hot = _judged(_case("alloy 625", 953.15))
    bare = _case("304H", 873.15)
    bare = msgspec.structs.replace(
        bare, bellows=tuple(msgspec.structs.replace(b, height=None) for b in bare.bellows)
    )
    blind = _check(_judged(bare), "creep@A")

    assert _check(hot, "creep@A").outcome is Outcome.NOT_EVALUATED
    assert "rupture curve" in _check(hot, "creep@A").because
    assert blind.outcome is Outcome.NOT_EVALUATED
    assert "pressure stress" in blind.because


def test_creep_life_is_used_by_hours_stress_and_temperature():
    """At 620 °C the minimum line of 304H is far away at low stress and nearer when hotter."""
    mild, hot = (_check(_judged(_case("304H", kelvin)), "creep@A") for kelvin in (833.15, 953.15))

    assert mild.demand is not None
    assert hot.demand is not None
    assert hot.demand > 10.0 * mild.demand
    assert "S3 + S4/1.25" in hot.because


def test_a_history_speaks_for_its_days_and_for_the_years_before():
    """Hours add up to the years in service, at the hot side of each class."""
    case = joint_cases()["EJ-1303"]
    (evaluation,) = verdict.evaluate((case,))
    metal = next(m for m in metals(case, evaluation) if m.place == "bellows A")
    spent = sum(s.time for s in metal.known) / 86400.0
    whole = sum(s.time for s in metal.whole) / 86400.0 / 365.25
    days = np.count_nonzero(np.isfinite(case.temperatures[0][2].median))

    assert spent == pytest.approx(days, rel=0.02)
    assert whole == pytest.approx(8.1, abs=0.4)
    assert "taken to speak for all" in metal.where


def test_every_joint_of_the_demo_has_the_mechanism():
    """It stands in each verdict, and a cool joint is not worse for it."""
    (found,) = verdict.assess((joint_cases()["EJ-1101"],))

    assert found.level is Level.CARRIES_ON
    assert Mechanism.METALLURGY in {result.mechanism for result in found.mechanisms}
