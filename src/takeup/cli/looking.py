"""Verbs that only look: options, limits, history, verify, schema; and how results are shown."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from takeup.cli.common import author_option, emit, json_option, opened, plain, site_option, table

if TYPE_CHECKING:
    from takeup.assess.model import Verdict
    from takeup.plan.model import Plan
    from takeup.units import System


def show_verdict(verdict: Verdict, system: System) -> None:
    """Print one verdict with thrust, grounds and what is missing."""
    from takeup.units import shown

    click.echo(f"\n{verdict.joint}: {verdict.level.value} ({verdict.confidence.value})")
    click.echo(f"  {verdict.headline}")
    click.echo(f"  thrust held by {verdict.thrust.holder.value}: {verdict.thrust.why}")
    for name, pressure, force in verdict.thrust.forces:
        click.echo(
            f"    {name:<10} {plain(shown(pressure, 'pressure', system)):>10}  "
            f"{plain(shown(force, 'force', system)):>12}  {plain(shown(force, 'weight_force', system)):>10}"
        )
    for caution in verdict.thrust.cautions:
        click.echo(f"  ! {caution}")
    click.echo("  grounds")
    for ground in verdict.grounds:
        click.echo(f"    · {ground.claim}\n      by: {ground.rule} [{ground.source.cite()}]")
    for title, lines in (
        ("not known", verdict.missing),
        ("would change it", verdict.would_change),
        ("cautions", verdict.cautions),
    ):
        if lines:
            click.echo(f"  {title}")
            for line in lines:
                click.echo(f"    · {line}")
    click.echo(f"  inputs {verdict.inputs_hash[:16]}, version {verdict.version}")


def show_plan(plan: Plan) -> None:
    """Print a plan's choices, dates and schedule."""
    portfolio, schedule = plan.portfolio, plan.schedule
    table(
        [
            (
                c.joint,
                c.option.value,
                f"{c.cost / 1e3:,.0f}",
                f"{c.risk_cost / 1e3:,.0f}",
                c.second_best.value if c.second_best else "-",
                "-" if c.regret is None else f"{c.regret / 1e3:,.0f}",
            )
            for c in portfolio.choices
        ],
        ("joint", "option", "cost k", "risk k", "second best", "regret k"),
    )
    budget = "none" if portfolio.budget is None else f"{portfolio.budget / 1e3:,.0f} k"
    click.echo(
        f"\n{portfolio.status.value}; spent {portfolio.spent / 1e3:,.0f} k of {budget}; "
        f"cost plus risk {portfolio.objective / 1e3:,.0f} k, bound {portfolio.bound / 1e3:,.0f} k"
    )
    for late in portfolio.late:
        click.echo(f"late  {late.joint}: {late.words}")
    for words in (*portfolio.excluded, *portfolio.notes, *schedule.notes):
        click.echo(f"note  {words}")
    click.echo("\ndates")
    for m in plan.calendar:
        late_ = f"  LATE by {m.late_days} d" if m.late_days else ""
        joints = f"  ({', '.join(m.due_for)})" if m.due_for else ""
        click.echo(f"  {m.date.isoformat()}  {m.name}{joints}{late_}")
    if schedule.finish is not None:
        click.echo(
            f"\nschedule: {len(schedule.tasks)} tasks, finish {schedule.finish:%Y-%m-%d %H:%M}, "
            f"{schedule.makespan_hours:.0f} h, bound {schedule.bound_hours:.0f} h "
            f"({schedule.bound_why}); {schedule.status.value}"
        )
    for fault in schedule.faults:
        click.echo(f"fault {fault.words}")


@click.command()
@click.argument("joint")
@site_option
@json_option
def options(joint: str, folder: Path, as_json: bool) -> None:
    """Show all eight options of JOINT with their conditions."""
    from takeup.desk.dossier import dossier
    from takeup.errors import Refused

    with opened(folder) as site:
        found = dossier(site, joint)
        if not found.options:
            raise Refused(f"{joint} has not been assessed yet; run 'takeup assess' first")
        if as_json:
            emit(found.options)
            return
        for option in found.options:
            click.echo(f"\n{option.name.value}: {option.standing.value}. {option.why}")
            if option.cause_note:
                click.echo(f"  cause: {option.cause_note}")
            for condition in option.conditions:
                mark = {"met": "✓", "not met": "✗", "unknown": "?"}[condition.truth.value]
                click.echo(f"  {mark} {condition.text}: {condition.because}")
            click.echo(
                f"  cost {option.cost.likely / 1e3:,.0f} k ({option.cost.low / 1e3:,.0f} to "
                f"{option.cost.high / 1e3:,.0f}, class {option.cost.estimate_class}); "
                f"chain {option.chain_hours:.0f} h; {option.life_words}"
            )
            for caution in option.cautions:
                click.echo(f"  ! {caution}")


