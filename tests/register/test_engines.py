"""The same expressions on two engines give the same figures as the first, value by value."""

import importlib.util
import shutil

import numpy as np
import pytest

from takeup.errors import BadFile, Refused
from takeup.register import engines, series

LINES = {"low_from": 478.15, "low_to": 423.15, "high": 753.15}


@pytest.fixture(scope="module")
def histories(tmp_path_factory):
    """Two tags of 40 days: gaps, bad readings, a day of nothing good, two files, two beats."""
    folder = tmp_path_factory.mktemp("histories")
    dice = np.random.default_rng(5)
    made = {}
    for tag, step, level in (("TI-1", 600.0, 480.0), ("TI-2", 3600.0, 740.0)):
        t = 1.7e9 + np.arange(0, 40 * 86400.0, step)
        t = t[(t < 1.7e9 + 9 * 86400) | (t > 1.7e9 + 11.3 * 86400)]
        k = level + 40 * np.sin(t / 3e5) + dice.normal(0, 5, t.size)
        good = dice.random(t.size) > 0.03
        good[(t // 86400) == 1.7e9 // 86400 + 20] = False
        cut = t.size // 3
        parts = [
            folder / series.keep_arrays(folder, t[part], k[part], good[part].astype(float))
            for part in (slice(0, cut), slice(cut, None))
        ]
        made[tag] = parts
    return made


def same(one, other, kelvin=1e-9):
    """Every figure of every day, with its missing ones; temperatures within ``kelvin``."""
    assert one.keys() == other.keys()
    for tag in one:
        for name in ("day", *engines.FIGURES):
            a, b = getattr(one[tag], name), getattr(other[tag], name)
            assert np.array_equal(np.isnan(a), np.isnan(b)), (tag, name)
            near = kelvin if name in {"median", "low", "high"} else 1e-6
            np.testing.assert_allclose(a, b, rtol=1e-12, atol=near, err_msg=f"{tag} {name}")


@pytest.fixture(scope="module")
def first(histories):
    """The figures by the query of the register."""
    return {tag: series.daily(paths, tag, **LINES) for tag, paths in histories.items()}


HALF_STEP = 5e-5
"""K; the register takes the middle of two readings in single precision, as they are kept"""


@pytest.mark.filterwarnings("ignore:fetch_arrow_table:DeprecationWarning")
def test_two_engines_run_the_identical_expressions(histories, first):
    """DuckDB and DataFusion give the same figures, and those of the register."""
    pytest.importorskip("ibis")
    pytest.importorskip("datafusion")
    found, other = (
        engines.daily(engines.connect(engine), histories, **LINES)
        for engine in ("duckdb", "datafusion")
    )

    assert sum(one.day.size for one in found.values()) > 70
    assert any(np.isnan(one.median).any() for one in found.values())
    assert all((one.below + one.above).sum() > 0 for one in found.values())
    same(found, other)
    same(found, first, HALF_STEP)


@pytest.mark.slow
def test_spark_runs_the_identical_expressions(histories, first):
    """A distributed engine, on this machine."""
    if importlib.util.find_spec("pyspark") is None:
        pytest.skip("pyspark is not installed (extra spark, 825 MB, left out of CI)")
    if shutil.which("java") is None:
        pytest.skip("pyspark needs a Java, and none is installed")
    connection = engines.connect("pyspark")
    try:
        same(engines.daily(connection, histories, **LINES), first, HALF_STEP)
    finally:
        connection._session.stop()


def test_an_engine_that_is_not_there_is_said_plainly(histories, tmp_path, monkeypatch):
    """An unknown name, a missing extra and a missing file name what would be right."""
    with pytest.raises(Refused, match="use duckdb, datafusion, pyspark"):
        engines.connect("abacus")
    if importlib.util.find_spec("pyspark") is None:
        with pytest.raises(Refused, match=r"takeup\[spark\]"):
            engines.connect("pyspark")
    pytest.importorskip("ibis")
    with pytest.raises(BadFile, match="missing beside the store"):
        engines.readings(engines.connect("duckdb"), {"TI-9": [tmp_path / "none.parquet"]})
