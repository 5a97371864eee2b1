"""The verbs of a line as text: worked out without a site, or kept with one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from takeup.cli.common import (
    author_option,
    emit,
    json_option,
    must_exist,
    plain,
    site_option,
    table,
)

if TYPE_CHECKING:
    from takeup.bellows.model import BellowsCase
    from takeup.line.model import Line
    from takeup.line.report import LineReport, StateReport
    from takeup.line.solve import Prepared, StateResult
    from takeup.units import System

FILE = click.Path(path_type=Path)


@click.command()
@click.argument("file", type=FILE)
@click.option("--state", "states", multiple=True, help="Show this state only; may be repeated.")
@click.option(
    "--units", type=click.Choice(["metric", "us"]), default="metric", show_default=True
)  # fmt: skip
@click.option(
    "--svg",
    "drawing",
    type=FILE,
    help="Write the isometric here, with the deflected shape of the last state shown.",
)
@click.option(
    "--factors",
    type=click.Choice(["Appendix D", "B31J"]),
    help="Stress factors, in place of those the text chooses.",
)
@click.option(
    "--allowable-range",
    "range_rule",
    type=click.Choice(["1a", "1b"]),
    help="Equation of B31.3 302.3.5(d), in place of the text's: 1b adds what sustained stress leaves.",
)
@click.option(
    "--bellows",
    "bellows",
    type=FILE,
    help="Bellows of joints ('takeup schema bellows'), each named by its tag; of two, TAG A and TAG B.",
)
@json_option
def line(
    file: Path,
    states: tuple[str, ...],
    units: str,
    drawing: Path | None,
    factors: str | None,
    range_rule: str | None,
    bellows: Path | None,
    as_json: bool,
) -> int:
    """Work out the line in FILE (TOML): loads on supports, joint movements, spring travels.

    Every state is solved in its order, since friction remembers; --state chooses what is shown.
    'takeup schema line-text' lists every field. A fault of the text is named with its line. Exit code 1 where a state does not balance well
    enough to be used.
    """
    from takeup.cli.telling import told
    from takeup.units import System

    found, ready, results = worked(
        file,
        states,
        factors=factors,
        range_rule=range_rule,
        bellows=bellows,
        system=System(units),
    )
    if drawing is not None:
        from takeup.cli.common import writing
        from takeup.documents.drawing import isometric

        last = next(one for one in results if one.state == found.states[-1].state)
        svg = isometric(ready.line, last, checks=found.checks, system=System(units))
        with writing(drawing):
            drawing.write_text(svg, encoding="utf-8")
    if as_json:
        emit(told(found))
    else:
        show(found, System(units))
    poor = [state.state for state in found.states if not state.usable]
    for name in poor:
        click.echo(f"takeup: state {name!r} does not balance: do not use it", err=True)
    return 1 if poor else 0


def text_of(file: Path) -> str:
    """The text of ``file``; raises :class:`takeup.errors.BadFile`."""
    from takeup.errors import BadFile

    must_exist(file)
    try:
        return file.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        at = ""
        if isinstance(fault, UnicodeDecodeError):
            before = fault.object[: fault.start]
            at = f", line {before.count(10) + 1}"
        raise BadFile(f"{file}{at}: cannot be read as UTF-8 text: {fault}") from fault


def said(value: float, kind: str, system: System) -> str:
    """A number in a sentence of the engine."""
    from takeup.units import shown

    return plain(shown(value, kind, system))


def worked(
    file: Path,
    states: tuple[str, ...],
    *,
    factors: str | None = None,
    range_rule: str | None = None,
    bellows: Path | None = None,
    system: System | None = None,
) -> tuple[LineReport, Prepared, tuple[StateResult, ...]]:
    """Read, solve and tell ``file``; faults carry the name of the file."""
    import functools

    import msgspec

    from takeup.errors import BadFile, TakeupError, UnknownName
    from takeup.line.model import Book, RangeRule
    from takeup.line.report import report
    from takeup.line.solve import prepare, solve
    from takeup.line.telling import named_in
    from takeup.line.text import read
    from takeup.units import System

    made = read(text_of(file), file=str(file))
    try:
        cases = {} if bellows is None else _cases(bellows, made)
        ready = prepare(made)
        results = solve(ready)
        found = report(
            ready,
            results,
            factors=Book(factors) if factors else None,
            range_rule=RangeRule(range_rule) if range_rule else None,
            bellows=cases,
            tell=functools.partial(said, system=system or System.METRIC),
        )
    except BadFile:
        raise
    except TakeupError as fault:
        at = named_in(str(fault), made)
        raise BadFile(f"{file}{f', line {at}' if at else ''}: {fault}") from fault
    names = [one.state for one in found.states]
    for name in states:
        if name not in names:
            raise UnknownName("state", name, names)
    if states:
        chosen = tuple(one for one in found.states if one.state in states)
        found = msgspec.structs.replace(found, states=chosen)
    return found, ready, results


def _cases(file: Path, line: Line) -> dict[str, BellowsCase]:
    """Bellows of joints of ``line`` from a file, by the names they have there."""
    from takeup.bellows.model import BellowsCase as Case
    from takeup.cli.files import read_many
    from takeup.errors import UnknownName
    from takeup.line.model import Joint

    known = []
    for piece in line.pieces:
        if isinstance(piece, Joint):
            letters = [f"{piece.tag} {letter}" for letter in "AB"[: len(piece.bellows)]]
            known += [piece.tag, *letters] if len(piece.bellows) > 1 else [piece.tag]
    found = {case.name: case for case in read_many(file, Case)[0]}
    for name in found:
        if name not in known:
            raise UnknownName(f"joint of the line, named in {file}", name, known)
    return found


def show(found: LineReport, system: System) -> None:
    """Print every state in tables."""
    click.echo(f"Line {found.line}")
    for state in found.states:
        _state(state, system)
    _checks(found)
    _books(found)
    _anchors(found, system)
    _bellows(found, system)
    for words in found.cautions:
        click.echo(f"  ! {words}")
    for words in found.notes:
        click.echo(f"  note: {words}")


MOST = 12
"""Checks shown: the nearest to their limit, or beyond."""


def _checks(found: LineReport) -> None:
    if found.between is None:
        return
    from takeup.checks import Outcome

    worst = sorted(found.checks, key=lambda check: -(check.ratio or 0.0))
    unmet = [check for check in worst if check.outcome == Outcome.NOT_MET]
    open_ = [check for check in worst if check.outcome == Outcome.NOT_EVALUATED]
    click.echo(
        f"\nChecks from {found.between[0]} to {found.between[1]}: {len(found.checks)}, not met "
        f"{len(unmet)}, not evaluated {len(open_)}"
    )
    rows = [
        (
            check.name,
            "" if check.ratio is None else f"{check.ratio:.3f}",
            f"{check.outcome.value}{' *' if check.provisional else ''}",
            check.source.cite(),
        )
        for check in [*worst[: max(MOST, len(unmet))], *open_[:MOST]]
    ]
    table(list(dict.fromkeys(rows)), ("nearest to their limit", "use", "outcome", "source"))
    for words in dict.fromkeys(words for check in open_ for words in (check.because,) if words):
        click.echo(f"  ? {words}")
    click.echo("  * provisional: rests on a source that was not read or confirmed")


def _books(found: LineReport) -> None:
    """Pieces whose range differs by book, and those that one book leaves open."""
    if not found.books:
        return
    differ = [one for one in found.books if one.governs != "same"]
    click.echo(
        f"\nFactors taken: {found.factors.value}; allowable range by equation "
        f"{found.range_rule.value} of 302.3.5(d). The other book gives the same range on "
        f"{len(found.books) - len(differ)} of {len(found.books)} pieces"
    )
    shown = sorted(differ, key=lambda one: -abs((one.share or 1.0) - 1.0))
    table(
        [
            (one.piece, "" if one.share is None else f"{one.share:.3f}", one.says)
            for one in shown[:MOST]
        ],
        ("piece", "B31J/App. D", "range by the two books"),
    )


def _anchors(found: LineReport, system: System) -> None:
    """Loads on anchors by 319.5.1."""
    if not found.reactions:
        return
    from takeup.units import shown, symbol

    click.echo(
        f"\nLoad on anchors by 319.5.1, east, north, up [{plain(symbol('force', system))}], about "
        f"them [{plain(symbol('moment', system))}]"
    )
    rows = []
    for one in found.reactions:
        for name, values, share in (
            ("hot", one.hot, one.hot_share),
            ("cold", one.cold, one.cold_share),
        ):
            cells = ["?"] * 6
            if values is not None:
                cells = [
                    plain(shown(value, "force" if k < 3 else "moment", system, unit=False))
                    for k, value in enumerate(values)
                ]
            rows.append((one.name, name, "?" if share is None else f"{share:.2f}", *cells))
    table(
        rows,
        ("anchor", "", "of range", "east", "north", "up", "m. east", "m. north", "m. up"),
    )


def _bellows(found: LineReport, system: System) -> None:
    """What the line's movements make of bellows that were handed in."""
    if not found.bellows:
        return
    from math import hypot

    from takeup.units import shown, symbol

    def cells(values: tuple[float, ...], kind: str) -> tuple[str, ...]:
        return tuple(plain(shown(value, kind, system, unit=False)) for value in values)

    click.echo(
        f"\nBellows from cold to hot [{plain(symbol('movement', system))}, "
        f"{plain(symbol('angle', system))}]"
    )
    table(
        [
            (
                one.name,
                *cells((one.movement.axial, hypot(*one.movement.lateral)), "movement"),
                *cells((hypot(*one.movement.angular),), "angle"),
                "not evaluated" if one.usage is None else f"{one.usage:.3f}",
            )
            for one in found.bellows
        ],
        ("bellows", "axial +ext.", "lateral", "angular", "use of life by the design curve"),
    )
    for one in found.bellows:
        if not one.valid:
            click.echo(f"  ! {one.name}: its rule set does not cover it")
        for words in one.notes:
            click.echo(f"  - {one.name}: {words}")


