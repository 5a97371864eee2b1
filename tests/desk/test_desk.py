"""The verbs of the job on a whole site."""

import pytest

from takeup.desk import assess, decide, plan, site
from takeup.desk.jobs import Jobs, State
from takeup.desk.overview import overview
from takeup.errors import Cancelled, Refused, TakeupError, UnknownName
from takeup.register.entities import OptionName, Plant
from tests.conftest import TODAY


def test_assessing_twice_gives_the_same_verdicts_and_hashes(demo_site):
    """Deterministic: the same facts give the same verdict, word for word."""
    first = assess.run(demo_site)
    second = assess.run(demo_site)

    assert first == second
    assert len({verdict.inputs_hash for verdict in first}) == len(first)


def test_verdicts_come_back_from_the_store_as_they_were(demo_site):
    """What is stored is what was concluded."""
    made = {verdict.joint: verdict for verdict in assess.run(demo_site)}

    assert assess.latest(demo_site) == made


def test_a_changed_fact_makes_verdict_and_plan_stale(demo_site):
    """The first screen says that the register moved on."""
    assert not overview(demo_site).stale
    decide.decide(demo_site, "EJ-1101", "TA-2027", OptionName.LEAVE, "sound", "E. Engineer")

    view = overview(demo_site)
    assert view.stale
    assert view.plan_stale


def test_a_decision_is_kept_and_priced_by_the_next_plan(demo_site):
    """The person decides; the plan says what it costs."""
    decide.decide(demo_site, "EJ-1304", "TA-2027", OptionName.REPLACE, "upgrade", "E. Engineer")
    made = plan.run(demo_site, effort=0.0)

    (choice,) = [c for c in made.portfolio.choices if c.joint == "EJ-1304"]
    assert choice.option == OptionName.REPLACE
    assert choice.forced
    decide.withdraw(demo_site, "EJ-1304", "TA-2027", "changed our mind", "E. Engineer")
    with pytest.raises(UnknownName):
        decide.withdraw(demo_site, "EJ-1304", "TA-2027", "again", "E. Engineer")


def test_a_budget_that_cannot_carry_the_must_do_list_keeps_the_last_plan(demo_site):
    """The smallest cause is named, and the plan before stays."""
    before = plan.latest(demo_site)
    with pytest.raises(Refused, match="cannot carry"):
        plan.run(demo_site, budget=100e3, effort=0.0)

    assert plan.latest(demo_site) == before


def test_a_plan_is_the_same_for_the_same_facts(demo_site):
    """Repeatable search: no clock decides."""
    assert plan.run(demo_site, effort=0.02) == plan.run(demo_site, effort=0.02)


def test_cancelling_leaves_the_last_plan(demo_site):
    """Stopped half-way, nothing new is stored."""
    before = plan.latest_with_time(demo_site)

    def stop(share, text):
        if share > 0.45:
            raise Cancelled("stopped")

    with pytest.raises(Cancelled):
        plan.run(demo_site, effort=0.02, progress=stop)
    assert plan.latest_with_time(demo_site)[1] == before[1]


def test_a_site_is_not_made_over_another(tmp_path):
    """An existing site is never overwritten, and a folder without one says how to make it."""
    plant = Plant(id="s", name="S")
    site.create(tmp_path / "s", plant, author="A").close()
    with pytest.raises(Refused, match="already holds a site"):
        site.create(tmp_path / "s", plant, author="A")
    with pytest.raises(Refused, match="takeup new"):
        site.open_site(tmp_path)


def test_the_second_outage_is_weighed(demo_site):
    """Each option says its chance for both runs."""
    made = plan.latest(demo_site)
    replace = made.option("EJ-1102", OptionName.REPLACE)

    assert 0.0 < replace.lasts_to_next == pytest.approx(0.7)
    assert replace.lasts_to_second > 0.9
    assert made.today == TODAY


def test_jobs_report_progress_failure_and_cancel():
    """A watcher sees what happened in words."""
    jobs = Jobs()

    def fails(progress):
        progress(0.5, "half")
        raise TakeupError("no budget on record")

    events = list(jobs.events(jobs.start("fails", fails)))
    assert events[-1].state == State.FAILED
    assert "no budget on record" in events[-1].text
    assert list(jobs.events(jobs.start("fine", lambda progress: None)))[-1].state == State.DONE
    with pytest.raises(UnknownName):
        jobs.latest("99")


def test_a_past_state_can_be_exported(demo_site, tmp_path):
    """What the register held then comes out, not what it holds now."""
    from takeup.desk import exports

    before = demo_site.now()
    decide.decide(demo_site, "EJ-1101", "TA-2027", OptionName.LEAVE, "sound", "E. Engineer")

    assert "decision.csv" in {path.name for path in exports.to_csv(demo_site, tmp_path / "now")}
    then = exports.to_csv(demo_site, tmp_path / "then", before)
    assert "decision.csv" not in {path.name for path in then}
    assert "joint.csv" in {path.name for path in then}
