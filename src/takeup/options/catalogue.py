"""The one place where options are registered. Every joint always gets all of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from takeup.assess.model import JointCase, Verdict
from takeup.options import (
    box_in,
    clamshell,
    design_out,
    in_place,
    leave,
    online_clamshell,
    replace,
    shop,
)
from takeup.options.model import Option
from takeup.register.entities import OptionName, Quote

Build = Callable[[JointCase, Verdict, Quote | None], Option]

OPTIONS: dict[OptionName, Build] = {
    OptionName.LEAVE: leave.build,
    OptionName.DESIGN_OUT: design_out.build,
    OptionName.BOX_IN: box_in.build,
    OptionName.CLAMSHELL: clamshell.build,
    OptionName.ONLINE_CLAMSHELL: online_clamshell.build,
    OptionName.IN_PLACE: in_place.build,
    OptionName.SHOP: shop.build,
    OptionName.REPLACE: replace.build,
}


def options(case: JointCase, verdict: Verdict, quotes: Sequence[Quote] = ()) -> tuple[Option, ...]:
    """All eight options of a joint, each open or blocked with its conditions.

    ``quotes`` are the site's own costs and lead times for this joint.
    """
    by_option = {quote.option: quote for quote in quotes}
    return tuple(build(case, verdict, by_option.get(name)) for name, build in OPTIONS.items())
