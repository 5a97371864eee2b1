"""Designing a joint out: plain alternatives searched on the model of its line, kept with grounds."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import msgspec

from takeup import __version__
from takeup.checks import Check, Outcome
from takeup.desk import lines
from takeup.desk.results import pack, unpack
from takeup.errors import Refused, UnknownName
from takeup.line.alternatives import Instead
from takeup.line.model import Anchor, Guide, Joint, Line, Rest, Stop, VariableSpring, Vector
from takeup.line.telling import Tell, si_words
from takeup.progress import Progress, silent

if TYPE_CHECKING:
    from takeup.desk.site import Site
    from takeup.line.design_out import Judged

KIND, TASK = "design out", "design out task"
"""Kinds under which searches and what they were asked are kept."""
MOST = 30.0
"""Longest leg that is searched [m]; a longer loop is a new route."""
WAYS: dict[str, Vector] = {
    "east": (1.0, 0.0, 0.0), "west": (-1.0, 0.0, 0.0), "north": (0.0, 1.0, 0.0),
    "south": (0.0, -1.0, 0.0), "up": (0.0, 0.0, 1.0), "down": (0.0, 0.0, -1.0),
}  # fmt: skip
PLAIN = (
    "This is a search over simple alternatives, not a design: pipe in the joint's place, loops in "
    "the straight run around it, the run between two bends shifted sideways, guides let go or "
    "moved, springs for rests. Other routes, joints of another kind and changes of the process are "
    "not tried.",
    "What is said of a leg by the closed form of a guided cantilever is a first look, with all "
    "growth of the run on that leg and without the bend's factor; the solved line decides.",
)
TRAVEL = 0.15
"""Travel given to a spring that is tried, both ways [m]; its make is chosen afterwards."""


class Task(msgspec.Struct, frozen=True, kw_only=True):
    """What a search is asked."""

    line: str
    joint: str
    largest: float
    """Longest leg of a loop, or furthest shift of the run, there is room for [m]"""
    ways: tuple[str, ...] = ()
    """Where a loop or a shift may go, of :data:`WAYS`; none: all across the pipe"""
    kept: tuple[str, ...] = ()
    """Guides and stops that must stay"""
    rates: tuple[float, ...] = ()
    """Rates of variable springs at hand to stand in place of rests [N/m]"""


class Tried(msgspec.Struct, frozen=True, kw_only=True):
    """One alternative and how it stands."""

    words: str
    standing: str
    """holds, not met, open or not solved"""
    worst: str
    """Check nearest to or furthest beyond its limit"""
    ratio: float | None
    because: str
    """What stands against it: checks not met, left open, or why it was not solved"""
    pipe_added: float
    """[m]"""
    elbows: int
    text: str
    """The line as it would be, as text"""
    screen: str = ""
    """What the closed form says of the legs beside the run: a first look"""


class Found(msgspec.Struct, frozen=True, kw_only=True):
    """What a search found."""

    task: Task
    tried: tuple[Tried, ...]
    best: int | None
    """Number of the one to look at first: that holds, or that nothing is known against"""
    holds: bool
    """Whether that one meets every limit"""
    words: tuple[str, ...]
    cautions: tuple[str, ...]
    now: str
    """How the line stands with the joint in it"""


def checks_of(line: Line) -> tuple[Check, ...]:
    """Every check that decides an alternative: the code's, loads, travels; unknown limits open.

    Raises :class:`takeup.errors.Refused` where a state does not balance and as
    :func:`takeup.line.solve.solve`.
    """
    from takeup.line.results import judge
    from takeup.line.solve import prepare, solve
    from takeup.line.supports import without_limit

    cold, hot = _roles(line)
    ready = prepare(line)
    results = solve(ready)
    poor = [one.state for one in results if not one.certificate.good]
    if poor:
        raise Refused(f"state {poor[0]!r} does not balance well enough to be judged")
    return (*judge(ready, results, cold=cold, hot=hot).checks, *without_limit(line, anchors=True))


def _roles(line: Line) -> tuple[str, str]:
    cold = next((s.name for s in line.states if s.role == "cold"), "")
    hot = next((s.name for s in reversed(line.states) if s.role == "hot"), "")
    if not cold or not hot:
        raise Refused(
            "alternatives are judged between two states: give one state of the model the role "
            "cold and one the role hot"
        )
    return cold, hot


def search(line: Line, task: Task, *, tell: Tell = si_words, progress: Progress = silent) -> Found:
    """Try what ``task`` allows on ``line``; ``tell`` says lengths and rates in words.

    Raises :class:`takeup.errors.UnknownName` for what is not on the line and
    :class:`takeup.errors.Refused` for limits that make no search.
    """
    from takeup.line.design_out import design_out
    from takeup.line.text import write

    _sound(line, task)
    before = checks_of(line)
    ways = [WAYS[name] for name in task.ways] or None
    found = design_out(
        line,
        task.joint,
        checks_of,
        largest=task.largest,
        directions=_across(line, task.joint, ways) if ways else None,
        may_go=[one.name for one in _loose(line) if one.name not in task.kept],
        instead=_springs(line, task.rates, tell),
        tell=tell,
        progress=progress,
    )
    first = found.best or found.undecided
    return Found(
        task=task,
        tried=tuple(_tried(one, write) for one in found.judged),
        best=None if first is None else found.judged.index(first),
        holds=found.best is not None,
        words=found.words,
        cautions=(*PLAIN, *_unjudged(line), *found.cautions),
        now=_now(before),
    )


def _sound(line: Line, task: Task) -> None:
    tags = [piece.tag for piece in line.pieces if isinstance(piece, Joint)]
    if task.joint not in tags:
        raise UnknownName(f"joint on line {line.tag}", task.joint, tags)
    for name in task.ways:
        if name not in WAYS:
            raise UnknownName("direction", name, list(WAYS))
    names = [one.name for one in _loose(line)]
    for name in task.kept:
        if name not in names:
            raise UnknownName("guide or stop", name, names)
    if not 0.0 <= task.largest <= MOST:
        raise Refused(
            f"the longest leg is {task.largest:g} m; it must lie between 0 (no loop) and {MOST:g} m"
        )
    if any(not rate > 0.0 for rate in task.rates):
        raise Refused("a spring rate must be more than zero")


def _loose(line: Line) -> list[Guide | Stop]:
    return [one for one in line.supports if isinstance(one, (Guide, Stop))]


def loose(line: Line) -> tuple[str, ...]:
    """Guides and stops of a line: those beside the joint may be let go."""
    return tuple(one.name for one in _loose(line))


def _across(line: Line, tag: str, ways: Sequence[Vector]) -> list[Vector]:
    """Those directions that go across the pipe at the joint, square to it."""
    import numpy as np

    joint = next(p for p in line.pieces if isinstance(p, Joint) and p.tag == tag)
    places = {station.name: np.array(station.position) for station in line.stations}
    along = places[joint.end] - places[joint.start]
    along = along / np.linalg.norm(along)
    found: list[Vector] = []
    for way in ways:
        square = np.array(way) - along * float(along @ np.array(way))
        size = float(np.linalg.norm(square))
        if size > 0.5:
            east, north, up = (square / size).tolist()
            found.append((east, north, up))
    if not found:
        raise Refused("none of these directions goes across the pipe at the joint: choose others")
    return found


def _springs(line: Line, rates: Sequence[float], tell: Tell) -> list[Instead]:
    """Springs of each rate at hand in place of all rests, set to what those carry when cold."""
    from takeup.line.solve import prepare, solve

    rests = [one for one in line.supports if isinstance(one, Rest)]
    if not rates or not rests:
        return []
    cold, _ = _roles(line)
    result = next(one for one in solve(prepare(line)) if one.state == cold)
    found = []
    for rate in rates:
        springs = tuple(
            VariableSpring(
                name=one.name,
                station=one.station,
                rate=rate,
                load=max(0.0, -result.reaction(one.name).force[2]),
                travel_up=TRAVEL,
                travel_down=TRAVEL,
            )
            for one in rests
        )
        words = f"springs of {tell(rate, 'axial_rate')} in place of {_listed(springs)}"
        found.append(Instead(words=words, supports=springs))
    return found


def _listed(springs: Sequence[VariableSpring]) -> str:
    names = [one.name for one in springs]
    return ", ".join(names) if len(names) <= 3 else f"{len(names)} rests"


def _tried(one: Judged, write: Callable[[Line], str]) -> Tried:
    worst = one.worst
    if one.fault:
        standing, because = "not solved", one.fault
    elif one.unmet:
        standing = "not met"
        unmet = sorted(one.unmet, key=lambda check: -(check.ratio or 0.0))
        because = "; ".join(f"{check.name} {check.ratio or 0.0:.2f}" for check in unmet[:3])
        because += f"; and {len(unmet) - 3} more" if len(unmet) > 3 else ""
    elif one.open:
        standing = "open"
        because = "not evaluated: " + "; ".join(check.name for check in one.open[:3])
        because += f"; and {len(one.open) - 3} more" if len(one.open) > 3 else ""
    else:
        standing, because = "holds", ""
    return Tried(
        words=one.alternative.words,
        standing=standing,
        worst=worst.name if worst is not None else "",
        ratio=worst.ratio if worst is not None else None,
        because=because,
        pipe_added=one.alternative.pipe_added,
        elbows=one.alternative.elbows,
        text=write(one.alternative.line),
        screen=one.alternative.screen,
    )


def _unjudged(line: Line) -> tuple[str, ...]:
    """Supports whose loads nobody set a limit for: no alternative is judged by them."""
    names = [
        one.name
        for one in line.supports
        if not isinstance(one, Anchor)
        and hasattr(one, "allowed")
        and getattr(one, "allowed", None) is None
    ]
    if not names:
        return ()
    more = f" and {len(names) - 6} more" if len(names) > 6 else ""
    return (
        f"No load is stated as allowed on {', '.join(names[:6])}{more}: what an alternative does to "
        "them is not judged here.",
    )


def _now(checks: Sequence[Check]) -> str:
    unmet = [check for check in checks if check.outcome == Outcome.NOT_MET]
    worst = max(checks, key=lambda check: check.ratio or 0.0, default=None)
    if worst is None or worst.ratio is None:
        return "With the joint in it nothing could be compared."
    more = f"; {len(unmet)} checks are not met" if unmet else ""
    return (
        f"With the joint in it, {worst.name[0].lower()}{worst.name[1:]} is nearest: "
        f"{worst.ratio:.2f} of its limit{more}."
    )


def keep_task(site: Site, task: Task) -> str:
    """Keep what a search is asked, and return the key of its result.

    The key is of the task, the model as kept and the joints as known: another model, another key.
    """
    line = model_of(site, task.line)
    _sound(line, task)
    key = hashlib.sha256(msgspec.json.encode((task, line, __version__))).hexdigest()[:24]
    site.store.put_result(TASK, key, key, __version__, site.now(), pack(task))
    return key


def run(site: Site, key: str, *, tell: Tell = si_words, progress: Progress = silent) -> Found:
    """Run a kept search and keep what it found."""
    task = task_of(site, key)
    found = search(model_of(site, task.line), task, tell=tell, progress=progress)
    site.store.put_result(KIND, key, key, __version__, site.now(), pack(found))
    return found


def task_of(site: Site, key: str) -> Task:
    """The task kept under ``key``; raises UnknownName where there is none."""
    stored = site.store.result(TASK, key)
    task = unpack(stored.body, Task) if stored else None
    if task is None:
        raise UnknownName("search", key)
    return task


def found_of(site: Site, key: str) -> Found | None:
    """What the search kept under ``key`` found, if it ran to its end."""
    stored = site.store.result(KIND, key)
    return unpack(stored.body, Found) if stored else None


def model_of(site: Site, tag: str) -> Line:
    """The line as its kept model states it.

    Raises :class:`takeup.errors.UnknownName` where there is no model and
    :class:`takeup.errors.Refused` where it cannot be worked out.
    """
    solved = lines.solved(site, tag)
    if solved.line is None or solved.report is None:
        raise Refused(
            f"the model of line {tag} cannot be worked out, so nothing can be searched on it: "
            f"{'; '.join(solved.faults[:3])}. Mend the text first"
        )
    return solved.line


def stale(site: Site, key: str) -> bool:
    """Whether the model or the joints have changed since the search of ``key`` was asked."""
    task = task_of(site, key)
    line = model_of(site, task.line)
    return hashlib.sha256(msgspec.json.encode((task, line, __version__))).hexdigest()[:24] != key
