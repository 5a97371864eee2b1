"""The verb that asks whether a line can do without one of its joints."""

from __future__ import annotations

import functools
from pathlib import Path
from typing import TYPE_CHECKING

import click

from takeup.cli.common import emit, json_option, plain, progress, table, writing
from takeup.cli.line import FILE, said, text_of

if TYPE_CHECKING:
    from takeup.desk.design_out import Found
    from takeup.line.model import Line
    from takeup.units import System


@click.command("design-out")
@click.argument("file", type=FILE)
@click.argument("joint")
@click.option(
    "--largest", required=True, metavar="LENGTH", help='Longest leg or shift, such as "6 m".'
)
@click.option("--towards", multiple=True, metavar="WAY", help="east, west, north, south, up, down.")
@click.option("--keep", multiple=True, metavar="SUPPORT", help="A guide or stop that must stay.")
@click.option("--spring", multiple=True, metavar="RATE", help='At hand, such as "60 N/mm".')
@click.option("--svg", "drawing", type=FILE, help="Draw the best alternative here.")
@click.option("--toml", "best", type=FILE, help="Write the best alternative here as text.")
@click.option("--units", type=click.Choice(["metric", "us"]), default="metric", show_default=True)
@json_option
def design_out(
    file: Path,
    joint: str,
    largest: str,
    towards: tuple[str, ...],
    keep: tuple[str, ...],
    spring: tuple[str, ...],
    drawing: Path | None,
    best: Path | None,
    units: str,
    as_json: bool,
) -> int:
    """Search plain alternatives to JOINT on the line in FILE (TOML), without a site.

    Pipe in its place, loops up to --largest in the straight run around it, its run between two
    bends shifted by up to --largest, guides and stops let go or moved, springs of the rates at hand in place of rests. A search over simple
    alternatives, not a design. Exit code 3 where none is shown to hold.
    """
    from takeup.desk.design_out import Task, search
    from takeup.errors import BadFile, TakeupError
    from takeup.line.text import read
    from takeup.units import System

    text = text_of(file)
    system = System(units)
    line = read(text, file=str(file))
    task = Task(
        line=line.tag,
        joint=joint,
        largest=_quantity(largest, "distance", "--largest", system),
        ways=tuple(one.strip().casefold() for one in towards),
        kept=keep,
        rates=tuple(_quantity(one, "axial_rate", "--spring", system) for one in spring),
    )
    tell = functools.partial(said, system=system)
    try:
        found = search(line, task, tell=tell, progress=progress())
    except TakeupError as fault:
        raise BadFile(f"{file}: {fault}") from fault
    if drawing is not None or best is not None:
        _write(found, drawing, best, system)
    if as_json:
        emit(found)
    else:
        _show(found, system)
    return 0 if found.holds else 3


def _quantity(text: str, kind: str, option: str, system: System) -> float:
    from takeup.errors import TakeupError
    from takeup.units import parse, symbol

    try:
        return parse(text, kind, symbol(kind, system))
    except TakeupError as fault:
        raise click.UsageError(f"{option} {text!r}: {fault}") from fault


def _write(found: Found, drawing: Path | None, best: Path | None, system: System) -> None:
    from takeup.documents.drawing import isometric
    from takeup.errors import Refused
    from takeup.line.solve import prepare, solve
    from takeup.line.text import read

    if found.best is None:
        raise Refused(f"no alternative to draw: {' '.join(found.words)}")
    text = found.tried[found.best].text
    if best is not None:
        with writing(best):
            best.write_text(text, encoding="utf-8")
    if drawing is not None:
        made: Line = read(text)
        hot = next(one.name for one in reversed(made.states) if one.role == "hot")
        state = next(one for one in solve(prepare(made)) if one.state == hot)
        with writing(drawing):
            drawing.write_text(isometric(made, state, system=system), encoding="utf-8")


def _show(found: Found, system: System) -> None:
    from takeup.units import shown

    for words in found.words:
        click.echo(words)
    click.echo(found.now)
    for words in found.cautions:
        click.echo(f"  ! {words}")
    table(
        [
            (
                f"{'>' if number == found.best else ' '} {one.words}",
                one.standing,
                "" if one.ratio is None else f"{one.ratio:.2f}",
                plain(shown(one.pipe_added, "distance", system)),
                str(one.elbows),
                one.because or one.worst,
            )
            for number, one in enumerate(found.tried)
        ],
        ("alternative", "standing", "use", "more pipe", "elbows", "against it"),
    )
    first = found.tried[found.best] if found.best is not None else found.tried[0]
    if first.screen:
        click.echo(f"First look by the guided cantilever, {first.words}: {first.screen}.")


COMMANDS = (design_out,)
