"""Limits carry their kind; only rules of thumb are the site's to edit."""

import pytest

from takeup.checks import LimitKind
from takeup.errors import Refused, TakeupError, UnknownName
from takeup.limits import defaults
from takeup.units import KINDS


def test_every_shipped_limit_lies_in_its_own_span_and_has_a_known_kind():
    """A default outside the span that the site may set would be a slip of ours."""
    for limit in defaults().values():
        assert limit.low <= limit.value <= limit.high, limit.id
        assert limit.kind in KINDS, limit.id
        assert limit.source.document, limit.id


def test_a_rule_of_thumb_can_be_set_and_says_by_whom():
    """The site's own value replaces the default in a new object."""
    limits = defaults().with_value("age.replace", 25 * 31557600.0, "A. Engineer")

    assert limits.value("age.replace") == 25 * 31557600.0
    assert limits["age.replace"].changed_by == "A. Engineer"
    assert defaults().value("age.replace") == 30 * 31557600.0


def test_a_published_limit_cannot_be_set():
    """The 4.8 mm wall for hot work is not the site's to lower."""
    assert defaults()["wall.hot_work"].limit_kind == LimitKind.PUBLISHED
    with pytest.raises(Refused, match="not a rule of thumb"):
        defaults().with_value("wall.hot_work", 0.003, "A. Engineer")


def test_a_value_outside_the_span_is_refused():
    """An interply pressure of 3 bar would buckle the inner ply."""
    with pytest.raises(TakeupError, match="allowed are"):
        defaults().with_value("interply.target", 3e5, "A. Engineer")


def test_an_unknown_limit_offers_the_nearest_name():
    """A misspelt limit is answered with the right one."""
    with pytest.raises(UnknownName, match=r"age\.replace"):
        defaults()["age.replac"]
