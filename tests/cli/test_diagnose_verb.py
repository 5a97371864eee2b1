"""What may be wrong with a line, from the command line: with a site, and from two files."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest

from takeup.desk.site import open_site
from takeup.register.entities import Line
from tests.cli.conftest import ROOT, Said
from tests.cli.test_faults import one_paragraph

Takeup = Callable[..., Said]
MODEL = ROOT / "examples" / "line.toml"
READINGS = ROOT / "examples" / "line-readings.toml"


def test_the_example_finds_its_guide_and_says_what_to_read_and_look_at(takeup: Takeup) -> None:
    """Groups, readings, what to read next, where to look, cautions."""
    said = takeup("diagnose", "--model", MODEL, "--readings", READINGS)
    assert said.code == 0, said.err
    for words in ("guide at joint near holds nothing", "Place by place", "opening on the east side",
                  "Read next:", "Look at guide at joint near:", "Nothing stands before somebody"):  # fmt: skip
        assert words in said.out, words


def test_json_holds_every_group_without_nan(takeup: Takeup) -> None:
    """SI, posterior of all groups and the rest sum to one."""
    said = takeup("diagnose", "l-101", "--model", MODEL, "--readings", READINGS, "--json")
    data = json.loads(said.out, parse_constant=pytest.fail)
    total = sum(group["posterior"] for group in data["diagnosis"]["groups"])
    assert total + data["diagnosis"]["others"] == pytest.approx(1.0, abs=1e-6)
    assert data["used"][0]["reading"]["value"] == pytest.approx(5.1e-3)
    assert data["faults"] == []


def test_a_line_of_a_site_is_weighed_by_its_marks(takeup: Takeup, site: Path) -> None:
    """Marks on record are used; what was only seen is told as not weighed."""
    said = takeup("diagnose", "12-SC", "--site", site)
    assert said.code == 0, said.err
    assert "EJ-1201: length between its ends" in said.out
    assert "Not weighed:" in said.out


def test_a_line_without_a_model_says_what_to_do_and_leaves_with_one(
    takeup: Takeup, site: Path
) -> None:
    """No traceback, no empty result that looks like a sound line."""
    with open_site(site) as opened, opened.change("A", "new") as change:
        change.put(msgspec.structs.replace(opened.register().all(Line)[0], tag="NEW-1"))
    said = takeup("diagnose", "new-1", "--site", site)
    assert said.code == 1
    assert "has no model yet" in said.out


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (("--model", MODEL), 2, "no measurements"),
        ((), 2, "name the LINE"),
        (("L-102", "--model", MODEL, "--readings", READINGS), 1, "Did you mean L-101?"),
        (("--model", MODEL, "--readings", "none.toml"), 1, "there is no file none.toml"),
        (("--model", MODEL, "--readings", MODEL), 1, "is not known here"),
    ],
)
def test_what_is_asked_wrongly_is_answered(
    takeup: Takeup, arguments: tuple[object, ...], code: int, says: str
) -> None:
    """Usage and files, each in words."""
    said = takeup("diagnose", *arguments)
    assert said.code == code
    assert says in said.err
    assert "Traceback" not in said.err


def test_an_unknown_support_of_a_file_is_named_by_its_key_path(
    takeup: Takeup, tmp_path: Path
) -> None:
    """File, place in it, and the nearest names."""
    path = tmp_path / "mine.toml"
    path.write_text(READINGS.read_text().replace("knee.out", "knee.uot"))
    said = takeup("diagnose", "--model", MODEL, "--readings", path)
    assert said.code == 1
    assert one_paragraph(said)
    assert f"{path}: $.pointer[0].support" in said.err
    assert "did you mean spring at knee.out" in said.err
