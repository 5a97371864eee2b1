"""Long histories: rows a second against a bare scan, peak memory, and a second engine; a report.

python -m benchmarks.history [TAGS [YEARS]]    minute data; 4 tags of five years where not given

The share measured stands for 200 tags: histories are worked through one after another, so that
memory does not depend on how many there are.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from pathlib import Path

import duckdb
import numpy as np

from takeup.evidence.separate import separate
from takeup.evidence.temperature import trend
from takeup.register import engines, parts, series
from takeup.register.intake import Intake, Layout

LINES = {"low_from": 478.15, "low_to": 423.15, "high": 753.15}
START = 1_600_000_000


def made(folder: Path, tag: int, step: int, years: float) -> Path:
    """An invented history written by the engine itself: season, drift, noise, bad readings."""
    rows = int(years * 365.25 * 86400 / step)
    path = folder / f"history-{step}-{tag}.parquet"
    with series.connect(folder) as connection:
        connection.execute(
            f"COPY (SELECT ({START} + i * {step}) * 1000000 AS us, (560 + {tag} "
            f"+ 8 * sin(i * {step} / 5022000.0) + i * {step} * 2e-7 + 3 * random())::FLOAT AS k, "
            f"random() > 0.01 AS ok FROM range({rows}) r(i)) TO '{path}' "
            "(FORMAT PARQUET, COMPRESSION ZSTD)"
        )
    return path


def peak() -> float:
    """Most memory this process has held [MB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def scan(paths: list[Path]) -> float:
    """Processor seconds for a bare scan: every column read once, nothing grouped or sorted."""
    began = time.process_time()
    connection = duckdb.connect()
    for path in paths:
        connection.execute(
            f"SELECT sum(us), sum(k), count(*) FILTER (ok) FROM read_parquet('{path}')"
        ).fetchall()
    connection.close()
    return time.process_time() - began


def looked(paths: list[Path], step: int, words: str) -> None:
    """Daily figures of each history, one after another."""
    scan(paths)
    bare = min(scan(paths) for _ in range(2))
    began, busy = time.perf_counter(), time.process_time()
    rows = 0
    for path in paths:
        daily = series.daily(path, path.stem, **LINES)
        assert np.isfinite(daily.median).all()
        rows += int((daily.good.sum() + daily.bad.sum()) / step + 0.5)
    took, busy = time.perf_counter() - began, time.process_time() - busy
    print(
        f"{words}: {rows / 1e6:.1f} M rows in {took:.1f} s ({busy:.1f} s of processor), "
        f"{rows / busy / 1e6:.1f} M rows a processor second; bare scan {bare:.2f} s of processor, "
        f"ratio {busy / bare:.1f}; peak {peak():.0f} MB"
    )


def main() -> None:
    """Print the figures."""
    tags = int(sys.argv[1]) if len(sys.argv) > 1 else 4
    years = float(sys.argv[2]) if len(sys.argv) > 2 else 5.0
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        print(f"before: peak {peak():.0f} MB, memory of the engine held to {series.MEMORY_LIMIT}")
        minute = [made(folder, tag, 60, years) for tag in range(tags)]
        looked(minute, 60, f"minute data, {years:g} years x {tags} tags")

        hourly = [made(folder, tag, 3600, 5.0) for tag in range(200)]
        began = time.perf_counter()
        looked(hourly, 3600, "hourly data, 5 years x 200 tags")
        days = [series.daily(path, path.stem, **LINES) for path in hourly[:20]]
        each = time.perf_counter()
        for daily in days:
            trend(daily.day, daily.median)
            separate(daily.day, daily.median, {"air": np.sin(daily.day / 58.0) * 8 + daily.day % 3})
        print(f"  drift, load and weather: {(time.perf_counter() - each) / 20 * 1e3:.0f} ms a tag")
        print(f"  all of it {time.perf_counter() - began:.1f} s")

        joined(folder, minute[0])
        for engine in ("duckdb", "datafusion"):
            connection = engines.connect(engine)
            began = time.perf_counter()
            found = engines.daily(connection, {"a": [minute[0]], "b": [minute[-1]]}, **LINES)
            took = time.perf_counter() - began
            rows = 2 * series.span(minute[0])[2]
            print(
                f"expressions on {engine}: {rows / 1e6:.1f} M rows in {took:.1f} s, "
                f"{sum(one.day.size for one in found.values())} days; peak {peak():.0f} MB"
            )


def joined(folder: Path, base: Path) -> None:
    """A year of minute readings as CSV joined to five years that are kept."""
    drop = folder / "year.csv"
    first = START + int(5.2 * 365.25 * 86400)
    with series.connect(folder) as connection:
        connection.execute(
            f"COPY (SELECT strftime(make_timestamp(({first} + i * 60) * 1000000), "
            "'%Y-%m-%dT%H:%M:%SZ') AS time, 290 + 3 * random() AS value FROM range(525600) r(i)) "
            f"TO '{drop}' (HEADER)"
        )
        began = time.perf_counter()
        parts.add(connection, folder, (base.name,), "SELECT 1 AS us, 300::FLOAT AS k, TRUE AS ok")
        alone = time.perf_counter() - began
    began = time.perf_counter()
    intake = Intake(drop, Layout(unit="C"), folder)
    (found,) = intake.found()
    done = intake.join(found.name, "T", folder, (base.name,))
    intake.close()
    took = time.perf_counter() - began
    assert done.new == 525600
    print(
        f"taking a year of minutes: 525600 rows in {took:.1f} s, {525.6 / took:.0f} k rows/s; one "
        f"reading {alone * 1e3:.0f} ms; peak {peak():.0f} MB"
    )


if __name__ == "__main__":
    main()
