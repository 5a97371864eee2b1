"""The verb that asks what happens to a line if something on it changes."""

from __future__ import annotations

import functools
from pathlib import Path
from typing import TYPE_CHECKING

import click

from takeup.cli.common import emit, json_option, plain, table
from takeup.cli.line import FILE, said, text_of

if TYPE_CHECKING:
    from takeup.desk.what_if import Pair
    from takeup.line.what_if import Change, WhatIf
    from takeup.units import System

SHOWN = 0.005
"""Share of the greater value by which a row must change to be shown."""
NEAREST = 8
"""Checks shown; more only where they were met before and are not met after."""


@click.command("what-if")
@click.argument("file", type=FILE)
@click.option("--lock", multiple=True, metavar="JOINT@STATE", help="Box a joint in, in a state.")
@click.option("--take-out", multiple=True, metavar="JOINT", help="Pipe in a joint's place.")
@click.option("--lose", multiple=True, metavar="SUPPORT", help="A support that is gone.")
@click.option("--seize", multiple=True, metavar="SUPPORT@STATE", help="Held from a state on.")
@click.option("--free", multiple=True, metavar="SUPPORT", help="Stops out, no friction.")
@click.option("--bottom", multiple=True, metavar="SUPPORT@STATE", help="On its stop from there.")
@click.option("--rate", multiple=True, metavar="JOINT=RATE", help="Each bellows; 300N/mm, hot.")
@click.option("--load", multiple=True, metavar="SPRING=FORCE", help="Set otherwise, as 8kN.")
@click.option("--coil", multiple=True, metavar="SPRING=RATE", help="Another coil, as 60N/mm.")
@click.option("--reheat", multiple=True, metavar="STATE=TEMPERATURE", help="Such as hot=600C.")
@click.option(
    "--next-cycle", is_flag=True, help="Add the next cool-down and heat-up after the last state."
)
@click.option("--units", type=click.Choice(["metric", "us"]), default="metric", show_default=True)
@json_option
def what_if(
    file: Path,
    lock: tuple[str, ...],
    take_out: tuple[str, ...],
    lose: tuple[str, ...],
    seize: tuple[str, ...],
    free: tuple[str, ...],
    bottom: tuple[str, ...],
    rate: tuple[str, ...],
    load: tuple[str, ...],
    coil: tuple[str, ...],
    reheat: tuple[str, ...],
    next_cycle: bool,
    units: str,
    as_json: bool,
) -> None:
    """Ask what changes on the line in FILE (TOML) if joints or supports change.

    A lock or a seizure acts on the states after the one it happens in: --next-cycle adds the
    cool-down and heat-up that follow.
    """
    from takeup.desk.what_if import checked, other_rate, roles
    from takeup.errors import BadFile, Contradiction, TakeupError
    from takeup.line import what_if as asking
    from takeup.line.solve import prepare
    from takeup.line.text import read
    from takeup.units import System

    changes: list[Change] = [
        *(asking.Lock(joint=a, state=b) for a, b in _pairs(lock, "--lock", "@")),
        *(asking.TakeOut(joint=name) for name in take_out),
        *(asking.Lose(support=name) for name in lose),
        *(asking.Seize(support=a, state=b) for a, b in _pairs(seize, "--seize", "@")),
        *(asking.Free(support=name) for name in free),
        *(asking.Bottom(support=a, state=b) for a, b in _pairs(bottom, "--bottom", "@")),
        *(asking.Reset(support=a, load=_over_zero(b, "force", "--load"))
          for a, b in _pairs(load, "--load", "=")),
        *(asking.Reset(support=a, rate=_over_zero(b, "axial_rate", "--coil"))
          for a, b in _pairs(coil, "--coil", "=")),
        *(asking.Reheat(state=a, temperature=_kelvin(b))
          for a, b in _pairs(reheat, "--reheat", "=")),
    ]  # fmt: skip
    rates = [
        (tag, _over_zero(text, "axial_rate", "--rate")) for tag, text in _pairs(rate, "--rate", "=")
    ]
    if not changes and not rates:
        raise click.UsageError("say what changes: --lock, --take-out, --rate, --lose, --seize, "
                               "--free, --bottom, --load, --coil or --reheat")  # fmt: skip
    text = text_of(file)
    try:
        line = read(text, file=str(file))
        changes += [other_rate(line, tag, value) for tag, value in rates]
        if next_cycle:
            cold = next((s.name for s in line.states if s.role == "cold"), "")
            hot = next((s.name for s in reversed(line.states) if s.role == "hot"), "")
            if not cold or not hot:
                raise Contradiction("the next cycle needs a state of role cold and one of role hot")
            line = asking.with_next_cycle(line, cold, hot)
        told = functools.partial(said, system=System(units))
        ready = prepare(line)
        found = asking.what_if(ready, changes, tell=told)
        cold, hot = roles(line)
        if next_cycle:
            cold, hot = line.states[-2].name, line.states[-1].name
        checks, notes = checked(ready, found, changes, cold, hot)
    except BadFile:
        raise
    except TakeupError as fault:
        raise BadFile(f"{file}: {fault}") from fault
    if as_json:
        emit({"words": found.words, "cautions": found.cautions, "rows": found.rows,
              "checks": checks, "notes": notes})  # fmt: skip
        return
    _show(found, System(units))
    _show_checks(checks, notes)


