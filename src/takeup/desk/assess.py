"""The verb assess: verdicts for joints, stored with the hash of what they rest on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING

from takeup import __version__
from takeup.desk.cases import cases
from takeup.desk.results import pack, unpack
from takeup.progress import Progress, part, silent

if TYPE_CHECKING:
    from takeup.assess.model import Verdict
    from takeup.desk.site import Site

KIND = "verdict"


def run(
    site: Site,
    *,
    today: dt.date | None = None,
    tags: Sequence[str] | None = None,
    progress: Progress = silent,
) -> tuple[Verdict, ...]:
    """Assess all joints, or ``tags``, and store the verdicts together."""
    from takeup.assess.verdict import assess

    gathered = cases(site, today=today, tags=tags, progress=part(progress, 0.0, 0.4))
    verdicts = assess(gathered, part(progress, 0.4, 0.9))
    time = site.now()
    progress(0.9, "storing verdicts")
    site.store.put_results(
        [
            (KIND, verdict.joint, verdict.inputs_hash, __version__, time, pack(verdict))
            for verdict in verdicts
        ]
    )
    progress(1.0, f"assessed {len(verdicts)} joints")
    return verdicts


def latest(site: Site) -> dict[str, Verdict]:
    """The newest stored verdict of each joint still in the register, by tag."""
    return {tag: verdict for tag, (verdict, _) in latest_with_time(site).items()}


def latest_with_time(site: Site) -> dict[str, tuple[Verdict, dt.datetime]]:
    """The newest stored verdict of each joint with the time it was made."""
    from takeup.assess.model import Verdict
    from takeup.register.entities import Joint

    tags = {joint.tag.casefold(): joint.tag for joint in site.register().all(Joint)}
    found: dict[str, tuple[Verdict, dt.datetime]] = {}
    for stored in site.store.results(KIND):
        verdict = unpack(stored.body, Verdict)
        if verdict is not None and stored.key.casefold() in tags:
            found[tags[stored.key.casefold()]] = (verdict, stored.time)
    return found
