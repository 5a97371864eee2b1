"""One module per standard and edition."""

from __future__ import annotations

from takeup.bellows.model import Basis, Convolution
from takeup.bellows.rules import asme_viii_1_app26, ejma, en_13445
from takeup.bellows.rules.base import RuleSet

_RULES: dict[tuple[Basis, Convolution], RuleSet] = {
    (rules.basis, rules.convolution): rules
    for module in (asme_viii_1_app26, ejma, en_13445)
    for rules in module.RULES
}


def rules_of(basis: Basis, convolution: Convolution = Convolution.U_PLAIN) -> RuleSet:
    """The rule set of ``basis`` for a shape of convolutions."""
    return _RULES[basis, convolution]
