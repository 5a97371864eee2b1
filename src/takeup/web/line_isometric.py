"""The drawing of a line on a page: on paper for all, and to turn about where a script may run."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple
from urllib.parse import quote

import msgspec
from markupsafe import Markup

from takeup.checks import Check
from takeup.documents.drawing import WEB, Scene, isometric, scene
from takeup.errors import TakeupError
from takeup.units import System, shown

if TYPE_CHECKING:
    from takeup.desk.line_used import Used
    from takeup.line.model import Line
    from takeup.line.solve import StateResult


class Drawn(NamedTuple):
    """A line as drawn for a page."""

    paper: str
    """SVG of one state; empty where it cannot be drawn"""
    paper_before: str
    """The same of the line before a change"""
    scene: Scene | None
    json: Markup
    """The scene for the script"""
    state: str


def drawn(
    line: Line,
    results: Sequence[StateResult] = (),
    *,
    state: str = "",
    checks: Sequence[Check] = (),
    before: tuple[Line, Sequence[StateResult]] | None = None,
    gone: Sequence[str] = (),
    said: Mapping[str, Sequence[tuple[str, ...]]] | None = None,
    links: Mapping[str, Sequence[tuple[str, str]]] | None = None,
    system: System,
) -> Drawn:
    """Draw ``line`` both ways; a line that hangs nowhere together is told by its faults."""
    result = next((one for one in results if one.state == state), None)
    try:
        standing = _without(line, gone)
        paper = isometric(standing, result, checks=checks, system=system, palette=WEB)
        past = ""
        if before is not None:
            then = next((one for one in before[1] if one.state == state), None)
            past = isometric(before[0], then, system=system, palette=WEB)
        found = scene(line, results, checks=checks, before=before, gone=gone, said=said,
                      links=links, system=system)  # fmt: skip
    except TakeupError:
        return Drawn("", "", None, Markup(), state)
    return Drawn(paper, past, found, in_page(found), state)


def _without(line: Line, gone: Sequence[str]) -> Line:
    kept = tuple(one for one in line.supports if one.name not in gone)
    return msgspec.structs.replace(line, supports=kept) if gone else line


def in_page(found: Scene) -> Markup:
    """A scene as JSON that cannot end the script element it stands in."""
    text = msgspec.json.encode(found).decode().replace("<", "\\u003c").replace(">", "\\u003e")
    return Markup(text)


def boxed_in(line: str, tag: str) -> str:
    """The address that asks what happens if a joint is boxed in, through the next cycle."""
    name = quote(tag, safe="")
    there = f"/lines/{quote(line, safe='')}/what-if"
    return f"{there}?joint:{name}:do=lock&next_cycle=yes"


def where_else(line: str, tags: Iterable[str]) -> dict[str, list[tuple[str, str]]]:
    """What can be asked of each joint of the register from its place in the drawing."""
    base = f"/lines/{quote(line, safe='')}"
    found: dict[str, list[tuple[str, str]]] = {}
    for tag in tags:
        name = quote(tag, safe="")
        found[tag] = [
            ("Everything about this joint", f"/joints/{name}"),
            ("What if it is boxed in?", boxed_in(line, tag)),
            ("Can it be designed out?", f"{base}/design-out?joint={name}"),
        ]
    return found


def use_of(used: Iterable[Used], system: System) -> dict[str, list[tuple[str, ...]]]:
    """Movement against design, as rows beside a joint's numbers."""
    found: dict[str, list[tuple[str, ...]]] = {}
    for one in used:
        for check in (*one.rated, *one.bears):
            words = check.name.replace(f" of {one.joint}", "").partition(",")[0]
            if check.ratio is None:
                value = check.outcome.value
            else:
                value = f"{check.ratio:.2f} of {shown(check.capacity, check.kind, system)}"
            found.setdefault(one.joint, []).append((f"cold to hot: {words[0].lower()}{words[1:]}",
                                                    value))  # fmt: skip
        if one.asked:
            found.setdefault(one.joint, []).append(("against design", one.asked))
    return found
