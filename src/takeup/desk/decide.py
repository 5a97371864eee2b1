"""The verb decide: what a person chose for a joint, with the reason; a fact like any other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from takeup.errors import Refused, UnknownName

if TYPE_CHECKING:
    from takeup.desk.site import Site
    from takeup.register.entities import Decision, OptionName


def decide(
    site: Site, joint: str, outage: str, option: OptionName, reason: str, by: str
) -> Decision:
    """Record a decision with its reason.

    The person decides, against a blocked condition if need be: Takeup keeps the reason, shows
    the unmet conditions beside it and prices the choice in the next plan.
    """
    from takeup.register.entities import Decision, Joint, Outage

    register = site.register()
    known = register.get(Joint, joint)
    planned = register.get(Outage, outage)
    if not reason.strip():
        raise Refused(f"a decision on {known.tag} needs a reason; say why in a sentence")
    if not by.strip():
        raise Refused(f"a decision on {known.tag} needs the name of who decides")
    decision = Decision(
        joint=known.tag, outage=planned.tag, option=option, reason=reason.strip(), by=by.strip()
    )
    with site.change(by.strip(), f"decision on {known.tag}: {option.value}") as change:
        change.put(decision)
    return decision


def withdraw(site: Site, joint: str, outage: str, reason: str, by: str) -> None:
    """Take a decision back; it stays in the history."""
    from takeup.register.entities import Decision

    found = site.register().find(Decision, f"{joint}/{outage}")
    if found is None:
        raise UnknownName("decision", f"{joint}/{outage}")
    if not reason.strip() or not by.strip():
        raise Refused("withdrawing a decision needs a reason and a name")
    with site.change(by.strip(), reason.strip()) as change:
        change.withdraw(Decision.KIND, found.key)
