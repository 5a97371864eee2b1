"""The verb of attachments on hot pipe: worked out without a site."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from takeup.cli.common import emit, json_option, plain, progress, table

if TYPE_CHECKING:
    from takeup.ageing.attachment_case import AttachmentCase
    from takeup.units import System


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--fineness", type=click.FloatRange(0.5, 4.0), default=1.0, show_default=True,
              help="Of the mesh: 2 has twice as many elements each way.")  # fmt: skip
@click.option("--units", type=click.Choice(["metric", "us"]), default="metric", show_default=True)
@click.option("--drawing", type=click.Path(path_type=Path), help="Write the section as SVG here.")
@click.option(
    "--compare",
    is_flag=True,
    help="Work the pieces out with welded corners and formed, side by side.",
)
@json_option
def attachment(
    file: Path, fineness: float, units: str, drawing: Path | None, compare: bool, as_json: bool
) -> int:  # fmt: skip
    """Stress and cycles of the ring, cone, skirt or formed transition in FILE.

    FILE is TOML or JSON ('takeup schema attachment'): numbers are SI, and text carries its unit.
    It is worked out on stream at rest and through one start, run and stop. Cycles to a crack are
    a span for screening; licensed practice and the site's rules decide.
    """
    from takeup.ageing.attachment_case import AttachmentCase, evaluate
    from takeup.cli.files import read
    from takeup.cli.telling import told
    from takeup.units import System, shown

    case = read(file, AttachmentCase)
    system = System(units)
    if compare:
        return _compare(case, fineness, system, as_json)
    report = evaluate(case, fineness=fineness, progress=progress())
    if drawing is not None:
        from takeup.documents.drawing import attachment_field

        drawing.write_text(attachment_field(report, system), "utf-8")
    judged, answer = report.judged, report.answer
    if as_json:
        emit(
            told(
                {
                    "headline": report.headline,
                    "places": judged.places,
                    "checks": judged.checks,
                    "grounds": judged.grounds,
                    "words": judged.words,
                    "remedies": judged.remedies,
                    "cautions": judged.cautions,
                    "ring": answer.ring,
                    "heat": answer.field.heat,
                    "imbalance": answer.field.imbalance,
                    "sources": answer.sources,
                }
            )
        )
        return 0
    click.echo(f"{case.name or case.kind.value}: {report.headline}")
    table(
        [
            (
                place.cut.name,
                plain(shown(place.cut.inside_temperature, "temperature", system)),
                plain(shown(place.cut.inside, "stress", system)),
                plain(shown(place.cut.outside, "stress", system)),
                plain(shown(place.cut.range, "stress", system)),
                f"{place.to_crack.low:.3g} to {place.to_crack.high:.3g}",
            )
            for place in judged.places
        ],
        ("place", "inside at", "inside", "outside", "range", "starts to a crack"),
    )
    for check in judged.checks:
        ratio = "" if check.ratio is None else f" {check.ratio:.2f}"
        click.echo(f"  {check.name}:{ratio} {check.outcome.value}. {check.because}")
    for one in (*judged.words, *judged.remedies):
        click.echo(f"  - {one}")
    for one in judged.cautions:
        click.echo(f"  caution: {one}")
    return 0


def _compare(case: AttachmentCase, fineness: float, system: System, as_json: bool) -> int:
    """The same pieces both ways."""
    from takeup.ageing.attachment_ways import both_ways
    from takeup.cli.telling import told
    from takeup.units import shown

    found = both_ways(case, fineness=fineness, progress=progress())
    ways = (found.welded, found.formed)
    cautions = tuple(dict.fromkeys(c for one in ways for c in one.report.judged.cautions))
    if as_json:
        rows = [
            {
                "kind": one.kind, "place": one.place, "range": one.range, "factor": one.factor,
                "examined": one.examined, "to_crack": one.to_crack,
                "checks": one.report.judged.checks,
            }
            for one in ways
        ]  # fmt: skip
        emit(told({"ways": rows, "words": found.words, "cautions": cautions}))
        return 0
    table(
        [
            (
                one.kind.value,
                one.place,
                plain(shown(one.range, "stress", system)),
                f"{one.factor[0]:g} to {one.factor[1]:g}",
                f"{one.to_crack.low:.3g} to {one.to_crack.high:.3g}",
            )
            for one in ways
        ],
        ("made as", "cracks first", "range", "weld factor", "starts to a crack"),
    )
    for words in found.words:
        click.echo(f"  - {words}")
    for words in cautions:
        click.echo(f"  caution: {words}")
    return 0


COMMANDS = (attachment,)