def _state(one: StateReport, system: System) -> None:
    from takeup.units import shown, symbol

    def cells(values: tuple[float, ...], kind: str) -> tuple[str, ...]:
        return tuple(plain(shown(value, kind, system, unit=False)) for value in values)

    click.echo(
        f"\n{one.state}: {plain(shown(one.pressure, 'pressure', system))}, "
        f"{plain(shown(one.temperature, 'temperature', system))}"
    )
    certificate = one.certificate
    click.echo(
        f"  balanced: {'yes' if one.usable else 'NO'} (forces {certificate.residual:.1e}, whole "
        f"{certificate.balance:.1e} of the largest; {certificate.rounds} rounds)"
    )
    click.echo(
        f"  Load on supports, east, north, up [{plain(symbol('force', system))}], about them "
        f"[{plain(symbol('moment', system))}]"
    )
    table(
        [
            (s.name, s.kind, *cells(s.force, "force"), *cells(s.moment, "moment"))
            for s in one.supports
        ],
        ("support", "kind", "east", "north", "up", "m. east", "m. north", "m. up"),
    )
    if one.joints:
        click.echo(
            f"  Joint movements from installed [{plain(symbol('movement', system))}, "
            f"{plain(symbol('angle', system))}]"
        )
        table(
            [
                (
                    j.tag if j.number is None else f"{j.tag} bellows {'AB'[j.number]}",
                    *cells((j.axial, *j.lateral), "movement"),
                    *cells((*j.angular, j.torsion), "angle"),
                )
                for j in one.joints
            ],
            ("joint", "axial +ext.", "lateral 1", "lateral 2", "angular 1", "angular 2", "twist"),
        )
    if one.springs:
        click.echo(
            f"  Springs: movement up and range [{plain(symbol('movement', system))}], load "
            f"[{plain(symbol('force', system))}]"
        )
        table(
            [
                (
                    s.name,
                    s.kind,
                    *cells((s.movement, -s.down, s.up), "movement"),
                    *cells((s.load,), "force"),
                )
                for s in one.springs
            ],
            ("spring", "kind", "moved up", "lower stop", "upper stop", "load"),
        )
    for rod in one.rods:
        pulls = ", ".join(plain(shown(f, "force", system)) for f in rod.tension)
        click.echo(f"  {rod.name}: {pulls}")
    for pin in one.pins:
        words = plain(shown(pin.resultant, "force", system))
        rub = plain(shown(pin.friction, "moment", system))
        click.echo(
            f"  {pin.tag} hinge or gimbal {pin.number + 1}: {words}"
            + (f", its pins stick up to {rub}" if pin.friction else "")
        )
    for words in one.cautions:
        click.echo(f"  ! {words}")
    for finding in one.findings:
        if finding.harmless:
            click.echo(f"  - {finding.name}: {finding.says}")


@click.command("keep-line")
@click.argument("tag")
@click.argument("file", type=FILE)
@click.option("--reason", default="model of the line kept", help="Why; kept with the change.")
@author_option
@site_option
@json_option
def keep_line(tag: str, file: Path, reason: str, author: str, folder: Path, as_json: bool) -> None:
    """Keep FILE (TOML) as the model of line TAG of the site; faults are told, and it stays kept."""
    from takeup.cli.common import opened
    from takeup.desk import lines

    text = text_of(file)
    with opened(folder) as site:
        kept = lines.keep(site, tag, text, author, reason)
    if as_json:
        emit(kept)
        return
    click.echo(f"Kept the model of line {kept.model.line}.")
    for words in kept.faults:
        click.echo(f"  ! {words}")


COMMANDS = (line, keep_line)
