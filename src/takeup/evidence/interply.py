"""Interply pressure test: what a held pressure between two plies says, and what it cannot. Pure.

The space between plies is small and its walls relax, so a falling gauge is judged only after
conditioning fills, on absolute pressures, corrected for temperature, and against what this
gauge could have seen in this time.  A test whose port was not proven open is no pass.
"""

from __future__ import annotations

from collections.abc import Sequence

from takeup.checks import Check, Figure, LimitKind, Outcome, Quantity, compare
from takeup.evidence.facts import Answer, Bubbles, InterplyReading, InterplyTest
from takeup.evidence.model import InterplyResult, PlyVerdict
from takeup.limits import Limits
from takeup.sources import Source, Standing, practice
from takeup.units import ATMOSPHERE, CubicMetre, Kelvin, Pascal, Second

REFERENCE_TEMPERATURE = 293.15
"""K; leak rates are given as pressure times volume at 20 °C."""
DECAY = Source(
    document="Pressure decay by the ideal gas law",
    at="Q = (V/t) Tref (p1/T1 - p2/T2), absolute pressures",
    standing=Standing.CONFIRMED,
)
PRACTICE = practice("interply test of two-ply bellows")
RESOLUTION_MARGIN = 2.0
"""A drop smaller than so many gauge divisions cannot be told from the gauge (k of 2 to 3)."""
WARMED = ATMOSPHERE * (523.15 / 293.15 - 1.0)
"""Gauge pressure [Pa] of air sealed at 20 °C and warmed to 250 °C; no leak is needed for it."""
PROCESS_SHARE = 0.5
"""Port pressure of at least this share of line pressure reads the process."""
NOTHING = frozenset({"", "no", "none", "nil", "nothing", "n/a", "dry", "clean", "clean and dry"})
"""What people enter for a port from which nothing came."""
WATER = frozenset(
    {"rust", "rusty", "clear", "clean", "rain", "some", "trapped", "test", "a", "little", "water"}
)
"""Words of an entry that speaks of water and nothing else."""
NO_LIFE = "A pass says that both plies hold today; it is no statement of life."
NO_APPROACH = "Eye protection, nobody in line with the port, hand pump and relief valve only."


def leak_rate(
    *,
    volume: CubicMetre,
    time: Second,
    start: Pascal,
    start_temperature: Kelvin,
    end: Pascal,
    end_temperature: Kelvin,
    reference_temperature: Kelvin = REFERENCE_TEMPERATURE,
) -> float:
    r"""Return the leak rate from two readings of an isolated volume.

    .. math:: Q = \frac{V}{t} T_{ref} \left(\frac{p_1}{T_1} - \frac{p_2}{T_2}\right)

    Parameters
    ----------
    volume : float
        Interply space with hose and gauge. [m3]
    time : float
        Between the readings. [s]
    start, end : float
        Absolute pressures. [Pa]
    start_temperature, end_temperature : float
        Of the gas, taken at the bellows. [K]

    Returns
    -------
    float
        Pressure times volume per time at the reference temperature. [Pa.m3/s]

    Notes
    -----
    Not for a space whose walls still relax: condition it first.  Source: :data:`DECAY`.

    """
    amount = start / start_temperature - end / end_temperature
    return float(volume / time * reference_temperature * amount)


def corrected_drop(
    *, start: Pascal, start_temperature: Kelvin, end: Pascal, end_temperature: Kelvin
) -> float:
    """Return the drop of absolute pressure [Pa] as if the temperature had stayed [K].

    ``start - end * start_temperature / end_temperature``; positive is a loss.
    """
    return float(start - end * start_temperature / end_temperature)


