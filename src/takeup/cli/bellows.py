"""Verbs of bellows and their joints: worked out, compared, sampled, without a site."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from takeup.cli.common import emit, json_option, plain, progress, table

if TYPE_CHECKING:
    from takeup.bellows.as_found import AsFoundReport
    from takeup.bellows.as_found.model import FigureRow
    from takeup.bellows.model import BellowsCase, BellowsReport
    from takeup.bellows.side_by_side import Comparison
    from takeup.bellows.sizing import Choice, SizingResult
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
@click.option(
    "--compare",
    "by_all",
    is_flag=True,
    help="By every rule set side by side, with the reasons why they differ.",
)
@UNITS
@json_option
def bellows(file: Path, basis: str | None, by_all: bool, units: str, as_json: bool) -> int:
    """Work out the bellows in FILE by the rule set that it names.

    FILE is TOML or JSON ('takeup schema bellows'): numbers are SI, and text carries its unit,
    as in "219 mm", "0.1 MPa", "200 C". Several bellows stand under [[case]] and are worked out
    together; what stands beside these tables counts for all of them. Name an unknown value in
    'missing': what rests on it stays not evaluated.
    """
    import msgspec

    from takeup.bellows import evaluate, evaluate_many
    from takeup.bellows.model import Basis
    from takeup.bellows.model import BellowsCase as Case
    from takeup.cli.files import read_many
    from takeup.cli.telling import told
    from takeup.units import System

    if by_all and basis:
        raise click.UsageError("--compare takes every rule set; leave --basis out")
    cases, several = read_many(file, Case)
    if by_all:
        return _compared(cases, several, as_json)
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


def _compared(cases: Sequence[BellowsCase], several: bool, as_json: bool) -> int:
    from takeup.bellows import evaluate
    from takeup.bellows.side_by_side import compare
    from takeup.cli.telling import told

    if not several:
        evaluate(cases[0])  # input that cannot be true is a fault of the file, not three reports
    found = [compare(case) for case in cases]
    if as_json:
        emit(told(found if several else found[0]))
        return 0
    for case, one in zip(cases, found, strict=True):
        click.echo(case.name)
        show_comparison(one)
    return 0


def show_comparison(found: Comparison) -> None:
    """Print each check by every rule set, and why they differ."""
    rows = [
        (
            _named(next(check for check in row.checks if check is not None)),
            *(_use(check) for check in row.checks),
        )
        for row in found.checks
    ]
    table(rows, ("use of capacity", *found.bases))
    for basis, edition in zip(found.bases, found.editions, strict=True):
        click.echo(f"  {basis}: {edition or 'edition not known'}")
    reasons: dict[str, list[str]] = {}
    lines = [(row.name, row.reasons) for row in found.checks]
    for name, why in (*lines, *((row.name, row.reasons) for row in found.figures)):
        for reason in why:
            names = reasons.setdefault(reason, [])
            if name not in names:
                names.append(name)
    for reason, names in reasons.items():
        click.echo(f"  why: {reason} ({', '.join(names)})")
    for note in found.notes:
        click.echo(f"  note: {note}")
    click.echo("  * provisional: rests on a source that was not read or confirmed")


def _use(check: Check | None) -> str:
    if check is None:
        return "no such check"
    ratio = "" if check.ratio is None else f"{check.ratio:.3f} "
    return f"{ratio}{check.outcome.value}{' *' if check.provisional else ''}"


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
    _show_checks(report.checks)
    cautions = dict.fromkeys(words for check in report.checks for words in check.cautions)
    _show_words(tuple(cautions), report.notes, report.missing)


def _named(one: Figure | Check | FigureRow) -> str:
    """The name, with the condition or movement that it holds for."""
    where = one.id.partition("@")[2]
    return f"{one.name}, {where}" if where else one.name


@click.command()
@click.argument("file", type=FILE)
@click.option("--samples", type=int, help="How many, in place of the file's; a power of two.")
@click.option("--seed", type=int, help="In place of the file's; the same seed, the same result.")
@UNITS
@json_option
def uncertainty(
    file: Path, samples: int | None, seed: int | None, units: str, as_json: bool
) -> None:
    """Sample the bellows in FILE within its tolerances: which check fails how often, and why.

    FILE is TOML or JSON ('takeup schema uncertainty'): the bellows in [bellows], and each input
    that may differ in [[spread]] with its amounts below and above. Without [[spread]] the usual
    tolerances of sheet, making and readings are taken and named.
    """
    from takeup.bellows.uncertainty import spread, usual
    from takeup.cli.files import read
    from takeup.cli.inputs import UncertaintyFile, spreads
    from takeup.cli.telling import told
    from takeup.documents.words import spread as spread_words
    from takeup.units import System

    data = read(file, UncertaintyFile)
    given = spreads(file.name, data)
    taken = given or usual(data.bellows, data.sheet)
    found = spread(
        data.bellows,
        taken,
        samples=data.samples if samples is None else samples,
        seed=data.seed if seed is None else seed,
    )
    if as_json:
        emit(told(found))
        return
    click.echo(f"{found.name}  {found.basis}  {found.samples} samples, seed {found.seed}")
    for one in found.spreads:
        click.echo(
            f"  spread {one.words}: {spread_words(one, System(units))} [{one.source.cite()}]"
        )
    for words in found.words:
        click.echo(f"  {words}")
    if found.any_check is not None:
        click.echo(f"  any check fails in {found.any_check.said()} of samples")
    for left in found.impossible:
        click.echo(f"  left out: {left.count} samples: {left.reason}")
    if found.held:
        click.echo(f"  not spread: {', '.join(found.held)}")
    for caution in found.cautions:
        click.echo(f"  ! {caution}")


@click.command()
@click.argument("file", type=FILE)
@UNITS
@json_option
def hardware(file: Path, units: str, as_json: bool) -> None:
    """Trace the thrust through the hardware in FILE and check every part of its path.

    FILE is TOML or JSON ('takeup schema hardware'). What is unknown is left out: the checks
    that rest on it stay open and are named. Defects take away what they take.
    """
    from takeup.bellows.hardware import HardwareCase, check_hardware, explain
    from takeup.cli.files import read
    from takeup.cli.telling import told
    from takeup.units import System

    found = check_hardware(read(file, HardwareCase))
    if as_json:
        emit(told(found))
        return
    system = System(units)
    click.echo(f"{found.name}  {found.type}")
    for lost in found.lost:
        click.echo(f"  !! {lost}")
    said = dict.fromkeys(words for path in found.paths for words in explain(path, system))
    for words in said:
        if words not in found.cautions and words not in found.lost:
            click.echo(f"  {plain(words)}")
    _show_checks(found.checks)
    _show_words(found.cautions, found.notes, found.missing)


@click.command()
@click.argument("file", type=FILE)
@click.option("--choose", type=int, help="Number of a bellows found: its report in full.")
@click.option(
    "--sheet", type=FILE, help="With --choose: write a requisition data sheet (PDF) here."
)
@click.option("--front", is_flag=True, help="With --json: the whole set, not only those shown.")
@UNITS
@json_option
def size(
    file: Path, choose: int | None, sheet: Path | None, front: bool, units: str, as_json: bool
) -> None:
    """Search every bellows that fits the duty and envelope in FILE.

    FILE is TOML or JSON ('takeup schema size'). Shown are the best of the set that nothing
    beats at once in stiffness, thrust, length, mass and margin, what excludes the others, and
    what binds. With --choose and --json, 'case' is an input for 'takeup bellows'; --sheet
    writes the data sheet to order by.
    """
    import msgspec

    from takeup.bellows.sizing import SizingTask, choice
    from takeup.bellows.sizing import size as search
    from takeup.cli.files import read
    from takeup.cli.telling import told
    from takeup.units import System

    if sheet is not None and choose is None:
        raise click.UsageError("--sheet needs --choose NUMBER: one bellows to order")
    result = search(read(file, SizingTask), progress())
    if choose is not None:
        one = choice(result, choose)
        if sheet is not None:
            _write_sheet(result, one, System(units), sheet)
        if as_json:
            emit(told(one))
        else:
            show_report(one.report, System(units))
        return
    if as_json:
        count = len(result.front)
        shown = result if front else msgspec.structs.replace(result, front=())
        data = told(shown) | {"front_count": count}
        if not front:
            del data["front"]
        emit(data)
    else:
        _show_sizing(result, System(units))


def _write_sheet(result: SizingResult, one: Choice, system: System, out: Path) -> None:
    import datetime as dt

    from takeup.cli.common import writing
    from takeup.documents.requisition import Requisition, render

    made = dt.datetime.now(dt.UTC)  # noqa: TID251 - an edge
    with writing(out):
        render(Requisition(result=result, choice=one, system=system, made=made), out)
    click.echo(f"wrote {out}", err=True)


def _show_sizing(result: SizingResult, system: System) -> None:
    from takeup.units import shown

    def q(value: float, kind: str) -> str:
        return plain(shown(value, kind, system))

    click.echo(
        f"{result.task.name}: {result.space:,} combinations, {result.evaluated:,} worked out, "
        f"{result.feasible:,} meet every check, {len(result.front):,} of these not beaten"
    )
    rows: list[tuple[str, ...]] = [
        (
            str(c.number),
            c.material,
            f"{c.plies} x {q(c.ply_thickness, 'thickness')}",
            q(c.height, "length"),
            q(c.pitch, "length"),
            str(c.convolutions),
            "-" if not c.ring_bar else q(c.ring_bar, "length"),
            q(c.axial_rate, "axial_rate"),
            q(c.thrust, "force"),
            q(c.live_length, "length"),
            q(c.mass, "mass"),
            f"{c.margin:.2f}",
            "; ".join(one.reasons),
        )
        for one in result.choices
        for c in (one.candidate,)
    ]
    if rows:
        heads = (
            "number", "alloy", "plies", "height", "pitch", "N", "ring bar", "axial rate",
            "thrust", "length", "mass", "margin", "why shown",
        )  # fmt: skip
        table(rows, heads)
    for miss in result.nearest:
        worst = ", ".join(f"{id} {use:.2f}" for id, use in miss.failing[:3])
        click.echo(f"  near miss {miss.number}: {worst}")
    for why in (*result.excluded, *result.failed):
        if not why.count:
            continue
        alone = f", {why.alone:,} alone" if why.alone else ""
        click.echo(f"  excluded {why.count:,}{alone}: {why.what}")
    for ground in result.grounds:
        click.echo(f"  ground: {plain(ground.claim)}")
    _show_words((), result.notes, ())


def _show_checks(checks: Sequence[Check]) -> None:
    for check in checks:
        ratio = "" if check.ratio is None else f"{check.ratio:.3f}"
        star = " *" if check.provisional else ""
        click.echo(
            f"  {check.outcome.value:<14} {ratio:>7}  {_named(check)}{star}: {check.because[:90]}"
        )


def _show_words(cautions: Sequence[str], notes: Sequence[str], missing: Sequence[str]) -> None:
    for caution in cautions:
        click.echo(f"  ! {caution}")
    for note in notes:
        click.echo(f"  note: {note}")
    if missing:
        click.echo(f"  not known: {', '.join(missing)}")


@click.command("as-found")
@click.argument("file", type=FILE)
@UNITS
@json_option
def as_found(file: Path, units: str, as_json: bool) -> None:
    """Set the bellows in FILE as found beside the bellows as designed.

    FILE is TOML or JSON ('takeup schema as-found'): the design in [bellows], and in [found] what
    was measured, where it stood, which ply is lost, how hot it was.
    """
    from takeup.bellows.as_found import examine
    from takeup.cli.files import read
    from takeup.cli.inputs import AsFoundFile
    from takeup.cli.telling import told
    from takeup.units import System

    data = read(file, AsFoundFile)
    report = examine(data.bellows, data.found)
    if as_json:
        emit(told(report))
    else:
        _show_as_found(report, System(units))


def _show_as_found(found: AsFoundReport, system: System) -> None:
    from takeup.units import shown

    click.echo(f"{found.name}  {found.designed.basis}")
    rows: list[tuple[str, ...]] = [
        (
            row.name + (f", {where}" if (where := row.id.partition("@")[2]) else ""),
            f"{'' if row.designed is None else f'{row.designed:.3f} '}{row.designed_outcome.value}",
            f"{'' if row.found is None else f'{row.found:.3f} '}{row.found_outcome.value}"
            f"{' *' if row.provisional else ''}",
            "CROSSES" if row.crosses else "",
        )
        for row in found.checks
    ]
    table(rows, ("use of capacity", "as designed", "as found", ""))
    for figure in found.figures:
        if figure.low is None or figure.high is None or figure.designed is None:
            continue
        ends = (plain(shown(v, figure.kind, system)) for v in (figure.low, figure.high))
        span = list(dict.fromkeys(ends))
        was = plain(shown(figure.designed, figure.kind, system))
        if span != [was]:
            click.echo(f"  {_named(figure)}: {was} as designed, {' to '.join(span)} as found")
    parts = (found.distortion, found.travel, found.ply_loss, found.corrosion, found.life)
    for part in parts:
        for words in () if part is None else part.words:
            click.echo(f"  {plain(words)}")
    for finding in found.findings:
        click.echo(f"  grade {finding.grade}: {plain(finding.title)}. {plain(finding.action)}")
    for over in found.hand_overs:
        click.echo(f"  hand over to {over.to}: {plain(over.why)}")
    cautions = (*found.cautions, *(found.ply_loss.cautions if found.ply_loss else ()))
    _show_words(tuple(dict.fromkeys(cautions)), found.notes, ())


COMMANDS = (bellows, as_found, hardware, size, uncertainty)
