"""The daily figures of many histories as expressions that another engine runs as well.

What :func:`takeup.register.series.daily` does in DuckDB, one history at a time, stands here once
more as Ibis expressions over a table of all of them: the same on DuckDB, DataFusion or a
distributed engine (extra ``big``; extra ``spark`` for Spark).  Tests run the identical
expressions on two engines and hold them against the first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from takeup.errors import BadFile, Refused

if TYPE_CHECKING:
    from takeup.evidence.model import DailyTemperature

DAY_US = 86_400_000_000
ENGINES = ("duckdb", "datafusion", "pyspark")
FIGURES = ("median", "low", "high", "good", "bad", "below", "wet", "above")


def connect(engine: str, **settings: Any) -> Any:
    """An Ibis connection to ``engine``: duckdb, datafusion or pyspark.

    Spark listens on this machine only, and counts time in UTC.  Raises :class:`Refused` where it
    is not installed.
    """
    if engine not in ENGINES:
        raise Refused(f"engine {engine!r} is not known; use {', '.join(ENGINES)}")
    try:
        import ibis

        backend = getattr(ibis, engine)
        if engine == "pyspark":
            from pyspark.sql import SparkSession

            builder = SparkSession.builder.master("local[2]")
            own = {
                "spark.driver.bindAddress": "127.0.0.1",
                "spark.driver.host": "127.0.0.1",
                "spark.ui.enabled": "false",
                "spark.sql.session.timeZone": "UTC",
                "spark.sql.shuffle.partitions": "4",
            }
            for name, value in (own | settings).items():
                builder = builder.config(name, value)
            return backend.connect(builder.getOrCreate())
        return backend.connect(**settings)
    except (ImportError, AttributeError) as fault:
        extra = "spark" if engine == "pyspark" else "big"
        raise Refused(
            f"engine {engine} is not installed; install Takeup with its extra: "
            f"pip install 'takeup[{extra}]'"
        ) from fault


def readings(connection: Any, histories: Mapping[str, Sequence[Path]]) -> Any:
    """All readings of ``histories`` (tag to its files) as one table: tag, us, k, ok."""
    import ibis

    made = []
    for tag, paths in histories.items():
        for path in paths:
            if not path.exists():
                raise BadFile(f"the history of {tag} ({path.name}) is missing beside the store")
            table = connection.read_parquet(str(path))
            made.append(
                table.select(
                    tag=ibis.literal(tag), us=table.us.cast("int64"), k=table.k, ok=table.ok
                )
            )
    if not made:
        raise BadFile("there are no histories to work on")
    return ibis.union(*made) if len(made) > 1 else made[0]


def daily_figures(table: Any, *, low_from: float, low_to: float, high: float) -> Any:
    """Daily figures of each tag against the action lines (K), as an expression.

    ``table`` has the columns tag, us (microseconds since 1970 UTC), k (K) and ok.  A reading holds
    until the next one of its tag, at most three usual intervals.
    """
    import ibis

    following = ibis.window(group_by="tag", order_by="us")
    steps = table.mutate(step=(table.us.lead().over(following) - table.us).cast("float64"))
    usual = steps.group_by("tag").aggregate(usual=steps.step.median())
    joined = steps.join(usual, "tag")
    usual_step = ibis.coalesce(joined.usual, 60e6)
    held = joined.select(
        "tag",
        "k",
        "ok",
        day=(joined.us - joined.us % DAY_US) / DAY_US,
        hold=ibis.least(ibis.coalesce(joined.step, usual_step), 3 * usual_step) / 1e6,
    )
    ok, k, hold = held.ok, held.k, held.hold
    # Spark filters no percentile: a bad reading is nothing to it instead
    sound = ok.ifelse(k.cast("float64"), ibis.null("float64"))
    # readings are kept in single precision: one that stands on a line is not beyond it
    below, wet, above = (ibis.literal(line).cast("float32") for line in (low_from, low_to, high))

    def total(mask: Any) -> Any:
        return ibis.coalesce(hold.sum(where=mask), 0.0)

    return (
        held.group_by("tag", "day")
        .aggregate(
            median=sound.median(),
            low=k.min(where=ok),
            high=k.max(where=ok),
            good=total(ok),
            bad=total(~ok),
            below=total(ok & (k < below)),
            wet=total(ok & (k < wet)),
            above=total(ok & (k > above)),
        )
        .order_by("tag", "day")
    )


def daily(
    connection: Any,
    histories: Mapping[str, Sequence[Path]],
    *,
    low_from: float,
    low_to: float,
    high: float,
) -> dict[str, DailyTemperature]:
    """Daily figures of every history, worked out by the engine behind ``connection``."""
    import numpy as np

    from takeup.evidence.model import DailyTemperature

    table = readings(connection, histories)
    found = daily_figures(table, low_from=low_from, low_to=low_to, high=high)
    frame = connection.to_pyarrow(found)
    tags = np.asarray(frame["tag"].to_pylist())
    columns = {
        name: np.array(
            [np.nan if value is None else float(value) for value in frame[name].to_pylist()]
        )
        for name in ("day", *FIGURES)
    }
    return {
        tag: DailyTemperature(
            tag=tag, **{name: values[tags == tag] for name, values in columns.items()}
        )
        for tag in histories
    }
