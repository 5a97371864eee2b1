"""The verb limits: the site's own values of rules of thumb."""

from __future__ import annotations

from typing import TYPE_CHECKING

from takeup.errors import Refused

if TYPE_CHECKING:
    from takeup.desk.site import Site
    from takeup.limits import Limit, Limits


def current(site: Site) -> Limits:
    """All limits as they stand for this site."""
    return site.register().limits()


def set_value(site: Site, id: str, value: float, reason: str, by: str) -> Limit:
    """Set the site's own ``value`` (SI) of a rule of thumb.

    Refuses code and published limits, values outside the allowed span, and a change without
    reason or name.
    """
    from takeup.register.entities import SiteLimit

    if not reason.strip() or not by.strip():
        raise Refused(f"changing limit {id!r} needs a reason and a name")
    changed = current(site).with_value(id, value, by)
    with site.change(by.strip(), f"limit {id}: {reason.strip()}") as change:
        change.put(SiteLimit(id=id, value=value, reason=reason.strip(), by=by.strip()))
    return changed[id]


def reset(site: Site, id: str, reason: str, by: str) -> Limit:
    """Go back to the shipped value of a limit."""
    from takeup.limits import defaults
    from takeup.register.entities import SiteLimit

    default = defaults()[id]
    if site.register().find(SiteLimit, id) is not None:
        with site.change(by.strip(), f"limit {id} back to default: {reason.strip()}") as change:
            change.withdraw(SiteLimit.KIND, id)
    return default
