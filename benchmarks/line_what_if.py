"""Speed and exactness of what-if on a line of 400 elements.

Run with ``OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1`` for one core.  Linear variants (each a
lost support, a locked or exchanged joint or another temperature) are solved in one array pass
over the frozen contacts of the hot state; a sample of them is solved again in full.  Changes
with contact are solved through :func:`takeup.line.what_if.what_if` from the states as they are,
without friction and with it, beside the changed line solved from nothing.
"""

from __future__ import annotations

import json
import statistics
import time
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np

from takeup.line import contact
from takeup.line import rows as rowing
from takeup.line.model import (
    Anchor,
    BellowsSpring,
    Bend,
    Guide,
    Joint,
    Line,
    Pipe,
    Rest,
    State,
    Station,
    Stop,
    Straight,
    VariableSpring,
)
from takeup.line.solve import prepare, solve
from takeup.line.variants import (
    Variant,
    batch,
    exchange,
    hold,
    linear,
    lose,
    reheat,
    solve_variants,
)
from takeup.line.what_if import Change, Lock, Lose, Reheat, TakeOut, changed_laws, what_if
from takeup.units import Array

LEGS, PER_LEG, LEG, RADIUS = 10, 39, 40.0, 0.6
COUNT = 4000
WITH_JOINT = {1, 4, 6, 9}


def big(friction: float) -> Line:
    """Ten legs that turn north and east by turns, with four joints, rests, guides and springs."""
    corners = [np.zeros(3)]
    for leg in range(LEGS):
        corners.append(corners[-1] + LEG * np.eye(3)[leg % 2])
    stations, pieces, supports = [Station(name="A", position=(0.0, 0.0, 0.0))], [], []
    last, place = "A", corners[0]
    spring = BellowsSpring(length=0.4, axial_rate=250e3, mean_diameter=0.43, mass=60.0)
    supports.append(Anchor(name="first", station="A"))

    def station(name: str, at: Any) -> str:
        stations.append(Station(name=name, position=(float(at[0]), float(at[1]), float(at[2]))))
        return name

    for leg in range(LEGS):
        along = np.eye(3)[leg % 2]
        stop = corners[leg + 1] - (RADIUS if leg < LEGS - 1 else 0.0) * along
        step = (stop - place) / PER_LEG
        for k in range(1, PER_LEG + 1):
            here = station(f"{leg}.{k}", place + k * step)
            if leg in WITH_JOINT and k == 20:
                pieces.append(Joint(tag=f"EJ-{leg}", start=last, end=here, bellows=(spring,)))
            else:
                pieces.append(Straight(start=last, end=here, pipe="16"))
            if k in {5, 14, 24, 33}:
                supports.append(Rest(name=f"rest {here}", station=here, friction=friction))
            elif k == 10:
                supports.append(Guide(name=f"guide {here}", station=here, gap=0.003,
                                      friction=friction))  # fmt: skip
            elif k == 28:
                supports.append(VariableSpring(name=f"spring {here}", station=here, rate=80e3,
                                               load=12e3, travel_up=0.06, travel_down=0.06))  # fmt: skip
            elif k in {2, 36} and leg in WITH_JOINT:
                supports.append(Stop(name=f"stop {here}", station=here,
                                     direction=(float(along[0]), float(along[1]), 0.0)))  # fmt: skip
            last = here
        place = stop
        if leg < LEGS - 1:
            onward = np.eye(3)[(leg + 1) % 2]
            end = station(f"bend {leg}", corners[leg + 1] + RADIUS * onward)
            corner = tuple(float(x) for x in corners[leg + 1])
            pieces.append(Bend(start=last, end=end, pipe="16", corner=corner, radius=RADIUS))
            last, place = end, corners[leg + 1] + RADIUS * onward
    supports.append(Anchor(name="last", station=last))
    return Line(
        tag="bench",
        pipes=(Pipe(name="16", outside=0.4064, wall=0.0127, metal="carbon steel"),),
        stations=tuple(stations),
        pieces=tuple(pieces),
        supports=tuple(supports),
        states=(State(name="cold"), State(name="hot", temperature=533.15, pressure=3e5)),
    )


