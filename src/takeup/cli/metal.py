"""The verb of what time at temperature did to a metal."""

from __future__ import annotations

from pathlib import Path

import click

from takeup.cli.common import emit, json_option, plain


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--units", type=click.Choice(["metric", "us"]), default="metric", show_default=True)
@json_option
def metal(file: Path, units: str, as_json: bool) -> None:
    """Sensitisation, sigma, ageing, embrittlement and creep of the metal in FILE.

    FILE is TOML or JSON ('takeup schema metal'): hours at temperature, and the lasting stress where
    creep is asked for. What is not known stays not known: no history is never a clean bill.
    """
    from takeup.ageing.metal_case import MetalCase, evaluate
    from takeup.cli.files import read
    from takeup.cli.telling import told
    from takeup.units import System, shown

    report = evaluate(read(file, MetalCase))
    if as_json:
        emit(told(report))
        return
    system = System(units)
    click.echo(f"{report.case.name or report.case.alloy}: {report.headline}")
    for heading, changes in (("base metal", report.base), ("weld", report.weld)):
        for one in changes:
            click.echo(f"  {heading}, {one.name}: {one.state.value}. {one.because}")
            if one.state.value != "not expected":
                click.echo(f"    {one.consequence}")
                for ask in one.asks:
                    click.echo(f"    would settle it: {ask}")
    for life in report.creep:
        low, middle, high = (plain(shown(value, "years", system)) for value in life.left)
        omega = (
            ""
            if life.used_omega is None
            else f"; by Omega {life.used_omega[1]:.2f} "
            f"({life.used_omega[2]:.2f} to {life.used_omega[0]:.2f})"
        )
        click.echo(
            f"  creep of the {'weld' if life.weld else 'base metal'}: used "
            f"{life.used_mean:.2f} by the mean line, {life.used_minimum:.2f} by the least{omega}; "
            f"left {low}, {middle}, {high} (5, 50, 95 %){' capped' if life.capped else ''}: "
            f"{life.check.outcome.value}"
        )
        for words in life.screening:
            click.echo(f"    screening only: {words}")
    for words in report.open:
        click.echo(f"  not worked out: {words}")


COMMANDS = (metal,)
