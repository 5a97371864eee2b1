"""What time at temperature has done to a metal: sensitised, sigma, aged, embrittled.

Each answer is a :class:`Change` with a state of four: not expected, possible, expected, or not
known for lack of history.  Base metal and weld are asked separately where they differ.
"""

from __future__ import annotations

import csv
import functools
import importlib.resources
import math
from collections.abc import Sequence
from enum import StrEnum

import msgspec
import numpy as np

from takeup.errors import require_within
from takeup.materials import Family, alloy
from takeup.sources import Source, Standing
from takeup.units import Array

HOUR = 3600.0
ZERO = 273.15
BAND = 3.0
"""The curves of onset are known to a factor of three either way"""
BELOW = (150e3, 190e3)
"""Activation energy for going below the table [J/mol]"""
GAS = 8.314462618

TTS = Source(
    document="Published time-temperature-sensitisation diagrams", at="bands of three either way",
    standing=Standing.MEMORY,
)  # fmt: skip
SIGMA = Source(
    document="Published ageing studies of 304H and of 321/347 weld metal",
    at="sigma 560 to 980 °C; weld ferrite turns within 2 500 h above 538 °C",
    standing=Standing.READ,
)
FERRITE_475 = Source(
    document="API RP 571", at="475 °C (885 °F) embrittlement, 370 to 540 °C, ferrite only",
    standing=Standing.MEMORY,
)  # fmt: skip
AGED_625 = Source(
    document="Published ageing studies of N06625",
    at="8 000 h at 649 °C: 456 to 812 MPa; 50 000 h at 500 °C: hardened, low ductility",
    standing=Standing.READ,
)
RELAXATION = Source(
    document="API RP 571", at="stress relaxation (reheat) cracking, heavy, cold-worked or welded "
    "sections", standing=Standing.MEMORY,
)  # fmt: skip
TEMPER = Source(
    document="API RP 571 and ageing of 55 heats of 2.25Cr-1Mo to 75 000 h",
    at="temper embrittlement, 343 to 593 °C; J and X-bar factors",
    standing=Standing.READ,
)
GRAPHITE = Source(
    document="API RP 571",
    at="graphitisation 427 to 593 °C, spheroidisation 440 to 760 °C",
    standing=Standing.MEMORY,
)
WELDABILITY = (
    "Before any weld repair: bead on plate with the intended filler and preheat, penetrant or "
    "magnetic test after 24 to 48 h, macro and hardness; the piece decides, not the certificate."
)


class State(StrEnum):
    """What may be said of a change."""

    NO = "not expected"
    MAYBE = "possible"
    YES = "expected"
    UNKNOWN = "not known"


class Soak(msgspec.Struct, frozen=True, kw_only=True):
    """Time that a metal spent at one temperature."""

    time: float
    """[s]"""
    temperature: float
    """[K]"""


class Condition(msgspec.Struct, frozen=True, kw_only=True):
    """What is known of the metal beside its grade; ``None`` is unknown."""

    weld: bool = False
    stabilised: bool | None = None
    """Given a stabilising anneal, 870 to 900 °C"""
    cold_worked: bool | None = None
    """As formed, not annealed after"""
    composition: dict[str, float] = msgspec.field(default_factory=dict)
    """Mass percent by element symbol, from the certificate"""


class Change(msgspec.Struct, frozen=True, kw_only=True):
    """One change and how sure it is."""

    id: str
    name: str
    state: State
    because: str
    consequence: str
    source: Source
    share: float | None = None
    """Time at temperature over time to onset, middle of the band; none where there is no curve"""
    asks: tuple[str, ...] = ()
    """Tests or records that would settle it"""


@functools.cache
def _table() -> dict[str, tuple[Array, Array, Array]]:
    text = (
        importlib.resources.files("takeup.ageing").joinpath("sensitisation.csv").read_text("utf-8")
    )
    groups: dict[str, list[tuple[float, float, float]]] = {}
    for row in csv.DictReader(text.splitlines()):
        groups.setdefault(row["group"], []).append(
            (float(row["temperature_C"]) + ZERO, float(row["low_h"]), float(row["high_h"]))
        )
    found = {}
    for name, rows in groups.items():
        cells = np.array(sorted(rows))
        found[name] = (cells[:, 0], cells[:, 1] * HOUR, cells[:, 2] * HOUR)
    return found