def _pairs(given: tuple[str, ...], option: str, mark: str) -> list[tuple[str, str]]:
    pairs = []
    for text in given:
        first, there, second = text.rpartition(mark)
        if not there or not first or not second:
            raise click.UsageError(f"{option} {text!r} is not NAME{mark}VALUE")
        pairs.append((first.strip(), second.strip()))
    return pairs


def _over_zero(text: str, kind: str, option: str) -> float:
    """A quantity with its unit, not below zero; of a rate, above it."""
    from takeup.errors import TakeupError
    from takeup.units import parse, parse_number

    try:
        if not parse_number(text)[1]:
            raise TakeupError("give its unit")
        value = parse(text, kind, "")
    except TakeupError as fault:
        raise click.UsageError(f"{option} {text!r}: {fault}") from fault
    if value < 0.0 or (value == 0.0 and kind != "force"):
        raise click.UsageError(f"{option} {text!r}: it must be more than zero")
    return value


def _kelvin(text: str) -> float:
    """A temperature with its unit: what is meant by a bare number, nobody can know."""
    from takeup.units import ACCEPTED, parse_number

    number, unit = parse_number(text)
    known = ACCEPTED["K"]
    if unit.lstrip("°") not in known:
        raise click.UsageError(f"--reheat {text!r}: give the temperature in C, F or K")
    factor, offset = known[unit.lstrip("°")]
    return (number + offset) * factor


def _show(found: WhatIf, system: System) -> None:
    from takeup.units import shown

    for words in found.words:
        click.echo(words)
    for words in found.cautions:
        click.echo(f"  ! {words}")
    changed = [
        row
        for row in found.rows
        if abs(row.change) > SHOWN * max(abs(row.before), abs(row.after), 1e-9)
    ]
    if not changed:
        click.echo("Nothing changes by more than half a per cent.")
        return
    table(
        [
            (row.what, row.state, plain(shown(row.before, row.kind, system)),
             plain(shown(row.after, row.kind, system)))
            for row in changed
        ],
        ("what", "state", "before", "after"),
    )  # fmt: skip


def _show_checks(checks: tuple[Pair, ...], notes: tuple[str, ...]) -> None:
    for words in notes:
        click.echo(f"  ! {words}")
    told = [pair for number, pair in enumerate(checks) if number < NEAREST or pair.worse]
    if not told:
        return
    table(
        [
            (
                pair.either.name,
                *(
                    "–" if one is None or one.ratio is None else f"{one.ratio:.2f}"
                    for one in (pair.before, pair.after)
                ),
                "–" if pair.after is None else pair.after.outcome.value,
            )
            for pair in told
        ],
        ("check, nearest to its limit first", "use before", "after", "after the change"),
    )


COMMANDS = (what_if,)
