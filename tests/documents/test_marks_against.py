"""What was measured beside what explanations show: shapes, numbers, hostile words, honest bars."""

from xml.etree import ElementTree

import pytest

from takeup.documents.drawing import WEB, Likely, MarkRow, isometric, likely_bars, marks_against
from takeup.documents.drawing.marks_against import percent
from takeup.errors import Contradiction
from takeup.units import System
from tests.documents.test_isometric import TEXT, boxes, words

SVG = "{http://www.w3.org/2000/svg}"
ROWS = (
    MarkRow(name='EJ-1 <&> "A": length between its ends', kind="movement", measured=-0.0253,
            error=0.0015, predicted=(-0.0419, -0.0254, -0.0212)),
    MarkRow(name="EJ-1: opening on the east side", kind="angle", measured=0.0, error=1e-3,
            predicted=(0.0, 0.0, 2e-3)),
    MarkRow(name="S-1: load carried, hot", kind="force", measured=7500.0, error=800.0,
            predicted=(8100.0, 7500.0, 0.0)),
)  # fmt: skip
SERIES = ("everything sound", "1  guide G-1 seized", "2  joint <EJ-1> locked")


def place(svg, tag, test):
    return [one for one in ElementTree.fromstring(svg).iter(f"{SVG}{tag}") if test(one)]


def test_every_reading_has_its_measured_value_and_a_shape_for_each_explanation():
    """Numbers with units of the site; three rows and the legend show each shape."""
    svg = marks_against(ROWS, SERIES, palette=WEB)
    said = " ".join(words(svg)).replace("\u00a0", " ")
    for told in ("−25.3 mm ± 2.9 mm", "0.00 deg ± 0.11 deg", "7.5 kN ± 1.6 kN", *SERIES[:2]):
        assert told in said, told
    squares = place(svg, "rect", lambda one: one.get("width") == "13")
    dots = place(svg, "circle", lambda one: one.get("r") == "4.6")
    assert len(squares) == len(dots) == len(ROWS) + 1
    assert " in " in " ".join(
        words(marks_against(ROWS, SERIES, system=System.US))
    ).replace("\u00a0", " ")  # fmt: skip


def test_places_along_the_axis_follow_the_values():
    """Sound, locked, seized and measured stand in the order of their numbers."""
    svg = marks_against(ROWS[:1], SERIES)
    (sound, _) = place(svg, "rect", lambda one: one.get("width") == "13")
    (dot, _) = place(svg, "circle", lambda one: one.get("r") == "4.6")
    starts = [float(one.get("d").split(",")[0][1:]) for one in
              place(svg, "path", lambda one: "Z" in one.get("d"))]  # fmt: skip
    locked, seized = starts[0], starts[1]
    at = float(sound.get("x")) + 6.5
    assert at < seized < float(dot.get("cx")) < locked


@pytest.mark.parametrize("rows", [(), ROWS])
def test_no_words_leave_the_drawing_or_overlap(rows):
    """Nothing weighed is said so; long names are wrapped."""
    long = tuple(
        MarkRow(name=row.name + ", a long name that goes on and on beyond its place",
                kind=row.kind, measured=row.measured, error=row.error, predicted=row.predicted)
        for row in rows
    )  # fmt: skip
    svg = marks_against(long, SERIES)
    height = float(ElementTree.fromstring(svg).get("height"))
    found = boxes(svg)
    for at, (left, top, right, bottom, said) in enumerate(found):
        assert left >= 0 and right <= 880 and top >= 0 and bottom <= height, said
        for other in found[at + 1 :]:
            apart = right <= other[0] or other[2] <= left or bottom <= other[1] or other[3] <= top
            assert apart, (said, other[4])


def test_more_explanations_than_shapes_and_uneven_rows_are_refused():
    """Two explanations with one shape could not be told apart."""
    with pytest.raises(Contradiction, match="5 shapes"):
        marks_against((), tuple("abcdef"))
    with pytest.raises(Contradiction, match="number of predictions"):
        marks_against(ROWS, SERIES[:2])


def test_bars_are_as_long_as_their_probability_and_say_it():
    """Half is half the axis; a group with a sound line is hatched; the rest has its own bar."""
    rows = (
        Likely(number=1, words="guide G-1 <seized>, alone or with more", share=0.5),
        Likely(number=2, words="everything sound", share=0.25, sound=True),
    )
    svg = likely_bars(rows, 0.25)
    bars = place(svg, "rect", lambda one: one.get("height") == "18")
    wide = [float(bar.get("width")) for bar in bars]
    assert wide == pytest.approx([145.0, 72.5, 72.5])
    assert bars[1].get("fill").startswith("url(#")
    assert bars[2].get("fill") == "none"
    said = " ".join(words(svg)).replace("\u00a0", " ")
    for told in ("50 %", "25 %", "cannot be told apart", "<seized>"):
        assert told in said


def test_where_nothing_fits_no_bar_is_filled_and_it_is_said():
    """A share of the nearest is no probability."""
    svg = likely_bars((Likely(number=1, words="sound", share=0.96, sound=True),), 0.04, fits=False)
    bars = place(svg, "rect", lambda one: one.get("height") == "18")
    assert all(bar.get("fill") == "none" for bar in bars)
    assert "nothing fits" in " ".join(words(svg))
    assert "stated probability" not in " ".join(words(svg))


@pytest.mark.parametrize(
    ("share", "told"), [(0.9999, "over 99 %"), (0.97, "97 %"), (0.001, "under 1 %"), (1e-9, "under 1 %")]
)  # fmt: skip
def test_no_probability_is_told_as_certain(share, told):
    """Neither 0 nor 100."""
    assert percent(share).replace("\u00a0", " ") == told


def test_places_pointed_at_are_ringed_with_their_words():
    """A support and a joint; a place the line has not is passed over."""
    from takeup.line.text import read

    line = read(TEXT.read_text(encoding="utf-8"))
    bare = isometric(line)
    svg = isometric(line, pointed={"guide at joint near": "1: 90 %", "EJ-101": "2", "no": "3"})
    rings = [len(place(one, "circle", lambda c: c.get("r") in {"19", "23"})) for one in (bare, svg)]
    assert rings == [0, 4]
    assert "1: 90 %" in words(svg)
    assert "3" not in words(svg)
