"""From text to a line: every fault at once, each with its line number and station."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any

import msgspec
import numpy as np

from takeup import materials
from takeup.errors import BadFile, TakeupError
from takeup.given import take
from takeup.line import model as m
from takeup.line.text import forms as f
from takeup.line.text import stating
from takeup.line.text.naming import SUPPORTS, every_name, near, unfit
from takeup.line.text.naming import named as named_well
from takeup.line.text.placing import Placed, place, vector_of
from takeup.line.text.positions import Path, line_of, positions
from takeup.units import parse_number, to_si

TOUCH = 1e-6
"""Stations nearer than this are at one point [m]."""


class LineFault(msgspec.Struct, frozen=True, kw_only=True):
    """Something wrong in the text of a line."""

    line: int
    """Line number of the text; 0: the text as a whole"""
    station: str = ""
    wrong: str
    """What is wrong and what would be right"""

    def words(self, file: str = "") -> str:
        """One line for people."""
        place = ", ".join(
            part
            for part in (
                file,
                f"line {self.line}" if self.line else "",
                f"station {self.station}" if self.station else "",
            )
            if part
        )
        return f"{place}: {self.wrong}" if place else self.wrong


class BadLine(BadFile):
    """The text is not a line; ``faults`` holds every reason."""

    def __init__(self, faults: tuple[LineFault, ...], file: str = "") -> None:
        self.faults, self.file = faults, file
        super().__init__("\n".join(fault.words(file) for fault in faults))


class Reading(msgspec.Struct, frozen=True, kw_only=True):
    """A line, or why there is none."""

    line: m.Line | None
    faults: tuple[LineFault, ...]


def read(text: str, *, joints: Mapping[str, f.JointData] | None = None, file: str = "") -> m.Line:
    """The line that ``text`` states; ``joints`` gives data of tags without a ``[[joint]]``.

    Raises :class:`BadLine` with every fault.
    """
    found = examine(text, joints=joints)
    if found.line is None:
        raise BadLine(found.faults, file)
    return found.line


def examine(text: str, *, joints: Mapping[str, f.JointData] | None = None) -> Reading:
    """As :func:`read`, without raising: the line, or all faults."""
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        line = getattr(fault, "lineno", 0)
        said = str(fault)
        if not line and "at line " in said:
            line = int(said.split("at line ")[1].split(",", maxsplit=1)[0])
        return _no_line(f"is not valid TOML: {said}", line)
    except RecursionError:
        return _no_line("is not valid: lists or tables stand within each other too deeply")
    except ValueError:  # a whole number of more digits than the language reads
        return _no_line("has a whole number of thousands of digits; write it shorter")
    lines = positions(text)
    taken = take(raw, f.LineForm)
    if taken.value is None:
        return Reading(
            line=None,
            faults=tuple(
                LineFault(
                    line=line_of(lines, one.path),
                    station=_station_of(raw, one.path),
                    wrong=f"{one.place[2:]} {one.wrong}",
                )
                for one in taken.faults
            ),
        )
    made = _Reader(taken.value, lines, joints)
    bare_temperatures(raw, made.fault)
    line = made.line()
    faults = tuple(sorted(made.faults, key=lambda fault: fault.line))
    return Reading(line=None if faults else line, faults=faults)


def bare_temperatures(raw: dict[str, Any], fault: Any) -> None:
    """Fault every temperature of a state that is a number without a unit.

    Numbers elsewhere are SI, and 540 would be 540 K: a person who writes it means degrees.
    """
    for n, state in enumerate(raw.get("state", [])):
        others = state.get("temperatures", {})
        found = {("temperature",): state.get("temperature")} | {
            ("temperatures", name): value for name, value in others.items()
        }
        for path, value in found.items():
            if isinstance(value, (int, float)):
                fault(
                    ("state", n, *path),
                    f'the temperature {value:g} has no unit: write "{value:g} C", '
                    f'"{value:g} F" or "{value:g} K"',
                )


def _no_line(wrong: str, line: int = 0) -> Reading:
    return Reading(line=None, faults=(LineFault(line=line, wrong=wrong),))


def _station_of(raw: Any, path: Path) -> str:
    """The station that the table around ``path`` names, or the end of its leg; else nothing."""
    found, here = "", raw
    for step in path:
        try:
            here = here[step]
        except (KeyError, IndexError, TypeError):
            break
        if isinstance(here, dict):
            name = here.get("station", here.get("to", here.get("start", "")))
            found = name if isinstance(name, str) and name else found
    return found if not unfit(found) else ""


class _Reader:
    def __init__(
        self, form: f.LineForm, lines: dict[Path, int], joints: Mapping[str, f.JointData] | None
    ) -> None:
        self.form, self.lines, self.register = form, lines, joints
        self.faults: list[LineFault] = []
        self.pipes: dict[str, m.Pipe] = {}

    def fault(self, path: Path, wrong: str, station: str = "") -> None:
        self.faults.append(LineFault(line=line_of(self.lines, path), station=station, wrong=wrong))

    def at(self, *path: str | int) -> int:
        return line_of(self.lines, path)

    def line(self) -> m.Line | None:
        self.read_pipes()
        states = self.read_states()
        data = self.joint_data()
        named_well(self.form, data, self.lines, self.fault)
        if any(unfit(name) for _, name in every_name(self.form)):
            return None
        placed = place(self.form, self.pipes, data, self.lines, self.fault)
        self.names(placed)
        supports = self.supports(placed)
        tees = self.tees(placed)
        stated = stating.stated(self.form, placed, tees, self.lines, self.fault, near)
        welds = stating.welds(self.form, placed, self.lines, self.fault, near)
        self.geometry(placed)
        self.anchored(placed, supports)
        self.pins(placed)
        self.temperatures(placed, states)
        if self.faults:
            return None
        return m.Line(
            tag=self.form.line,
            pipes=tuple(self.pipes.values()),
            stations=tuple(
                m.Station(name=name, position=position, at=placed.lines.get(name, 0))
                for name, position in placed.stations.items()
            ),
            pieces=tuple(placed.pieces),
            supports=tuple(supports),
            states=tuple(states),
            tees=tuple(tees),
            cycles=self.form.cycles,
            notes=self.form.notes,
            factors=self.form.factors,
            range_rule=self.form.allowable_range,
            cold_spring=self.form.cold_spring,
            stated=tuple(stated),
            welds=tuple(welds),
        )

    def read_pipes(self) -> None:
        for n, one in enumerate(self.form.pipe):
            where: Path = ("pipe", n)
            if one.name in self.pipes:
                self.fault(where, f"pipe {one.name!r} is defined twice; give one another name")
            if 2.0 * one.wall >= one.outside or one.allowance >= one.wall:
                self.fault(
                    where,
                    f"wall of {one.name!r} leaves no pipe: two walls must be less than the "
                    "outside diameter, and the allowance less than the wall",
                )
            if 2.0 * (one.wall + one.lining_thickness) >= one.outside > 2.0 * one.wall:
                self.fault(
                    (*where, "lining_thickness"),
                    f"lining of {one.name!r} leaves no room inside; correct its thickness",
                )
            try:
                materials.alloy(one.metal)
            except TakeupError as fault:
                self.fault((*where, "metal"), str(fault))
            self.pipes[one.name] = m.Pipe(
                at=self.at(*where),
                name=one.name,
                outside=one.outside,
                wall=one.wall,
                metal=one.metal,
                allowance=one.allowance,
                insulation_mass=one.insulation,
                lining_mass=one.lining,
                lining_thickness=one.lining_thickness,
                contents_density=one.contents,
                weld_factor=one.weld_factor,
                weld_strength=one.weld_strength,
                en_cold=one.en_cold,
                en_hot=one.en_hot,
                en_creep=one.en_creep,
            )

    def read_states(self) -> list[m.State]:
        found: list[m.State] = []
        for n, one in enumerate(self.form.state):
            names = [state.name for state in found]
            if one.name in names:
                self.fault(("state", n), f"state {one.name!r} is defined twice")
            if one.after and one.after not in names:
                self.fault(
                    ("state", n, "after"),
                    f"state {one.after!r} does not stand before this one; {near(one.after, names)}",
                )
            if one.role not in {"", "cold", "hot", "occasional"}:
                self.fault(("state", n, "role"), f"is {one.role!r}; choices: cold, hot, occasional")
            if len(one.acceleration) != 3:
                self.fault(("state", n, "acceleration"), "must be [east, north, up]")
            found.append(m.State(at=self.at("state", n), **msgspec.structs.asdict(one)))
        return found

    def joint_data(self) -> dict[str, f.JointData]:
        found = dict(self.register or {})
        seen: set[str] = set()
        for n, one in enumerate(self.form.joint):
            if one.tag in seen:
                self.fault(("joint", n), f"joint {one.tag!r} is defined twice")
            seen.add(one.tag)
            if len(one.bellows) not in {1, 2}:
                self.fault(("joint", n), "has no bellows, or more than two; give one or two")
            hardware = []
            for k, hard in enumerate(one.hardware):
                values = msgspec.structs.asdict(hard)
                if hard.axis is not None:
                    values["axis"] = self.direction(hard.axis, ("joint", n, "hardware", k, "axis"))
                if hard.rod_metal:
                    try:
                        materials.alloy(hard.rod_metal)
                    except TakeupError as fault:
                        self.fault(("joint", n, "hardware", k, "rod_metal"), str(fault))
                hardware.append(m.Hardware(**values))
            found[one.tag] = f.JointData(
                bellows=tuple(
                    m.BellowsSpring(**msgspec.structs.asdict(part)) for part in one.bellows
                ),
                length=one.length,
                over_both=one.over_both,
                spool_pipe=one.spool_pipe,
                hardware=tuple(hardware),
                locked=one.locked,
                design=None
                if one.design is None
                else m.DesignMovement(**msgspec.structs.asdict(one.design)),
            )
        return found

    def direction(self, raw: Any, path: Path, along: m.Vector | None = None) -> m.Vector:
        try:
            return vector_of(raw, along)
        except TakeupError as fault:
            self.fault(path, str(fault))
            return (1.0, 0.0, 0.0)

    def names(self, placed: Placed) -> None:
        for n, one in enumerate(self.form.station):
            if one.name in placed.stations and not placed.touched(one.name) and not placed.left_out:
                self.fault(
                    ("station", n),
                    "is not connected: no run starts, passes or ends here",
                    one.name,
                )
        groups = placed.groups() if not placed.left_out else []
        for group in groups[1:]:
            name = group[0]
            self.faults.append(
                LineFault(
                    line=placed.lines.get(name, 0),
                    station=name,
                    wrong="is not connected with the first run: start this run at one of its "
                    "stations, or end a leg at one",
                )
            )

    def on(self, kind: str, n: int, one: f.On, placed: Placed) -> str:
        station = placed.aliases.get(one.station, one.station)
        if station not in placed.stations and one.station not in placed.left_out:
            if one.station in placed.corners:
                hint = (
                    f"it is the corner of a bend, where there is no pipe; use {one.station}.in "
                    f"or {one.station}.out"
                )
            else:
                hint = near(one.station, [*placed.stations])
            self.fault(
                (kind, n, "station"), f"the {kind} stands at no station; {hint}", one.station
            )
        return station

    def six(self, raw: Any, path: Path, kinds: tuple[str, str], station: str) -> Any:
        if raw is None:
            return None
        if len(raw) != 6:
            self.fault(
                path, f"{path[-1]} must have six values: along and about east, north, up", station
            )
            return None
        found = []
        for k, given in enumerate(raw):
            try:
                one = given
                if isinstance(given, str):
                    number, unit = parse_number(given)
                    one = to_si(number, unit, kinds[k // 3])
                if not np.isfinite(one) or one < 0:
                    raise TakeupError(f"is {one}; right would be a finite number, 0 or more")
                found.append(float(one))
            except (TakeupError, OverflowError) as fault:
                self.fault((*path, k), f"{path[-1]} {fault}", station)
        return tuple(found)

    def supports(self, placed: Placed) -> list[m.Support]:
        found: list[m.Support] = []
        names: dict[str, int] = {}
        kinds: dict[str, Any] = {
            "anchor": m.Anchor, "rest": m.Rest, "guide": m.Guide, "stop": m.Stop,
            "rod": m.RodHanger, "spring": m.VariableSpring, "constant": m.ConstantSpring,
            "strut": m.Strut,
        }  # fmt: skip
        states = [state.name for state in self.form.state]
        for kind in SUPPORTS:
            for n, one in enumerate(getattr(self.form, kind)):
                path: Path = (kind, n)
                station = self.on(kind, n, one, placed)
                values = msgspec.structs.asdict(one) | {"station": station}
                name = values["name"] = one.name or f"{kind} at {one.station}"
                if name in names:
                    self.fault(path, f"support {name!r} is defined twice (line {names[name]})")
                names[name] = self.at(*path)
                along = placed.along.get(station)
                if kind == "anchor":
                    values["stiffness"] = self.six(
                        one.stiffness,
                        (*path, "stiffness"),
                        ("axial_rate", "angular_rate"),
                        one.station,
                    )
                    values["allowed"] = self.six(
                        one.allowed, (*path, "allowed"), ("force", "moment"), one.station
                    )
                    for state, move in one.growth.items():
                        if state not in states:
                            self.fault(
                                (*path, "growth", state),
                                f"state {state!r} is not known; {near(state, states)}",
                                one.station,
                            )
                        if len(move) != 3:
                            self.fault(
                                (*path, "growth", state),
                                f"growth in {state} must be [east, north, up]",
                                one.station,
                            )
                    values["growth"] = {key: tuple(v) for key, v in one.growth.items()}
                if kind == "guide" and one.across is not None:
                    values["across"] = self.direction(one.across, (*path, "across"), along)
                if kind in {"stop", "strut"}:
                    if one.direction is None:
                        gap = kind == "stop" and any(
                            getattr(one, key) is not None
                            for key in ("gap", "gap_plus", "gap_minus")
                        )
                        self.fault(
                            path,
                            ("has a gap without a direction" if gap else "has no direction")
                            + '; write direction = "east", "along" or [east, north, up]',
                            one.station,
                        )
                    else:
                        values["direction"] = self.direction(
                            one.direction, (*path, "direction"), along
                        )
                if kind == "stop":
                    both = values.pop("gap") or 0.0
                    for key in ("gap_plus", "gap_minus"):
                        if values[key] is None:
                            values[key] = both
                if values.get("direction", 0) is None:
                    continue
                found.append(kinds[kind](at=self.at(*path), **values))
        return found

    def tees(self, placed: Placed) -> list[m.Tee]:
        found = []
        for n, one in enumerate(self.form.tee):
            station = placed.aliases.get(one.station, one.station)
            count = sum(station in (p.start, p.end) for p in placed.pieces)
            if station not in placed.stations:
                if one.station not in placed.left_out:
                    words = f"the tee stands at no station; {near(one.station, placed.stations)}"
                    self.fault(("tee", n, "station"), words, one.station)
            elif count != 3 and not placed.left_out:
                self.fault(
                    ("tee", n), f"a tee stands where three pieces meet; here meet {count}",
                    one.station,
                )  # fmt: skip
            values = msgspec.structs.asdict(one) | {"station": station}
            found.append(m.Tee(at=self.at("tee", n), **values))
        return found

    def geometry(self, placed: Placed) -> None:
        from scipy.spatial import cKDTree

        names = list(placed.stations)
        if len(names) < 2:
            return
        tree = cKDTree(np.array([placed.stations[name] for name in names]))
        joined = {frozenset((p.start, p.end)) for p in placed.pieces}
        for a, b in sorted(tree.query_pairs(TOUCH)):
            one, two = names[a], names[b]
            if frozenset((one, two)) not in joined and frozenset((one, two)) not in placed.zero:
                self.faults.append(
                    LineFault(
                        line=placed.lines.get(two, 0),
                        station=two,
                        wrong=f"lies at the same point as {one} (line {placed.lines.get(one, 0)}); "
                        "use one name for both, or move one",
                    )
                )

    def anchored(self, placed: Placed, supports: list[m.Support]) -> None:
        root = {name: name for name in placed.stations}

        def top(name: str) -> str:
            while root[name] != name:
                name = root[name]
            return name

        for piece in placed.pieces:
            if isinstance(piece, m.Rigid) and piece.start in root and piece.end in root:
                root[top(piece.start)] = top(piece.end)
        first: dict[str, m.Anchor] = {}
        for one in supports:
            if not isinstance(one, m.Anchor) or one.station not in root or one.stiffness:
                continue
            key = top(one.station)
            if key in first:
                self.faults.append(
                    LineFault(
                        line=one.at,
                        station=one.station,
                        wrong=f"second anchor on one rigid piece, after {first[key].name} at "
                        f"{first[key].station} (line {first[key].at}): they cannot share the load; "
                        "keep one, or give a stiffness",
                    )
                )
            first.setdefault(key, one)

    def pins(self, placed: Placed) -> None:
        """Pins of hinges lie across their joint."""
        for piece in placed.pieces:
            if not isinstance(piece, m.Joint):
                continue
            start, end = (np.array(placed.stations[name]) for name in (piece.start, piece.end))
            along = (end - start) / np.linalg.norm(end - start)
            for hard in piece.hardware:
                if hard.axis is not None and np.linalg.norm(np.cross(along, hard.axis)) < 0.1:
                    self.faults.append(
                        LineFault(
                            line=piece.at,
                            station=piece.end,
                            wrong=f"the axis of the pins of joint {piece.tag!r} lies along the "
                            "joint; pins lie across it: correct axis, or give clock",
                        )
                    )

    def temperatures(self, placed: Placed, states: list[m.State]) -> None:
        known = {*self.pipes, *(p.tag for p in placed.pieces if isinstance(p, m.Joint))}
        known |= {p.name for p in placed.pieces if isinstance(p, m.Rigid) and p.name}
        known |= {f"{p.tag} rods" for p in placed.pieces if isinstance(p, m.Joint) and p.hardware}
        for n, state in enumerate(states):
            for name in state.temperatures:
                if name not in known:
                    self.fault(
                        ("state", n, "temperatures", name),
                        f"{name!r} is no pipe, rigid piece or joint; {near(name, known)}",
                    )
            said: set[tuple[str, float]] = set()
            for pipe in self.pipes.values():
                hot = state.temperatures.get(pipe.name, state.temperature)
                if (pipe.metal, hot) in said:
                    continue
                said.add((pipe.metal, hot))
                for look in (materials.expansion_total, materials.modulus):
                    try:
                        look(pipe.metal, hot)
                    except TakeupError as fault:
                        if "is not known" in str(fault):
                            break
                        self.fault(
                            ("state", n),
                            f"state {state.name!r}, pipe {pipe.name!r}: {fault}",
                            next(
                                (
                                    p.start
                                    for p in placed.pieces
                                    if getattr(p, "pipe", "") == pipe.name
                                ),
                                "",
                            ),
                        )
