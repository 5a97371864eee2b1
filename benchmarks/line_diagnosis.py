"""Diagnosis of lines: how often stated chances come true, and seconds for all singles and pairs.

Every trial makes a new line (its own route, supports, joint) and draws what is wrong with it from
the stated priors (up to two faults), the friction and the expansion of its metal from their
spreads, and noise on every mark.  The diagnosis sees the marks only.  The line that the tests use
is none of them.

    python benchmarks/line_diagnosis.py [trials] [--write]
"""

from __future__ import annotations

import itertools
import sys
import time
from pathlib import Path

import msgspec
import numpy as np

from takeup.errors import TakeupError
from takeup.line.diagnosis import Diagnosis, Fault, Kind, Options, Reading, diagnose, faults_of
from takeup.line.diagnosis.faults import TEMPERATURE
from takeup.line.diagnosis.predict import exact, model, sound_at
from takeup.line.diagnosis.readings import JOINT_PARTS
from takeup.line.model import (
    Anchor,
    BellowsSpring,
    ConstantSpring,
    Guide,
    Hardware,
    Hold,
    Joint,
    Line,
    Pipe,
    Rest,
    State,
    Station,
    Straight,
    VariableSpring,
)

PAGE = Path(__file__).parent.parent / "docs" / "why" / "line-diagnosis.md"
START, END = "<!-- calibration -->", "<!-- end of calibration -->"
PIPES = ((0.2191, 0.00818), (0.3239, 0.00953), (0.4064, 0.00953))
BINS = (0.0, 0.05, 0.2, 0.5, 0.8, 0.95, 1.0001)


def a_line(rng: np.random.Generator, legs: int, per_leg: int) -> Line:
    """A line of legs at right angles, with a support at every inner station."""
    outside, wall = PIPES[rng.integers(len(PIPES))]
    pipe = Pipe(
        name="p", outside=outside, wall=wall, metal="carbon steel",
        insulation_mass=float(rng.uniform(10, 40)),
    )  # fmt: skip
    weight = 9.81 * (np.pi * outside * wall * 7850.0 + pipe.insulation_mass)
    at, direction = np.zeros(3), 0
    points, inner = [at.copy()], []
    for leg in range(legs):
        length = float(rng.uniform(2.5, 4.5))
        step = np.zeros(3)
        step[direction] = length if rng.random() < 0.8 else -length
        if leg == legs - 1:
            step = np.array([0.0, 0.0, -length])
        for _ in range(per_leg if leg < legs - 1 else 1):
            at = at + step
            points.append(at.copy())
            inner.append(length)
        direction = 1 - direction
    stations = [Station(name=f"N{k}", position=tuple(p)) for k, p in enumerate(points)]
    with_joint = 1 + int(rng.integers(1, (legs - 1) * per_leg - 1))
    pieces: list[Straight | Joint] = []
    spring = BellowsSpring(
        length=0.25, axial_rate=float(rng.uniform(150e3, 500e3)), mean_diameter=outside * 1.07
    )
    rods = Hardware(hold=Hold.TIED, rods=4, circle=outside + 0.2, rod_area=8e-4)
    for k, (a, b) in enumerate(itertools.pairwise(points)):
        if k != with_joint:
            pieces.append(Straight(start=f"N{k}", end=f"N{k + 1}", pipe="p"))
            continue
        unit = (b - a) / np.linalg.norm(b - a)
        middle = 0.5 * (a + b)
        for name, side in (("J1", -0.4), ("J2", 0.4)):
            stations.append(Station(name=name, position=tuple(middle + side * unit)))
        pieces += [
            Straight(start=f"N{k}", end="J1", pipe="p"),
            Joint(tag="EJ-1", start="J1", end="J2", bellows=(spring, spring), over_both=0.8,
                  hardware=(rods,)),
            Straight(start="J2", end=f"N{k + 1}", pipe="p"),
        ]  # fmt: skip
    supports: list[object] = [
        Anchor(name="first", station="N0"),
        Anchor(name="last", station=f"N{len(points) - 1}"),
    ]
    for k in range(1, len(points) - 1):
        name, load = f"T{k}", weight * inner[k]
        kind = rng.choice(["rest", "guide", "spring", "spring", "constant"])
        if kind == "rest":
            supports.append(Rest(name=name, station=f"N{k}", friction=0.3))
        elif kind == "guide":
            supports.append(Guide(name=name, station=f"N{k}", gap=float(rng.uniform(0.001, 0.004))))
        elif kind == "spring":
            supports.append(
                VariableSpring(name=name, station=f"N{k}", rate=float(rng.uniform(30e3, 120e3)),
                               load=load, travel_up=0.06, travel_down=0.06)
            )  # fmt: skip
        else:
            supports.append(
                ConstantSpring(name=name, station=f"N{k}", load=load, travel_up=0.1,
                               travel_down=0.1)
            )  # fmt: skip
    states = (
        State(name="cold", role="cold"),
        State(name="hot", role="hot", temperature=float(rng.uniform(500, 680)), pressure=3e5),
    )
    return Line(tag="R", pipes=(pipe,), stations=tuple(stations), pieces=tuple(pieces),
                supports=tuple(supports), states=states)  # fmt: skip


