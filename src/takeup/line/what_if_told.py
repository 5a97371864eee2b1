"""What a change does to a line, as a table and in words: what changes most, what gives first."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec
import numpy as np

from takeup import materials
from takeup.errors import TakeupError
from takeup.line.model import Anchor, Line, State
from takeup.line.results import local
from takeup.line.solve import Prepared, StateResult
from takeup.line.stress import Factors, combined, wall_section
from takeup.line.telling import Tell, si_words
from takeup.units import Array

PIPE = {"straight", "bend", "reducer", "stub", "spool"}
HALVINGS = 30


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One number before and after."""

    what: str
    kind: str
    state: str
    before: float
    after: float

    @property
    def change(self) -> float:
        """After less before."""
        return self.after - self.before


class Use(msgspec.Struct, frozen=True, kw_only=True):
    """How far a part is used."""

    name: str
    share: float
    """Of yield or of what is allowed"""
    stress: float | None
    """Nominal elastic stress of pipe [Pa]; ``None``: a support"""


def rows_of(
    ready: Prepared, other: Prepared, before: Sequence[StateResult], after: Sequence[StateResult]
) -> tuple[Row, ...]:
    """Loads, movements of joints and largest nominal stress, before and after."""
    found: list[Row] = []
    for a, b in zip(before, after, strict=True):
        for one in a.reactions:
            then = b.reaction(one.name)
            for what, kind, x, y in (
                ("load on", "force", one.force, then.force),
                ("moment on", "moment", one.moment, then.moment),
            ):
                if kind == "moment" and not (any(x) or any(y)):
                    continue
                found.append(Row(what=f"{what} {one.name}", kind=kind, state=a.state,
                                 before=_size(x), after=_size(y)))  # fmt: skip
    for a, b in zip(before, after, strict=True):
        there = {one.tag: one for one in b.joints if one.number is None}
        for was in a.joints:
            if was.number is not None or was.tag not in there:
                continue
            will = there[was.tag]
            for what, kind, old, new in (
                ("axial movement of", "movement", was.axial, will.axial),
                ("lateral movement of", "movement", _size(was.lateral), _size(will.lateral)),
                ("turning of", "angle", _size(was.angular), _size(will.angular)),
            ):
                found.append(Row(what=f"{what} {was.tag}", kind=kind, state=a.state,
                                 before=old, after=new))  # fmt: skip
    for a, b in zip(before, after, strict=True):
        first, last = nominal(ready, a.ends), nominal(other, b.ends)
        where = np.unravel_index(int(np.argmax(last)), last.shape)
        name = other.frame.names[int(other.frame.ends[where[0], where[1]])]
        found.append(Row(what=f"largest nominal stress in pipe, at {name}", kind="stress",
                         state=a.state, before=float(first.max()), after=float(last.max())))  # fmt: skip
    return tuple(found)


def _size(values: Sequence[float]) -> float:
    return float(np.linalg.norm(values))


def nominal(ready: Prepared, ends: Array) -> Array:
    """Nominal elastic stress at both ends of each element (n, 2) [Pa]; zero where not pipe.

    Force, bending and torsion on the nominal wall, without intensification and without the
    longitudinal stress of pressure that the wall carries by itself.
    """
    forces = local(ready, ends)
    found = np.zeros((len(ready.frame.spots), 2))
    names = np.array([s.pipe if s.what in PIPE else "" for s in ready.frame.spots])
    for pipe in ready.line.pipes:
        at = names == pipe.name
        found[at] = combined(
            forces.axial[at], forces.inplane[at], forces.outplane[at], forces.torsion[at],
            wall_section(pipe), Factors(),
        )  # fmt: skip
    return found


def _yields(ready: Prepared, state: State) -> Array:
    """Yield strength of each element at its temperature in a state (n,) [Pa]; NaN: not known."""
    known = {"": np.nan}
    for pipe in ready.line.pipes:
        temperature = state.temperatures.get(pipe.name, state.temperature)
        try:
            known[pipe.name] = float(materials.yield_strength(pipe.metal, temperature).value)
        except TakeupError:
            known[pipe.name] = np.nan
    return np.array([known[s.pipe if s.what in PIPE else ""] for s in ready.frame.spots])


def _loads(result: StateResult) -> dict[str, Array]:
    return {one.name: np.array([*one.force, *one.moment]) for one in result.reactions}


def _weakest(ready: Prepared, yields: Array, ends: Array, loads: dict[str, Array]) -> Use | None:
    """The part nearest to, or farthest beyond, what it stands."""
    best: Use | None = None
    stress = nominal(ready, ends)
    shares = stress / yields[:, None]
    if np.isfinite(shares).any():
        at = np.unravel_index(int(np.nanargmax(shares)), shares.shape)
        name = ready.frame.names[int(ready.frame.ends[at[0], at[1]])]
        best = Use(name=f"pipe at {name}", share=float(shares[at]), stress=float(stress[at]))
    for support in ready.line.supports:
        allowed = getattr(support, "allowed", None)
        if allowed is None:
            continue
        load = loads[support.name]
        if isinstance(support, Anchor):
            limits = np.asarray(allowed, dtype=float)
            with np.errstate(divide="ignore", invalid="ignore"):
                parts = np.where(load == 0.0, 0.0, np.abs(load) / limits)
            share = float(parts.max())
        else:
            share = float(np.linalg.norm(load[:3])) / allowed if allowed > 0.0 else np.inf
        if best is None or share > best.share:
            best = Use(name=support.name, share=share, stress=None)
    return best