def interpret(
    test: InterplyTest, readings: Sequence[InterplyReading], limits: Limits
) -> InterplyResult:
    """Say what one interply test shows: tight, which ply leaks, or inconclusive, with why."""
    held = sorted(readings, key=lambda reading: reading.minute)
    figures: list[Figure] = []
    checks: list[Check] = []
    missing: list[str] = []
    cautions = [NO_APPROACH]
    proven = None if test.port_to_port is None else test.port_to_port == Answer.YES
    process = _process(test)

    def result(verdict: PlyVerdict, *why: str) -> InterplyResult:
        more = [NO_LIFE] if verdict == PlyVerdict.TIGHT else []
        return InterplyResult(
            joint=test.joint,
            bellows=test.bellows,
            date=test.date,
            verdict=verdict,
            why=tuple(why),
            port_proven=proven,
            figures=tuple(figures),
            checks=tuple(checks),
            cautions=(*cautions, *more),
            missing=tuple(missing),
        )

    checks.append(_port(test))
    found = test.found.strip()
    if _only_water(found):
        missing.append("a sample of the water, and the test repeated when the space is dry")
        cautions.append(
            "Dry the space before the line warms up: trapped water flashes and can burst the "
            "inner ply."
        )
        return result(
            PlyVerdict.INCONCLUSIVE,
            f"{found} came from the port: trapped test or rain water, or a leak; dry the space, "
            "sample the water and repeat",
        )
    if found and found.casefold().strip(" .-") not in NOTHING:
        return result(
            PlyVerdict.INNER,
            f"{found} came from the port: the inner ply was open to the process",
        )
    if process is None and _warmed(test):
        cautions.append(
            "Vent the port through a cooled, routed vent, close it again and watch it for 24 hours."
        )
        return result(
            PlyVerdict.INCONCLUSIVE,
            "the port stood near line pressure, but gas trapped between the plies and warmed by "
            "the line explains as much: vent, close and watch for 24 hours",
        )
    if process is True:
        return result(
            PlyVerdict.INNER,
            "the port stood at line pressure before the test: line fluid is behind the inner ply",
        )
    if len(held) < 2:
        missing.append("at least two readings of the held pressure")
        return result(
            PlyVerdict.INCONCLUSIVE, f"{len(held)} reading of the hold: at least two are needed"
        )

    atmospheric = test.atmospheric if test.atmospheric is not None else ATMOSPHERE
    first, last = held[0], held[-1]
    hold = last.minute - first.minute
    figures += [
        _figure("start", "Pressure at isolation (gauge)", "p1", first.pressure, "pressure_small"),
        _figure("end", "Pressure at the end (gauge)", "p2", last.pressure, "pressure_small"),
        _figure("hold", "Hold time", "t", hold, "minutes"),
    ]
    checks += _procedure(test, first, hold, limits, cautions)

    wanted = limits.value("interply.minimum")
    if first.pressure < wanted:
        if max(reading.pressure for reading in held) < 0.25 * wanted and proven is not False:
            checks.append(
                compare(
                    id="interply.build",
                    name="Pressure builds in the space",
                    demand=first.pressure,
                    capacity=wanted,
                    kind="pressure_small",
                    at_least=True,
                    source=limits["interply.minimum"].source,
                    limit_kind=limits["interply.minimum"].limit_kind,
                )
            )
            return result(
                PlyVerdict.INCONCLUSIVE,
                "pressure did not build: a large hole, both plies, or an open far port. Close the "
                "far port and try again before anything is concluded",
            )
        return result(
            PlyVerdict.INCONCLUSIVE,
            "the fill was below what can be told from gauge noise",
        )
    if first.temperature is None or last.temperature is None:
        missing.append("temperature at the bellows at the first and last reading")
        return result(
            PlyVerdict.INCONCLUSIVE,
            "temperature at the bellows was not read: 5 K feign or hide some 25 mbar",
        )
    start, end = first.pressure + atmospheric, last.pressure + atmospheric
    drop = corrected_drop(
        start=start,
        start_temperature=first.temperature,
        end=end,
        end_temperature=last.temperature,
    )
    share = drop / first.pressure
    figures += [
        Figure(
            id="corrected_drop",
            name="Drop corrected for temperature",
            symbol="p1 - p2 T1/T2",
            value=drop,
            kind="pressure_small",
            source=DECAY,
            note="" if test.atmospheric is not None else "atmospheric pressure taken as 101.3 kPa",
        ),
        Figure(
            id="drop_share",
            name="Drop as a share of gauge pressure",
            value=share,
            kind="share",
            source=DECAY,
        ),
    ]
    _leak_figures(test, figures, missing, hold, start, end, first, last)
    judged = _judged_drop(drop, hold, first.pressure, limits)
    checks.append(judged)
    noise = _noise(test)
    if noise is None:
        missing.append("resolution of the gauge")
    conditioned = test.fills is not None and test.fills >= limits.value("interply.fills")
    steady = _steady(held, atmospheric)

    if proven is not True:
        why = (
            "no gas passed from port to port: plies touching, packed or a plugged port"
            if proven is False
            else "the port was not proven open by a blow-through"
        )
        return result(PlyVerdict.INCONCLUSIVE, f"{why}; a held pressure then proves nothing")
    if hold < limits.value("interply.hold"):
        return result(
            PlyVerdict.INCONCLUSIVE,
            f"held {hold / 60:.0f} min, at least {limits.value('interply.hold') / 60:.0f} wanted",
        )
    if test.bubbles in {Bubbles.FITTING, Bubbles.OUTER}:
        return result(
            PlyVerdict.OUTER,
            f"bubbles {test.bubbles.value}: gas escapes there, however slow the fall",
        )
    if judged.outcome == Outcome.MET:
        if noise is not None and noise > limits.value("interply.drop") * first.pressure:
            return result(
                PlyVerdict.INCONCLUSIVE,
                "the gauge is too coarse: its resolution exceeds the drop that is accepted",
            )
        if share < -0.05:
            return result(
                PlyVerdict.INCONCLUSIVE,
                "the corrected pressure rose: a wrong temperature, or pressure comes from the line",
            )
        return result(PlyVerdict.TIGHT, "held after correction for temperature, port proven")
    if not conditioned:
        known = "unknown" if test.fills is None else str(test.fills)
        return result(
            PlyVerdict.INCONCLUSIVE,
            f"it dropped, but conditioning fills were {known}: the side walls may still relax",
        )
    if steady is False:
        return result(
            PlyVerdict.INCONCLUSIVE,
            "it dropped fast and then slower: the space still relaxes. Repeat the fill and hold",
        )
    if test.bubbles in {Bubbles.FITTING, Bubbles.OUTER}:
        return result(PlyVerdict.OUTER, f"steady fall with bubbles {test.bubbles.value}")
    if test.bubbles == Bubbles.NONE:
        return result(
            PlyVerdict.INNER,
            "steady fall after conditioning, and no bubbles at fittings, crowns, cuffs or seams",
        )
    missing.append("where bubbles show: fittings first, then crowns, cuffs and seams")
    return result(
        PlyVerdict.INCONCLUSIVE,
        "steady fall, but nobody looked for bubbles: which ply it is cannot be said",
    )


