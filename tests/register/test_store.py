"""The store keeps every revision, and everything of a change or nothing."""

import datetime as dt
import os
import signal
import subprocess
import sys
import time

import msgspec
import pytest
import sqlalchemy as sa

from takeup.errors import Contradiction, Refused, TakeupError, UnknownName
from takeup.register import schema
from takeup.register.entities import Joint, JointType, Line, ServiceClass
from takeup.register.revisions import differences
from takeup.register.store import Store
from takeup.units import System

DAY = dt.timedelta(days=1)
T0 = dt.datetime(2026, 1, 1, 12, tzinfo=dt.UTC)


def line(tag="L-1", **more):
    """A line."""
    return Line(
        **{"tag": tag, "unit": "U1", "name": "flue gas", "service": ServiceClass.STEAM} | more
    )


def joint(tag="EJ-1", **more):
    """A joint."""
    return Joint(**{"tag": tag, "line": "L-1", "type": JointType.SINGLE} | more)


def put(store, *facts, time=T0, author="A. Engineer", reason="test"):
    """Make one change."""
    with store.change(author=author, reason=reason, time=time) as change:
        change.put_many(facts)


def test_what_is_put_comes_back_equal(store):
    """Facts survive the store unchanged, unknowns as unknown."""
    put(store, line(operating_pressure=2.5e5), joint(note="naïve ≥ 3 mm"))

    assert list(store.facts()) == [line(operating_pressure=2.5e5), joint(note="naïve ≥ 3 mm")]


def test_every_past_state_can_be_shown(store):
    """Nothing is overwritten: the register at an earlier time is still there."""
    put(store, line(name="old"))
    put(store, line(name="new"), joint(), time=T0 + 2 * DAY)
    with store.change(author="B", reason="gone", time=T0 + 4 * DAY) as change:
        change.withdraw("joint", "ej-1")

    assert [fact.name for fact in store.facts(at=T0 + DAY)] == ["old"]
    assert len(list(store.facts(at=T0 + 3 * DAY))) == 2
    assert [fact.name for fact in store.facts()] == ["new"]
    assert [r.body is None for r in store.history("joint", "EJ-1")] == [False, True]


def test_a_fact_that_did_not_change_makes_no_revision(store):
    """Importing the same twice leaves one revision and one change."""
    put(store, line())
    put(store, line(), time=T0 + DAY)

    assert len(store.history("line", "L-1")) == 1
    assert len(store.changes()) == 1


def test_a_revision_says_who_when_and_why_and_what_changed(store):
    """The history of a fact reads like a log."""
    put(store, line(operating_pressure=2e5))
    put(store, line(operating_pressure=3e5), time=T0 + DAY, author="B. Other", reason="measured")
    first, second = store.history("line", "L-1")

    assert (second.author, second.reason, second.time) == ("B. Other", "measured", T0 + DAY)
    (change,) = differences(first, second, System.METRIC)
    assert (change.old, change.new) == ("2.00\u00a0bar", "3.00\u00a0bar")


def test_an_error_inside_a_change_stores_nothing(store):
    """All or nothing."""
    with (
        pytest.raises(RuntimeError),
        store.change(author="A", reason="r", time=T0) as change,
    ):
        change.put(line())
        raise RuntimeError("stop")

    assert list(store.facts()) == []
    assert store.changes() == ()


def test_two_spellings_of_a_tag_in_one_change_are_refused(store):
    """EJ-1 and ej-1 would be one entity; the message names both."""
    with (
        pytest.raises(Contradiction, match="'EJ-1' and 'ej-1'"),
        store.change(author="A", reason="r", time=T0) as change,
    ):
        change.put_many([joint("EJ-1"), joint("ej-1")])


@pytest.mark.parametrize("key", ["EJ-2", "EJ-3"])
def test_withdrawing_what_is_not_there_is_refused(store, key):
    """A key never put, or withdrawn already, is answered with the nearest; nothing is stored."""
    put(store, joint("EJ-1"), joint("EJ-2"))
    with store.change(author="A", reason="gone", time=T0) as change:
        change.withdraw("joint", "EJ-2")
    with (
        pytest.raises(UnknownName, match=rf"joint '{key}' is not known. Did you mean EJ-1\?"),
        store.change(author="A", reason="gone", time=T0) as change,
    ):
        change.put(joint("EJ-7"))
        change.withdraw("joint", key)

    assert [fact.tag for fact in store.facts()] == ["EJ-1"]
    assert len(store.changes()) == 2


def test_what_one_change_puts_it_may_withdraw(store):
    """Put and taken back within one change leaves no trace, and another kind is named as such."""
    with store.change(author="A", reason="r", time=T0) as change:
        change.put(joint("EJ-7"))
        change.withdraw("joint", "ej-7")
    with (
        pytest.raises(TakeupError, match="'joints' is not a kind of fact"),
        store.change(author="A", reason="r", time=T0) as change,
    ):
        change.withdraw("joints", "EJ-7")

    assert list(store.facts()) == []
    assert store.changes() == ()


