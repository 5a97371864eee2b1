"""The verb of walls: worked out without a site."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from takeup.cli.common import emit, json_option, plain, table, writing

if TYPE_CHECKING:
    from takeup.heat.dew_model import DewReport
    from takeup.heat.inverse_model import InverseReport
    from takeup.heat.model import Range, WallReport
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
    from takeup.cli.telling import told
    from takeup.heat.wall_study import WallInput, study
    from takeup.limits import defaults
    from takeup.units import System

    given, limits, system = read(file, WallInput), defaults(), System(units)
    found = study(given, limits)
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


COMMANDS = (wall,)
