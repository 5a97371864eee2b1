"""Check items are complete, in walking order and say how far each limit may be trusted."""

import csv
import re
from importlib import resources

import pytest

from takeup import limits, units
from takeup.checks import LimitKind
from takeup.errors import UnknownName
from takeup.evidence import checklist
from takeup.evidence.checklist import AnswerType, Area
from takeup.evidence.facts import VisitKind
from takeup.register.entities import JointType, Wall
from takeup.sources import Standing

SECTION_2 = (
    [f"HS{n}" for n in range(1, 10)]
    + [f"HB{n}" for n in range(1, 8)]
    + [f"HH{n}" for n in range(1, 7)]
    + ["HT1", "HT2", "HM1"]
    + [f"CS{n}" for n in range(1, 10)]
    + [f"CB{n}" for n in range(1, 10)]
    + [f"CH{n}" for n in range(1, 6)]
    + ["CF1"]
    + [f"CI{n}" for n in range(1, 9)]
)


@pytest.mark.parametrize("code", SECTION_2)
def test_every_item_of_the_trade_is_there(code):
    """Each code an inspector knows can be found."""
    assert checklist.item(code).code == code


def test_the_walk_starts_with_the_surroundings():
    """A bellows is the victim: anchors come before bellows, bellows before hardware."""
    areas = [item.area for item in checklist.items(VisitKind.HOT)]

    assert areas[0] is Area.SURROUNDINGS
    assert areas == sorted(areas, key=list(Area).index)


def test_items_of_other_types_are_left_out():
    """A gimbal ring gap is not asked of a single joint; an unknown type leaves all on."""
    single = {item.code for item in checklist.items(VisitKind.HOT, "single", "hot wall")}
    unknown = {item.code for item in checklist.items(VisitKind.HOT, None, None)}

    assert "XG1" not in single and "HH1" not in single and "XA1" in single
    assert {"XG1", "HH1", "XA1", "HT1"} <= unknown
    assert "HT1" not in single


@pytest.mark.parametrize("type_", list(JointType))
@pytest.mark.parametrize("kind", list(VisitKind))
def test_every_joint_type_has_items_for_every_visit(type_, kind):
    """No joint type is forgotten by any kind of visit."""
    assert len(checklist.items(kind, type_.value, None)) >= 5


def test_types_and_walls_are_words_of_the_register():
    """A misspelt type would silently drop an item."""
    types, walls = {t.value for t in JointType}, {w.value for w in Wall}

    for item in checklist.items():
        assert set(item.types) <= types, item.code
        assert set(item.walls) <= walls, item.code


def test_readings_and_limits_are_known():
    """Quantity kinds and limit ids named by an item exist."""
    for item in checklist.items():
        assert not item.kind or item.kind in units.KINDS, item.code
        assert not item.limit or item.limit in limits.defaults(), item.code
        assert item.answer is not AnswerType.MEASURED or item.kind, item.code
        assert 1 <= item.grade <= 4 and item.look and item.how and item.accept and item.worse


def test_a_trade_rule_is_never_shown_as_code():
    """Only items from a standard carry the kind code, and those name the place in it."""
    for item in checklist.items():
        if item.limit_kind is LimitKind.CODE:
            assert item.source.document.startswith(("ASME", "API")) and item.source.at
        if item.source.standing is Standing.PRACTICE:
            assert item.limit_kind is LimitKind.RULE_OF_THUMB


def test_an_unknown_code_names_its_neighbours():
    """A slip of the pen is answered with the nearest codes."""
    with pytest.raises(UnknownName, match="HS1"):
        checklist.item("HSS1")

    assert checklist.item(" hb3 ").code == "HB3"


def test_options_have_their_own_questions():
    """What an option must know is asked as items of its own."""
    codes = [item.code for item in checklist.items() if item.area is Area.OPTIONS]

    assert codes == [f"O{n}" for n in range(1, 16)]


def test_codes_are_written_once_and_in_capitals():
    """Two rows of one code would hide one of them: the table keeps the last."""
    text = resources.files("takeup.evidence").joinpath("check_items.csv").read_text("utf-8")
    codes = [row["code"] for row in csv.DictReader(text.splitlines())]

    assert len(codes) == len(set(codes)) == len(checklist.items())
    assert codes == [code.upper() for code in codes]


@pytest.mark.parametrize("wall", [None, *(w.value for w in Wall)])
@pytest.mark.parametrize("type_", list(JointType))
@pytest.mark.parametrize("kind", [VisitKind.HOT, VisitKind.COLD])
def test_bellows_and_surroundings_are_always_looked_at(kind, type_, wall):
    """Hot and cold, of any type and wall: the bellows and what stands round it are on the list."""
    areas = {item.area for item in checklist.items(kind, type_.value, wall)}

    assert {Area.BELLOWS, Area.SURROUNDINGS} <= areas


def test_items_that_options_ask_for_exist_and_can_answer():
    """Each O-code in the options room is an item, answered by what the option reads."""
    asked = {
        code: call
        for module in resources.files("takeup.options").iterdir()
        if module.name.endswith(".py")
        for call, code in re.findall(
            r'(answered|measured)\(\s*case,\s*"(O\d+)"', module.read_text()
        )
    }

    assert {"O1", "O3", "O10", "O14"} <= asked.keys()
    for code, call in asked.items():
        item = checklist.item(code)
        assert item.area is Area.OPTIONS, code
        assert (item.answer is AnswerType.MEASURED) == (call == "measured"), code


def test_an_unknown_code_is_refused_with_the_nearest():
    """A slip of the pen does not become an empty item."""
    with pytest.raises(UnknownName, match="HS1"):
        checklist.item("HS11")
    assert checklist.item(" hs1 ").code == "HS1"