def marks_of(line: Line) -> tuple[Reading, ...]:
    """All marks of the joint and every indicator."""
    found = [Reading(kind=Kind.JOINT, place="EJ-1", part=part, error=1e-3) for part in JOINT_PARTS]
    found += [
        Reading(kind=Kind.INDICATOR, place=one.name, error=2e-3)
        for one in line.supports
        if isinstance(one, (VariableSpring, ConstantSpring))
    ]
    return tuple(found)


def draw(faults: tuple[Fault, ...], rng: np.random.Generator) -> tuple[Fault, ...]:
    """Faults by their priors: up to two, at different places."""
    while True:
        hit = [one for one in faults if rng.random() < one.prior]
        if len(hit) <= 2 and len({one.place for one in hit}) == len(hit):
            return tuple(hit)


def simulate(
    line: Line, truth: tuple[Fault, ...], marks: tuple[Reading, ...], rng: np.random.Generator
) -> tuple[Reading, ...]:
    """Marks of the line with what is wrong with it, with noise."""
    options = Options()
    made = model(line, marks)
    rise = 1.0 + options.expansion * float(rng.standard_normal())
    if any(one.place == TEMPERATURE for one in truth):
        far = float(rng.uniform(0.07, 0.35))
        rise *= 1.0 + (far if rng.random() < 0.5 else -far)
    friction = float(rng.choice([rng.uniform(0.0, 0.1), rng.uniform(0.7, 1.3),
                                 rng.uniform(1.3, 1.8)], p=[0.15, 0.6, 0.25]))  # fmt: skip
    values = exact(made, truth, sound_at(made, rise, friction))
    model_error = np.hypot(options.floor, options.share * np.abs(made.sound[0].values))
    noise = np.hypot([mark.error for mark in marks], model_error)
    shown = values + noise * rng.standard_normal(len(marks))
    return tuple(
        msgspec.structs.replace(mark, value=float(value))
        for mark, value in zip(marks, shown, strict=True)
    )


def calibrate(trials: int, seed: int) -> str:
    """Reliability of stated chances, as a table in words."""
    rng = np.random.default_rng(seed)
    stated: list[float] = []
    came: list[bool] = []
    leads: list[tuple[float, bool, bool, int]] = []
    failed = 0
    while len(leads) < trials:
        line = a_line(rng, legs=4, per_leg=2)
        truth = draw(faults_of(line), rng)
        if len(leads) % 2 and not truth:  # half of the trials: something is wrong
            continue
        marks = marks_of(line)
        try:
            found = diagnose(line, simulate(line, truth, marks, rng), options=Options())
        except TakeupError as fault:
            failed += 1
            print("not solved:", fault)
            continue
        chances, hits = _scored(found, truth)
        if len(leads) % 2 == 0:  # stated chances hold for draws from the whole prior only
            stated += chances
            came += hits
        leads.append((chances[0], hits[0], _covered(found, truth), len(truth)))
    return _words(np.array(stated), np.array(came), leads, failed)


