"""The verb that asks what may be wrong with a line, from what was measured on it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from takeup.cli.common import emit, json_option, plain, progress, site_option, table
from takeup.cli.line import FILE, text_of

if TYPE_CHECKING:
    from takeup.desk.diagnosis import Diagnosed
    from takeup.desk.diagnosis_file import ReadingsFile
    from takeup.units import System

SHOWN = 6
"""Groups shown."""
MEMBERS = 6
"""Explanations shown of a group."""


@click.command()
@click.argument("tag", metavar="LINE", required=False)
@click.option("--readings", type=FILE, help="Further readings (TOML; schema line-readings).")
@click.option("--model", type=FILE, help="A line as text instead of one of the site.")
@click.option("--units", type=click.Choice(["metric", "us"]), help="Default: as the site prefers.")
@site_option
@json_option
def diagnose(
    tag: str | None,
    readings: Path | None,
    model: Path | None,
    units: str | None,
    folder: Path,
    as_json: bool,
) -> int:
    """Rank what may be wrong with LINE of the site by the movements measured on it.

    Marks and readings on record are weighed, and those of --readings before them; what cannot be
    used is told with why. With --model and --readings no site is needed. The order rests on
    stated chances: nothing stands before somebody looks. Exit code 1 where nothing can be weighed.
    """
    from takeup.cli.telling import told
    from takeup.desk import diagnosis
    from takeup.units import System

    if model is not None:
        if readings is None:
            raise click.UsageError("--model needs --readings: a text alone has no measurements")
        system = System(units or "metric")
        found = _alone(tag, model, readings, system)
    else:
        from takeup.cli.common import opened

        if not tag:
            raise click.UsageError("name the LINE of the site, or give --model with --readings")
        with opened(folder) as site:
            given = _file(readings) if readings is not None else None
            found = diagnosis.diagnose(
                site, tag, extra=given, file=str(readings or ""), progress=progress()
            )
            system = System(units) if units else site.system
    if as_json:
        emit(told(found))
    else:
        show(found, system)
    return 1 if found.faults else 0


def _file(path: Path) -> ReadingsFile:
    from takeup.cli.common import must_exist
    from takeup.desk.diagnosis_file import read
    from takeup.errors import BadFile

    must_exist(path)
    try:
        data = path.read_bytes()
    except OSError as fault:
        raise BadFile(f"{path} cannot be read: {fault.strerror or fault}") from fault
    return read(str(path), data)


def _alone(tag: str | None, model: Path, readings: Path, system: System) -> Diagnosed:
    from takeup.desk.diagnosis import inputs_of, weigh
    from takeup.errors import UnknownName
    from takeup.line.text import read

    line = read(text_of(model), file=str(model))
    if tag and tag.casefold() != line.tag.casefold():
        raise UnknownName(f"line in {model}", tag, [line.tag])
    given = inputs_of(line, _file(readings), str(readings), system)
    return weigh(line.tag, given, progress())


def show(found: Diagnosed, system: System) -> None:
    """Print readings, groups, what to read next, cautions."""
    from takeup.desk.diagnosis import looks, next_words, quantity
    from takeup.desk.diagnosis_placed import NORMAL
    from takeup.units import shown

    click.echo(f"Line {found.line}")
    for words in found.faults:
        click.echo(f"  Cannot be diagnosed: {words}")
    result = found.diagnosis
    if result is not None:
        _groups(found)
        lead = result.groups[0].explanations[0] if result.groups else None
        click.echo("")
        table(
            [
                (
                    used.words,
                    *(
                        "" if value is None else plain(shown(value, quantity(reading), system))
                        for value in (
                            reading.value,
                            NORMAL * error,
                            sound,
                            lead.predicted[at] if lead is not None else None,
                        )
                    ),
                    used.origin,
                )
                for at, (used, reading, error, sound) in enumerate(
                    zip(found.used, result.readings, result.errors, result.sound, strict=True)
                )
            ],
            ("reading", "measured", "± 95 %", "sound line", "leading", "from"),
        )
        words, how = next_words(found, result.next)
        if words:
            click.echo(f"\nRead next: {words}\n  {how}")
        for place, seen in looks(found, result.groups[0].explanations) if result.groups else ():
            click.echo(f"Look at {place}: {seen}")
    if found.asked:
        click.echo("\nAsked:")
        for words in found.asked:
            click.echo(f"  ? {words}")
    if found.left_out:
        click.echo("\nNot weighed:")
        for one in found.left_out:
            click.echo(f"  - {one.what}: {one.why}")
    click.echo("")
    for words in found.cautions:
        click.echo(f"  ! {words}")


def _groups(found: Diagnosed) -> None:
    from takeup.desk.diagnosis import by_place, group_words
    from takeup.documents.drawing.marks_against import percent

    def chance(share: float) -> str:
        return plain(percent(share))

    result = found.diagnosis
    assert result is not None
    if not found.fits:
        click.echo(
            f"NOTHING FITS: no single fault or pair makes these readings (chance "
            f"{result.chance:.0e}). The order below is of what is nearest, not of what is likely."
        )
    for number, group in enumerate(result.groups[:SHOWN], 1):
        click.echo(f"\n{number}. {chance(group.posterior)}: {group_words(found, group)}")
        many = len(group.explanations) + group.unnamed
        if many > 1:
            click.echo("   explanations that cannot be told apart:")
            for one in group.explanations[:MEMBERS]:
                click.echo(f"     {chance(one.posterior):>10}  {found.plain(one)}")
        if many > MEMBERS:
            click.echo(f"     and {many - MEMBERS} more")
        if group.split:
            told = " or ".join(found.words(hint.reading) for hint in group.split)
            click.echo(f"   what would split them: {told}")
    left = len(result.groups) - SHOWN
    rest = sum(group.posterior for group in result.groups[SHOWN:]) + result.others
    click.echo("\nPlace by place, whatever else is wrong:")
    for place, share in by_place(found)[:SHOWN]:
        click.echo(f"  {chance(share):>10}  {place}")
    click.echo(f"\n{max(left, 0)} further groups and all else together: {chance(rest)}")


COMMANDS = (diagnose,)
