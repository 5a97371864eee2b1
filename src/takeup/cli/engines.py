"""Verbs that run one engine on a file, without a site."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from takeup.cli import bellows
from takeup.cli import line as line_verbs
from takeup.cli.common import emit, json_option, must_exist

FILE = click.Path(path_type=Path)


@click.command()
@click.argument("file", type=FILE)
@json_option
def interply(file: Path, as_json: bool) -> None:
    """Interpret an interply test from FILE (TOML or JSON; see 'takeup schema interply')."""
    from takeup.cli.files import read
    from takeup.cli.inputs import InterplyFile
    from takeup.evidence.interply import interpret
    from takeup.limits import defaults

    data = read(file, InterplyFile)
    result = interpret(data.test, tuple(data.readings), defaults())
    if as_json:
        emit(result)
        return
    click.echo(f"{result.joint} {result.bellows} {result.date}: {result.verdict.value}")
    for line in result.why:
        click.echo(f"  {line}")
    for caution in result.cautions:
        click.echo(f"  ! {caution}")


@click.command()
@click.argument("file", type=FILE)
@click.option("--unit", type=click.Choice(["C", "F", "K"]), required=True)
@click.option("--time-zone", default="", help="Zone of times without an offset.")
@click.option("--outage", type=click.DateTime(["%Y-%m-%d"]), help="Date of the next outage.")
@click.option("--today", type=click.DateTime(["%Y-%m-%d"]), help="Judge as of this day.")
@json_option
def temperature(
    file: Path,
    unit: str,
    time_zone: str,
    outage: dt.datetime | None,
    today: dt.datetime | None,
    as_json: bool,
) -> None:
    """Judge a bellows temperature history in FILE (CSV or Parquet) against the action lines."""
    import tempfile

    from takeup.evidence.temperature import watch
    from takeup.limits import defaults
    from takeup.register import series

    must_exist(file)
    limits = defaults()
    with tempfile.TemporaryDirectory() as scratch:
        kept = series.keep(file, Path(scratch), unit=unit, time_zone=time_zone)
        daily = series.daily(
            Path(scratch) / kept.file,
            file.stem,
            low_from=limits.value("temperature.low_from"),
            low_to=limits.value("temperature.low_to"),
            high=limits.value("temperature.high"),
        )
    report = watch(
        daily,
        joint="-",
        bellows="-",
        limits=limits,
        today=(today or dt.datetime.now(dt.UTC)).date(),  # noqa: TID251 - an edge
        outage=outage.date() if outage else None,
    )
    if as_json:
        emit(report)
        return
    click.echo(f"{file.name}: {report.state}, {report.first} to {report.last}")
    for line in (*report.why, *report.cautions):
        click.echo(f"  {line}")


@click.command()
@click.argument("file", type=FILE)
@json_option
def survival(file: Path, as_json: bool) -> None:
    """Chance of lasting to two dates from FILE (TOML or JSON, years; see 'takeup schema survival')."""
    from takeup.ageing.survival import lasting
    from takeup.cli.files import read
    from takeup.cli.inputs import SurvivalFile

    data = read(file, SurvivalFile)
    result = lasting(data.service, data.age, data.to_next, data.to_second, data.records)
    if as_json:
        emit(result)
        return
    click.echo(
        f"{result.service}, {result.age:.1f} years: to the next date {result.to_next:.0%} "
        f"({result.to_next_low:.0%} to {result.to_next_high:.0%}), to the second "
        f"{result.to_second:.0%} ({result.to_second_low:.0%} to {result.to_second_high:.0%})"
    )
    click.echo(f"  {result.source.cite()}")


COMMANDS = (*bellows.COMMANDS, *line_verbs.COMMANDS, interply, temperature, survival)
