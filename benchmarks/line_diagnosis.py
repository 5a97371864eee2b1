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
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import msgspec
import numpy as np
from scipy.stats import beta, chi2

from takeup.documents.drawing.charts import Frame
from takeup.documents.drawing.palette import PRINT
from takeup.documents.drawing.svg import Svg
from takeup.errors import TakeupError
from takeup.line.diagnosis import (
    Fault,
    Kind,
    Options,
    Reading,
    candidates,
    diagnose,
    faults_of,
    nuisance,
)
from takeup.line.diagnosis.faults import TEMPERATURE
from takeup.line.diagnosis.judge import part
from takeup.line.diagnosis.predict import exact, model, sound_at
from takeup.line.diagnosis.readings import JOINT_PARTS
from takeup.line.diagnosis.weigh import Weighed
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
DRAWING = PAGE.parent.parent / "images" / "line-diagnosis.svg"
START, END = "<!-- calibration -->", "<!-- end of calibration -->"
FRICTION = (((0.7, 1.3), 0.60), ((0.0, 0.1), 0.15), ((1.3, 1.8), 0.25))
"""Friction over nominal and shares, as the diagnosis assumes."""
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


def some_of(marks: tuple[Reading, ...], rng: np.random.Generator) -> tuple[Reading, ...]:
    """An incomplete mixture: a quarter of the readings was not taken."""
    while True:
        kept = tuple(mark for mark in marks if rng.random() < 0.75)
        if kept:
            return kept


def simulate(
    line: Line, truth: tuple[Fault, ...], marks: tuple[Reading, ...], rng: np.random.Generator
) -> tuple[Reading, ...]:
    """Marks of the line with what is wrong with it, with noise, by the solver of lines."""
    options = Options()
    made = model(line, marks)
    rise = 1.0 + options.expansion * float(rng.standard_normal())
    if any(one.place == TEMPERATURE for one in truth):
        far = float(rng.uniform(*nuisance.OTHER))
        rise *= 1.0 + (far if rng.random() < 0.5 else -far)
    which = int(rng.choice(len(FRICTION), p=[share for _, share in FRICTION]))
    friction = float(rng.uniform(*FRICTION[which][0]))
    values = exact(made, truth, sound_at(made, rise, friction))
    model_error = np.hypot(options.floor, options.share * np.abs(made.values[0]))
    noise = np.hypot([mark.error for mark in marks], model_error)
    shown = values + noise * rng.standard_normal(len(marks))
    return tuple(
        msgspec.structs.replace(mark, value=float(value))
        for mark, value in zip(marks, shown, strict=True)
    )


class Trial(msgspec.Struct, frozen=True):
    """One line, what was wrong with it and what was said."""

    truth: tuple[str, ...]
    readings: int
    stated: tuple[float, ...]
    """Of every group, likeliest first"""
    place: int
    """Group of the truth; -1: in none"""
    own: float
    """Posterior of exactly the truth"""
    exact: float
    """Share of the posterior solved in full"""
    fit: float
    """Chance of a misfit as large as the least"""
    first: str
    why: str = ""
    """Why there is no result"""

    @property
    def covered(self) -> bool:
        """Whether the likeliest groups that make up 90 % hold the truth."""
        before = sum(self.stated[: self.place]) if self.place >= 0 else 1.0
        return before < 0.9


def a_trial(seed: int, number: int) -> Trial:
    """Trial ``number``; in every second one something is wrong."""
    rng = np.random.default_rng([seed, number])
    line = a_line(rng, legs=4, per_leg=2)
    truth = draw(faults_of(line), rng)
    while number % 2 and not truth:
        truth = draw(faults_of(line), rng)
    names = tuple(one.name for one in truth)
    marks = some_of(marks_of(line), rng)
    try:
        taken = simulate(line, truth, marks, rng)
        known = {one.key for one in taken}
        every = (*taken, *(one for one in candidates(line) if one.key not in known))
        case = Weighed(model(line, every), Options())
    except TakeupError as fault:
        return Trial(names, len(marks), (), -1, 0.0, 0.0, 0.0, "", str(fault))
    parted = part(case)
    key = tuple(sorted(case.faults.index(one) for one in truth if one in case.faults))
    at = case.keys.index(key) if len(key) == len(truth) else -1
    lead = int(np.argmax(case.posterior))
    square = case.told(np.argsort(-case.posterior)[:20]).square.min()
    return Trial(
        names, len(marks), tuple(parted.posterior.tolist()),
        int(parted.label[at]) if at >= 0 else -1,
        float(case.posterior[at]) if at >= 0 else 0.0, 1.0 - case.added,
        float(chi2.sf(square, len(marks))),
        " and ".join(one.name for one in case.of(lead)) or "all sound",
    )  # fmt: skip


