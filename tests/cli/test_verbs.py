"""Every verb: what it prints, what it changes, its exit code."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from takeup.cli.app import load, verbs
from tests.cli.conftest import ROOT, Said

Takeup = Callable[..., Said]
EXAMPLES = ROOT / "examples"


def test_every_verb_explains_itself(takeup: Takeup) -> None:
    """Each verb has help of its own and a first line for the list of verbs."""
    load()
    for name, command in verbs.commands.items():
        assert takeup(name, "--help").code == 0
        assert command.help, name


def test_new_makes_an_empty_site(takeup: Takeup, tmp_path: Path) -> None:
    """New makes a folder that is a site, sound and without joints."""
    folder = tmp_path / "mine"
    said = takeup("new", folder, "--name", "Mine", "--units", "us", "--currency", "eur")
    assert said.code == 0
    assert takeup("verify", "--site", folder).code == 0
    assert takeup("assess", "--site", folder, "--json").json == []
    history = takeup("history", "--site", folder, "--json").json
    assert [change["author"] for change in history] == ["tester"]


def test_new_refuses_a_site_twice(takeup: Takeup, tmp_path: Path) -> None:
    """A second site in the same folder is refused and the first stays."""
    assert takeup("new", tmp_path, "--name", "First").code == 0
    said = takeup("new", tmp_path, "--name", "Second")
    assert said.code == 3
    assert "already holds a site" in said.err


@pytest.mark.parametrize(
    ("option", "value"), [("--time-zone", "Mars/Base"), ("--currency", "dollars")]
)
def test_new_refuses_what_would_fail_later(
    takeup: Takeup, tmp_path: Path, option: str, value: str
) -> None:
    """A time zone or currency that no later verb could use makes no site."""
    folder = tmp_path / "mine"
    said = takeup("new", folder, "--name", "Mine", option, value)
    assert said.code == 1
    assert value in said.err
    assert not folder.exists()


def test_template_is_a_workbook_with_and_without_a_site(
    takeup: Takeup, site: Path, tmp_path: Path
) -> None:
    """The template is a workbook, written for a site or for none."""
    for number, place in enumerate((site, tmp_path)):
        file = tmp_path / f"template{number}.xlsx"
        assert takeup("template", file, "--site", place).code == 0
        assert zipfile.is_zipfile(file)


def test_an_empty_template_brings_no_joints(takeup: Takeup, tmp_path: Path) -> None:
    """Importing the template as written has nothing to do."""
    folder, file = tmp_path / "mine", tmp_path / "t.xlsx"
    takeup("new", folder, "--name", "Mine")
    takeup("template", file, "--site", folder)
    said = takeup("import", file, "--site", folder, "--yes")
    assert said.code == 3
    assert "nothing to do" in said.err


@pytest.mark.parametrize("shape", ["register.xlsx", "tables"])
def test_a_register_goes_out_and_comes_back(
    takeup: Takeup, planned: Path, tmp_path: Path, shape: str
) -> None:
    """What export writes, import takes into an empty site, and nothing is left to import."""
    target, folder = tmp_path / shape, tmp_path / "mine"
    assert takeup("export", target, "--site", planned).code == 0
    assert takeup("new", folder, "--name", "Mine").code == 0
    checked = takeup("import", target, "--site", folder, "--check", "--json")
    assert checked.code == 0
    assert not checked.json["faults"]
    assert takeup("verify", "--site", folder).code == 0
    assert takeup("assess", "--site", folder, "--json").json == []  # --check stored nothing
    assert takeup("import", target, "--site", folder, "--yes", "--reason", "taken on").code == 0
    again = takeup("import", target, "--site", folder, "--yes")
    assert again.code == 3
    assert takeup("history", "--site", folder, "--json").json[0]["reason"] == "taken on"
    verdicts = takeup("assess", "--site", folder, "--json").json
    assert len(verdicts) == 24
    assert takeup("plan", "--site", folder, "--effort", "0.05", "--json").json["portfolio"]
    out = tmp_path / "again.xlsx"
    assert takeup("export", out, "--site", folder).code == 0
    assert zipfile.is_zipfile(out)


def test_import_asks_and_no_changes_nothing(
    takeup: Takeup, planned: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without --yes import asks; the answer no stores nothing and leaves with 130."""
    monkeypatch.setattr("click.confirm", lambda *_, **__: False)
    takeup("export", tmp_path / "r.xlsx", "--site", planned)
    takeup("new", tmp_path / "mine", "--name", "Mine")
    said = takeup("import", tmp_path / "r.xlsx", "--site", tmp_path / "mine")
    assert said.code == 130
    assert "nothing was changed" in said.err
    assert takeup("assess", "--site", tmp_path / "mine", "--json").json == []


