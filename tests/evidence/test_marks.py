"""Movement from marks: two states, four clocks, uncertainty before limits."""

import datetime as dt
import math

import pytest

from takeup.checks import Outcome
from takeup.evidence import marks
from takeup.evidence.facts import LineState, MarkQuantity, MarkReading, Visit, VisitKind
from takeup.limits import defaults

LIMITS = defaults()
CLOCKS = (12, 3, 6, 9)


def visit(id, date, kind=VisitKind.HOT):
    """A visit on a day."""
    return Visit(id=id, unit="U", kind=kind, date=date, inspector="-")


VISITS = (
    visit("c", dt.date(2025, 4, 1), VisitKind.COLD),
    visit("h", dt.date(2026, 4, 1)),
    visit("h0", dt.date(2024, 4, 1)),
)


def face(state, lengths, *, id=None, bellows="A", **more):
    """Face-to-face readings [mm] by clock."""
    return [
        MarkReading(
            visit=id or ("h" if state is LineState.HOT else "c"),
            joint="EJ-1",
            bellows=bellows,
            quantity=MarkQuantity.FACE,
            clock=clock,
            state=state,
            length=length / 1e3,
            **more,
        )
        for clock, length in zip(CLOCKS, lengths, strict=False)
    ]


def moved(hot, cold, diameter=1.2):
    """The one movement of these readings."""
    (found,) = marks.movements([*hot, *cold], VISITS, {"A": diameter})
    return found


def both(hot, cold, **more):
    """Movement from four hot and four cold lengths [mm]."""
    return moved(face(LineState.HOT, hot, **more), face(LineState.COLD, cold, **more))


@pytest.mark.parametrize("state", list(LineState))
def test_one_state_is_a_position_and_no_movement(state):
    """Hot readings alone, however many, give no movement and say so."""
    found = moved(face(state, [300, 301, 302, 303]), [])

    assert (found.axial, found.angular, found.lateral, found.uncertainty) == (None,) * 4
    assert "position, not a movement" in found.notes[0]


def test_two_hot_readings_are_not_a_movement():
    """A second hot walk moves nothing: a cold reading is needed."""
    found = moved(face(LineState.HOT, [300] * 4), face(LineState.HOT, [290] * 4, id="h0"))

    assert found.axial is None


def test_axial_movement_is_the_mean_of_four_clocks():
    """Tilt cancels in the mean: + is extension from cold to hot."""
    found = both([282, 280, 278, 280], [300, 300, 300, 300])

    assert found.axial == pytest.approx(-0.020)
    assert found.closure == pytest.approx(0.0, abs=1e-12)


def test_the_newest_hot_reading_counts():
    """An older hot walk does not stand beside the newer one."""
    old = face(LineState.HOT, [250] * 4, id="h0")
    found = moved([*old, *face(LineState.HOT, [290] * 4)], face(LineState.COLD, [300] * 4))

    assert found.axial == pytest.approx(-0.010)
    assert found.hot_visit == "h"


def test_closure_tells_of_wrong_readings():
    """Means of 12+6 and of 3+9 that differ by more than a tape allows ask for a new reading."""
    found = both([290, 300, 290, 300], [300] * 4)

    assert found.closure == pytest.approx(0.010)
    assert any("read the marks again" in note for note in found.notes)


def test_angle_comes_from_opposite_lengths_over_the_diameter():
    """12 mm between top and bottom and 5 mm across over 1.2 m."""
    found = both([306, 302.5, 294, 297.5], [300] * 4)

    assert found.angular == pytest.approx(
        math.hypot(math.atan2(0.012, 1.2), math.atan2(0.005, 1.2))
    )


def test_without_the_diameter_no_angle_is_given():
    """The angle is left out with the reason; the axial movement stands."""
    found = moved(face(LineState.HOT, [306, 300, 294, 300]), face(LineState.COLD, [300] * 4), None)

    assert found.angular is None
    assert found.axial == pytest.approx(0.0, abs=1e-12)
    assert any("diameter" in note for note in found.notes)


def test_a_clock_read_in_one_state_only_is_left_out_and_named():
    """Hot at four clocks, cold at three: the fourth says nothing."""
    found = moved(face(LineState.HOT, [290, 290, 290, 200]), face(LineState.COLD, [300] * 3))

    assert found.axial == pytest.approx(-0.010)
    assert any("9" in note and "one state" in note for note in found.notes)