def calibrate(trials: int, seed: int) -> list[Trial]:
    """Trials, as many at a time as there are cores."""
    with ProcessPoolExecutor() as pool:
        return list(pool.map(a_trial, [seed] * trials, range(trials), chunksize=8))


def interval(hits: int, of: int) -> tuple[float, float]:
    """95 % interval of a share (Clopper and Pearson)."""
    low = beta.ppf(0.025, hits, of - hits + 1) if hits else 0.0
    high = beta.ppf(0.975, hits + 1, of - hits) if hits < of else 1.0
    return float(low), float(high)


class Band(msgspec.Struct, frozen=True):
    """Groups whose stated chances lie in one band."""

    low: float
    high: float
    count: int
    stated: float
    hits: int

    @property
    def span(self) -> tuple[float, float]:
        """95 % interval of the share that came true."""
        return interval(self.hits, self.count)


def bands(trials: list[Trial]) -> list[Band]:
    """Stated chances of groups against what came true, of trials drawn from the priors."""
    whole = [one for one in trials[0::2] if not one.why]
    stated = np.array([chance for one in whole for chance in one.stated])
    came = np.array([k == one.place for one in whole for k in range(len(one.stated))])
    found = []
    for low, high in itertools.pairwise(BINS):
        own = (stated >= low) & (stated < high)
        if own.any():
            mean, hits = float(stated[own].mean()), int(came[own].sum())
            found.append(Band(low, min(high, 1.0), int(own.sum()), mean, hits))
    return found


def picture(trials: list[Trial]) -> str:
    """What came true over what was stated, each band with its interval; on the line is right."""
    count = sum(not one.why for one in trials[0::2])
    left, top, size = 74.0, 20.0, 380.0
    svg = Svg(
        600, 470, "Stated chances of a diagnosis against what came true",
        "Share of groups that held the truth over the chance stated for them, in bands, with 95 % "
        "intervals. On the diagonal stated chances come true.",
        PRINT,
    )  # fmt: skip
    svg.rect(0, 0, 600, 470, fill=PRINT.paper)
    frame = Frame(svg, (left, top, size, size), (0.0, 1.0), (0.0, 1.0))
    for at in np.linspace(0.0, 1.0, 6).tolist():
        svg.line(frame.x(at), top, frame.x(at), top + size, stroke=PRINT.hair, width=0.7)
        svg.line(left, frame.y(at), left + size, frame.y(at), stroke=PRINT.hair, width=0.7)
        svg.text(frame.x(at), top + size + 18, f"{at:.0%}", size=12, anchor="middle")
        svg.text(left - 8, frame.y(at) + 4, f"{at:.0%}", size=12, anchor="end")
    svg.rect(left, top, size, size, stroke=PRINT.soft)
    svg.line(
        frame.x(0), frame.y(0), frame.x(1), frame.y(1), stroke=PRINT.soft, width=1.2, dash="6 4"
    )
    for band in bands(trials):
        low, high = band.span
        x = frame.x(band.stated)
        svg.line(x, frame.y(low), x, frame.y(high), stroke=PRINT.accent, width=2.2)
        for end in (low, high):
            svg.line(x - 5, frame.y(end), x + 5, frame.y(end), stroke=PRINT.accent, width=1.6)
        svg.circle(x, frame.y(band.hits / band.count), 4.5, fill=PRINT.accent, stroke=PRINT.accent)
    svg.text(left + size / 2, top + size + 44, "stated chance of a group", size=13, anchor="middle")
    svg.text(left + size + 14, top + 14, "came true, with", size=13)
    svg.text(left + size + 14, top + 32, "95 % interval", size=13)
    svg.text(left + size + 14, top + 58, f"{count} lines drawn", size=12, fill=PRINT.soft)
    svg.text(left + size + 14, top + 74, "from the priors", size=12, fill=PRINT.soft)
    return svg.render()