def onset(group: str, temperature: float) -> tuple[float, float] | None:
    """Earliest and latest onset of sensitisation [s]; none above the table or below 370 °C.

    Straight in lg t over 1/T inside the table; below it by the activation energy of each end.
    """
    at, low, high = _table()[group]
    if temperature > at[-1] or temperature < 370.0 + ZERO:
        return None
    if temperature >= at[0]:
        x = -1.0 / at
        here = -1.0 / temperature
        return (
            float(10.0 ** np.interp(here, x, np.log10(low))) / BAND,
            float(10.0 ** np.interp(here, x, np.log10(high))) * BAND,
        )
    reach = (1.0 / temperature - 1.0 / float(at[0])) / GAS
    return (
        float(low[0]) / BAND * math.exp(BELOW[0] * reach),
        float(high[0]) * BAND * math.exp(BELOW[1] * reach),
    )


_GROUP = {
    "304": "304 0.05-0.08C", "304H": "304 0.05-0.08C", "316": "304 0.05-0.08C",
    "316H": "304 0.05-0.08C", "310": "304 0.05-0.08C", "310H": "304 0.05-0.08C",
    "alloy 600": "304 0.05-0.08C", "alloy 800": "304 0.05-0.08C", "alloy 800H": "304 0.05-0.08C",
    "alloy 800HT": "304 0.05-0.08C", "304L": "304L", "316L": "304L",
}  # fmt: skip
"""316(H), 310, 600, 800(H) are taken to sensitise like 304 of 0.05 to 0.08 C, as practice has it"""


def _group(name: str, condition: Condition) -> tuple[str | None, str]:
    for grade in ("321", "347"):
        if name in {grade, f"{grade}H"}:
            if condition.stabilised and grade == "321":
                return "321 stabilised", ""
            if condition.stabilised:
                return None, "347 given a stabilising anneal does not sensitise within 1e4 h"
            told = "" if condition.stabilised is False else "no stabilising anneal is on record; "
            return f"{grade} solution annealed", told
    return _GROUP.get(name), ""


def sensitised(name: str, soaks: Sequence[Soak], condition: Condition | None = None) -> Change:
    """Whether alloy ``name`` is sensitised by its time at temperature.

    Shares of the time to onset add up over temperatures (engineering assumption).
    """
    condition = condition or Condition()
    known = alloy(name)

    def change(
        state: State, because: str, share: float | None = None, asks: tuple[str, ...] = ()
    ) -> Change:
        return Change(
            id="sensitised",
            name=f"Sensitisation of {known.name}",
            state=state,
            because=because,
            consequence="polythionic acid and chlorides crack it at the grain boundaries once wet: "
            "keep it hot and dry or blanketed at shutdown, or washed with alkali before air gets in",
            source=TTS,
            share=share,
            asks=asks,
        )

    if known.family == Family.FERRITIC:
        return change(state=State.NO, because="a ferritic steel does not sensitise this way")
    if not soaks:
        return change(state=State.UNKNOWN, because="no hours at temperature are on record",
            asks=("hours at metal temperature", "ASTM A262 practice A on a replica"),
        )  # fmt: skip
    _sane(soaks)
    group, told = _group(known.name, condition)
    if group is None:
        slow = known.name in {"alloy 625", "alloy 825"}
        return change(
            state=(
                State.NO
                if told or (slow and _hours(soaks, 600.0, 760.0) <= 1000.0)
                else State.MAYBE
                if slow
                else State.UNKNOWN
            ),
            because=told
            or (
                f"{known.name} sensitises slowly at 600 to 760 °C"
                if slow
                else f"no curve for {known.name}"
            ),
            asks=("ASTM A262 on a replica",) if slow else (),
        )
    least = most = 0.0
    for one in soaks:
        when = onset(group, one.temperature)
        if when is not None:
            least += one.time / when[1]
            most += one.time / when[0]
        elif one.temperature > float(_table()[group][0][-1]) and one.temperature < 870.0 + ZERO:
            # above the table, below where carbides dissolve: as at its hottest row
            at = onset(group, float(_table()[group][0][-1]))
            assert at is not None
            least += one.time / at[1]
            most += one.time / at[0]
    state = State.YES if least >= 1.0 else State.MAYBE if most >= 1.0 else State.NO
    middle = math.sqrt(least * most) if least > 0.0 else 0.0
    return change(
        state=state,
        share=middle,
        because=f"{told}time at temperature is "
        + " to ".join(dict.fromkeys((_times(least), _times(most))))
        + f" the time to onset on the curve of {group}",
        asks=() if state == State.NO else ("ASTM A262 practice A or E, or a field EPR test",),
    )


