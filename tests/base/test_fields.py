"""A fact declares its fields once, and every declaration is complete."""

import pytest

from takeup.errors import OutOfRange, require_within
from takeup.fields import specs
from takeup.register.entities import KINDS, Joint, JointType
from takeup.units import KINDS as QUANTITIES

FIELDS = [(kind, spec) for kind, fact in KINDS.items() for spec in specs(fact)]


@pytest.mark.parametrize(("kind", "spec"), FIELDS, ids=[f"{k}.{s.name}" for k, s in FIELDS])
def test_every_field_has_a_title_and_a_known_quantity(kind, spec):
    """Forms and workbooks need a title; numbers need a quantity kind to convert by."""
    assert spec.title
    if spec.type in {"number", "integer"} and (kind, spec.name) not in {
        ("observation", "value"),
        ("site_limit", "value"),
    }:
        assert spec.kind in QUANTITIES
    if spec.refers and spec.refers not in {"alloy", "check_item"}:
        assert spec.refers in KINDS


@pytest.mark.parametrize("fact", list(KINDS.values()), ids=list(KINDS))
def test_key_fields_exist_and_are_required(fact):
    """A key that may be unknown would be no key; a default other than unknown is fine."""
    known = {spec.name: spec for spec in specs(fact)}
    assert fact.KEY
    for name in fact.KEY:
        assert name in known


def test_keys_and_references_read_well():
    """The reference used in grounds is kind:key."""
    joint = Joint(tag="EJ-101", line="L-1", type=JointType.SINGLE)

    assert joint.key == "EJ-101"
    assert joint.ref == "joint:EJ-101"


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -1.0, 11.0, [1.0, 11.0]])
def test_values_outside_a_range_are_refused_by_name(value):
    """NaN is out of every range, and one bad element of an array is enough."""
    with pytest.raises(OutOfRange, match=r"wall is .* mm, outside 0 to 10 mm covered by the rule"):
        require_within("wall", value, low=0.0, high=10.0, unit="mm", whose="the rule")


@pytest.mark.parametrize("value", [0.0, 10.0, [0.0, 5.0, 10.0]])
def test_the_border_belongs_to_the_range(value):
    """Both ends of a range are inside it."""
    require_within("wall", value, low=0.0, high=10.0, unit="mm", whose="the rule")
