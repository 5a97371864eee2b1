"""Import: every difference is seen first, then all of it is taken or nothing."""

import csv
import datetime as dt
import time

import pytest

from takeup.desk import exports, imports, record
from takeup.desk.site import create
from takeup.errors import BadFile, Refused
from takeup.register.entities import Joint, JointType, LifeEvent, Line
from takeup.units import System
from tests.register.samples import small


@pytest.fixture
def site(tmp_path):
    """A site that holds a small register."""
    plant, *others = small()
    with create(tmp_path / "site", plant, author="A. Engineer") as made:
        with made.change("A. Engineer", "first import") as change:
            change.put_many(others)
        yield made


def table(path, head, *rows):
    """Write a CSV table."""
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([head, *rows])
    return path


def line_file(folder, name="flue gas, as walked"):
    """A CSV that renames line L-1."""
    row = ("L-1", "U1", name, "cold-wall catalyst or flue gas")
    return table(folder / "line.csv", ("tag", "unit", "name", "service"), row)


def state(site):
    """All that an import may touch."""
    return list(site.store.facts()), site.store.changes()


def test_examining_stores_nothing_and_committing_stores_all(site, tmp_path):
    """The report tells the differences; only commit makes the change, signed and once."""
    before = state(site)
    report = imports.examine(site, line_file(tmp_path))
    assert state(site) == before
    assert [(one.key, one.action) for one in report.differences] == [("L-1", "changed")]

    assert imports.commit(site, report, "B. Other", "walked the line") == 1
    assert site.register().get(Line, "L-1").name == "flue gas, as walked"
    assert site.register().get(Line, "L-1").water == 0.12
    head = site.store.changes()[0]
    assert (head.author, head.reason, head.facts) == ("B. Other", "walked the line", 1)
    again = imports.examine(site, tmp_path / "line.csv")
    assert again.facts == ()


def test_one_fault_in_any_table_keeps_all_of_them_out(site, tmp_path):
    """A folder with one sound table and one bad row is not imported at all."""
    folder = tmp_path / "tables"
    folder.mkdir()
    line_file(folder)
    table(folder / "joint.csv", ("tag", "line", "type"), ("EJ-9", "L-9", "single"))
    before = state(site)
    report = imports.examine(site, folder)

    assert not report.clean
    with pytest.raises(Refused, match="tables has 1 faults; nothing was imported"):
        imports.commit(site, report, "B. Other", "try")
    assert state(site) == before


def test_an_import_that_nobody_signs_stores_nothing(site, tmp_path):
    """Without an author there is no change."""
    before = state(site)
    report = imports.examine(site, line_file(tmp_path))
    with pytest.raises(Refused, match="needs an author"):
        imports.commit(site, report, " ", "r")
    assert state(site) == before


def test_a_stale_report_is_refused_and_a_fresh_one_is_not(site, tmp_path):
    """What someone else changed after the comparison is not overwritten unseen."""
    report = imports.examine(site, line_file(tmp_path))
    line = site.register().get(Line, "L-1")
    other = Line(**{name: getattr(line, name) for name in line.__struct_fields__} | {"water": 0.2})
    record.facts(site, [other], "B. Other", "gas analysis")
    before = state(site)

    with pytest.raises(Refused, match=r"changed since .*B\. Other: gas analysis.*compare again"):
        imports.commit(site, report, "A. Engineer", "import")
    assert state(site) == before
    assert imports.commit(site, imports.examine(site, tmp_path / "line.csv"), "A", "import") == 1
    assert site.register().get(Line, "L-1").water == 0.2
    assert site.register().get(Line, "L-1").name == "flue gas, as walked"


def test_the_same_report_is_not_stored_twice(site, tmp_path):
    """A second press of the button is refused, since the first changed the register."""
    report = imports.examine(site, line_file(tmp_path))
    imports.commit(site, report, "A. Engineer", "import")
    with pytest.raises(Refused, match="compare again"):
        imports.commit(site, report, "A. Engineer", "import")


def test_an_event_before_the_joint_belongs_to_the_position(site, tmp_path):
    """A trip before EJ-1 was put in is history of its place; before it was made it cannot be."""
    head = ("joint", "date", "kind")
    trip = table(tmp_path / "life_event.csv", head, ("EJ-1", "2009-01-01", "trip"))
    assert imports.examine(site, trip).faults == ()

    too_early = table(tmp_path / "life_event.csv", head, ("EJ-1", "2007-01-01", "trip"))
    (fault,) = imports.examine(site, too_early).faults
    assert "before the joint was made in 2008" in fault.wrong


def test_another_kind_of_file_is_named(site, tmp_path):
    """A PDF is neither workbook nor CSV."""
    (tmp_path / "r.pdf").write_bytes(b"%PDF")
    with pytest.raises(BadFile, match=r"r\.pdf is neither a workbook"):
        imports.examine(site, tmp_path / "r.pdf")


def test_what_is_exported_imports_into_an_empty_site_whole(site, tmp_path):
    """Workbook and CSV both carry the register to another site, and back without a difference."""
    exports.to_workbook(site, tmp_path / "out" / "r.xlsx")
    exports.to_csv(site, tmp_path / "csv")
    for path in (tmp_path / "out" / "r.xlsx", tmp_path / "csv"):
        assert imports.examine(site, path).differences == ()
        with create(tmp_path / f"new-{path.name}", small()[0], author="A") as other:
            report = imports.examine(other, path)
            assert imports.commit(other, report, "A", "copy") == len(small()) - 1
            assert (
                imports.examine(site, exports.to_workbook(other, tmp_path / "b.xlsx")).facts == ()
            )


def test_the_template_knows_the_site(site, tmp_path):
    """Units, outages and the site itself are filled in; the joints are left to the person."""
    path = exports.template(site, tmp_path / "t.xlsx", System.US)
    report = imports.examine(site, path)

    assert report.faults == ()
    assert report.differences == ()
    assert {kind: rows for kind, rows, _, _ in report.counts if rows} == {
        "plant": 1,
        "unit": 1,
        "outage": 1,
    }


@pytest.mark.slow
def test_two_thousand_joints_are_imported_in_seconds(site, tmp_path):
    """Examine and commit of a workbook of 2,000 joints (bound, not a benchmark)."""
    made = dt.date(2010, 1, 1)
    with create(tmp_path / "big", small()[0], author="A") as big:
        others = [fact for fact in small()[1:] if not isinstance(fact, LifeEvent)]
        joints = [
            Joint(tag=f"J-{n}", line="L-1", type=JointType.SINGLE, installed=made, mass=n + 1.0)
            for n in range(2000)
        ]
        record.facts(big, [*others, *joints], "A", "many")
        exports.to_workbook(big, tmp_path / "big.xlsx")
    start = time.perf_counter()
    report = imports.examine(site, tmp_path / "big.xlsx")
    assert imports.commit(site, report, "A", "many") == 2000
    assert time.perf_counter() - start < 20
