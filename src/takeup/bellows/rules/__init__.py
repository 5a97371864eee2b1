"""One module per standard and edition."""

from __future__ import annotations

from takeup.bellows.model import Basis
from takeup.bellows.rules import asme_viii_1_app26, ejma
from takeup.bellows.rules.base import RuleSet
from takeup.errors import Refused

_RULES = {rules.basis: rules for rules in (asme_viii_1_app26.RULES, ejma.RULES)}


def rules_of(basis: Basis) -> RuleSet:
    """The rule set of ``basis``; :class:`takeup.errors.Refused` where there is none yet."""
    if basis not in _RULES:
        raise Refused(
            f"{Basis(basis).value}: its fatigue constants are not held here, so no case is worked "
            f"out by it. Use {' or '.join(known.value for known in _RULES)}."
        )
    return _RULES[basis]
