"""Data that cannot be true is said in the verdict, not swallowed."""

import datetime as dt

from takeup.assess.model import Level, Mechanism
from takeup.desk import assess
from takeup.register.entities import BellowsElement

TODAY = dt.date(2026, 11, 25)


def test_a_contradictory_bellows_is_named_and_leaves_the_joint_unproven(demo_site):
    """A convolution lower than two torus radii stops the calculation, and the reason is shown."""
    old = demo_site.register().get(BellowsElement, "EJ-1101/A")
    import msgspec

    wrong = msgspec.structs.replace(old, height=0.010, pitch=0.090, torus_radius=None)
    with demo_site.change("T. Tester", "wrong height") as change:
        change.put(wrong)
    (verdict,) = assess.run(demo_site, today=TODAY, tags=["EJ-1101"])
    pressure = next(r for r in verdict.mechanisms if r.mechanism == Mechanism.PRESSURE)

    assert pressure.level == Level.UNPROVEN
    assert verdict.level == Level.UNPROVEN
    assert any("cannot be true" in line and "torus radius" in line for line in verdict.missing)
