"""Rings on hot pipe: proposed without guesses, kept as text, worked out, out of date, judged."""

from __future__ import annotations

import pytest

from takeup.assess.attached import State
from takeup.assess.model import Mechanism
from takeup.desk import assess, attachments
from takeup.desk.cases import cases
from takeup.errors import Cancelled, MissingInput, Refused, UnknownName

RING = ("EJ-1403", "1403-R1")


def one(site):
    """The ring of EJ-1403 as the verdict gets it."""
    (case,) = cases(site, tags=["EJ-1403"], theory=False)
    (found,) = case.attachments
    return found


def test_draft_holds_what_the_register_tells_and_asks_for_the_rest(demo_site):
    """Sizes of the register stand in it; films, weather and times are comments, asked by name."""
    text = attachments.draft(demo_site, *RING)
    read = attachments.read(text)

    assert 'ring_outside_diameter = "1519 mm"' in text
    assert 'pipe_metal = "304H"' in text
    assert read.case is None
    assert read.faults == ()
    assert any("(gas_film)" in words for words in read.asked)
    assert not any("(fillet)" in words for words in read.asked)
    filled = "\n".join(line.removeprefix("# ") if " = " in line else line
                       for line in text.splitlines())  # fmt: skip
    assert attachments.read(filled).case is not None


def test_unknown_sizes_of_a_ring_are_asked_for_by_name(demo_site):
    """EJ-1402 has a ring without sizes: none is taken as anything."""
    read = attachments.read(attachments.draft(demo_site, "EJ-1402", "1402-R1"))
    for key in ("ring_outside_diameter", "ring_width", "fillet", "ring_metal"):
        assert any(f"({key})" in words for words in read.asked)
    with pytest.raises(UnknownName):
        attachments.draft(demo_site, "EJ-9999", "R1")


def test_ring_is_worked_out_kept_and_goes_out_of_date_with_its_input(demo_site):
    """A result counts until its input changes; a name or a further start does not change it."""
    assert one(demo_site).state == State.OPEN
    report = attachments.run(demo_site, *RING)
    found = one(demo_site)
    assert found.state == State.CURRENT
    assert found.judged.governing.to_crack == report.judged.governing.to_crack
    assert found.headline.startswith("A crack at the weld toe")

    assess.run(demo_site, tags=["EJ-1403"])
    verdict = assess.latest(demo_site)["EJ-1403"]
    own = next(r for r in verdict.mechanisms if r.mechanism == Mechanism.ATTACHMENTS)
    assert {check.id for check in own.checks} == {
        "attachment.cracks@1403-R1", "attachment.shakedown@1403-R1",
    }  # fmt: skip

    text = attachments.model(demo_site, *RING).text
    named = text.replace('name = "1403-R1 of EJ-1403"', 'name = "another"\nstarts_so_far = 40')
    attachments.keep(demo_site, *RING, named, "A. Engineer", "counted in the log")
    assert one(demo_site).state == State.CURRENT
    assert one(demo_site).starts.so_far == 40.0

    thick = text.replace('ring_width = "20 mm"', 'ring_width = "30 mm"')
    attachments.keep(demo_site, *RING, thick, "A. Engineer", "measured again")
    stale = one(demo_site)
    assert stale.state == State.STALE
    assert stale.judged is None
    attachments.keep(demo_site, *RING, text, "A. Engineer", "the first was right")
    assert one(demo_site).state == State.CURRENT


def test_cancelled_run_keeps_nothing(demo_site):
    """Progress may stop it; the store is as before."""

    def stop(share: float, text: str) -> None:
        raise Cancelled("stopped")

    with pytest.raises(Cancelled):
        attachments.run(demo_site, *RING, progress=stop)
    assert one(demo_site).state == State.OPEN


def test_text_with_gaps_or_faults_stays_kept_and_is_not_worked_out(demo_site):
    """What is asked for stands in the fault; a wrong unit is told by its key."""
    text = attachments.model(demo_site, *RING).text
    gap = "\n".join(line for line in text.splitlines() if not line.startswith("gas_film"))
    assert attachments.keep(demo_site, *RING, gap, "A", "b").asked == (
        "film from the medium to the pipe (gas_film)",
    )
    with pytest.raises(MissingInput, match="gas_film"):
        attachments.run(demo_site, *RING)
    wrong = text.replace('wall = "12.7 mm"', 'wall = "12.7 C"')
    assert attachments.keep(demo_site, *RING, wrong, "A", "b").faults[0].startswith("$.wall")
    assert one(demo_site).state == State.FAULTY
    with pytest.raises(Refused):
        attachments.run(demo_site, *RING)
    with pytest.raises(Refused, match="who"):
        attachments.keep(demo_site, *RING, text, " ", "b")
    with pytest.raises(Refused, match="empty"):
        attachments.keep(demo_site, *RING, " ", "A", "b")