def shows_loss(result: InterplyResult) -> bool:
    """Whether gas was lost, or would not build, even where no ply could be named."""
    return any(
        check.id in {"interply.drop", "interply.build"} and check.outcome == Outcome.NOT_MET
        for check in result.checks
    )


def _only_water(found: str) -> bool:
    """Whether plain or rusty water came, which test and rain leave; black water is the process."""
    words = found.casefold().replace(",", " ").replace(".", " ").split()
    return "water" in words and WATER.issuperset(words)


def _process(test: InterplyTest) -> bool | None:
    """Whether the port read the process before the test; ``None`` when it cannot be told."""
    if test.first_reading is None or test.line_pressure is None or test.line_pressure < 2e4:
        return None
    if test.first_reading < PROCESS_SHARE * test.line_pressure:
        return False
    return None if test.first_reading <= WARMED else True


def _warmed(test: InterplyTest) -> bool:
    """Whether the port stood near line pressure at a height that warmed gas explains too."""
    return (
        test.first_reading is not None
        and test.line_pressure is not None
        and test.line_pressure >= 2e4
        and PROCESS_SHARE * test.line_pressure <= test.first_reading <= WARMED
    )


def _noise(test: InterplyTest) -> float | None:
    """Smallest drop that the gauge shows [Pa]; ``None`` when its division is not known."""
    if test.gauge_resolution is not None:
        return RESOLUTION_MARGIN * test.gauge_resolution
    return None