def test_record_facts_stores_a_life_event(takeup: Takeup, site: Path) -> None:
    """The example facts are stored as one change and show in the joint's history."""
    said = takeup("record", "facts", EXAMPLES / "facts.json", "--site", site, "--json")
    assert said.code == 0
    assert said.json == {"stored": 3}
    history = takeup("history", "EJ-1601", "--site", site, "--json").json
    assert {"life_event", "observation"} <= {change["kind"] for change in history}
    assert takeup("verify", "--site", site).code == 0


def test_record_temperature_keeps_a_history(takeup: Takeup, site: Path) -> None:
    """A temperature file is kept and judged with the joint."""
    said = takeup(
        "record", "temperature", EXAMPLES / "temperature.csv", "--joint", "EJ-1701",
        "--tag", "TI-1701", "--unit", "C", "--site", site, "--json",
    )  # fmt: skip
    assert said.code == 0
    assert said.json["rows"] > 300
    assert takeup("verify", "--site", site).code == 0


@pytest.mark.parametrize(
    ("arguments", "names"),
    [
        (("temperature", "x.csv", "--joint", "EJ-1701", "--tag", "T"), "--unit"),
        (("temperature", "x.csv", "--joint", "EJ-1701", "--unit", "C"), "--tag"),
        (("temperature", "x.csv", "--tag", "T", "--unit", "C"), "--joint"),
        (("photo", "x.jpg"), "--joint"),
    ],
)
def test_record_never_guesses_unit_or_place(
    takeup: Takeup, planned: Path, arguments: tuple[str, ...], names: str
) -> None:
    """A history without unit, tag or joint is a wrong command, not a guess."""
    said = takeup("record", *arguments, "--site", planned)
    assert said.code == 2
    assert names in said.err


def test_record_photo_keeps_it(takeup: Takeup, site: Path, tmp_path: Path) -> None:
    """A photo is kept with the joint and its size is told."""
    from PIL import Image

    Image.new("RGB", (40, 30), "#555").save(tmp_path / "p.png")
    said = takeup(
        "record", "photo", tmp_path / "p.png", "--joint", "EJ-1101", "--caption", "c",
        "--site", site, "--json",
    )  # fmt: skip
    assert said.code == 0
    assert (said.json["width"], said.json["height"]) == (40, 30)


def test_assess_lists_the_worst_first(takeup: Takeup, site: Path) -> None:
    """The list of verdicts starts with a joint to act on now and has one line a joint."""
    lines = takeup("assess", "--site", site).out.splitlines()
    assert len(lines) == 26
    assert "act now" in lines[2]


def test_assess_one_joint_shows_grounds_thrust_and_hash(takeup: Takeup, site: Path) -> None:
    """One joint's verdict is shown with what it rests on; its tag is read without case."""
    said = takeup("assess", "ej-1102", "--site", site)
    assert said.code == 0
    for part in ("EJ-1102", "grounds", "thrust held by", "inputs "):
        assert part in said.out
    alone = takeup("assess", "EJ-1102", "--site", site, "--json").json
    assert [verdict["joint"] for verdict in alone] == ["EJ-1102"]


def test_options_are_always_all_eight(takeup: Takeup, planned: Path) -> None:
    """Options lists eight options, each with conditions, in words and as JSON."""
    made = takeup("options", "EJ-1102", "--site", planned, "--json").json
    assert len(made) == 8
    assert all(option["conditions"] for option in made)
    shown = takeup("options", "EJ-1102", "--site", planned)
    assert shown.code == 0
    assert all(option["name"] in shown.out for option in made)


def test_decide_is_kept_by_the_next_plan(takeup: Takeup, site: Path) -> None:
    """A decision is recorded with its reason and the next plan holds to it."""
    said = takeup("decide", "EJ-1401", "replace", "--reason", "agreed on site", "--site", site)
    assert said.code == 0
    made = takeup("plan", "--site", site, "--effort", "0.05", "--json").json
    choice = {c["joint"]: c for c in made["portfolio"]["choices"]}["EJ-1401"]
    assert choice["option"] == "replace"


