"""The verb of walls: worked out without a site."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from takeup.cli.common import (
    author_option,
    emit,
    json_option,
    plain,
    site_option,
    table,
    writing,
)

if TYPE_CHECKING:
    from takeup.desk.heat import Solved
    from takeup.heat.dew_model import DewReport
    from takeup.heat.inverse_model import InverseReport
    from takeup.heat.model import Range, WallReport
    from takeup.heat.wall_study import WallInput, WallStudy
    from takeup.limits import Limits
    from takeup.units import System

SHOWN = 8
"""Causes listed: the likeliest."""
LOOKED = 0.05
"""Probability from which it is said where to look."""


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--units", type=click.Choice(["metric", "us"]), default="metric", show_default=True)
@click.option("--drawing", type=click.Path(path_type=Path), help="Write the profile as SVG here.")
@json_option
def wall(file: Path, units: str, drawing: Path | None, as_json: bool) -> None:
    """Temperature of a bellows through its wall, dew points, and causes of a reading, from FILE.

    FILE is TOML or JSON ('takeup schema wall'): a table wall, and beside it gas, reading,
    exposure, spreads where they are known. Numbers are SI, and text carries its unit. Results
    are ranges. Action lines are the shipped ones; licensed practice and the site's rules decide.
    """
    from takeup.cli.files import read
    from takeup.heat.wall_study import WallInput, study
    from takeup.limits import defaults
    from takeup.units import System

    given, limits, system = read(file, WallInput), defaults(), System(units)
    _tell(study(given, limits), given, limits, system, drawing, as_json=as_json)


def _tell(
    found: WallStudy, given: WallInput, limits: Limits, system: System, drawing: Path | None,
    *, as_json: bool,
) -> None:  # fmt: skip
    from takeup.cli.telling import told

    if drawing is not None:
        from takeup.documents.drawing import wall_profile

        svg = wall_profile(
            found.wall, system=system, low=limits["temperature.low_to"],
            high=limits["temperature.high"], dew=found.dew, reading=given.reading,
        )  # fmt: skip
        with writing(drawing):
            drawing.write_text(svg, encoding="utf-8")
    if as_json:
        emit(told(found))
        return
    for words in found.cautions:
        if words.startswith("DANGER"):
            click.echo(f"  ! {words}")
    _wall(found.wall, system)
    if found.dew is not None:
        _dew(found.dew, found.action_line, system)
    if found.inverse is not None:
        _causes(found.inverse, system)
    click.echo("")
    for check in found.checks:
        click.echo(f"  {check.name}: {check.outcome.value}. {check.because}")
    for words in found.cautions:
        click.echo(f"  ! {words}")


def _range(one: Range, kind: str, system: System) -> str:
    from takeup.units import shown

    low = shown(one.low, kind, system, unit=False)
    high = shown(one.high, kind, system, unit=False)
    return plain(f"{shown(one.value, kind, system)} ({low} to {high})")


def _wall(report: WallReport, system: System) -> None:
    from takeup.units import shown

    click.echo(f"{report.name or 'Wall'}: bellows {_range(report.bellows_outer, 'temperature', system)}, "
               f"inside {_range(report.bellows_inner, 'temperature', system)}; heat lost "
               f"{_range(report.heat, 'heat_per_length', system)}")  # fmt: skip
    rows: list[tuple[str, ...]] = [
        (
            layer.name,
            layer.material,
            plain(shown(layer.outside - layer.inside, "thickness", system)),
            plain(shown(layer.conductivity, "insulation_conductivity", system)),
            plain(shown(layer.drop, "temperature_difference", system)),
            _range(surface.temperature, "temperature", system),
        )
        for layer, surface in zip(report.layers, report.surfaces[1:], strict=True)
    ]
    table(rows, ("layer", "material", "thickness", "conductivity", "drop", "outside of it"))
    if report.drivers:
        named = ", ".join(driver.words for driver in report.drivers[:3])
        click.echo(f"  The range comes mostly from: {named}")
    for words in report.notes:
        click.echo(f"  note: {words}")


def _dew(report: DewReport, line: float | None, system: System) -> None:
    from takeup.units import shown

    click.echo("\nWhat condenses or falls out")
    rows: list[tuple[str, ...]] = [
        (
            one.title,
            _range(one.temperature, "temperature", system),
            "; ".join(
                f"{method.source.document} "
                + (method.because if method.value is None
                   else plain(shown(method.value, "temperature", system)))
                for method in one.methods
            ),
        )
        for one in report.condensates
    ]  # fmt: skip
    table(rows, ("", "at", "by"))
    if report.trioxide is not None:
        click.echo(
            f"  SO3 {_range(report.trioxide.share, 'trace', system)}: {report.trioxide.note}"
        )
    proposed = plain(shown(report.line, "temperature", system)) if report.line else "unknown"
    worked = plain(shown(line, "temperature", system)) if line else "unknown"
    more = "" if report.complete else f", at least: unknown are {', '.join(report.missing)}"
    click.echo(f"  Low action line proposed: {proposed}{more}. Line to work with: {worked}")


def _causes(report: InverseReport, system: System) -> None:
    from takeup.units import shown

    reading = plain(shown(report.reading.temperature, "temperature", system))
    off = plain(shown(report.deviation, "temperature_difference", system))
    click.echo(f"\nWhat explains {reading} (standard deviation {off})")
    rows: list[tuple[str, ...]] = []
    for one in report.causes[:SHOWN]:
        estimate = ""
        if one.estimate is not None:
            estimate = f"{one.parameter} {_range(one.estimate, one.kind, system)}"
        predicted = "" if one.predicted is None else _range(one.predicted, "temperature", system)
        rows.append((one.title, f"{one.probability:.0%}", predicted, estimate))
    table(rows, ("cause", "probability", "would read", "then"))
    first = report.causes[0].id
    titles = {one.id: one.title for one in report.causes}
    open_ = []
    for pair in report.separations:
        if first not in {pair.first, pair.second}:
            continue
        other = titles[pair.second if pair.first == first else pair.first]
        if pair.separates:
            a, b = (plain(shown(value, pair.kind, system))
                    for value in (pair.with_first, pair.with_second))  # fmt: skip
            click.echo(f"  {titles[first]} or {other}: {pair.measurement} tells, {a} or {b}")
        else:
            open_.append(other)
    if open_:
        click.echo(f"  No measurement outside tells {titles[first]} from {', '.join(open_)}")
    click.echo("  Where to look")
    for one in report.causes:
        if one.probability >= LOOKED:
            click.echo(f"    {one.title}: {one.look}")
    for words in report.notes:
        click.echo(f"  note: {words}")


@click.command("wall-of")
@click.argument("tag")
@click.option("--bellows", default="", help="Letter whose history is explained.")
@click.option("--drawing", type=click.Path(path_type=Path), help="Write the profile as SVG here.")
@site_option
@json_option
def wall_of(tag: str, bellows: str, drawing: Path | None, folder: Path, as_json: bool) -> None:
    """The wall of joint TAG as kept, against its present temperature."""
    from takeup.cli.common import opened
    from takeup.desk import heat

    with opened(folder) as site:
        found = heat.solved(site, tag, bellows=bellows)
        limits, system = site.register().limits(), site.system
    for words in (*found.faults, *found.asked):
        click.echo(f"  ! {words}", err=as_json)
    if found.study is None or found.given is None:
        raise click.exceptions.Exit(2)
    if found.shown is not None and not as_json:
        click.echo(f"Reading: {found.shown.where}")
    _tell(found.study, _with(found), limits, system, drawing, as_json=as_json)


def _with(found: Solved) -> WallInput:
    import msgspec

    assert found.given is not None
    reading = None if found.shown is None else found.shown.reading
    return msgspec.structs.replace(found.given, reading=reading)


@click.command("keep-wall")
@click.argument("tag")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--reason", default="wall of the joint kept", help="Why; kept with the change.")
@author_option
@site_option
@json_option
def keep_wall(tag: str, file: Path, reason: str, author: str, folder: Path, as_json: bool) -> None:
    """Keep FILE (TOML) as the wall of joint TAG of the site; faults are told, and it stays kept."""
    from takeup.cli.common import opened
    from takeup.cli.files import read_bytes
    from takeup.desk import heat
    from takeup.errors import BadFile

    try:
        text = read_bytes(file).decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise BadFile(f"{file} is not UTF-8 text: {fault}") from fault
    with opened(folder) as site:
        kept = heat.keep(site, tag, text, author, reason)
    if as_json:
        emit(kept)
        return
    click.echo(f"Kept the wall of joint {kept.model.joint}.")
    for words in kept.faults:
        click.echo(f"  ! {words}")


COMMANDS = (wall, wall_of, keep_wall)