class Gives(msgspec.Struct, frozen=True, kw_only=True):
    """The part nearest to its limit, or farthest beyond it, and when."""

    use: Use
    state: str


def first_to_give(ready: Prepared, results: Sequence[StateResult]) -> Gives | None:
    """The part that gives way first over all states; ``None`` where no limit is known."""
    states = {state.name: state for state in ready.line.states}
    best: Gives | None = None
    for one in results:
        use = _weakest(ready, _yields(ready, states[one.state]), one.ends, _loads(one))
        if use is not None and (best is None or use.share > best.use.share):
            best = Gives(use=use, state=one.state)
    return best


def words_of(
    ready: Prepared,
    other: Prepared,
    before: Sequence[StateResult],
    after: Sequence[StateResult],
    rows: Sequence[Row],
    tell: Tell = si_words,
) -> tuple[str, ...]:
    """What changes most, what gives first and by how much, and what the numbers do not mean.

    ``tell`` says forces and stresses in the reader's units.
    """
    found = []
    forces = [row for row in rows if row.kind == "force"]
    most = max(forces, key=lambda row: abs(row.change), default=None)
    if most is not None and abs(most.change) > 1.0:
        found.append(
            f"{most.what[0].upper()}{most.what[1:]} changes most: {tell(most.before, 'force')} to "
            f"{tell(most.after, 'force')} ({most.state})."
        )
    states = {state.name: state for state in other.line.states}
    worst: tuple[Use, StateResult, StateResult, Array] | None = None
    unknown = False
    for a, b in zip(before, after, strict=True):
        yields = _yields(other, states[b.state])
        unknown |= any(
            np.isnan(y) for y, s in zip(yields, other.frame.spots, strict=True) if s.what in PIPE
        )
        use = _weakest(other, yields, b.ends, _loads(b))
        if use is not None and (worst is None or use.share > worst[0].share):
            worst = (use, a, b, yields)
    if worst is None:
        found.append(
            "What gives first cannot be said: no load is stated as allowed, and the yield "
            "strength of the pipe is not known."
        )
    else:
        use, a, b, yields = worst
        found += _limit(ready, other, use, a, b, yields, tell)
    if unknown:
        found.append(
            "Yield strength of some pipe is not known: it is left out of what gives first."
        )
    return (*found, *_unstated(other.line))


def _limit(
    ready: Prepared,
    other: Prepared,
    use: Use,
    a: StateResult,
    b: StateResult,
    yields: Array,
    tell: Tell,
) -> list[str]:
    of = "what is allowed" if use.stress is None else "yield"
    if use.share <= 1.0:
        spare = f"{1.0 - use.share:.0%} of it is left" if use.share > 0.0 else "it carries nothing"
        return [
            f"{use.name} is nearest to its limit: {use.share:.2f} of {of} ({b.state}); {spare}."
        ]
    found = [f"{use.name} gives way first: {use.share:.2f} of {of} ({b.state})."]
    if use.stress is not None:
        found.append(
            f"Elastic stress {tell(use.stress, 'stress')} is {use.share:.1f} times yield "
            f"({use.name}, {b.state}): the pipe yields, buckles or tears something weaker long "
            "before; the load is what the weakest part stands, not this number."
        )
    was, will = _loads(a), _loads(b)
    same = len(ready.frame.spots) == len(other.frame.spots)

    def at(share: float) -> tuple[Use | None, dict[str, Array]]:
        loads = {n: (was[n] if same else 0.0) * (1.0 - share) + share * will[n] for n in will}
        start = a.ends if same else np.zeros_like(b.ends)
        return _weakest(other, yields, start + share * (b.ends - start), loads), loads

    first, _ = at(0.0)
    if first is not None and first.share > 1.0:
        found.append(f"{first.name} is beyond its limit before the change already.")
        return found
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        weakest, _ = at(middle)
        low, high = (low, middle) if weakest and weakest.share > 1.0 else (middle, high)
    weakest, loads = at(high)
    assert weakest is not None
    moved = max(
        will, key=lambda n: float(np.linalg.norm(will[n][:3] - (was[n][:3] if same else 0)))
    )
    found.append(
        f"The weakest part is {weakest.name}: it reaches its limit at {high:.0%} of the "
        f"{'change' if same else 'load'}, with "
        f"{tell(float(np.linalg.norm(loads[moved][:3])), 'force')} on "
        f"{moved}. Elastic, in proportion; what opens, slides or buckles on the way is not in it."
    )
    return found


def _unstated(line: Line) -> tuple[str, ...]:
    without = [s.name for s in line.supports if getattr(s, "allowed", None) is None
               and hasattr(s, "allowed")]  # fmt: skip
    if not without:
        return ()
    return (
        f"No load is stated as allowed on {', '.join(without[:6])}"
        f"{f' and {len(without) - 6} more' if len(without) > 6 else ''}: any of them, or steel "
        "and welds not modelled, may give before what is named here.",
    )
