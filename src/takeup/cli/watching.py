"""The watch over bellows temperatures: look, keep alerts, answer them."""

from __future__ import annotations

from pathlib import Path

import click

from takeup.cli.common import emit, json_option, opened, progress, site_option


@click.command()
@site_option
@click.option("--author", default="", help="Keep new alerts under this name; without, only look.")
@json_option
def watch(folder: Path, author: str, as_json: bool) -> int:
    """Judge every bellows temperature and say which ask for a person.

    One alert a cause stays open until somebody answers it ('takeup answer'). Exit code 1 where an
    urgent alert is open and not acknowledged, so that a scheduler can act on it.
    """
    from takeup.desk import watching
    from takeup.evidence.alerts import URGENT
    from takeup.evidence.facts import AlertState

    with opened(folder) as site:
        found = (
            watching.open_new(site, author) if author else watching.look(site, progress=progress())
        )
        causes = watching.causes(site, found)
    standing = [alert for one in found.histories for alert in one.standing]
    open_ = [one for one in (*standing, *found.new) if one.state == AlertState.OPEN]
    urgent = any(one.cause in URGENT for one in open_)
    if as_json:
        emit(
            {
                "today": found.today,
                "new": found.new,
                "standing": standing,
                "quiet": [alert for one in found.histories for alert in one.quiet],
                "causes": causes,
                "apart": {one.report.tag: one.apart for one in found.histories if one.apart},
                "look": {
                    f"{p.tag}, {p.kind.value}": p.look
                    for one in found.histories
                    for p in one.proposals
                },
            }
        )
        return 1 if urgent else 0
    for one in found.histories:
        for proposal in one.proposals:
            mark = "▲" if proposal.urgent else "•"
            click.echo(
                f"{mark} {proposal.joint} {proposal.tag}: {proposal.kind.value} since "
                f"{proposal.since}"
            )
            click.echo(f"    {proposal.why}")
            for words in proposal.look:
                click.echo(f"    look at: {words}")
        for cause in causes.get(one.report.tag, ()):
            click.echo(f"    by the wall's heat balance {cause.probability:.0%}: {cause.words}")
        for words in one.apart:
            click.echo(f"  {one.report.tag}: {words}")
    kept = "kept" if author else "not kept: give --author to keep them"
    click.echo(
        f"{len(found.histories)} histories, {len(found.new)} new alerts ({kept}), "
        f"{len(standing)} standing"
    )
    return 1 if urgent else 0


@click.command()
@click.argument("tag")
@click.argument("cause")
@site_option
@click.option("--author", required=True, help="Who answers.")
@click.option("--note", required=True, help="What was found or done.")
@click.option("--close", is_flag=True, help="Close it; without, it is acknowledged and stays.")
@json_option
def answer(
    tag: str, cause: str, folder: Path, author: str, note: str, close: bool, as_json: bool
) -> None:
    """Answer the open alert of TAG with CAUSE (as 'takeup watch' names it)."""
    from takeup.desk import watching

    with opened(folder) as site:
        made = watching.answer(site, tag, cause, author, note, close=close)
    if as_json:
        emit(made)
    else:
        click.echo(f"{made.tag}, {made.cause.value}: {made.state.value} by {made.by}")


COMMANDS = (watch, answer)
