"""Verbs that run one engine on a file, without a site."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

import click

from takeup.cli.common import emit, json_option, must_exist, plain

if TYPE_CHECKING:
    from takeup.bellows.model import BellowsReport
    from takeup.checks import Check, Figure
    from takeup.units import System

FILE = click.Path(path_type=Path)
UNITS = click.option(
    "--units", type=click.Choice(["metric", "us"]), default="metric", show_default=True
)


BASES = {"asme": "ASME_26", "ejma": "EJMA", "en": "EN_13445"}
"""Short words for the members of Basis, which is loaded when asked for."""


@click.command()
@click.argument("file", type=FILE)
@click.option(
    "--basis",
    type=click.Choice(list(BASES)),
    help="Rule set, in place of the one that the file names.",
)
@UNITS
@json_option
def bellows(file: Path, basis: str | None, units: str, as_json: bool) -> int:
    """Work out the bellows in FILE by the rule set that it names.

    FILE is TOML or JSON ('takeup schema bellows'): numbers are SI, and text carries its unit,
    as in "219 mm", "0.1 MPa", "200 C". Several bellows stand under [[case]] and are worked out
    together; what stands beside these tables counts for all of them. Name an unknown value in
    'missing': what rests on it stays not evaluated.
    """
    import msgspec

    from takeup.bellows import evaluate, evaluate_many
    from takeup.bellows.model import Basis, BellowsCase
    from takeup.cli.files import read_many
    from takeup.cli.telling import told
    from takeup.units import System

    cases, several = read_many(file, BellowsCase)
    if basis is not None:
        cases = tuple(msgspec.structs.replace(case, basis=Basis[BASES[basis]]) for case in cases)
    reports = evaluate_many(cases) if several else (evaluate(cases[0]),)
    if as_json:
        emit(told(reports if several else reports[0]))
    else:
        for report in reports:
            show_report(report, System(units))
        click.echo("  * provisional: rests on a source that was not read or confirmed")
    refused = [report for report in reports if any(check.id == "input" for check in report.checks)]
    for report in refused:
        click.echo(f"takeup: {report.name or 'a case without name'}: {report.notes[0]}", err=True)
    return 1 if refused else 0


def show_report(report: BellowsReport, system: System) -> None:
    """Print figures, checks, cautions and notes of one bellows."""
    from takeup.units import shown

    click.echo(f"{report.name}  {report.basis}" + ("" if report.valid else "  NOT COVERED"))
    for figure in report.figures:
        star = " *" if figure.provisional else ""
        value = plain(shown(figure.value, figure.kind, system))
        click.echo(f"  {_named(figure):<58} {figure.symbol:<6} {value:>18}{star}")
    for thrust in report.thrust:
        value = plain(shown(thrust.force, "force", system))
        click.echo(f"  {'Pressure thrust, ' + thrust.condition:<58} {'':<6} {value:>18}")
    for check in report.checks:
        ratio = "" if check.ratio is None else f"{check.ratio:.3f}"
        star = " *" if check.provisional else ""
        click.echo(
            f"  {check.outcome.value:<14} {ratio:>7}  {_named(check)}{star}: {check.because[:90]}"
        )
    for caution in dict.fromkeys(words for check in report.checks for words in check.cautions):
        click.echo(f"  ! {caution}")
    for note in report.notes:
        click.echo(f"  note: {note}")
    if report.missing:
        click.echo(f"  not known: {', '.join(report.missing)}")


def _named(one: Figure | Check) -> str:
    """The name, with the condition or movement that it holds for."""
    where = one.id.partition("@")[2]
    return f"{one.name}, {where}" if where else one.name


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


COMMANDS = (bellows, interply, temperature, survival)