def _scored(found: Diagnosis, truth: tuple[Fault, ...]) -> tuple[list[float], list[bool]]:
    return (
        [group.posterior for group in found.groups],
        [any(set(one.faults) == set(truth) for one in group.explanations)
         for group in found.groups],
    )  # fmt: skip


def _covered(found: Diagnosis, truth: tuple[Fault, ...]) -> bool:
    """Whether the groups that make up 90 % of the posterior hold the truth."""
    total = 0.0
    for group in found.groups:
        if any(set(one.faults) == set(truth) for one in group.explanations):
            return True
        total += group.posterior
        if total >= 0.9:
            break
    return False


def _words(
    stated: np.ndarray, came: np.ndarray, leads: list[tuple[float, bool, bool, int]], failed: int
) -> str:
    rows = ["| stated chance of a group | groups | mean stated | came true |", "|---|---|---|---|"]
    for low, high in itertools.pairwise(BINS):
        own = (stated >= low) & (stated < high)
        if own.any():
            rows.append(
                f"| {low:.2f} to {min(high, 1.0):.2f} | {own.sum()} | {stated[own].mean():.3f} "
                f"| {came[own].mean():.3f} |"
            )
    rows += ["", "| trials | number | stated for the first group | first group right | "
             "90 % of posterior holds the truth |", "|---|---|---|---|---|"]  # fmt: skip
    whole = leads[0::2]
    for name, lot in (
        ("drawn from the priors", whole),
        ("drawn from the priors, something wrong", [one for one in leads if one[3]]),
        ("one fault", [one for one in leads if one[3] == 1]),
        ("two faults", [one for one in leads if one[3] == 2]),
    ):
        if lot:
            rows.append(
                f"| {name} | {len(lot)} | {np.mean([one[0] for one in lot]):.3f} "
                f"| {np.mean([one[1] for one in lot]):.3f} | {np.mean([one[2] for one in lot]):.3f} |"
            )
    rows += ["", f"Trials left out because a line did not come to rest: {failed}."]
    return "\n".join(rows)


def speed() -> str:
    """Seconds for every single and pair."""
    rows = ["| supports | faults | explanations | seconds |", "|---|---|---|---|"]
    for legs, per_leg in ((4, 2), (5, 2), (8, 3), (9, 5)):
        rng = np.random.default_rng(7)
        while True:
            line = a_line(rng, legs, per_leg)
            marks = marks_of(line)
            try:
                taken = simulate(line, (), marks, rng)
                break
            except TakeupError as fault:
                print("not solved:", fault)
        start = time.perf_counter()
        found = diagnose(line, taken)
        taken_time = time.perf_counter() - start
        rows.append(
            f"| {len(line.supports)} | {len(faults_of(line))} | {found.tried} | {taken_time:.2f} |"
        )
    return "\n".join(rows)


def main() -> None:
    """Run both; with ``--write`` put the tables into the page."""
    numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
    fast = speed()
    print(fast, flush=True)
    text = calibrate(numbers[0] if numbers else 200, numbers[1] if len(numbers) > 1 else 2026)
    print(text)
    if "--write" in sys.argv:
        page = PAGE.read_text("utf-8")
        head, _, rest = page.partition(START)
        _, _, tail = rest.partition(END)
        PAGE.write_text(f"{head}{START}\n\n{text}\n\n{fast}\n\n{END}{tail}", "utf-8")


if __name__ == "__main__":
    main()
