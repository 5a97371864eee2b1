"""Dates run backward from the outage, and leave as a calendar file others can read."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeup.plan import calendar
from takeup.plan.model import Milestone
from takeup.register.entities import OptionName
from tests.plan.samples import long_lead, option, outage

TODAY = dt.date(2026, 3, 1)
NEW = OptionName.REPLACE


def bought(joint, **lead):
    """A new joint with one thing to order."""
    return option(joint, NEW, long_lead=(long_lead(**lead),))


def test_dates_of_an_order_add_up():
    """28 days on site, 100 to make, 60 to prepare: each counted back from the first day."""
    item = long_lead()
    start = dt.date(2027, 3, 1)

    assert calendar.on_site_date(item, outage()) == start - dt.timedelta(days=28)
    assert calendar.order_date(item, outage()) == start - dt.timedelta(days=128)
    assert calendar.start_preparing(item, outage()) == start - dt.timedelta(days=188)


def test_the_slowest_item_sets_the_last_useful_date():
    """Of two things to order the earlier date rules; nothing to order has no date."""
    two = option("EJ-1", NEW, long_lead=(long_lead("bellows"), long_lead("forging", lead=200.0)))

    assert calendar.order_by(two, outage()) == dt.date(2027, 3, 1) - dt.timedelta(days=288)
    assert calendar.order_by(option("EJ-1", NEW), outage()) is None


def test_equal_dates_are_joined_and_different_ones_keep_their_own_id():
    """Two joints that order the same thing on one day share a date; a third has its own."""
    found = calendar.milestones(
        outage(), [bought("EJ-2"), bought("EJ-1"), bought("EJ-3", lead=150.0)], TODAY, None
    )
    orders = [one for one in found if one.id.startswith("order:bellows")]

    assert [one.due_for for one in orders] == [("EJ-3",), ("EJ-1", "EJ-2")]
    assert [one.id for one in orders] == ["order:bellows:2026-09-04", "order:bellows:2026-10-24"]


def test_every_date_has_an_id_of_its_own():
    """Ids can be ticked off one by one."""
    found = calendar.milestones(
        outage(), [bought(f"EJ-{n}", lead=100.0 + n // 2) for n in range(6)], TODAY, None
    )
    ids = [one.id for one in found]

    assert len(ids) == len(set(ids))
    assert len(ids) == 13 + 3 + 3 + 1  # all are delivered on one day


def test_one_order_ticked_off_leaves_the_other_open():
    """Done is said of a date, not of everything of the same name."""
    options = [bought("EJ-1"), bought("EJ-3", lead=400.0)]
    done = "prepare:bellows:2025-10-29"
    found = calendar.milestones(outage(), options, TODAY, None, done=[done])
    late = calendar.milestones(outage(), options, TODAY, None)

    assert next(one for one in late if one.id == done).late_days == 123
    ticked = next(one for one in found if one.id == done)
    assert (ticked.done, ticked.late_days) == (True, 0)
    assert sum(one.done for one in found) == 1


def test_the_sites_own_date_rules():
    """A scope freeze that is set replaces the usual twelve months."""
    own = dt.date(2026, 6, 1)
    found = {one.id: one for one in calendar.milestones(outage(scope_freeze=own), [], TODAY, None)}

    assert (found["scope_freeze"].date, found["scope_freeze"].fixed) == (own, True)
    assert found["budget_close"].date == dt.date(2027, 3, 1) - dt.timedelta(days=304)
    assert not found["budget_close"].fixed


def test_dates_come_in_order_and_the_outage_is_never_late():
    """Sorted; the outage itself carries no lateness even when looked at afterwards."""
    found = calendar.milestones(outage(), [bought("EJ-1")], dt.date(2027, 6, 1), None)

    assert [one.date for one in found] == sorted(one.date for one in found)
    assert next(one for one in found if one.id == "end").late_days == 0
    assert next(one for one in found if one.id == "readiness").late_days > 0


def unfolded(text):
    """Lines of a calendar file put together again."""
    return text.replace("\r\n ", "").split("\r\n")


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=200))
def test_folding_keeps_every_character_in_lines_of_75_octets(name):
    """Long names in any script fold inside the limit and come back whole."""
    one = Milestone(id="a", name=name, date=TODAY, rule=name)
    text = calendar.icalendar([one], name)

    for line in text.split("\r\n"):
        assert len(line.encode("utf-8")) <= 75
    summary = next(line for line in unfolded(text) if line.startswith("SUMMARY:"))
    escaped = summary.removeprefix("SUMMARY:")
    plain = escaped.replace("\\;", ";").replace("\\,", ",").replace("\\\\", "\\")
    assert plain == name


def test_a_calendar_file_has_whole_days_marks_and_joints():
    """A reader shows the day itself, the joints, and that it is late; commas are escaped."""
    one = Milestone(
        id="order:a b",
        name="Order: bellows; two",
        date=TODAY,
        due_for=("EJ-1", "EJ-2"),
        late_days=3,
    )
    lines = unfolded(calendar.icalendar([one]))

    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-2:] == ["END:VCALENDAR", ""]
    assert "DTSTART;VALUE=DATE:20260301" in lines
    assert "DTEND;VALUE=DATE:20260302" in lines
    assert "SUMMARY:Order: bellows\\; two (EJ-1\\, EJ-2) LATE by 3 days" in lines
    assert "UID:order:a-b-20260301@takeup.invalid" in lines


def test_uids_of_a_plan_are_unique():
    """Two events never overwrite each other in the reader's calendar."""
    found = calendar.milestones(outage(), [bought("EJ-1"), bought("EJ-3", lead=150.0)], TODAY, None)
    uids = [x for x in unfolded(calendar.icalendar(found)) if x.startswith("UID:")]

    assert len(uids) == len(set(uids)) == len(found)


@pytest.mark.parametrize(("seconds", "whole"), [(0.0, 0), (86400.0, 1), (86401.0, 2)])
def test_spans_round_up_to_days(seconds, whole):
    """A day begun is a day."""
    assert calendar.days(seconds) == dt.timedelta(days=whole)
