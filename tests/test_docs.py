"""The manual says what the program does: pages regenerated, links, commands, limits, examples."""

from __future__ import annotations

import importlib.util
import re
import shlex
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import click
import pytest

from takeup.cli.app import load, verbs
from takeup.limits import defaults

ROOT = Path(__file__).parents[1]
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
WRITTEN = [page for page in PAGES if page.parent.name in {"walk", "how"}]


@pytest.fixture(scope="module")
def manual() -> ModuleType:
    """The generator of the look-up pages."""
    spec = importlib.util.spec_from_file_location("manual", ROOT / "scripts" / "manual.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def generated(manual: ModuleType) -> dict[str, str]:
    """The look-up pages as the program writes them now."""
    pages: dict[str, str] = manual.pages()
    return pages


def test_look_up_pages_are_up_to_date(generated: dict[str, str]) -> None:
    """The committed look-up pages are what scripts/manual.py writes; no other lies there."""
    folder = ROOT / "docs" / "lookup"
    committed = {path.name: path.read_text(encoding="utf-8") for path in folder.iterdir()}
    assert sorted(committed) == sorted(generated)
    stale = [name for name, text in generated.items() if committed[name] != text]
    assert stale == [], "run scripts/manual.py and commit docs/lookup"


def test_every_command_and_option_has_an_entry(generated: dict[str, str]) -> None:
    """Each verb is a heading of the page of commands, and each option stands under it."""
    sections = dict(
        part.split("\n", 1) for part in re.split(r"^## ", generated["commands.md"], flags=re.M)[1:]
    )
    for name, command in commands():
        assert name in sections
        for param in command.params:
            if isinstance(param, click.Option):
                assert f"`{', '.join(param.opts)}`" in sections[name], (name, param.opts)


def test_every_limit_has_an_entry(generated: dict[str, str]) -> None:
    """Each limit has a row of its own with its kind and source."""
    for limit in defaults().values():
        (row,) = [
            line
            for line in generated["limits.md"].splitlines()
            if line.startswith(f"| `{limit.id}` |")
        ]
        assert limit.limit_kind.value in row
        assert limit.source.standing.value in row


def test_every_table_field_and_check_item_has_an_entry(generated: dict[str, str]) -> None:
    """Each field of each kind of fact, and each check item, stands on its page."""
    from takeup.evidence import checklist
    from takeup.fields import specs
    from takeup.register.entities import KINDS

    for fact in KINDS.values():
        part = generated["tables.md"].split(f"## {fact.TITLE}\n", 1)[1].split("\n## ", 1)[0]
        for spec in specs(fact):
            assert f"| `{spec.name}` |" in part, (fact.KIND, spec.name)
    for item in checklist.items(None, None, None):
        assert f"| `{item.code}` |" in generated["check-items.md"]


def test_every_option_has_conditions_on_its_page(generated: dict[str, str]) -> None:
    """Each of the eight options is described with conditions."""
    from takeup.options.catalogue import OPTIONS

    for name in OPTIONS:
        part = generated["options.md"].split(f"## {name.value}\n", 1)[1].split("\n## ", 1)[0]
        assert "### Conditions" in part
        assert part.count("\n| `") >= 2


def test_every_clause_of_every_rule_set_has_a_row(generated: dict[str, str]) -> None:
    """Nine rule sets, each check of each with its clause, its standing and the provisional mark."""
    from takeup.bellows.model import Basis, Convolution
    from takeup.bellows.rules import rules_of

    page = generated["clauses.md"]
    for basis in Basis:
        for shape in Convolution:
            rules = rules_of(basis, shape)
            part = page.split(f"\n## {basis.value}, {shape.value}\n", 1)[1].split("\n## ", 1)[0]
            for family in (*rules.checks, "fatigue", "usage", "rate", "thrust", "creep"):
                source = rules.sources[family]
                mark = "no" if source.firm else "yes"
                (row,) = [x for x in part.splitlines() if f"| `{family}` |" in x]
                assert row.endswith(f"| {source.standing.value} | {mark} |"), row


def test_what_stays_the_users_names_fields_that_are_there(
    generated: dict[str, str], manual: ModuleType
) -> None:
    """Each field named as the user's own exists in the input of a bellows."""
    from takeup.bellows.model import BellowsCase, Condition

    known = {*BellowsCase.__struct_fields__, *Condition.__struct_fields__}
    for what, fields, *_ in manual.USER_SUPPLIED:
        assert what in generated["clauses.md"]
        for name in re.findall(r"`([^`]+)`", fields):
            assert name.rpartition(".")[2] in known, name
    for name in ("kg", "ctheta", "kr", "material_factor", "fatigue_curve"):
        assert any(f"`{name}`" in row[1] for row in manual.USER_SUPPLIED), name


def test_exit_codes_told_are_those_used(manual: ModuleType) -> None:
    """The page of exit codes names the codes that the command line leaves with."""
    from takeup.cli import app

    told = {code for code, _ in manual.EXITS}
    used = {
        app.EXIT_FAULT, app.EXIT_USAGE, app.EXIT_REFUSED, app.EXIT_CANCELLED, app.EXIT_UNEXPECTED,
    }  # fmt: skip
    assert told == used | {0}


def commands() -> Iterator[tuple[str, click.Command]]:
    """Every verb, and the verbs of verbs, by their words."""
    load()
    for name, command in verbs.commands.items():
        yield name, command
        if isinstance(command, click.Group):
            for inner, sub in command.commands.items():
                yield f"{name} {inner}", sub


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_links_resolve(page: Path) -> None:
    """Every link to a file of the repository leads to one, and every anchor to a heading."""
    text = re.sub(r"```.*?```", "", page.read_text(encoding="utf-8"), flags=re.S)
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if re.match(r"[a-z]+:", target):
            continue
        name, _, anchor = target.partition("#")
        found = (page.parent / name).resolve() if name else page
        assert found.exists(), target
        if anchor:
            heads = re.findall(r"^#+ (.+)$", found.read_text(encoding="utf-8"), flags=re.M)
            assert anchor in {
                re.sub(r"[^\w\- ]", "", head.casefold()).replace(" ", "-") for head in heads
            }, target


def shown() -> Iterator[tuple[str, list[str]]]:
    """Every line ``takeup ...`` in a code block of README or manual, as words."""
    for page in PAGES:
        if page.parent.name == "lookup":
            continue
        for block in re.findall(r"^ *```sh\n(.*?)```", page.read_text("utf-8"), flags=re.S | re.M):
            for line in block.splitlines():
                words = shlex.split(line, comments=True)
                if words[:1] == ["takeup"]:
                    yield f"{page.relative_to(ROOT)}: {line.strip()}", words[1:]


def test_there_are_commands_to_check() -> None:
    """The search for commands in code blocks finds those of the manual and of the front page."""
    found = list(shown())
    assert len(found) > 30
    assert any(place.startswith("README.md") for place, _ in found)


@pytest.mark.parametrize(("place", "words"), list(shown()))
def test_commands_shown_can_be_called_as_shown(place: str, words: list[str]) -> None:
    """Each command in a code block parses: the verb, its arguments, options and choices exist."""
    load()
    context = verbs.make_context("takeup", list(words), resilient_parsing=False)
    name, command, rest = verbs.resolve_command(context, [*context._protected_args, *context.args])
    assert command is not None
    inner = command.make_context(name, list(rest), parent=context)
    if isinstance(command, click.Group) and inner._protected_args:
        sub_name, sub, sub_rest = command.resolve_command(
            inner, [*inner._protected_args, *inner.args]
        )
        assert sub is not None
        sub.make_context(sub_name, list(sub_rest), parent=inner)


@pytest.mark.parametrize("page", WRITTEN, ids=lambda page: page.stem)
def test_one_sentence_a_line(page: Path) -> None:
    """Prose of the manual has one sentence a line, so that a change shows as a sentence."""
    text = re.sub(r"^ *```.*?```", "", page.read_text("utf-8"), flags=re.S | re.M)
    for line in text.splitlines():
        if line.startswith("|"):
            continue
        bare = re.sub(r"`[^`]*`", "x", line)
        bare = re.sub(r"^\s*\d+\. ", "", bare)
        assert not re.search(r"[a-z)]\. [A-Z]", bare), line


def test_every_page_of_the_manual_is_in_its_contents() -> None:
    """The front page of the manual leads to every page of walk, how and look-up."""
    front = (ROOT / "docs" / "README.md").read_text(encoding="utf-8")
    for page in (ROOT / "docs").rglob("*.md"):
        if page.parent.name in {"walk", "how", "lookup"}:
            assert f"({page.parent.name}/{page.name})" in front


def test_the_walk_goes_through_on_the_demo(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every command of the walk, run in its order, leaves with 0; only the server is not started."""
    from takeup.cli.app import call

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("takeup.web.server.serve", lambda *_: None)
    monkeypatch.setattr("takeup.desk.documents.write", lambda *_, **__: [])
    (tmp_path / "examples").symlink_to(ROOT / "examples")
    for place, words in shown():
        if place.startswith("docs/walk/demo.md"):
            quick = ["--effort", "0.05"] if words[0] in {"plan", "demo"} else []
            assert call([*words, *quick]) == 0, (place, capsys.readouterr().err)


def test_python_shown_in_the_manual_gives_what_it_says() -> None:
    """Every Python session in a code block runs as printed."""
    import doctest

    parser, found = doctest.DocTestParser(), 0
    for page in PAGES:
        text = "\n".join(
            re.findall(r"^```python\n(.*?)^```", page.read_text("utf-8"), flags=re.S | re.M)
        )
        if ">>>" not in text:
            continue
        found += 1
        test = parser.get_doctest(text, {}, page.name, str(page), 0)
        told: list[str] = []
        runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS)
        runner.run(test, out=told.append)
        assert runner.failures == 0, "".join(told)
    assert found