@click.group(invoke_without_command=True)
@site_option
@json_option
@click.pass_context
def limits(ctx: click.Context, folder: Path, as_json: bool) -> None:
    """List limits and defaults with what stands behind them; 'limits set' changes the site's own."""
    if ctx.invoked_subcommand is not None:
        return
    from takeup.desk.limits import current
    from takeup.units import shown

    with opened(folder) as site:
        found = current(site)
        if as_json:
            emit(list(found.values()))
            return
        table(
            [
                (
                    limit.id,
                    plain(shown(limit.value, limit.kind, site.system)),
                    limit.limit_kind.value,
                    "site" if limit.changed_by else "shipped",
                    limit.name,
                )
                for limit in found.values()
            ],
            ("limit", "value", "kind", "whose", "name"),
        )


@limits.command("set")
@click.argument("id")
@click.argument("value")
@click.option("--reason", required=True, help="Why.")
@author_option
@site_option
def limits_set(id: str, value: str, reason: str, author: str, folder: Path) -> None:
    """Set the site's own VALUE (with unit) of a rule of thumb."""
    from takeup.desk.limits import current, set_value
    from takeup.errors import TakeupError
    from takeup.units import parse, shown, symbol

    with opened(folder) as site:
        limit = current(site)[id]
        si = parse(value, limit.kind, symbol(limit.kind, site.system))
        if limit.editable and not limit.low <= si <= limit.high:
            words = [plain(shown(v, limit.kind, site.system)) for v in (si, limit.low, limit.high)]
            raise TakeupError(
                f"limit {id} ({limit.name}) cannot be {words[0]}; a site may set it from "
                f"{words[1]} to {words[2]}"
            )
        made = set_value(site, id, si, reason, author)
        click.echo(f"{made.name}: {plain(shown(made.value, made.kind, site.system))}")


@click.command()
@click.argument("joint", required=False)
@click.option("--most", type=int, default=30, show_default=True, help="How many.")
@site_option
@json_option
def history(joint: str | None, most: int, folder: Path, as_json: bool) -> None:
    """Show the newest changes of the register, or of JOINT."""
    from takeup.desk.dossier import history as of_joint

    with opened(folder) as site:
        if joint:
            from takeup.register.entities import Joint

            known = site.register().get(Joint, joint)
            found = of_joint(site, known.tag, most)
            if as_json:
                emit(found)
                return
            for change in found:
                click.echo(
                    f"{change.time:%Y-%m-%d %H:%M}  {change.author}  {change.kind} {change.key} "
                    f"r{change.revision}: {change.reason}"
                )
                for title, old, new in change.fields[:6]:
                    click.echo(f"    {title}: {old or '(new)'} → {new}")
            return
        changes = site.store.changes(most)
        if as_json:
            emit(changes)
            return
        for head in changes:
            click.echo(
                f"{head.time:%Y-%m-%d %H:%M}  {head.author}: {head.reason} ({head.facts} facts)"
            )


@click.command()
@site_option
@json_option
def verify(folder: Path, as_json: bool) -> int:
    """Recompute the chain of hashes of every revision, and look for loose references."""
    from takeup.register.snapshot import dangling

    with opened(folder) as site:
        faults = site.store.verify()
        register = site.register()
        loose = [
            f"{d.fact.ref}: {d.field} names {d.value!r}, which is not there"
            for d in dangling(register)
        ]
        faults = [*faults, *loose, *register.limit_faults()]
        if as_json:
            emit({"whole": not faults, "faults": faults})
            return 1 if faults else 0
        for fault in faults:
            click.echo(f"✗ {fault}")
        click.echo("the store is whole" if not faults else f"{len(faults)} faults")
    return 1 if faults else 0


@click.command()
@click.argument("name", required=False)
def schema(name: str | None) -> None:
    """Print the JSON Schema of an input file or table; without NAME, list them."""
    from takeup.cli.files import SCHEMAS, schema_of
    from takeup.errors import UnknownName

    if name is None:
        for known, words in SCHEMAS().items():
            click.echo(f"{known:<20} {words}")
        return
    if name not in SCHEMAS():
        raise UnknownName("schema", name, list(SCHEMAS()))
    import json

    click.echo(json.dumps(schema_of(name), indent=2, ensure_ascii=False))


COMMANDS = (options, limits, history, verify, schema)