def test_lateral_movement_is_the_vector_of_two_directions():
    """3 mm one way and 4 mm the other are 5 mm."""
    rows = []
    for state, id_, y, z in ((LineState.HOT, "h", 13, 24), (LineState.COLD, "c", 10, 20)):
        for quantity, length in ((MarkQuantity.LATERAL_Y, y), (MarkQuantity.LATERAL_Z, z)):
            rows.append(
                MarkReading(
                    visit=id_,
                    joint="EJ-1",
                    bellows="A",
                    quantity=quantity,
                    clock=12,
                    state=state,
                    length=length / 1e3,
                )
            )
    (found,) = marks.movements(rows, VISITS, {"A": 1.2})

    assert found.lateral == pytest.approx(0.005)
    assert found.axial is None


def test_uncertainty_falls_with_clocks_and_rises_with_the_instrument():
    """A caliper beats a tape; four clocks beat one; what was entered beats both."""
    tape = both([290] * 4, [300] * 4)
    caliper = both([290] * 4, [300] * 4, instrument="vernier caliper")
    one = moved(face(LineState.HOT, [290]), face(LineState.COLD, [300]))
    entered = both([290] * 4, [300] * 4, uncertainty=5e-3)

    assert tape.uncertainty == pytest.approx(math.sqrt(2) * 2e-3 / 2)
    assert one.uncertainty == pytest.approx(2 * tape.uncertainty)
    assert caliper.uncertainty < tape.uncertainty < entered.uncertainty


def checks(axial, *, theory=None, rated=None, uncertainty=2e-3):
    """Compare one axial movement [mm] with theory and rating [mm]; outcome and words by id."""
    found = both([300 + axial] * 4, [300] * 4, uncertainty=uncertainty * math.sqrt(2))
    made = marks.compare(
        found,
        None if theory is None else (theory / 1e3, None, None),
        None if rated is None else (rated / 1e3, None, None),
        LIMITS,
    )
    return {check.id.split("@")[0]: check for check in made}


def test_movement_as_theory_says_agrees():
    """21 mm against 20 mm is within the band."""
    assert checks(-21, theory=-20)["marks.theory"].outcome is Outcome.MET


def test_a_little_off_is_measured_again_and_far_off_differs():
    """Words name the step: measure again, then find the neighbour."""
    again, differs = checks(-92, theory=-75), checks(-30, theory=-75)

    assert "measure again" in again["marks.theory"].because
    assert "neighbour" in differs["marks.theory"].because
    assert differs["marks.theory"].outcome is Outcome.NOT_MET


def test_the_wrong_sign_is_called_out():
    """A joint that extends where it should compress is no small deviation."""
    check = checks(+20, theory=-20)["marks.theory"]

    assert check.outcome is Outcome.NOT_MET
    assert "wrong sign" in check.because


def test_uncertainty_is_added_before_a_rating_is_judged():
    """49 mm of 50 is within only when the reading is good to a millimetre."""
    sharp = checks(-49, rated=50, uncertainty=0.5e-3)["marks.rated"]
    blunt = checks(-49, rated=50, uncertainty=4e-3)["marks.rated"]

    assert sharp.outcome is Outcome.MET
    assert blunt.outcome is Outcome.NOT_MET


def test_the_watch_share_comes_before_the_rating():
    """85 % of the rating is watched, not exceeded."""
    found = checks(-42, rated=50, uncertainty=0.5e-3)

    assert found["marks.watch"].outcome is Outcome.NOT_MET
    assert found["marks.rated"].outcome is Outcome.MET


def test_unknown_theory_or_rating_is_not_evaluated():
    """Nothing to compare with is neither met nor not met."""
    found = checks(-20)

    assert found["marks.theory"].outcome is Outcome.NOT_EVALUATED
    assert found["marks.rated"].outcome is Outcome.NOT_EVALUATED


def test_no_movement_is_compared_from_one_state():
    """A position is not judged against a movement."""
    found = moved(face(LineState.HOT, [300] * 4), [])
    (check,) = marks.compare(found, (0.01, None, None), (0.05, None, None), LIMITS)

    assert check.outcome is Outcome.DOES_NOT_APPLY
