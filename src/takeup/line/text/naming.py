"""Names of a text: fit to be told and drawn, each joint once, and the nearest to one not known."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Mapping

from takeup.line.text import forms as f
from takeup.line.text.positions import Path, line_of

SUPPORTS = ("anchor", "rest", "guide", "stop", "rod", "spring", "constant", "strut")
LONGEST_NAME = 80
"""Characters of a name."""
MOST_LISTED, MOST_COMPARED = 30, 60
"""Known names told, and those compared closely with one that is not known."""


def unfit(name: str) -> str:
    """Why a name cannot stand in tables and drawings; nothing where it can."""
    if not name.strip():
        return "is empty; give a name"
    if len(name) > LONGEST_NAME:
        return f"has a name of {len(name)} characters; give one of at most {LONGEST_NAME}"
    if not name.isprintable():
        return f"is named {name!a}, with signs that cannot be seen; leave them out"
    return ""


def near(name: str, known: Iterable[str]) -> str:
    """Words that offer the nearest known names."""
    names = list(known)
    if not names:
        return "none is known"
    listed = f"known: {', '.join(names[:MOST_LISTED])}" + (
        f" and {len(names) - MOST_LISTED} more" if len(names) > MOST_LISTED else ""
    )
    if len(names) > MOST_COMPARED:
        pairs = {name[k : k + 2] for k in range(len(name) - 1)} or {name}
        names.sort(key=lambda other: -sum(pair in other for pair in pairs))
        names = names[:MOST_COMPARED]
    found = difflib.get_close_matches(name, names, n=3, cutoff=0.4)
    return f"did you mean {' or '.join(found)}?" if found else listed


def every_name(form: f.LineForm) -> list[tuple[Path, str]]:
    """Every name that the text gives, and where."""
    found: list[tuple[Path, str]] = [(("line",), form.line)]
    found += [(("pipe", n, "name"), one.name) for n, one in enumerate(form.pipe)]
    found += [(("station", n, "name"), one.name) for n, one in enumerate(form.station)]
    found += [(("state", n, "name"), one.name) for n, one in enumerate(form.state)]
    found += [(("joint", n, "tag"), one.tag) for n, one in enumerate(form.joint)]
    for n, run in enumerate(form.run):
        found.append((("run", n, "start"), run.start))
        for k, leg in enumerate(run.legs):
            path: Path = ("run", n, "legs", k)
            found.append(((*path, "to"), leg.to))
            found += [((*path, "tangents"), name) for name in leg.tangents]
            found += [((*path, "rigid"), leg.rigid)] if leg.rigid is not None else []
    for kind in SUPPORTS:
        for n, one in enumerate(getattr(form, kind)):
            found += [((kind, n, "name"), one.name)] if one.name else []
    return found


def named(
    form: f.LineForm,
    known: Mapping[str, object],
    lines: dict[Path, int],
    say: Callable[..., None],
) -> None:
    """Names that can be told and drawn; joints that stand once and somewhere."""
    for path, name in every_name(form):
        wrong = unfit(name)
        if wrong:
            say(path, f"{path[-1]} {wrong}")
    placed: dict[str, Path] = {}
    for n, run in enumerate(form.run):
        if not run.legs:
            say(("run", n), "has no legs; give one or leave the run out", run.start)
        for k, leg in enumerate(run.legs):
            if leg.joint is None:
                continue
            path = ("run", n, "legs", k)
            if leg.joint in placed:
                say(
                    path,
                    f"joint {leg.joint!r} stands on the line already (line "
                    f"{line_of(lines, placed[leg.joint])}); give this one its own tag",
                    leg.to,
                )
            placed.setdefault(leg.joint, path)
    if not placed.keys() <= known.keys():
        return  # a leg names a joint that nobody knows: told there, once
    for n, one in enumerate(form.joint):
        if one.tag not in placed:
            say(
                ("joint", n),
                f"joint {one.tag!r} stands on no leg of a run; "
                + (near(one.tag, placed) if placed else 'write joint = "TAG" on a leg'),
            )
