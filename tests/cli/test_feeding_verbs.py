"""Verbs of readings that come in: what they print, what they leave with."""

import datetime as dt

import pytest


@pytest.fixture
def drop(tmp_path):
    """A drop folder with one sound file, one doubtful and one unknown."""
    folder = tmp_path / "drop"
    folder.mkdir()
    (folder / "readings.toml").write_text('unit = "C"\ntime_zone = "UTC"\n')
    now = dt.datetime.now(dt.UTC) - dt.timedelta(hours=1)
    rows = [f"{now - dt.timedelta(minutes=n):%Y-%m-%d %H:%M}" for n in range(20)]
    for name, value in (("TI-1303", 500), ("TI-1102", 1500), ("TI-13O3", 500)):
        (folder / f"{name}.csv").write_text(
            "time,value\n" + "".join(f"{row},{value}\n" for row in rows)
        )
    return folder


def test_take_readings_says_what_became_of_each_file(takeup, site, drop):
    """Doubtful files come first and stay, refused ones are moved; both leave with 1."""
    done = takeup("take-readings", drop, "--site", site, "--settle", 0)
    assert done.code == 1
    assert "TI-1303.csv: taken, new: TI-1303 20" in done.out
    assert "TI-13O3.csv: refused" in done.out
    assert "Did you mean TI-13" in done.out
    assert "rows run from new to old" in done.out
    assert (drop / "taken" / "TI-1303.csv").exists()

    again = takeup("take-readings", drop, "--site", site, "--settle", 0, "--json")
    kinds = {one["name"]: one["outcome"] for one in again.json["files"]}
    assert set(kinds.values()) <= {"asked", "taken"}


def test_listen_says_what_is_wrong_with_its_file(takeup, tmp_path):
    """The security policy must be written out."""
    path = tmp_path / "listen.toml"
    path.write_text('endpoint = "opc.tcp://127.0.0.1:4840"\nfolder = "drop"\n')
    done = takeup("listen", path, "--seconds", 1)
    assert done.code == 1
    assert "security" in done.err
