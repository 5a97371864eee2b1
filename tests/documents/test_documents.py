"""Documents say the right numbers, survive hostile text, and repeat."""

import re
from xml.etree import ElementTree

import msgspec
import pytest
from pypdf import PdfReader

from takeup.assess.model import Level
from takeup.desk import documents
from takeup.desk.dossier import dossier, dossiers
from takeup.desk.overview import overview
from takeup.documents import dossier as dossier_document
from takeup.documents import drawing
from takeup.documents import summary as summary_document
from takeup.register.entities import BellowsElement, Joint, JointType, Line, ServiceClass
from takeup.units import System

NASTY = '#strong[x] $1 + 1$ @ref <tag> & "quoted" \\back *bold* _it_ `raw` // ' + "W" * 120


def text_of(path):
    """All text of a PDF, spaces folded."""
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(path).pages))


def test_all_documents_are_written(demo_site, tmp_path):
    """Dossier of each joint, walk sheets, scope as PDF and workbook, summary, dates."""
    written = documents.write(demo_site, tmp_path)

    names = {path.name for path in written}
    assert sum(name.startswith("dossier-") for name in names) == 24
    assert {"walk-sheets-hot.pdf", "scope-TA-2027.pdf", "scope-TA-2027.xlsx",
            "summary-TA-2027.pdf", "dates-TA-2027.ics"} <= names  # fmt: skip
    assert len(PdfReader(tmp_path / "summary-TA-2027.pdf").pages) == 1


def test_a_dossier_says_thrust_verdict_grounds_options_and_sources(demo_site, tmp_path):
    """The numbers of the joint stand in its dossier, with clause and caution."""
    documents.write(demo_site, tmp_path, ("dossiers",), tags=["EJ-1102"])
    text = text_of(tmp_path / "dossier-EJ-1102.pdf")

    for words in ("362.6 kN", "37.0 t", "inner ply leaks", "in doubt", "ASME BPVC VIII-1",
                  "box in", "Read the thrust before", "unknown", "a person decides"):  # fmt: skip
        assert words in text, words


def test_a_site_in_us_units_reads_us_units(demo_site, tmp_path):
    """Pounds, inches, psi and °F throughout, and no metric pressure left."""
    found = msgspec.structs.replace(dossier(demo_site, "EJ-1102"), system=System.US)
    text = text_of(dossier_document.render(found, tmp_path / "d.pdf"))

    assert "psi" in text
    assert "lbf" in text
    assert "°F" in text
    assert not re.search(r"\d bar\b", text)


def test_hostile_text_is_set_as_it_stands(demo_site, tmp_path):
    """Markup of the typesetter, quotes and endless words in a note do no harm."""
    found = dossier(demo_site, "EJ-1602")
    joint = msgspec.structs.replace(found.case.joint, name=NASTY)
    case = msgspec.structs.replace(found.case, joint=joint)
    text = text_of(
        dossier_document.render(msgspec.structs.replace(found, case=case), tmp_path / "d.pdf")
    )

    assert "#strong[x] $1 + 1$ @ref <tag>" in text


def test_the_same_dossier_has_the_same_bytes(demo_site, tmp_path):
    """A document can be compared with the one in the file."""
    found = dossier(demo_site, "EJ-1102")
    one = dossier_document.render(found, tmp_path / "a.pdf").read_bytes()

    assert dossier_document.render(found, tmp_path / "b.pdf").read_bytes() == one


def test_the_summary_says_ask_loss_and_dates(demo_site, tmp_path):
    """Management reads what is asked, what is lost otherwise, and by when."""
    book = documents.scope_book(demo_site)
    text = text_of(summary_document.render(book, tmp_path / "s.pdf"))

    assert "expected loss if left" in text
    assert "Approve" in text
    assert "late by" in text


def test_leaving_everything_never_looks_better_than_the_plan(demo_site):
    """The loss if left is at least the residual risk of the plan for the same joints."""
    from takeup.documents.summary import _nothing

    book = documents.scope_book(demo_site)
    left, _ = _nothing(book)

    assert left >= 0.99 * sum(choice.risk_cost for choice in book.plan.portfolio.choices)


@pytest.mark.parametrize("kind", list(JointType))
def test_every_joint_type_can_be_drawn_with_and_without_data(kind):
    """A drawing for each type is well-formed and says when dimensions are not known."""
    joint = Joint(tag="J <1>", line="L", type=kind)
    line = Line(tag="L", unit="U", name="n", service=ServiceClass.OTHER)
    known = BellowsElement(joint="J <1>", letter="A", inside_diameter=1.0, height=0.05, pitch=0.045,
                           convolutions=6, plies=2, ply_thickness=0.001)  # fmt: skip
    for bellows in ((), (known,)):
        svg = drawing.joint_section(joint, bellows, (), line, system=System.METRIC)
        ElementTree.fromstring(svg)
    assert "dimensions not known" in drawing.joint_section(
        joint, (), (), line, system=System.METRIC
    )


@pytest.mark.parametrize("palette", [drawing.PRINT, drawing.WEB])
def test_every_drawing_of_the_demo_is_well_formed(demo_site, palette):
    """Charts, strips, Gantt and crews are XML with title and description."""
    book = documents.scope_book(demo_site)
    view = overview(demo_site)
    from takeup.documents import pictures

    drawings = [
        drawing.unit_sheet(view, palette=palette, link=lambda tag: f"/joints/{tag}"),
        drawing.calendar_strip(view.milestones, view.today, palette=palette),
        drawing.gantt(book.plan.schedule, palette=palette),
        drawing.crew_chart(book.plan.schedule, palette=palette),
        drawing.budget_curve(book.plan.portfolio, "USD", palette=palette),
    ]
    for found in dossiers(demo_site, ["EJ-1102", "EJ-1103", "EJ-1602"]):
        drawings += [p.svg for p in pictures.evidence(found, palette)]
    for svg in drawings:
        root = ElementTree.fromstring(svg)
        assert root.find("{http://www.w3.org/2000/svg}title") is not None
        assert root.find("{http://www.w3.org/2000/svg}desc") is not None


def test_levels_differ_by_shape_not_only_by_colour():
    """With every colour made the same the five marks are still five different drawings."""
    marks = set()
    for level in Level:
        svg = drawing.level_mark(level)
        body = svg.split("</desc>")[1]
        marks.add(re.sub(r"#[0-9a-f]{6}", "#", body))

    assert len(marks) == len(Level)
