"""Isometric drawing of a line: pieces, supports, how it moves, its loads, what is over a limit."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from takeup.checks import Check, Outcome
from takeup.documents.drawing.isometric_parts import (
    CHARACTER,
    Point,
    Room,
    box_symbol,
    carried,
    curve,
    kind_of_support,
    project,
    reach,
    rod,
    support_symbol,
    zigzag,
)
from takeup.documents.drawing.palette import PRINT, Palette
from takeup.documents.drawing.svg import Svg
from takeup.documents.drawing.view import outcome_mark, outcome_words, scale_bar, write
from takeup.errors import Contradiction, UnknownName
from takeup.line.model import (
    Anchor,
    Guide,
    Joint,
    Line,
    Reducer,
    Rest,
    Rigid,
    RodHanger,
    Stop,
    Strut,
)
from takeup.line.solve import JointMovement, Reaction, StateResult
from takeup.line.turning import furthest
from takeup.units import Array, System, kind_of

STILL = 1.0
"""A support that carries less than this carries nothing [N]."""
MOST = 42.0
"""Largest movement as drawn [px]."""
SIZE = 11.0
"""Of the letters [px]."""
LEAST = 22.0
"""Least length of a joint, reducer or rigid part on paper [px]."""


def isometric(
    line: Line,
    result: StateResult | None = None,
    *,
    checks: Sequence[Check] = (),
    pointed: Mapping[str, str] | None = None,
    system: System = System.METRIC,
    palette: Palette = PRINT,
    width: float = 900.0,
) -> str:
    """Draw ``line`` to scale as SVG, ``width`` pixels wide (at least 480).

    With ``result``, one state solved on this line: the deflected shape with its exaggeration,
    the movement of each joint, the loads on anchors.  ``checks`` of
    :func:`takeup.line.results.judge`: those not met or not evaluated are marked in the drawing
    by a numbered sign and told below it.  ``pointed`` rings supports and joints by name, each
    with a few words beside its ring.  Symbols have a size of their own; only the axis is
    to scale.  Sag between two stations is not drawn.  Raises
    :class:`takeup.errors.UnknownName` for a piece or support at an unknown station and
    :class:`takeup.errors.Contradiction` for a line without pieces or a result of another line.
    """
    sheet = _Sheet(line, result, checks, system, palette, max(480.0, width))
    sheet.pointed = dict(pointed or {})
    return sheet.draw()


class _Sheet:
    """One drawing while it is made."""

    def __init__(self, line: Line, result: StateResult | None, checks: Sequence[Check],
                 system: System, palette: Palette, width: float) -> None:  # fmt: skip
        if not line.pieces:
            raise Contradiction(f"line {line.tag!r} has no pieces to draw")
        if result is not None and len(result.motion) < len(line.stations):
            raise Contradiction(
                f"state {result.state!r} has {len(result.motion)} nodes, fewer than the "
                f"{len(line.stations)} stations of line {line.tag!r}: it was solved on another line"
            )
        self.line, self.result, self.system, self.palette = line, result, system, palette
        self.width = width
        self.place = {station.name: at for at, station in enumerate(line.stations)}
        self.at = np.array([station.position for station in line.stations], dtype=float)
        self.curves = [curve(p, self._point(p.start), self._point(p.end)) for p in line.pieces]
        self.marked = [one for one in checks if self._shown(one)]
        self.pointed: dict[str, str] = {}
        self.unnamed = 0
        self._fit()

    def _shown(self, check: Check) -> bool:
        """Whether a check is told: open or not met, and not of another state than the drawn."""
        if check.outcome not in {Outcome.NOT_MET, Outcome.NOT_EVALUATED}:
            return False
        head, _, tail = check.id.partition("@")
        by_state = head.startswith(("load.", "travel."))
        return not (by_state and self.result is not None and tail != self.result.state)

    def _index(self, station: str) -> int:
        try:
            return self.place[station]
        except KeyError:
            raise UnknownName("station", station, tuple(self.place)) from None

    def _point(self, station: str) -> Array:
        point: Array = self.at[self._index(station)]
        return point

    def _fit(self) -> None:
        flat = project(np.vstack(self.curves))
        low, high = flat.min(axis=0), flat.max(axis=0)
        wide, tall = (float(v) for v in np.maximum(high - low, 1e-9))
        side = min(150.0, 0.17 * self.width)
        self.top = 64.0
        self.scale = min((self.width - 2 * side) / wide, 0.85 * self.width / tall)
        self.height = max(170.0, tall * self.scale) + 150.0
        self.bottom = self.top + self.height
        middle = (low + high) / 2.0
        self.origin = (
            np.array([self.width / 2.0, self.top + self.height / 2.0]) - middle * self.scale
        )

    def px(self, points: Array) -> Array:
        """Metres to pixels."""
        found: Array = self.origin + project(points) * self.scale
        return found

    def spot(self, station: str) -> Point:
        """Pixel of a station."""
        x, y = self.px(self._point(station)).tolist()
        return x, y

    def heading(self, station: str) -> Point:
        """Unit direction of the pipe at a station, on paper."""
        for piece, points in zip(self.line.pieces, self.curves, strict=True):
            if station in {piece.start, piece.end}:
                two = points[:2] if station == piece.start else points[-2:]
                flat = project(two)
                way = flat[1] - flat[0]
                size = float(np.hypot(*way))
                if size > 1e-9:
                    return float(way[0] / size), float(way[1] / size)
        return 1.0, 0.0

    def draw(self) -> str:
        """The whole drawing."""
        state = f", {self.result.state}" if self.result else ""
        desc = (
            f"{len(self.line.pieces)} pieces, {len(self.line.supports)} supports, "
            f"{len(self.marked)} checks not met or not evaluated"
        )
        svg = Svg(
            self.width, 100.0, f"Isometric of line {self.line.tag}{state}", desc, self.palette
        )
        self.svg, self.room = svg, Room(self.width, self.top, self.bottom)
        svg.text(4, 20, f"Line {self.line.tag}{state}", size=16, weight="600")
        svg.text(4, 38, "Axis to scale, seen from the south-east and above; symbols are not.",
                 size=SIZE, fill=self.palette.soft)  # fmt: skip
        self._compass()
        said = self._moved() if self.result else ""
        self._pieces()
        supports = self._supports()
        self._rings()
        self._marks()
        arrows = self._loads() if self.result else False
        self._names()
        y = self._legend(supports, arrows, bool(said))
        y = self._told(y, said)
        svg.height = y + 6
        return svg.render()

    def _compass(self) -> None:
        x, y, p = self.width - 58.0, self.top + 4.0, self.palette
        for words, way in (("E", (1.0, 0, 0)), ("N", (0, 1.0, 0)), ("up", (0, 0, 1.0))):
            dx, dy = project(np.array(way)).tolist()
            bold = words == "N"
            self.svg.arrow(x, y, x + 28 * dx, y + 28 * dy, width=2.2 if bold else 0.9,
                           stroke=p.ink if bold else p.soft, head=8 if bold else 5)  # fmt: skip
            self.svg.text(x + 40 * dx, y + 40 * dy + 4, words, size=14 if bold else 11,
                          anchor="middle", weight="700" if bold else "")  # fmt: skip
        self.room.take((x - 16, y - 50, self.width, y + 34))

    def _moved(self) -> str:
        assert self.result is not None
        moves = self.result.motion[: len(self.line.stations)]
        most = float(np.linalg.norm(moves[:, :3], axis=1).max())
        if most < 1e-7:
            return "Nothing moves in this state."
        wanted = MOST / (most * self.scale)
        power = 10.0 ** math.floor(math.log10(wanted))
        times = next(k * power for k in (5.0, 2.0, 1.0) if k * power <= wanted * (1 + 1e-9))
        for piece, points in zip(self.line.pieces, self.curves, strict=True):
            ends = moves[self._index(piece.start)], moves[self._index(piece.end)]
            there = self.px(points + times * carried(piece, points, *ends)).tolist()
            self.svg.polyline([(x, y) for x, y in there], stroke=self.palette.accent, width=1.3,
                              dash="6 3")  # fmt: skip
            self.room.trace([(x, y) for x, y in there])
        show = kind_of("movement").show(self.system)
        return (
            f"Dashed: deflected shape in state {self.result.state}, movements drawn {times:g} times "
            f"their size; the largest is {most / show.factor:.{show.decimals}f} {show.symbol}. Sag "
            "between stations is not drawn."
        )

    def _pieces(self) -> None:
        worst = self._by_piece()
        for at, points in enumerate(self.curves):
            flat = [(x, y) for x, y in self.px(points).tolist()]
            over = worst.get(at) == Outcome.NOT_MET
            self.svg.polyline(flat, width=4.4 if over else 2.6,
                              stroke=self.palette.warn if over else None)  # fmt: skip
            if over:
                self._ticks(flat)
            self.room.trace(flat)
        sizes = {pipe.name: pipe.outside for pipe in self.line.pipes}
        for piece in self.line.pieces:
            a, b = self._stretched(self.spot(piece.start), self.spot(piece.end))
            if isinstance(piece, Rigid):
                box_symbol(self.svg, a, b, 7.0, crossed=True)
            elif isinstance(piece, Reducer):
                more = sizes.get(piece.pipe, 0.0) >= sizes.get(piece.to_pipe, 0.0)
                box_symbol(self.svg, a, b, *((8.0, 4.0) if more else (4.0, 8.0)))
            elif isinstance(piece, Joint):
                self._joint(piece, a, b)
            else:
                continue
            self.room.take((min(a[0], b[0]) - 7, min(a[1], b[1]) - 7,
                            max(a[0], b[0]) + 7, max(a[1], b[1]) + 7))  # fmt: skip

    def _ticks(self, flat: Sequence[Point]) -> None:
        """Strokes across a piece that is over its limit: told by shape as well as colour."""
        steps = np.array(flat)
        lengths = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(steps, axis=0).T))))
        count = max(1, int(lengths[-1] / 16.0))
        for k in range(count):
            s = lengths[-1] * (k + 0.5) / count
            x, y = (float(np.interp(s, lengths, steps[:, i])) for i in (0, 1))
            at = min(int(np.searchsorted(lengths, s)), len(steps) - 1)
            way = steps[at] - steps[at - 1]
            u, v = (way / (float(np.hypot(*way)) or 1.0)).tolist()
            self.room.take((x - 7, y - 7, x + 7, y + 7))
            self.svg.line(x + v * 6 - u * 3, y - u * 6 - v * 3, x - v * 6 + u * 3, y + u * 6 + v * 3,
                          stroke=self.palette.warn, width=1.4)  # fmt: skip

    @staticmethod
    def _stretched(a: Point, b: Point) -> tuple[Point, Point]:
        """The two points, further apart where a symbol would not fit between them."""
        length = math.hypot(b[0] - a[0], b[1] - a[1])
        if length >= LEAST:
            return a, b
        u = ((b[0] - a[0]) / length, (b[1] - a[1]) / length) if length > 1e-9 else (1.0, 0.0)
        x, y, half = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2, LEAST / 2
        return (x - u[0] * half, y - u[1] * half), (x + u[0] * half, y + u[1] * half)

    def _joint(self, joint: Joint, a: Point, b: Point) -> None:
        whole = float(np.linalg.norm(self._point(joint.end) - self._point(joint.start))) or 1.0
        if len(joint.bellows) == 1:
            share = min(1.0, joint.bellows[0].length / whole)
            spans = [(0.5 - share / 2, 0.5 + share / 2)]
        else:
            over = min(1.0, (joint.over_both or whole) / whole)
            start, end = 0.5 - over / 2, 0.5 + over / 2
            spans = [(start, start + joint.bellows[0].length / whole),
                     (end - joint.bellows[-1].length / whole, end)]  # fmt: skip
        length = math.hypot(b[0] - a[0], b[1] - a[1])
        least = min(14.0 / length, 0.42 if len(spans) > 1 else 1.0)
        for low, high in spans:
            middle, half = (low + high) / 2, max(high - low, least) / 2
            middle = min(1.0 - half, max(half, middle))
            ends = [(a[0] + (b[0] - a[0]) * s, a[1] + (b[1] - a[1]) * s)
                    for s in (middle - half, middle + half)]  # fmt: skip
            zigzag(self.svg, ends[0], ends[1], taut=joint.locked)

    def _supports(self) -> dict[str, None]:
        used: dict[str, None] = {}
        for one in self.line.supports:
            kind, at = kind_of_support(one), self.spot(one.station)
            used[kind] = None
            held = None
            way = one.across if isinstance(one, Guide) else None
            if isinstance(one, (Stop, Strut)):
                way = one.direction
            if way is not None:
                flat = project(np.array(way, dtype=float))
                size = float(np.hypot(*flat))
                held = (float(flat[0] / size), float(flat[1] / size)) if size > 1e-9 else None
            support_symbol(self.svg, kind, at, self.heading(one.station), held)
            self.room.take(reach(kind, at))
        return used

    def _by_piece(self) -> dict[int, Outcome]:
        pairs = {f"{p.start}/{p.end}": at for at, p in enumerate(self.line.pieces)}
        found: dict[int, Outcome] = {}
        for check in self.marked:
            at = pairs.get(check.id.partition("@")[2])
            if at is not None and found.get(at) != Outcome.NOT_MET:
                found[at] = check.outcome
        return found

    def _where(self, check: Check) -> Point | None:
        """Place of a check in the drawing; nothing where its part is not in the line."""
        head, _, tail = check.id.partition("@")
        for piece, points in zip(self.line.pieces, self.curves, strict=True):
            if tail == f"{piece.start}/{piece.end}" or (
                isinstance(piece, Joint) and piece.tag in {tail, head.partition(".")[2]}
            ):
                x, y = self.px(points[len(points) // 2]).tolist()
                return x, y
        name = head.partition(".")[2]
        return next(
            (self.spot(one.station) for one in self.line.supports if one.name == name), None
        )

    def _rings(self) -> None:
        """A ring with words round each place that is pointed at."""
        for name, words in self.pointed.items():
            at = self._spot_of(name)
            if at is None:
                continue
            for r, width in ((19.0, 2.4), (23.0, 0.9)):
                self.svg.circle(*at, r, stroke=self.palette.warn, width=width)
            self.room.take((at[0] - 23, at[1] - 23, at[0] + 23, at[1] + 23))
            wide = 8.0 + CHARACTER * 1.1 * SIZE * len(words)
            box = self.room.find(*at, wide, 16.0, 200.0)
            if box is None:
                continue  # the ring stands; its words stand beside the drawing
            self.room.take(box)
            self.svg.text(box[0] + 4, box[1] + 13, words, size=1.1 * SIZE, weight="600",
                          fill=self.palette.warn)  # fmt: skip

    def _spot_of(self, name: str) -> Point | None:
        for one in self.line.supports:
            if one.name == name:
                return self.spot(one.station)
        for piece, points in zip(self.line.pieces, self.curves, strict=True):
            if isinstance(piece, Joint) and piece.tag == name:
                x, y = self.px(points[len(points) // 2]).tolist()
                return x, y
        return None

    def _marks(self) -> None:
        for number, check in enumerate(self.marked, 1):
            at = self._where(check)
            if at is None:
                continue
            wide = 14.0 + CHARACTER * SIZE * len(str(number))
            box = self.room.find(*at, wide, 13.0, 160.0)
            if box is None:
                continue  # still told in the list below
            self.room.take(box)
            outcome_mark(self.svg, check, box[0] + 6, box[1] + 7)
            self.svg.text(box[0] + 13, box[1] + 11, str(number), size=SIZE, weight="600")

    def _loads(self) -> bool:
        assert self.result is not None
        found = [(one, self.result.reaction(one.name)) for one in self.line.supports
                 if isinstance(one, Anchor)]  # fmt: skip
        most = max((float(np.linalg.norm(r.force)) for _, r in found), default=0.0)
        drawn = False
        for one, reaction in found:
            size = float(np.linalg.norm(reaction.force))
            if size < STILL:
                continue
            flat = project(np.array(reaction.force)) / size
            x, y = self.spot(one.station)
            long = 24.0 + 36.0 * size / most
            end = x + float(flat[0]) * long, y + float(flat[1]) * long
            if math.hypot(end[0] - x, end[1] - y) < 8.0:
                continue  # towards the eye: its numbers tell it
            self.svg.arrow(x, y, *end, width=2.0, head=8, stroke=self.palette.accent)
            self.room.trace([(x, y), end])
            drawn = True
        return drawn

    def _three(self, values: Sequence[float], kind: str) -> str:
        show = kind_of(kind).show(self.system)
        words = " / ".join(_number(v / show.factor, show.decimals) for v in values)
        return f"{words} {show.symbol}"

    def _anchor_words(self, reaction: Reaction) -> list[str]:
        return ["F " + self._three(reaction.force, "force"),
                "M " + self._three(reaction.moment, "moment")]  # fmt: skip

    def _joint_words(self, move: JointMovement) -> list[str]:
        length, angle = kind_of("movement").show(self.system), kind_of("angle").show(self.system)
        head = "" if move.number is None else f"bellows {move.number + 1}: "
        axial = _number(move.axial / length.factor, length.decimals, "+")
        return [
            f"{head}axial {axial} {length.symbol}",
            f"lateral {math.hypot(*move.lateral) / length.factor:.{length.decimals}f} "
            f"{length.symbol}, turn {math.hypot(*move.angular) / angle.factor:.{angle.decimals}f} "
            f"{angle.symbol}",
        ]

    def _names(self) -> None:
        """Names with their numbers: what carries numbers first, plain stations last."""
        first: list[tuple[Point, list[str], bool]] = []
        later: list[tuple[Point, list[str], bool]] = []
        for piece in self.line.pieces:
            middle = tuple(np.mean([self.spot(piece.start), self.spot(piece.end)], axis=0).tolist())
            if isinstance(piece, Joint):
                words = [piece.tag + (" (locked)" if piece.locked else "")]
                if self.result:
                    moves = [m for m in self.result.joints if m.tag == piece.tag]
                    for move in moves:
                        if move.number is None or len(piece.bellows) > 1:
                            words += self._joint_words(move)
                first.append((middle, words, True))
            elif isinstance(piece, Rigid) and piece.name:
                later.append((middle, [piece.name], True))
        held: dict[str, list[str]] = {}
        for one in self.line.supports:
            words = held.setdefault(one.station, [])
            if one.name != one.station and not one.name.endswith(f" at {one.station}"):
                words.append(one.name)
            if self.result:
                reaction = self.result.reaction(one.name)
                if isinstance(one, Anchor):
                    words += self._anchor_words(reaction)
                elif isinstance(one, Rest) and np.linalg.norm(reaction.force) < STILL:
                    words.append("lifted off")
                elif isinstance(one, RodHanger) and np.linalg.norm(reaction.force) < STILL:
                    words.append("slack")
        for station in self.line.stations:
            told = held.get(station.name)
            must = bool(told)
            (first if must else later).append(
                (
                    self.spot(station.name),
                    [station.name, *(told or [])],
                    must or station.name in held,
                )
            )
        for at, words, must in [*first, *later]:
            self._label(at, words, must=must)

    def _label(self, at: Point, words: list[str], *, must: bool) -> None:
        wide = max(len(one) for one in words) * CHARACTER * SIZE + 4
        tall = 13.0 * len(words) + 2
        box = self.room.find(*at, wide, tall, 1.2 * self.width if must else 60.0)
        if box is None:
            self.unnamed += 1
            return
        self.room.take(box)
        near = (min(max(at[0], box[0]), box[2]), min(max(at[1], box[1]), box[3]))
        if math.hypot(near[0] - at[0], near[1] - at[1]) > 14.0:
            self.svg.line(*at, *near, stroke=self.palette.soft, width=0.6)
            self.room.trace([at, near])
        end = near[0] >= box[2] - 1
        for k, one in enumerate(words):
            self.svg.text(box[2] - 2 if end else box[0] + 2, box[1] + 11 + 13 * k, one, size=SIZE,
                          anchor="end" if end else "start", weight="600" if k == 0 else "",
                          )  # fmt: skip

    def _legend(self, supports: dict[str, None], arrows: bool, moved: bool) -> float:
        svg, y = self.svg, self.bottom + 16.0
        scale_bar(svg, 8, y, self.scale, self.system, 120.0)
        y += 40.0
        kinds = {type(piece) for piece in self.line.pieces}
        entries: list[str] = [*supports]
        entries += [words for kind, words in ((Joint, "joint"), (Rigid, "rigid part, as a valve"),
                                              (Reducer, "reducer")) if kind in kinds]  # fmt: skip
        entries += ["load of the line on an anchor"] if arrows else []
        entries += ["deflected shape"] if moved else []
        if any(outcome == Outcome.NOT_MET for outcome in self._by_piece().values()):
            entries.append("over a limit")
        x = 8.0
        for words in entries:
            wide = 44 + len(words) * CHARACTER * SIZE + 16
            if x + wide > self.width and x > 8.0:
                x, y = 8.0, y + 50.0
            a, b = (x, y), (x + 34, y)
            middle = (x + 17, y)
            if words in supports:
                rod(svg, a, b, 2.6)
                support_symbol(svg, words, middle, (1.0, 0.0))
            elif words == "joint":
                rod(svg, a, b, 2.6)
                zigzag(svg, (x + 6, y), (x + 28, y))
            elif words.startswith("rigid"):
                box_symbol(svg, (x + 4, y), (x + 30, y), 7.0, crossed=True)
            elif words == "reducer":
                box_symbol(svg, (x + 4, y), (x + 30, y), 8.0, 4.0)
            elif words.startswith("load"):
                svg.arrow(*a, *b, width=2.0, head=8, stroke=self.palette.accent)
            elif words == "deflected shape":
                svg.line(*a, *b, stroke=self.palette.accent, width=1.3, dash="6 3")
            else:
                svg.line(*a, *b, stroke=self.palette.warn, width=4.4)
                self._ticks([a, b])
            svg.text(x + 44, y + 4, words, size=SIZE)
            x += wide
        return y + 44.0

    def _told(self, y: float, said: str) -> float:
        """What stands below: exaggeration, how numbers are written, the marks one by one."""
        notes = [said] if said else []
        if self.result:
            if any(isinstance(one, Anchor) for one in self.line.supports):
                notes.append("F and M: load of the line on the anchor, east / north / up.")
            if any(isinstance(piece, Joint) for piece in self.line.pieces):
                notes.append("Movements of joints are from installed; + axial is longer.")
            turned = furthest(self.line, self.result)
            if turned.too_far:
                notes.append(turned.says)
            if not self.result.certificate.good:
                notes.append("This state is not solved well enough to be used.")
        if self.unnamed:
            notes.append(f"{self.unnamed} stations are not named for want of room.")
        for note in notes:
            y = write(self.svg, 8, y, note, 0.82 * self.width, size=SIZE, fill=self.palette.soft)
        y += 6 if self.marked else 0
        for number, check in enumerate(self.marked, 1):
            outcome_mark(self.svg, check, 14, y - 4)
            more = "" if self._where(check) else " (not a part of this drawing)"
            words = f"{number}  {check.name}: {outcome_words(check).rstrip(':')}{more}"
            if check.because:
                words += f"; {check.because}"
            y = write(self.svg, 24, y, words, 0.82 * self.width, size=SIZE) + 2
        return y


def _number(value: float, decimals: int, sign: str = "-") -> str:
    """A number as drawn; what rounds to zero has no sign."""
    near = round(value, decimals)
    return f"{near:{sign}.{decimals}f}" if near else f"{0.0:.{decimals}f}"
