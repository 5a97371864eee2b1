"""The wall of a joint in its verdict: dew points, causes of its temperature, exposure."""

import msgspec
import pytest

from takeup.assess import cold, hot, verdict, walls
from takeup.assess.model import Level
from takeup.checks import Outcome, Strength
from takeup.demo.walls import walls as shipped
from takeup.heat.wall_text import line_of, read
from takeup.register.entities import WallModel, YesNo

from .demo_site import joint_cases

TEXTS = {one.joint: one.text for one in shipped()}


def _case(tag, text=None, **changes):
    kept = WallModel(joint=tag, text=TEXTS[tag] if text is None else text)
    return msgspec.structs.replace(joint_cases()[tag], wall_model=kept, **changes)


def _bare(tag):
    return msgspec.structs.replace(joint_cases()[tag], wall_model=None)


def _judged(case):
    (evaluation,) = verdict.evaluate((case,))
    return cold.assess(case, evaluation), hot.assess(case, evaluation)


def _ids(result):
    return {check.id for check in result.checks}


def test_a_bellows_measured_below_the_dew_point_is_in_doubt():
    """135 °C where acid comes down from 150 °C: measured, named with its band, line proposed."""
    cool, _ = _judged(_case("EJ-1302"))

    assert cool.level is Level.IN_DOUBT
    assert "dew_point" in cool.causes
    assert "sulphuric acid" in cool.summary
    below = next(g for g in cool.grounds if "stands below the point" in g.claim)
    assert below.strength is Strength.MEASURED
    assert "wall_model:EJ-1302" in below.evidence
    line = next(check for check in cool.checks if check.id == "dew.line")
    assert line.outcome is Outcome.NOT_MET
    assert any("too low" in g.claim for g in cool.grounds)


def test_the_cause_of_the_temperature_is_told_with_its_chance():
    """The ground names the cover that is gone, the reading and that it is where to look first."""
    _, warm = _judged(_case("EJ-1302"))
    ground = next(g for g in warm.grounds if "explained by" in g.claim)

    assert "cover removed" in ground.claim
    assert "TI-1302" in ground.claim
    assert ground.strength is Strength.CALCULATED
    assert "not what is so" in ground.rule


def test_lost_packing_under_insulation_cannot_wait():
    """The dangerous pair is in doubt and cautions loudly."""
    _, warm = _judged(_case("EJ-1303"))

    assert warm.level is Level.IN_DOUBT
    assert warm.causes == ("lost_blanket",)
    assert any(words.startswith("DANGER") for words in warm.cautions)
    assert any("boroscope" in words for words in warm.would_change)


def test_without_a_wall_nothing_is_added():
    """Joints without a wall come out as they did."""
    for tag in ("EJ-1302", "EJ-1303"):
        cool, warm = _judged(_bare(tag))
        assert not {
            id for id in _ids(cool) | _ids(warm) if id.startswith(("dew", "exposure", "wall"))
        }
        assert not any("wall" in words for words in cool.missing)


@pytest.mark.parametrize(
    "text",
    ["[wall]\nname = EJ\n", TEXTS["EJ-1302"].replace('"25 mm"', '"25 mn"'),
     TEXTS["EJ-1302"].replace("lining_thickness", "# lining_thickness")],
    ids=["no TOML", "a unit that is none", "a lining without thickness"],
)  # fmt: skip
def test_a_wall_with_faults_is_asked_for_and_changes_nothing_else(text):
    """The fault is told on both sides; levels are those without a wall."""
    cool, warm = _judged(_case("EJ-1302", text))
    plain = _judged(_bare("EJ-1302"))

    assert any(words.startswith("the wall of EJ-1302 put right") for words in cool.missing)
    assert any(words.startswith("the wall of EJ-1302 put right") for words in warm.missing)
    assert cool.level is plain[0].level


def test_a_wall_without_gas_asks_for_it_and_proposes_no_line():
    """Unknown gas is no dry gas."""
    cool, _ = _judged(_case("EJ-1303", TEXTS["EJ-1303"].split("[gas]")[0]))

    assert "dew.line" not in _ids(cool)
    assert any("what the gas holds" in words for words in cool.missing)