def _times(value: float) -> str:
    if value > 1000.0:
        return "over 1000 times"
    return f"{value:.2g} times" if value < 100.0 else f"{value:.0f} times"


def _sane(soaks: Sequence[Soak]) -> None:
    require_within(
        "Metal temperature", [one.temperature - ZERO for one in soaks], low=-100.0, high=1300.0,
        unit="°C", whose="ageing of metals", remedy="Check the unit it was given in.",
    )  # fmt: skip
    require_within(
        "Time at temperature", [one.time for one in soaks], low=0.0, high=100.0 * 8766.0 * HOUR,
        unit="s", whose="ageing of metals",
    )  # fmt: skip


def _hours(soaks: Sequence[Soak], low: float, high: float) -> float:
    """Hours between two temperatures [C]."""
    return sum(one.time / HOUR for one in soaks if low + ZERO <= one.temperature <= high + ZERO)


def changes(
    name: str, soaks: Sequence[Soak], condition: Condition | None = None
) -> tuple[Change, ...]:
    """Every change that can concern alloy ``name``, in the order of what it does to a repair."""
    condition = condition or Condition()
    known = alloy(name)
    if soaks:
        _sane(soaks)
    found: list[Change] = []
    if known.family == Family.FERRITIC:
        found += _ferritic(known.name, soaks, condition)
    else:
        found.append(sensitised(name, soaks, condition))
        found += _austenitic(known.name, known.family, soaks, condition)
    if not soaks:
        return tuple(
            msgspec.structs.replace(
                one, state=State.UNKNOWN, because="no hours at temperature are on record"
            )
            for one in found
        )
    return tuple(found)


def _austenitic(
    name: str, family: Family, soaks: Sequence[Soak], condition: Condition
) -> list[Change]:
    found = []
    if family == Family.AUSTENITIC:
        if condition.weld:
            turned = _hours(soaks, 538.0, 980.0)
            found.append(
                Change(
                    id="sigma",
                    name=f"Sigma in weld metal of {name}",
                    state=_graded(turned, 500.0, 2500.0),
                    because=f"{turned:,.0f} h above 538 °C; weld ferrite turns within 2 500 h",
                    consequence="brittle when cold: no impact, no cold water test, slow lifts; a "
                    "weld repair needs a test piece first",
                    source=SIGMA,
                    share=turned / 2500.0,
                    asks=("ferrite or magnet test", "Charpy at 0 °C: 20 J mean, none below 13 J"),
                )
            )
            soft = _hours(soaks, 370.0, 540.0)
            found.append(
                Change(
                    id="475",
                    name=f"475 °C embrittlement of weld ferrite in {name}",
                    state=_graded(soft, 1000.0, 10000.0),
                    because=f"{soft:,.0f} h at 370 to 540 °C",
                    consequence="weld metal with much ferrite loses cold toughness",
                    source=FERRITE_475,
                    asks=("ferrite number of the weld",),
                )
            )
        else:
            turned = _hours(soaks, 560.0, 980.0)
            found.append(
                Change(
                    id="sigma",
                    name=f"Sigma in {name}",
                    state=_graded(turned, 5000.0, 50000.0),
                    because=f"{turned:,.0f} h at 560 to 980 °C; a few per cent form in 1e4 to 1e5 h "
                    "and time does not tell how much",
                    consequence="brittle when cold: no impact, no cold water test, slow lifts; a "
                    "weld repair needs a test piece first",
                    source=SIGMA,
                    asks=("replica with hardness", "Charpy at 0 °C: 20 J mean, none below 13 J"),
                )
            )
    if name == "alloy 625":
        aged = _hours(soaks, 540.0, 760.0)
        long = _hours(soaks, 480.0, 540.0)
        found.append(
            Change(
                id="aged",
                name="Ageing of alloy 625",
                state=State.YES if aged > 1000.0 else _graded(long + aged, 300.0, 20000.0),
                because=f"{aged:,.0f} h at 540 to 760 °C, {long:,.0f} h at 480 to 540 °C; beyond "
                "about 1 000 h above 540 °C ductility is unknown",
                consequence="strong and short of ductility: it cracks when bent or welded; a "
                "restoring anneal at 980 to 1050 °C may help",
                source=AGED_625,
                share=aged / 1000.0,
                asks=("hardness", "bend or tensile test of a piece"),
            )
        )
    window = _hours(soaks, 525.0, 750.0)
    if name in {"321", "321H", "347", "347H", "alloy 800H", "alloy 800HT", "alloy 625"} and (
        condition.weld or condition.cold_worked is not False
    ):
        found.append(
            Change(
                id="relaxation",
                name=f"Stress relaxation cracking of {name}",
                state=State.MAYBE if window > 0.0 else State.NO,
                because=f"{window:,.0f} h at 525 to 750 °C"
                + ("" if condition.cold_worked is not None or condition.weld else
                   "; whether it was annealed after forming is not on record"),
                consequence="cracks beside heavy or cold-worked welds in the first years, without "
                "warning",
                source=RELAXATION,
                asks=("penetrant and shear-wave test beside heavy welds",),
            )
        )  # fmt: skip
    return found