def _leak_figures(
    test: InterplyTest,
    figures: list[Figure],
    missing: list[str],
    hold: float,
    start: float,
    end: float,
    first: InterplyReading,
    last: InterplyReading,
) -> None:
    if test.space_volume is None:
        missing.append("volume of the interply space with hose (for a leak rate)")
        return
    if hold <= 0 or first.temperature is None or last.temperature is None:
        return
    figures.append(
        Figure(
            id="leak_rate",
            name="Leak rate",
            symbol="Q",
            value=leak_rate(
                volume=test.space_volume,
                time=hold,
                start=start,
                start_temperature=first.temperature,
                end=end,
                end_temperature=last.temperature,
            ),
            kind="leak_rate",
            source=DECAY,
        )
    )
    noise = _noise(test)
    if noise is not None:
        figures.append(
            Figure(
                id="smallest_leak",
                name="Smallest leak this gauge and hold could have seen",
                symbol="k V δp Tref / (t T)",
                value=test.space_volume * noise / hold * REFERENCE_TEMPERATURE / first.temperature,
                kind="leak_rate",
                source=DECAY,
                note="a smaller leak would pass unseen",
            )
        )


def _judged_drop(drop: float, hold: float, gauge: float, limits: Limits) -> Check:
    limit = limits["interply.drop"]
    quarter = 15 * 60.0
    per_quarter = drop * quarter / hold if hold > quarter else drop
    return compare(
        id="interply.drop",
        name="Corrected drop in 15 min",
        demand=per_quarter / gauge,
        capacity=limit.value,
        kind="share",
        source=limit.source,
        limit_kind=limit.limit_kind,
        inputs=(Quantity(name="gauge pressure", value=gauge, kind="pressure_small"),),
    )


def _steady(held: Sequence[InterplyReading], atmospheric: float) -> bool | None:
    """Whether it fell at an even rate; relaxation is fast first. ``None`` with too few readings."""
    known = [reading for reading in held if reading.temperature is not None]
    if len(known) < 4:
        return None
    middle = len(known) // 2

    def rate(a: InterplyReading, b: InterplyReading) -> float:
        drop = corrected_drop(
            start=a.pressure + atmospheric,
            start_temperature=a.temperature or 0.0,
            end=b.pressure + atmospheric,
            end_temperature=b.temperature or 0.0,
        )
        return drop / (b.minute - a.minute)

    early, late = rate(known[0], known[middle]), rate(known[middle], known[-1])
    return not (early > 0 and late < 0.4 * early)


def _port(test: InterplyTest) -> Check:
    known = test.port_to_port
    return Check(
        id="interply.port",
        name="Port proven open from port to port",
        outcome=Outcome.NOT_EVALUATED
        if known is None
        else Outcome.MET
        if known == Answer.YES
        else Outcome.NOT_MET,
        source=PRACTICE,
        limit_kind=LimitKind.RULE_OF_THUMB,
        because="unknown: blow-through from port to port"
        if known is None
        else "gas passed from port to port"
        if known == Answer.YES
        else "no gas passed",
    )


def _procedure(
    test: InterplyTest,
    first: InterplyReading,
    hold: float,
    limits: Limits,
    cautions: list[str],
) -> list[Check]:
    caution, wanted = limits["interply.caution"], limits["interply.hold"]
    fills = limits["interply.fills"]
    checks = [
        compare(
            id="interply.pressure",
            name="Test pressure low enough for the inner ply",
            demand=first.pressure,
            capacity=caution.value,
            kind="pressure_small",
            source=caution.source,
            limit_kind=caution.limit_kind,
        ),
        compare(
            id="interply.hold",
            name="Hold long enough",
            demand=hold,
            capacity=wanted.value,
            kind="minutes",
            at_least=True,
            source=wanted.source,
            limit_kind=wanted.limit_kind,
        ),
        compare(
            id="interply.fills",
            name="Conditioning fills",
            demand=None if test.fills is None else float(test.fills),
            capacity=fills.value,
            kind="count",
            at_least=True,
            source=fills.source,
            limit_kind=fills.limit_kind,
            missing=() if test.fills is not None else ("number of conditioning fills",),
        ),
    ]
    if checks[0].outcome == Outcome.NOT_MET:
        cautions.append(
            "The test pressure was above what the site allows: the inner ply sees it from outside "
            "and can buckle. Look for a soft spot before the joint goes back into service."
        )
    return checks


def _figure(id: str, name: str, symbol: str, value: float, kind: str) -> Figure:
    return Figure(
        id=id,
        name=name,
        symbol=symbol,
        value=value,
        kind=kind,
        source=Source(document="Reading", standing=Standing.READ),
    )