def test_plan_shows_choices_dates_and_schedule(takeup: Takeup, site: Path) -> None:
    """The plan in words names every joint, the dates and the finish; a budget overrides."""
    said = takeup("plan", "--site", site, "--effort", "0.05", "--budget", "9000")
    assert said.code == 0
    for part in ("EJ-1101", "dates", "schedule:", "of "):
        assert part in said.out


def test_limits_are_listed_and_set(takeup: Takeup, site: Path) -> None:
    """A rule of thumb is set with its unit and shows as the site's own."""
    before = {limit["id"]: limit for limit in takeup("limits", "--site", site, "--json").json}
    assert before["interply.hold"]["value"] == 900.0
    said = takeup(
        "limits", "set", "interply.hold", "20 min", "--reason", "practice", "--site", site
    )
    assert said.code == 0
    after = {limit["id"]: limit for limit in takeup("limits", "--site", site, "--json").json}
    assert after["interply.hold"]["value"] == 1200.0
    row = next(
        line
        for line in takeup("limits", "--site", site).out.splitlines()
        if line.startswith("interply.hold")
    )
    assert " site " in row


def test_history_of_register_and_joint(takeup: Takeup, planned: Path) -> None:
    """History shows changes of the register, and of one joint with old and new values."""
    assert "register taken on" in takeup("history", "--site", planned).out
    said = takeup("history", "EJ-1101", "--most", "5", "--site", planned)
    assert said.code == 0
    assert "EJ-1101" in said.out
    assert len(takeup("history", "--most", "2", "--site", planned, "--json").json) == 2


def test_verify_tells_a_whole_store_from_a_changed_one(takeup: Takeup, site: Path) -> None:
    """A byte changed behind Takeup's back is found, named, and leaves with 1."""
    import sqlite3

    assert takeup("verify", "--site", site, "--json").json == {"whole": True, "faults": []}
    with sqlite3.connect(site / "register.db") as connection:
        connection.execute(
            "update revision set body = cast(replace(cast(body as text), 'EJ-1101', 'EJ-1109') "
            "as blob) "
            "where kind = 'joint' and cast(body as text) like '%EJ-1101%'"
        )
    connection.close()
    said = takeup("verify", "--site", site, "--json")
    assert said.code == 1
    assert said.json["faults"]


def test_schema_lists_and_describes(takeup: Takeup) -> None:
    """Every schema named in the list is a JSON Schema, with units where a value has one."""
    names = [line.split()[0] for line in takeup("schema").out.splitlines()]
    assert {"bellows", "interply", "survival", "joint"} <= set(names)
    for name in names:
        schema = takeup("schema", name).json
        assert "$ref" in schema or "properties" in schema
    assert '"x-unit": "Pa"' in takeup("schema", "interply_test").out