def timed(run: Callable[[], Any], times: int = 5) -> float:
    """Median time of one core of ``run`` [s]."""
    found = []
    for _ in range(times):
        start = time.process_time()
        run()
        found.append(time.process_time() - start)
    return statistics.median(found)


def straight(force: Array, slope: Array, place: Array) -> Any:
    """A law that stays on its tangent."""

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        return force + slope @ (u - place), slope, memory

    return answer


def main() -> None:
    """Print the figures as JSON."""
    line = big(0.0)
    ready = prepare(line)
    results = solve(ready)
    state = line.states[1]
    base = linear(ready, results[1], state)
    rng = np.random.default_rng(7)
    names = [place.name for place in ready.rows.places if place.what == "support"]
    joints = [place.name for place in ready.rows.places if place.what == "lock"]
    templates: list[Variant] = [lose(ready, base, name) for name in names]
    templates += [
        hold(ready, tag, results[0].row_movement[list(ready.rows.place(tag).rows)])
        for tag in joints
    ]
    templates += [exchange(ready, base, tag, state) for tag in joints]
    templates += [reheat(ready, base, state, t) for t in (450.0, 500.0, 560.0, 600.0)]
    which = rng.integers(0, len(templates), COUNT)
    sets = [templates[k] for k in which]

    def arrays() -> Any:
        return solve_variants(base, batch(base, sets))

    many = batch(base, sets)
    bare = timed(lambda: solve_variants(base, many))
    whole = timed(arrays)

    # A sample again in full: laws frozen as they stand, one support gone, solved from scratch.
    def frozen(gone: str) -> Any:
        def laws(one: Line, found: Any, at: State) -> Any:
            made = []
            for law in rowing.laws(one, found, at):
                rows = list(law.rows)
                new = contact.nothing(law.name, len(rows))
                if law.name != gone:
                    k = base.slope[np.ix_(rows, rows)]
                    new.answer = straight(base.force[rows], k, base.movement[rows])
                new.rows = law.rows
                made.append(new)
            return tuple(made)

        return solve(ready, laws, states=["hot"])[0]

    worst = 0.0
    for at in range(0, len(names), 7):
        full = frozen(names[at])
        found = solve_variants(base, batch(base, [templates[at]]))
        loads = np.array([[*r.force, *r.moment] for r in map(full.reaction, base.anchors)])
        worst = max(worst, float(np.abs(found.anchors[0] - loads).max() / np.abs(loads).max()))
    figures: dict[str, Any] = {
        "elements": len(ready.frame.spots),
        "rows": len(ready.reference),
        "supports": len(line.supports),
        "variants_per_second": round(COUNT / bare),
        "variants_per_second_with_batching": round(COUNT / whole),
        "largest_difference_to_full_solution": worst,
        "prepare_s": round(timed(lambda: prepare(line), 3), 4),
        "solve_two_states_s": round(timed(lambda: solve(ready), 3), 4),
        "freeze_s": round(timed(lambda: linear(ready, results[1], state), 3), 4),
    }
    asked: tuple[tuple[str, Change], ...] = (
        ("lost_spring", Lose(support="spring 3.28")),
        ("locked_joint", Lock(joint="EJ-4", state="cold")),
        ("reheated", Reheat(state="hot", temperature=560.0)),
        ("joint_taken_out", TakeOut(joint="EJ-4")),
    )
    for friction, of in ((0.0, ready), (0.3, prepare(big(0.3)))):
        before = solve(of)
        for label, change in asked:
            found = what_if(of, [change], before=before)
            warm = timed(partial(what_if, of, [change], before=before), 3)

            def cold(changed: Any = found.ready, change: Change = change) -> Any:
                return solve(changed, changed_laws(changed, [change]))

            same = max(
                float(np.abs(a.rows - b.rows).max() / np.abs(b.rows).max())
                for a, b in zip(found.after, cold(), strict=True)
            )
            figures[f"what_if_{label}_friction_{friction}"] = {
                "warm_with_tables_s": round(warm, 4),
                "cold_solution_alone_s": round(timed(cold, 3), 4),
                "rounds": [r.certificate.rounds for r in found.after],
                "differs": same,
            }
    print(json.dumps(figures, indent=2))


if __name__ == "__main__":
    main()
