"""The verb of attachments on hot pipe: worked out without a site."""

from __future__ import annotations

from pathlib import Path

import click

from takeup.cli.common import emit, json_option, plain, progress, table


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--fineness", type=click.FloatRange(0.5, 4.0), default=1.0, show_default=True,
              help="Of the mesh: 2 has twice as many elements each way.")  # fmt: skip
@click.option("--units", type=click.Choice(["metric", "us"]), default="metric", show_default=True)
@click.option("--drawing", type=click.Path(path_type=Path), help="Write the section as SVG here.")
@json_option
def attachment(
    file: Path, fineness: float, units: str, drawing: Path | None, as_json: bool
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


COMMANDS = (attachment,)
