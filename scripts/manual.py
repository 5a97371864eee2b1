"""Write the look-up pages of the manual (docs/lookup) from the program itself.

``--check`` writes nothing and leaves with 1 when a page is not up to date.
"""

from __future__ import annotations

import datetime as dt
import re
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
FOLDER = ROOT / "docs" / "lookup"
MADE = "<!-- Written by scripts/manual.py; change the program, then run it again. -->"
TODAY = dt.date(2026, 1, 15)
"""The day for which the invented site is made where a page is written from it."""


def page(title: str, *parts: str) -> str:
    """A page with its title, the remark that it is generated, and its parts."""
    return "\n\n".join([f"# {title}", MADE, *(part for part in parts if part)]) + "\n"


def cell(text: object) -> str:
    """Text fit for a cell of a table."""
    return " ".join(str(text).split()).replace("|", "\\|") or "–"


def table(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A table in Markdown."""
    lines = [f"| {' | '.join(heads)} |", f"|{'---|' * len(heads)}"]
    lines += [f"| {' | '.join(cell(value) for value in row)} |" for row in rows]
    return "\n".join(lines)


def plain(text: str) -> str:
    """Plain spaces."""
    return text.replace("\u202f", " ").replace("\u00a0", " ")


def commands() -> str:
    """Every verb with its arguments and options."""
    import click

    from takeup.cli.app import load, verbs

    load()
    parts = [
        "Every verb of `takeup`, in the order of the job.",
        "Most work on a site: give `--site FOLDER`, set `TAKEUP_SITE`, or call them inside it.\n"
        "`takeup --debug VERB …` shows the traceback of an unexpected fault.",
    ]

    def tell(name: str, command: click.Command) -> None:
        context = click.Context(command, info_name=f"takeup {name}")
        usage = " ".join(command.collect_usage_pieces(context))
        text = (command.help or "").replace("\b", "").strip()
        paragraphs = [" ".join(p.split()) for p in text.split("\n\n") if "takeup assess" not in p]
        parts.append(f"## {name}")
        parts.append(f"```sh\ntakeup {name} {usage}\n```")
        parts.extend(paragraphs)
        rows = []
        for option in command.params:
            if not isinstance(option, click.Option):
                continue
            kind = option.type
            takes = (
                "" if option.is_flag
                else ", ".join(map(str, kind.choices)) if isinstance(kind, click.Choice)
                else option.make_metavar(context)
            )  # fmt: skip
            usual = option.show_default if isinstance(option.show_default, str) else ""
            if not usual and option.show_default and not option.is_flag:
                usual = str(option.default)
            words = (option.help or "") + (" Must be given." if option.required else "")
            rows.append((f"`{', '.join(option.opts)}`", takes, usual, words))
        if rows:
            parts.append(table(("option", "takes", "default", "what it does"), rows))
        if isinstance(command, click.Group):
            for inner, sub in command.commands.items():
                tell(f"{name} {inner}", sub)

    for name, command in verbs.commands.items():
        tell(name, command)
    return page("Commands", *parts)


EXITS = (
    (0, "done"),
    (1, "the input or the data is at fault: mend what the message names and try again"),
    (2, "the command was written wrongly: see `takeup VERB --help`"),
    (3, "refused, or nothing to do: the message says what would be allowed"),
    (70, "a fault of Takeup itself: run again with `--debug` before the verb and report it"),
    (130, "cancelled by you; nothing was changed"),
)


def exit_codes() -> str:
    """Exit codes for scripts."""
    return page(
        "Exit codes",
        "What `takeup` leaves with, for scripts.",
        table(("code", "meaning"), EXITS),
        "Results go to standard output, messages and progress to standard error.\n"
        "A reader that closes a pipe early, as `head` does, is not a fault.\n"
        "`takeup verify` leaves with 1 when the store is not whole.",
    )


def limits() -> str:
    """Limits and defaults with what stands behind them."""
    from takeup.limits import defaults
    from takeup.units import System, shown

    def both(value: float, kind: str) -> str:
        metric, us = (plain(shown(value, kind, system)) for system in (System.METRIC, System.US))
        return metric if metric == us else f"{metric} ({us})"

    rows = [
        (
            f"`{limit.id}`",
            limit.name,
            both(limit.value, limit.kind),
            f"{both(limit.low, limit.kind)} to {both(limit.high, limit.kind)}"
            if limit.editable
            else "not the site's to set",
            limit.limit_kind.value,
            limit.source.cite(),
            limit.help,
        )
        for limit in defaults().values()
    ]
    return page(
        "Limits and defaults",
        "Every limit that is not computed, as shipped.\n"
        "A site sets its own value of a rule of thumb with `takeup limits set`; "
        "a code or published limit cannot be set.\n"
        "How: [add or change a limit](../how/limits.md).",
        table(("id", "name", "shipped value", "a site may set", "kind", "source", "note"), rows),
    )


def tables() -> str:
    """Every table of the register with its fields."""
    from takeup.fields import specs
    from takeup.register.entities import KINDS
    from takeup.units import KINDS as QUANTITIES

    parts = [
        "Every table of the register: the sheets of the workbook, the CSV files, "
        "the kinds of `takeup record facts` and the forms of the app.",
        "Inside Takeup and in JSON all values are SI.\n"
        "Workbook, CSV and forms show the unit of the site.\n"
        "An empty cell means unknown; it is never read as zero.",
    ]
    for kind, fact in KINDS.items():
        rows = []
        for spec in specs(fact):
            quantity = QUANTITIES.get(spec.kind)
            unit = ""
            if quantity is not None:
                names = [part for part in (quantity.metric.symbol, quantity.us.symbol) if part]
                unit = f"{quantity.si}; {' or '.join(dict.fromkeys(names))}" if names else ""
            span = " and ".join(
                f"{sign} {value:g}"
                for sign, value in ((">", spec.gt), ("≥", spec.ge), ("<", spec.lt), ("≤", spec.le))
                if value is not None
            )
            takes = ", ".join(spec.choices) if spec.choices else spec.type
            if spec.refers:
                takes += f", names a {spec.refers.replace('_', ' ')}"
            need = "key" if spec.key else "" if spec.optional else "needed"
            rows.append((f"`{spec.name}`", spec.title, takes, unit, span, need, spec.help))
        parts.append(f"## {fact.TITLE}\n\nTable `{kind}`; key: {', '.join(fact.KEY)}.")
        heads = ("field", "title", "takes", "unit: SI; shown as", "span (SI)", "", "help")
        parts.append(table(heads, rows))
    return page("Tables and fields", *parts)


def report_ids() -> str:
    """Every figure and check of a bellows report, found on worked cases."""
    import msgspec

    from takeup.bellows import evaluate
    from takeup.bellows.model import Basis, BellowsCase
    from takeup.desk.calculate import examples
    from takeup.units import KINDS as QUANTITIES

    case = msgspec.json.decode((ROOT / "examples" / "bellows.json").read_bytes(), type=BellowsCase)
    figures: dict[str, tuple[Any, ...]] = {}
    checks: dict[str, tuple[Any, ...]] = {}

    def general(id: str) -> str:
        return id.partition("@")[0] + ("@*" if "@" in id else "")

    shapes = (case, *examples().values())
    for one in (msgspec.structs.replace(c, basis=basis) for c in shapes for basis in Basis):
        report = evaluate(one)
        for f in report.figures:
            kind = QUANTITIES.get(f.kind)
            figures.setdefault(
                general(f.id), (f.name, f.symbol, kind.si if kind else "", f.source.at)
            )
        for c in report.checks:
            checks.setdefault(general(c.id), (c.name, c.symbol, c.limit_kind.value, c.source.at))
    return page(
        "Nomenclature of a bellows report",
        "Ids as they stand in `takeup bellows FILE --json`; `*` stands for the name of a "
        "condition or a movement.\n"
        "Symbols are those of the standards; all values in JSON are SI.",
        "## Figures",
        table(
            ("id", "name", "symbol", "SI", "place"),
            ((f"`{id}`", *rest) for id, rest in figures.items()),
        ),
        "## Checks",
        table(
            ("id", "name", "symbol", "kind", "place"),
            ((f"`{id}`", *rest) for id, rest in checks.items()),
        ),
    )


USER_SUPPLIED = (
    ("Kg, fatigue strength reduction", "`kg`", "all",
     "1, with a caution that convolutions are smooth and without circumferential welds"),
    ("Cθ, column squirm lowered by an initial rotation", "`ctheta`", "all",
     "1, with a caution where an angle is given"),
    ("Kr, stress raised by a pitch that movement opens", "`kr`", "EJMA", "1, with a note"),
    ("fc, material factor of the mean curve", "`material_factor`", "EJMA mean curve, in all",
     "1 for austenitic metal; for nickel alloys mean cycles are not given"),
    ("fatigue curve of the standard", "`fatigue_curve`", "EN 13445-3",
     "fatigue and damage sum are not evaluated"),
    ("design stress f of the standard", "`conditions[].allowable_stress`", "EN 13445-3",
     "a lower bound: a check that it meets is met, one that it does not meet stays open"),
    ("yield strength of the finished bellows", "`yield_strength`", "all",
     "from the tables by the factors of the rule set; a lower bound where there is no table"),
    ("metal and stress of ring fasteners", "`fastener_material`, `fastener_allowable`",
     "all, reinforced", "stress of fasteners is not evaluated"),
    ("life in the creep range", "no field", "all",
     "the result is marked not valid, no number of cycles is given, and creep has to be assessed "
     "by someone else"),
    ("buckling of a torus under external pressure", "no field", "all, toroidal",
     "not evaluated"),
)  # fmt: skip
"""(what, field of the input, rule sets, what happens without it)."""
_BELLOWS_PLACES = {
    "geometry": "geometry and nomenclature",
    "length": "limit: convoluted length",
    "thickness": "limit: wall thickness",
    "limits": "limits of the shape",
    "charts": "coefficients",
    "ring_ratio": "force ratio of ring and bellows",
    "Cr": "ring contact factor",
    "e": "movement range per convolution",
    "ends": "end conditions in column squirm",
    "pressure_limit": "largest pressure at which every check holds",
    "rate": "rates",
    "thrust": "effective area and thrust",
    "usage": "sum of fatigue damage",
    "mean": "mean cycles in tests",
    "creep": "limit: creep range",
}


def coverage() -> str:
    """Every clause of every rule set, how we came by it, and what stays the user's to give."""
    from takeup.bellows.rules import asme_viii_1_app26, ejma, en_13445
    from takeup.sources import Standing

    modules = (asme_viii_1_app26, ejma, en_13445)
    sets = [rules for module in modules for rules in module.RULES]
    parts = [
        "What the bellows engine computes, clause by clause, and how Takeup came by each.",
        "*Provisional* marks what rests on less than a source read, confirmed numerically, derived "
        "here or supported by an independent check.\n"
        "Every result that such a clause enters carries the mark, in reports, pages and "
        "dossiers.\n"
        "Nothing here replaces the edition of the code that governs your plant.",
        "Standings: " + "; ".join(standing.value for standing in Standing) + ".",
        "## Nine rule sets",
    ]
    summary, details = [], []
    for rules in sets:
        rows = list(_clauses(rules))
        open_ = sum(not source.firm for _, _, source in rows)
        heading = f"{rules.basis.value}, {rules.convolution.value}"
        anchor = re.sub(r"[^\w\- ]", "", heading.casefold()).replace(" ", "-")
        summary.append((f"[{heading}](#{anchor})", len(rows), open_, rules.valid))
        details.append(f"## {heading}\n\nValid for: {rules.valid}.")
        details.append(
            table(
                ("check or figure", "id", "document", "clause", "standing", "provisional"),
                (
                    (
                        words,
                        f"`{name}`",
                        ", ".join(x for x in (source.document, source.edition) if x),
                        source.at,
                        source.standing.value,
                        "no" if source.firm else "yes",
                    )
                    for name, words, source in rows
                ),
            )
        )
        details.extend(rules.notes)
    parts.append(table(("rule set", "clauses", "of these provisional", "valid for"), summary))
    parts.append("## What stays yours to give")
    parts.append(
        "Takeup holds no confirmed value of these and never lets a remembered one decide.\n"
        "A result that rests on a value you gave says so."
    )
    parts.append(table(("what", "field", "rule sets", "without it"), USER_SUPPLIED))
    return page("Clauses computed", *parts, *details)


def _clauses(rules: Any) -> Iterable[tuple[str, str, Any]]:
    """(id, words, source) of every clause that a rule set uses for its shape."""
    from takeup.bellows.model import Convolution

    torus = rules.convolution == Convolution.TOROIDAL
    shown = {*rules.checks, "S3", "S5", "S6", "St", "fatigue", "external"}
    shown |= set() if torus else {"S4"}
    if torus:
        shown -= {"external"}
    for name, source in rules.sources.items():
        base, _, more = name.partition(" ")
        if base in rules.names:
            if base not in shown:
                continue
            words = rules.names[base]
            if more:
                words += f": {more}"
            elif base in rules.checks or base in {"fatigue", "external"}:
                words += " (check)"
        else:
            words = _BELLOWS_PLACES[base]
        yield name, words, source


def check_items() -> str:
    """The check lists of the walks."""
    from takeup.evidence import checklist
    from takeup.units import KINDS as QUANTITIES

    parts = [
        "What to look at, how, what is accepted and how bad it is otherwise.\n"
        "Grades: 0 as drawn, 1 record, 2 watch and trend, 3 act this outage, 4 act now.\n"
        "**Keep back from a joint that is hot and under pressure; "
        "the sheets say at each item from where to look.**",
    ]
    by_area: dict[str, list[checklist.CheckItem]] = {}
    for item in checklist.items(None, None, None):
        by_area.setdefault(str(item.area.value), []).append(item)
    for area, items in by_area.items():
        rows = []
        for item in items:
            only = ", ".join((*item.types, *(f"{wall} wall" for wall in item.walls)))
            kind = QUANTITIES.get(item.kind)
            takes = item.answer.value + (f" ({kind.metric.symbol})" if kind else "")
            rows.append(
                (
                    f"`{item.code}`", item.title, ", ".join(k.value for k in item.kinds),
                    only or "all", item.look, item.how, item.accept, item.worse, item.grade,
                    item.next, takes, item.source.cite(),
                )
            )  # fmt: skip
        parts.append(f"## {area}")
        heads = (
            "code", "title", "visits", "joints", "look at", "how", "accepted", "else", "worst",
            "next", "answer", "source",
        )  # fmt: skip
        parts.append(table(heads, rows))
    return page("Check items", *parts)


def options() -> str:
    """The eight options: conditions and tasks as they stand for the joints of the demo."""
    from takeup.demo import facts
    from takeup.options import catalogue
    from takeup.options.model import Option

    conditions: dict[str, dict[str, tuple[str, ...]]] = {n.value: {} for n in catalogue.OPTIONS}
    tasks: dict[str, dict[str, tuple[object, ...]]] = {n.value: {} for n in catalogue.OPTIONS}
    cautions: dict[str, dict[str, None]] = {n.value: {} for n in catalogue.OPTIONS}
    for option in _demo_options(facts):
        assert isinstance(option, Option)
        name = option.name.value
        for c in option.conditions:
            old = conditions[name].get(c.id)
            does = "blocks" if c.essential else "caution"
            if old is not None and does not in old[1]:
                does = "blocks or caution, by what is known"
            elif old is not None:
                does = old[1]
            conditions[name][c.id] = (
                old[0] if old else c.text, does, c.limit_kind.value, c.source.cite(),
            )  # fmt: skip
        for t in option.tasks:
            tasks[name].setdefault(
                t.id.rsplit("/", 1)[-1],
                (t.name, t.crew.value if t.crew else "none", "yes" if t.before_outage else ""),
            )
        for words in option.cautions:
            cautions[name].setdefault(words)
    parts = [
        "Every joint always gets all eight options; conditions say which are open.\n"
        "A condition is met, not met or unknown; unknown never counts as met.\n"
        "Conditions and tasks below are those that occur on the joints of the invented demo site.",
    ]
    for name, known in conditions.items():
        parts.append(f"## {name}")
        parts.append("### Conditions")
        parts.append(
            table(
                ("id", "condition", "when not met", "kind", "source"),
                ((f"`{id}`", *rest) for id, rest in sorted(known.items())),
            )
        )
        if tasks[name]:
            parts.append("### Tasks")
            parts.append(
                table(
                    ("id", "task", "crew", "before the outage"),
                    ((f"`{id}`", *rest) for id, rest in sorted(tasks[name].items())),
                )
            )
        general = [words for words in cautions[name] if "EJ-" not in words]
        if general:
            parts.append("### Cautions")
            parts.append("\n".join(f"- {words}" for words in sorted(general)))
    return page("Options", *parts)


def _demo_options(facts: Any) -> list[Any]:
    import tempfile

    from takeup.assess.verdict import assess
    from takeup.demo.create import create
    from takeup.desk.cases import cases
    from takeup.options import catalogue

    with (
        tempfile.TemporaryDirectory() as scratch,
        create(Path(scratch) / "demo", today=TODAY) as site,
    ):
        gathered = cases(site, today=TODAY)
        verdicts = {verdict.joint: verdict for verdict in assess(gathered)}
        return [
            option
            for case in gathered
            for option in catalogue.options(case, verdicts[case.joint.tag])
        ]


def schemas() -> str:
    """Input files with their schema and example."""
    from takeup.cli.files import SCHEMAS

    examples = {
        "bellows": ("bellows.toml", "bellows.json"),
        "as-found": ("as-found.toml",),
        "hardware": ("hardware.toml",),
        "attachment": ("attachment.toml",),
        "metal": ("metal.toml",),
        "size": ("size.toml",),
        "uncertainty": ("uncertainty.toml",),
        "interply": ("interply.json",),
        "survival": ("survival.json",),
        "line-text": ("line.toml",),
        "line-readings": ("line-readings.toml",),
    }
    rows = [
        (
            f"`takeup schema {name}`",
            words,
            ", ".join(f"[{one}](../../examples/{one})" for one in examples.get(name, ())),
        )
        for name, words in SCHEMAS().items()
    ]
    return page(
        "Input files and schemas",
        "`takeup schema NAME` prints a JSON Schema; values are SI, and `x-unit` names the unit.\n"
        "Input of a verb is TOML or JSON, and a value with a unit may be text that carries it "
        '(`"219 mm"`, `"0.1 MPa"`, `"200 C"`; `x-text-units` lists them).\n'
        '`takeup record facts FILE` takes `{"kind": [{…}, …]}` with the kinds below: '
        "[facts.json](../../examples/facts.json).\n"
        "`takeup temperature FILE` and `takeup record temperature FILE` take CSV or Parquet with "
        "a column of times and one of values: [temperature.csv](../../examples/temperature.csv).",
        table(("command", "what", "example"), rows),
    )


PAGES = {
    "commands": commands,
    "exit-codes": exit_codes,
    "limits": limits,
    "tables": tables,
    "bellows-report": report_ids,
    "clauses": coverage,
    "check-items": check_items,
    "options": options,
    "schemas": schemas,
}


def pages() -> dict[str, str]:
    """Every generated page by file name."""
    return {f"{name}.md": make() for name, make in PAGES.items()}


def main() -> int:
    """Write the pages, or with ``--check`` compare them."""
    stale = []
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, text in pages().items():
        path = FOLDER / name
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            stale.append(name)
            if "--check" not in sys.argv:
                path.write_text(text, encoding="utf-8")
    print(("stale: " if "--check" in sys.argv else "wrote: ") + (", ".join(stale) or "none"))
    return 1 if stale and "--check" in sys.argv else 0


if __name__ == "__main__":
    raise SystemExit(main())