def j_factor(composition: dict[str, float]) -> float | None:
    """(Si + Mn)(P + Sn) 1e4 of base metal, mass percent; none where an element is unknown."""
    if not {"Si", "Mn", "P", "Sn"} <= composition.keys():
        return None
    c = composition
    return (c["Si"] + c["Mn"]) * (c["P"] + c["Sn"]) * 1e4


def x_bar(composition: dict[str, float]) -> float | None:
    """(10 P + 5 Sb + 4 Sn + As) / 100 of weld metal [ppm]; from mass percent."""
    if not {"P", "Sb", "Sn", "As"} <= composition.keys():
        return None
    c = {name: value * 1e4 for name, value in composition.items()}
    return (10.0 * c["P"] + 5.0 * c["Sb"] + 4.0 * c["Sn"] + c["As"]) / 100.0


def _ferritic(name: str, soaks: Sequence[Soak], condition: Condition) -> list[Change]:
    found = []
    if name in {"2.25Cr-1Mo", "1.25Cr-0.5Mo"}:
        hours = _hours(soaks, 343.0, 593.0)
        factor = x_bar(condition.composition) if condition.weld else j_factor(condition.composition)
        limit = 15.0 if condition.weld else 100.0
        old = 20.0 if condition.weld else 180.0
        strong = name == "2.25Cr-1Mo"
        if hours < 1000.0:
            state, why = State.NO, f"{hours:,.0f} h at 343 to 593 °C"
        elif factor is None:
            state = State.MAYBE
            why = (
                f"{hours:,.0f} h at 343 to 593 °C and the "
                f"{'P, Sb, Sn, As' if condition.weld else 'Si, Mn, P, Sn'} of the metal is not on "
                "record"
            )
        else:
            state = (
                State.NO if factor <= limit else State.YES if factor > old and strong
                else State.MAYBE
            )  # fmt: skip
            why = (
                f"{hours:,.0f} h at 343 to 593 °C; "
                f"{'X-bar' if condition.weld else 'J'} {factor:.0f} against {limit:.0f} (newer "
                f"practice) and {old:.0f} (older)"
            )
        found.append(
            Change(
                id="temper",
                name=f"Temper embrittlement of {'weld metal of ' if condition.weld else ''}{name}",
                state=state,
                because=why,
                consequence="brittle when cold: a least temperature before pressure and care at "
                f"the outage. {WELDABILITY}",
                source=TEMPER,
                asks=("certificate with tramp elements", "Charpy or step-cool test of a piece"),
            )
        )
    if name in {"carbon steel", "A106-C", "A516-70", "A516-60", "C-0.5Mo"}:
        hours = _hours(soaks, 427.0, 593.0)
        found.append(
            Change(
                id="graphite",
                name=f"Graphitisation of {name}",
                state=_graded(hours, 10000.0, 100000.0),
                because=f"{hours:,.0f} h at 427 to 593 °C",
                consequence="planes of graphite beside welds crack under load",
                source=GRAPHITE,
                asks=("replica beside the welds",),
            )
        )
    return found


def _graded(value: float, maybe: float, yes: float) -> State:
    return State.YES if value >= yes else State.MAYBE if value >= maybe else State.NO
