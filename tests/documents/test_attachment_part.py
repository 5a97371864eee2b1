"""Rings on hot pipe and the wall in the dossier: drawn where current, said where not."""

from __future__ import annotations

import msgspec

from takeup.desk import attachments
from takeup.desk.dossier import dossier, dossiers
from takeup.documents.attachment_part import attachment_parts
from takeup.documents.dossier import render
from takeup.documents.wall_part import wall_part

RING = ("EJ-1403", "1403-R1")


def test_ring_not_worked_out_is_said_so_and_not_drawn(demo_site):
    """Open, then with a gap: the part says why and holds no figure."""
    (open_,) = attachment_parts(dossiers(demo_site, ["EJ-1403"], paper=True)[0])
    assert open_.why_not == "Not worked out yet."
    assert open_.drawing == ""
    assert open_.places == ()

    text = attachments.model(demo_site, *RING).text.replace("gas_film = 100.0\n", "")
    attachments.keep(demo_site, *RING, text, "A. Engineer", "film not known")
    (gap,) = attachment_parts(dossiers(demo_site, ["EJ-1403"], paper=True)[0])
    assert "gas_film" in gap.why_not


def test_current_ring_stands_in_the_dossier_with_places_checks_and_cautions(demo_site, tmp_path):
    """Section, places, checks with source, words and cautions are set; a stale one is not."""
    attachments.run(demo_site, *RING)
    (made,) = dossiers(demo_site, ["EJ-1403"], paper=True)
    (part,) = attachment_parts(made)

    assert part.drawing.startswith("<svg")
    assert [row[0] for row in part.places][2] == "at the weld toe"
    assert all(check["source"] for check in part.checks)
    assert any("Look on the inside surface" in words for words in part.words)
    assert any("screening" in words for words in part.cautions)
    assert render(made, tmp_path / "dossier.pdf").stat().st_size > 20_000

    text = attachments.model(demo_site, *RING).text.replace('"690 C"', '"650 C"')
    attachments.keep(demo_site, *RING, text, "A. Engineer", "cooler since the revamp")
    (stale,) = attachment_parts(dossiers(demo_site, ["EJ-1403"], paper=True)[0])
    assert stale.why_not.startswith("Out of date")
    assert stale.drawing == ""


def test_wall_on_record_is_drawn_on_paper_only(demo_site):
    """The profile, what explains the reading and the danger; a joint without a wall has no part."""
    (made,) = dossiers(demo_site, ["EJ-1303"], paper=True)
    part = wall_part(made)
    assert part.drawing.startswith("<svg")
    assert part.causes[0][1] == "part of the packing lost"
    assert any(words.startswith("DANGER") for words in part.cautions)
    assert wall_part(msgspec.structs.replace(made, wall=None)).title == ""
    assert dossier(demo_site, "EJ-1303").wall is None