def test_an_unknown_species_leaves_the_bellows_open():
    """Ammonia and chloride not known: not evaluated, never met."""
    text = "\n".join(
        line for line in TEXTS["EJ-1303"].splitlines() if not line.startswith(("nh3", "hcl"))
    )
    cool, _ = _judged(_case("EJ-1303", text))
    open_ = next(check for check in cool.checks if check.id == "dew.unknown@A")

    assert open_.outcome is Outcome.NOT_EVALUATED
    assert any("NH3" in words for words in cool.missing)


def test_without_a_history_the_recorded_temperature_is_explained_and_decides_less():
    """Below a dew point by the record only: this run, not in doubt."""
    case = _case("EJ-1302", temperatures=(), observations=())
    case = msgspec.structs.replace(
        case,
        joint=msgspec.structs.replace(case.joint, insulation=None),
        bellows=tuple(msgspec.structs.replace(b, metal_temperature=408.15) for b in case.bellows),
    )
    (evaluation,) = verdict.evaluate((case,))
    told = walls.cold(case, evaluation)

    assert told.levels == (Level.THIS_RUN,)
    assert any("metal temperature on record" in g.claim for g in told.grounds)


def test_without_any_temperature_the_balance_speaks_as_calculated():
    """The wall's own range stands against the action lines, and a measurement is asked for."""
    case = _case("EJ-1302", temperatures=(), observations=())
    case = msgspec.structs.replace(
        case,
        bellows=tuple(msgspec.structs.replace(b, metal_temperature=None) for b in case.bellows),
    )
    (evaluation,) = verdict.evaluate((case,))

    assert "wall.low" in {check.id for check in walls.cold(case, evaluation).checks}
    assert any("a measured temperature" in w for w in walls.hot(case, evaluation).missing)


def test_packing_with_fines_is_this_run_only():
    """A reading that only fines and coke reach names packing as the cause."""
    text = TEXTS["EJ-1302"].replace("[gas]", '[reading]\ntemperature = "275 C"\n\n[gas]').replace(
        "[exposure]", "[priors]\npart_lost = 0.0\nbypass = 0.0\nempty = 0.0\n\n[exposure]"
    )  # fmt: skip
    case = _case("EJ-1302", text, temperatures=())
    (evaluation,) = verdict.evaluate((case,))
    told = walls.cold(case, evaluation)

    assert Level.THIS_RUN in told.levels
    assert "packed" in told.causes
    assert any("gamma scan" in words for words in told.would_change)


@pytest.mark.parametrize(
    ("answers", "outcome"),
    [
        ('opened = "yes"\nwet = "yes"\nnitrogen = "no"', Outcome.NOT_MET),
        ('opened = "yes"\nwet = "yes"\nnitrogen = "yes"', Outcome.MET),
        ('opened = "yes"', Outcome.NOT_EVALUATED),
    ],
    ids=["all four", "under nitrogen", "dryness unknown"],
)
def test_polythionic_acid_needs_all_four(answers, outcome):
    """Sensitised by its hours, sulphides by the register, the rest by the wall's text."""
    text = TEXTS["EJ-1303"].split("[exposure]")[0].replace('"625"', '"304H"')
    case = _case("EJ-1303", f"{text}[exposure]\n{answers}\n", temperatures=())
    case = msgspec.structs.replace(
        case,
        line=msgspec.structs.replace(case.line, sulphides=YesNo.YES),
        bellows=tuple(
            msgspec.structs.replace(b, material="304H", metal_temperature=873.15)
            for b in case.bellows
        ),
    )
    cool, _ = _judged(case)
    check = next(c for c in cool.checks if c.id == "exposure.polythionic")

    assert check.outcome is outcome
    assert ("polythionic" in cool.summary.casefold()) == (outcome is Outcome.NOT_MET)


def test_the_hash_of_a_verdict_knows_the_wall():
    """Another text is another verdict."""
    case, bare = _case("EJ-1303"), _bare("EJ-1303")
    other = _case("EJ-1303", TEXTS["EJ-1303"].replace('"80 mm"', '"81 mm"'))

    assert len({verdict.hash_of(one) for one in (case, bare, other)}) == 3


def test_faults_are_found_in_their_lines():
    """A key in its own table, a table that lacks one, and a slip in the text."""
    text = '[wall]\nname = "x"\n[gas]\nwater = "12 C"\n'
    faults = read(text)[1]

    assert line_of(text, next(f for f in faults if "gas.water" in f)) == 4
    assert line_of(text, next(f for f in faults if "wall.ambient" in f)) == 1
    assert line_of("[wall]\nname = EJ\n", read("[wall]\nname = EJ\n")[1][0]) == 2