def _words(trials: list[Trial]) -> str:
    rows = [
        "| stated chance of a group | groups | mean stated | came true | 95 % interval |",
        "|---|---|---|---|---|",
    ]
    for band in bands(trials):
        low, high = band.span
        rows.append(
            f"| {band.low:.2f} to {band.high:.2f} | {band.count} | {band.stated:.3f} "
            f"| {band.hits / band.count:.3f} | {low:.3f} to {high:.3f} |"
        )
    rows += [
        "",
        "| trials | number | stated for the first group | first group right | 95 % interval "
        "| 90 % of posterior holds the truth | 95 % interval |",
        "|---|---|---|---|---|---|---|",
    ]
    whole = [one for one in trials[0::2] if not one.why]
    done = [one for one in trials if not one.why]
    for name, lot in (
        ("drawn from the priors", whole),
        ("something wrong", [one for one in done if one.truth]),
        ("one thing wrong", [one for one in done if len(one.truth) == 1]),
        ("two things wrong", [one for one in done if len(one.truth) == 2]),
        ("nothing wrong", [one for one in done if not one.truth]),
    ):
        if not lot:
            continue
        hits, held = sum(one.place == 0 for one in lot), sum(one.covered for one in lot)
        spans = [f"{low:.3f} to {high:.3f}" for low, high in
                 (interval(hits, len(lot)), interval(held, len(lot)))]  # fmt: skip
        rows.append(
            f"| {name} | {len(lot)} | {np.mean([one.stated[0] for one in lot]):.3f} "
            f"| {hits / len(lot):.3f} | {spans[0]} | {held / len(lot):.3f} | {spans[1]} |"
        )
    low = sum(one.fit < 0.01 for one in done)
    rows += [
        "",
        f"Trials without a result: {len(trials) - len(done)} of {len(trials)}. Said that nothing "
        f"fits, though one of the explanations was true: {low} of {len(done)} (stated: at most "
        f"1 %). Share of the posterior solved in full: {np.mean([one.exact for one in done]):.3f} "
        f"on average, {min(one.exact for one in done):.3f} at least.",
    ]
    return "\n".join(rows)


def speed() -> str:
    """Seconds of one core for every single and pair, the least of three."""
    rows = [
        "| supports | faults | explanations | solved or checked | share of the posterior "
        "| seconds of one core |",
        "|---|---|---|---|---|---|",
    ]
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
        seconds = []
        for _ in range(3):
            start = time.process_time()
            found = diagnose(line, taken)
            seconds.append(time.process_time() - start)
        rows.append(
            f"| {len(line.supports)} | {len(faults_of(line))} | {found.tried} "
            f"| {found.solved_count} | {found.solved:.3f} | {min(seconds):.2f} |"
        )
    return "\n".join(rows)


def main() -> None:
    """Run both; with ``--write`` put the tables into the page, with ``--misses`` tell each miss."""
    numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
    fast = "" if "--no-speed" in sys.argv else speed()
    print(fast, flush=True)
    trials = calibrate(numbers[0] if numbers else 500, numbers[1] if len(numbers) > 1 else 2027)
    text = _words(trials)
    print(text)
    if "--misses" in sys.argv:
        for number, one in enumerate(trials):
            if one.why or one.place != 0:
                print(number, one)
    if "--write" in sys.argv:
        DRAWING.write_text(picture(trials) + "\n", "utf-8")
        page = PAGE.read_text("utf-8")
        head, _, rest = page.partition(START)
        _, _, tail = rest.partition(END)
        PAGE.write_text(f"{head}{START}\n\n{text}\n\n{fast}\n\n{END}{tail}", "utf-8")


if __name__ == "__main__":
    main()