def test_a_change_made_for_an_older_register_is_refused(store):
    """Facts compared with change 1 are not stored over change 2, which is named; a fresh one is."""
    put(store, line(name="first"))
    seen = store.last_change()
    put(store, line(name="measured"), author="B. Other", reason="walked the line")
    with (
        pytest.raises(Refused, match=r"changed since .*B\. Other: walked the line.*compare again"),
        store.change(author="A", reason="import", time=T0, expect=seen) as change,
    ):
        change.put(line(name="stale"))
    assert [fact.name for fact in store.facts()] == ["measured"]

    with store.change(author="A", reason="r", time=T0, expect=store.last_change()) as change:
        change.put(line(name="compared"))
    assert [fact.name for fact in store.facts()] == ["compared"]
    assert store.verify() == []


def test_a_change_without_author_or_reason_is_refused(store):
    """A record that nobody signs is no record."""
    with pytest.raises(Refused), store.change(author=" ", reason="r", time=T0):
        pass


def test_a_clock_set_back_does_not_reorder_history(store):
    """A later change is never stored with an earlier time."""
    put(store, line(name="old"), time=T0)
    put(store, line(name="new"), time=T0 - 5 * DAY)

    assert store.history("line", "L-1")[-1].time == T0


def test_a_change_behind_the_stores_back_is_found(store):
    """The chain of hashes breaks when a stored body is edited."""
    put(store, line())
    put(store, line(name="other"), time=T0 + DAY)
    assert store.verify() == []
    with store._engine.begin() as connection:
        connection.execute(
            sa.update(schema.revision)
            .where(schema.revision.c.number == 1)
            .values(body=b'{"name":"forged"}')
        )

    assert any("changed after it was stored" in fault for fault in store.verify())


def test_results_keep_their_past_and_give_the_newest(store):
    """A result never replaces an earlier one; asking gives the newest of each key."""
    store.put_result("verdict", "EJ-1", "h1", "0.1", T0, b"one")
    store.put_result("verdict", "ej-1", "h2", "0.1", T0 + DAY, b"two")

    assert store.result("verdict", "EJ-1").body == b"two"
    assert [r.body for r in store.results("verdict")] == [b"two"]
    assert store.result("verdict", "EJ-2") is None


def test_migrations_match_the_tables(store):
    """The migrations lead to exactly the tables the code uses."""
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    with store._engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        found = compare_metadata(context, schema.metadata)

    assert found == []


def test_opening_twice_migrates_once(store):
    """Migrating an up-to-date store does nothing."""
    put(store, line())
    store.migrate()

    assert len(list(store.facts())) == 1


KILLED = """
import datetime as dt, sys, time
from takeup.register.store import Store
from takeup.register.entities import Line, ServiceClass
store = Store.open(sys.argv[1]); store.migrate()
import takeup.register.store as module
original = module._upsert_heads
def slow(connection, rows):
    original(connection, rows); print("inside", flush=True); time.sleep(30)
module._upsert_heads = slow
with store.change(author="A", reason="r", time=dt.datetime(2026, 2, 1, tzinfo=dt.UTC)) as change:
    change.put_many([Line(tag=f"L-{i}", unit="U", name="n", service=ServiceClass.STEAM) for i in range(500)])
"""


def test_kill_in_the_middle_of_a_change_leaves_the_store_as_before(tmp_path):
    """kill -9 after all rows were written but before the commit: nothing of it is there."""
    url = f"sqlite:///{tmp_path / 'register.db'}"
    store = Store.open(url)
    store.migrate()
    put(store, line())
    process = subprocess.Popen(
        [sys.executable, "-c", KILLED, url], stdout=subprocess.PIPE, env=os.environ
    )
    assert process.stdout.readline().strip() == b"inside"
    process.send_signal(signal.SIGKILL)
    process.wait()
    process.stdout.close()
    time.sleep(0.1)
    reopened = Store.open(url)
    reopened.migrate()

    assert list(reopened.facts()) == [line()]
    assert reopened.verify() == []
    put(reopened, joint(), time=T0 + DAY)
    assert len(list(reopened.facts())) == 2
    store.close()
    reopened.close()


def test_two_thousand_joints_are_stored_in_a_moment(store):
    """A bulk change is written in batches, not row by row (bound, not a benchmark)."""
    start = time.perf_counter()
    put(store, *(joint(f"EJ-{number}") for number in range(2000)))

    assert time.perf_counter() - start < 10
    assert sum(1 for _ in store.facts()) == 2000
    assert msgspec.json.decode(store.history("joint", "EJ-7")[0].body)["tag"] == "EJ-7"
