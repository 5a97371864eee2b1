"""The verbs of attachments on hot pipe: worked out without a site, or kept with a joint."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from takeup.cli.common import (
    author_option,
    emit,
    json_option,
    plain,
    progress,
    site_option,
    table,
)

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
    from takeup.ageing.attachment import spanned
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
                spanned(one.to_crack),
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


@click.command("attachments-of")
@click.argument("tag")
@click.option(
    "--run",
    "items",
    multiple=True,
    metavar="ITEM",
    help="Work this one out first and keep the result; may be given again.",
)
@click.option("--draft", metavar="ITEM", help="Only print a text to begin this one with.")
@site_option
@json_option
def attachments_of(
    tag: str, items: tuple[str, ...], draft: str | None, folder: Path, as_json: bool
) -> None:  # fmt: skip
    """Rings and cones on hot pipe of joint TAG: what is kept, worked out, out of date, asked for.

    The result of each is kept with the hash of its input and used by the verdict while that stands.
    """
    from takeup.cli.common import opened
    from takeup.cli.telling import told
    from takeup.desk import attachments
    from takeup.desk.cases import cases

    with opened(folder) as site:
        if draft is not None:
            attachments.model(site, tag, draft)
            click.echo(attachments.draft(site, tag, draft), nl=False)
            return
        for item in items:
            attachments.run(site, tag, item, progress=progress())
        (case,) = cases(site, tags=[tag], theory=False)
        found = attachments.items(site, case)
    if as_json:
        emit(
            told(
                [
                    {
                        "item": one.item, "title": one.title, "kept": one.model is not None,
                        "attached": one.attached,
                    }
                    for one in found
                ]
            )
        )  # fmt: skip
        return
    if not found:
        click.echo(f"{case.joint.tag} has no ring on record and no hot wall.")
    for one in found:
        state = "nothing kept yet" if one.attached is None else one.attached.state.value
        click.echo(f"{one.title} ({one.item}): {state}")
        if one.attached is None:
            continue
        if one.attached.headline:
            click.echo(f"  {one.attached.headline}")
        for words in one.attached.starts.words:
            click.echo(f"  starts: {words}")
        for words in (*one.attached.faults, *one.attached.starts.missing):
            click.echo(f"  ! {words}")
        for words in one.attached.asked:
            click.echo(f"  asked for: {words}")
        judged = one.attached.judged
        for words in (*one.attached.cautions, *(judged.cautions if judged else ())):
            click.echo(f"  caution: {words}")


@click.command("keep-attachment")
@click.argument("tag")
@click.argument("item")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--reason", default="attachment on hot pipe kept", help="Kept with the change.")
@author_option
@site_option
@json_option
def keep_attachment(
    tag: str, item: str, file: Path, reason: str, author: str, folder: Path, as_json: bool
) -> None:
    """Keep FILE (TOML) as ring ITEM, or the cones, of joint TAG; what lacks is told."""
    from takeup.cli.common import opened
    from takeup.cli.files import read_bytes
    from takeup.cli.telling import told
    from takeup.desk import attachments
    from takeup.errors import BadFile

    try:
        text = read_bytes(file).decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise BadFile(f"{file} is not UTF-8 text: {fault}") from fault
    with opened(folder) as site:
        kept = attachments.keep(site, tag, item, text, author, reason)
    if as_json:
        emit(told({"whole": kept.case is not None, "asked": kept.asked, "faults": kept.faults}))
        return
    click.echo(f"Kept {attachments.titled(tag, item)}.")
    for words in kept.faults:
        click.echo(f"  ! {words}")
    for words in kept.asked:
        click.echo(f"  asked for: {words}")


COMMANDS = (attachment, attachments_of, keep_attachment)
"""The verbs of this module."""
