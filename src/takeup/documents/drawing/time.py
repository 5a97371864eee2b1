"""Time drawn: dates before the outage, the Gantt, and crews against their numbers."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from takeup.documents.drawing.palette import PRINT, Palette
from takeup.documents.drawing.svg import Svg, n
from takeup.plan.model import Milestone, PlannedTask, Schedule
from takeup.register.entities import Crew

LEFT = 92.0


def calendar_strip(
    milestones: Sequence[Milestone], today: dt.date, *, palette: Palette = PRINT
) -> str:
    """Dates on a line of months: ahead as ticks, late as filled triangles, done as open ones."""
    svg = Svg(
        980, 118, "Dates before the outage",
        f"{sum(m.late_days > 0 for m in milestones)} dates are late", palette,
    )  # fmt: skip
    if not milestones:
        svg.text(490, 60, "no outage ahead is on record", anchor="middle")
        return svg.render()
    first = min(*(m.date for m in milestones), today) - dt.timedelta(days=10)
    last = max(m.date for m in milestones) + dt.timedelta(days=10)
    days = (last - first).days

    def x(date: dt.date) -> float:
        return 14 + 952 * (date - first).days / days

    y = 64
    svg.line(14, y, 966, y, width=1.6)
    month = dt.date(first.year, first.month, 1)
    while month <= last:
        if month >= first:
            svg.line(x(month), y, x(month), y + 6, width=0.8)
            if month.month in {1, 4, 7, 10}:
                svg.text(x(month) + 2, y + 20, f"{month:%b %Y}", size=11, fill=palette.soft)
        month = (month.replace(day=28) + dt.timedelta(days=5)).replace(day=1)
    svg.line(x(today), 16, x(today), y + 28, stroke=palette.accent, width=2)
    svg.text(x(today), y + 40, f"today {today.isoformat()}", size=12, anchor="middle",
             fill=palette.accent, weight="bold")  # fmt: skip
    lanes = [-1e9, -1e9, -1e9]
    for m in milestones:
        here = x(m.date)
        lane = min(range(3), key=lambda k: (lanes[k] > here - 13, lanes[k]))
        lanes[lane] = here
        level = y - 12 - 15 * lane
        if m.late_days and not m.done:
            svg.path(f"M{n(here)},{n(level - 7)} L{n(here + 6)},{n(level + 4)} "
                     f"L{n(here - 6)},{n(level + 4)} Z", fill=palette.warn,
                     stroke=palette.warn)  # fmt: skip
        elif m.id == "start":
            svg.rect(here - 5, level - 6, 10, 10, fill=palette.ink)
        else:
            fill = palette.ink if m.fixed else palette.paper
            svg.circle(here, level, 4, fill=fill, width=1.4)
        svg.line(here, level + 4, here, y, stroke=palette.hair, width=0.8)
    return svg.render()


_STYLE = {
    Crew.SCAFFOLD: "light",
    Crew.INSULATION: "light",
    Crew.FITTERS: "mid",
    Crew.CRANE: "dark",
    Crew.BELLOWS_WELDERS: "weld",
    Crew.NDE: "open",
    Crew.TEST: "open",
    Crew.REFRACTORY: "mid",
}
_LEGEND = (
    ("light", "scaffold, insulation"), ("mid", "fitters, refractory"), ("dark", "crane"),
    ("weld", "bellows welders"), ("open", "NDE, test"), ("wait", "runs by itself"),
)  # fmt: skip


def _fill(svg: Svg, style: str) -> tuple[str, str]:
    p = svg.palette
    return {
        "light": (p.tint, p.soft),
        "mid": (p.soft, p.soft),
        "dark": (p.ink, p.ink),
        "weld": (p.accent, p.accent),
        "open": (p.paper, p.ink),
        "wait": (svg.hatch("wait", gap=4, stroke=p.soft), p.soft),
    }[style]


def gantt(schedule: Schedule, *, palette: Palette = PRINT, width: float = 980) -> str:
    """One row a joint; bars by crew, critical tasks under a thick line, window end marked."""
    joints: dict[str, list[PlannedTask]] = {}
    for task in schedule.tasks:
        joints.setdefault(task.joint, []).append(task)
    rows = sorted(joints.items(), key=lambda item: min(t.start for t in item[1]))
    height = 58 + 22 * max(1, len(rows)) + 34
    svg = Svg(
        width, height, "Outage schedule",
        f"{len(schedule.tasks)} tasks of {len(rows)} joints; {schedule.status.value}", palette,
    )  # fmt: skip
    if schedule.finish is None:
        svg.text(width / 2, 60, "no schedule: see the reasons beside it", anchor="middle", size=14)
        return svg.render()
    start = schedule.start.replace(hour=0)
    end = max(schedule.finish, schedule.window_end) + dt.timedelta(hours=12)
    hours = (end - start) / dt.timedelta(hours=1)

    def x(when: dt.datetime) -> float:
        return LEFT + (width - LEFT - 10) * ((when - start) / dt.timedelta(hours=1)) / hours

    bottom = 40 + 22 * len(rows)
    day = start
    while day < end:
        svg.line(x(day), 34, x(day), bottom, stroke=palette.hair, width=0.6)
        count = (day - start).days
        if count % 5 == 0:
            svg.text(x(day) + 2, 28, f"{day:%d %b}", size=11)
        if day.weekday() >= 5:
            svg.rect(x(day), 34, x(day + dt.timedelta(days=1)) - x(day), bottom - 34,
                     fill=palette.tint)  # fmt: skip
        day += dt.timedelta(days=1)
    svg.text(4, 28, "joint", size=11, fill=palette.soft)
    for place, (joint, tasks) in enumerate(rows):
        y = 40 + 22 * place
        svg.text(4, y + 14, joint, size=12)
        svg.line(LEFT, y + 21, width - 10, y + 21, stroke=palette.hair, width=0.5)
        for task in sorted(tasks, key=lambda t: (not t.elapsed, t.start)):
            style = (
                "wait" if task.elapsed else _STYLE.get(task.crew, "mid") if task.crew else "wait"
            )
            fill, stroke = _fill(svg, style)
            left, wide = x(task.start), max(1.2, x(task.end) - x(task.start))
            who = task.crew.value if task.crew else "nobody"
            svg.rect(left, y + 4, wide, 12, fill=fill, stroke=stroke, width=0.7,
                     title=f"{joint}: {task.name}, {task.start:%d %b %H:%M} to "
                     f"{task.end:%d %b %H:%M}, {who}, float {task.float_hours:.0f} h")  # fmt: skip
            if task.critical:
                svg.line(left, y + 18, left + wide, y + 18, stroke=palette.warn, width=2.2)
    for when, words, colour in (
        (schedule.window_end, "window ends", palette.warn),
        (schedule.finish, "finish", palette.accent),
    ):
        svg.line(x(when), 34, x(when), bottom, stroke=colour, width=1.6)
        svg.text(x(when) - 3, 12, f"{words} {when:%d %b}", size=11,
                 anchor="end", fill=colour)  # fmt: skip
    place_x = LEFT
    for style, words in _LEGEND:
        fill, stroke = _fill(svg, style)
        svg.rect(place_x, bottom + 14, 16, 10, fill=fill, stroke=stroke, width=0.8)
        svg.text(place_x + 21, bottom + 23, words, size=11)
        place_x += 34 + 6.2 * len(words)
    svg.line(place_x, bottom + 19, place_x + 16, bottom + 19, stroke=palette.warn, width=2.2)
    svg.text(place_x + 21, bottom + 23, "critical", size=11)
    return svg.render()


def crew_chart(schedule: Schedule, *, palette: Palette = PRINT, width: float = 980) -> str:
    """Gangs busy in each half-day against the gangs there are, crew by crew."""
    numbers = {supply.crew.value: supply.gangs for supply in schedule.supplies}
    rows = [(crew, load) for crew, load in schedule.crew_load if any(load)]
    svg = Svg(
        width, 34 * max(1, len(rows)) + 26, "Crews",
        "gangs busy against gangs there are, by half day", palette,
    )  # fmt: skip
    hours = max((len(load) for _, load in rows), default=24)
    span = width - 230 - 40
    for place, (crew, load) in enumerate(rows):
        y = 34 * place + 30
        have = numbers.get(crew, 0) or 1
        worked = sum(load)
        svg.text(4, y, crew, size=12)
        svg.line(220, y, 220 + span, y, stroke=palette.soft, width=0.8)
        for at in range(0, len(load), 12):
            busy = max(load[at : at + 12], default=0.0)
            if busy > 0:
                tall = 22 * min(1.0, busy / have)
                fill = palette.accent if busy >= have else palette.soft
                svg.rect(
                    220 + span * at / hours, y - tall, max(1.0, span * 11 / hours), tall, fill=fill
                )
        svg.line(220, y - 22, 220 + span, y - 22, stroke=palette.ink, width=0.8, dash="4 3")
        svg.text(226 + span, y - 8, f"{have}", size=11)
        svg.text(208, y, f"{worked:,.0f} h", size=11, anchor="end", fill=palette.soft)
    svg.text(4, 34 * len(rows) + 20, "dashed: gangs there are; dark where all are busy", size=11,
             fill=palette.soft)  # fmt: skip
    return svg.render()