def test_demo_runs_the_whole_job(
    takeup: Takeup, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Demo makes a site, assesses, plans and writes documents, and tells the time of each."""
    monkeypatch.setattr("takeup.desk.documents.write", lambda *_, **__: [])
    said = takeup("demo", "--site", tmp_path / "d", "--effort", "0.05")
    assert said.code == 0
    for part in ("made the demo site", "assessed 24 joints", "planned", "documents"):
        assert part in said.out
    assert not (tmp_path / "d.making").exists()
    again = takeup("demo", "--site", tmp_path / "d", "--effort", "0.05")
    assert "opened the demo site" in again.out


def test_demo_leaves_a_folder_of_other_things_alone(takeup: Takeup, tmp_path: Path) -> None:
    """Demo refuses a folder that holds something else and leaves it as it is."""
    (tmp_path / "mine.txt").write_text("keep")
    said = takeup("demo", "--site", tmp_path)
    assert said.code == 3
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_a_stopped_demo_is_made_anew(
    takeup: Takeup, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A demo stopped half-way leaves no half-made site under its name."""
    from takeup.demo import create as making

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(making, "_photos", stop)
        said = takeup("demo", "--site", tmp_path / "d")
    assert said.code == 130
    assert not (tmp_path / "d").exists()
    monkeypatch.setattr("takeup.desk.documents.write", lambda *_, **__: [])
    assert takeup("demo", "--site", tmp_path / "d", "--effort", "0.05").code == 0


@pytest.mark.parametrize("verb", ["bellows", "interply", "survival"])
def test_engines_run_their_example(takeup: Takeup, verb: str) -> None:
    """The example file of an engine runs, in words and as JSON."""
    file = EXAMPLES / f"{verb}.json"
    assert takeup(verb, file).code == 0
    said = takeup(verb, file, "--json")
    assert said.code == 0
    assert said.json


def test_the_interply_example_says_what_it_was_made_to_say(takeup: Takeup) -> None:
    """The example test falls steadily with a proven port: the inner ply leaks."""
    said = takeup("interply", EXAMPLES / "interply.json")
    assert "inner ply leaks" in said.out


def test_the_survival_example_gives_falling_chances(takeup: Takeup) -> None:
    """Lasting to the second date is no likelier than lasting to the first."""
    made = takeup("survival", EXAMPLES / "survival.json", "--json").json
    assert 0.0 < made["to_second"] < made["to_next"] < 1.0
    assert made["failures"] == 2


def test_the_temperature_example_crosses_the_low_line(takeup: Takeup) -> None:
    """The example history falls toward the low line before the outage."""
    arguments = ("temperature", EXAMPLES / "temperature.csv", "--unit", "C")
    dates = ("--today", "2031-12-31", "--outage", "2033-03-01")
    said = takeup(*arguments, *dates, "--json")
    assert said.code == 0
    assert said.json["state"] == "falling"
    assert any(crossing["chance_before_outage"] > 0.9 for crossing in said.json["crossings"])
    assert "low" in takeup(*arguments, *dates).out


def test_us_units_are_shown_on_request(takeup: Takeup) -> None:
    """The bellows report is shown in US units when asked."""
    assert " psi" in takeup("bellows", EXAMPLES / "bellows.json", "--units", "us").out


def test_json_of_a_bellows_has_no_bare_infinities(takeup: Takeup) -> None:
    """What is printed as JSON is JSON: no NaN or Infinity."""
    text = takeup("bellows", EXAMPLES / "bellows.json", "--json").out
    json.loads(text, parse_constant=pytest.fail)


def test_documents_writes_what_is_asked_for(takeup: Takeup, site: Path, tmp_path: Path) -> None:
    """Only the documents asked for are written, and their paths are printed."""
    said = takeup(
        "documents", "--only", "calendar", "--only", "dossiers", "--joint", "EJ-1102",
        "--out", tmp_path / "out", "--site", site, "--json",
    )  # fmt: skip
    assert said.code == 0
    written = [Path(path) for path in said.json]
    assert sorted(path.suffix for path in written) == [".ics", ".pdf"]
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == sorted(
        path.name for path in written
    )
    assert written[1].read_bytes().startswith((b"%PDF", b"BEGIN:VCALENDAR"))


def test_documents_that_rest_on_a_plan_need_one(takeup: Takeup, tmp_path: Path) -> None:
    """Without a plan the scope list is refused, with the verb that makes one."""
    takeup("new", tmp_path / "mine", "--name", "Mine")
    said = takeup("documents", "--only", "scope", "--site", tmp_path / "mine")
    assert said.code == 3
    assert "takeup plan" in said.err


def test_serve_refuses_an_address_that_others_reach(takeup: Takeup, planned: Path) -> None:
    """The server, which has no login, is not opened to the network."""
    said = takeup("serve", "--host", "0.0.0.0", "--site", planned)
    assert said.code == 3
    assert "tunnel" in said.err


def test_serve_answers_and_stops_quietly(planned: Path) -> None:
    """Serve prints its address, answers there, and an interrupt ends it without complaint."""
    import signal
    import socket
    import subprocess
    import sys
    import time
    import urllib.request

    from tests.cli.test_faults import environment

    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    with subprocess.Popen(
        [sys.executable, "-m", "takeup.cli", "serve", "--port", str(port), "--site", str(planned)],
        env=environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    ) as child:  # fmt: skip
        try:
            assert child.stdout is not None
            assert f"http://127.0.0.1:{port}/" in child.stdout.readline()
            status = 0
            for _ in range(100):
                try:
                    with urllib.request.urlopen(f"http://127.0.0.1:{port}/limits") as answer:
                        status = answer.status
                    break
                except OSError:
                    time.sleep(0.1)
            assert status == 200
        finally:
            child.send_signal(signal.SIGINT)
        _, err = child.communicate(timeout=30)
    assert child.returncode == 0, err
    assert err == ""


def test_serve_says_when_a_port_is_taken(takeup: Takeup, planned: Path) -> None:
    """A port in use is refused before the server says that it serves."""
    import socket

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        said = takeup("serve", "--port", port, "--site", planned)
    assert said.code == 3
    assert f"port {port} is in use" in said.err
    assert said.out == ""
