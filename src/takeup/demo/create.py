"""Make the demo site: facts year by year, histories, photos, all through the desk."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Sequence
from pathlib import Path

from takeup.demo import evidence, facts, joints, motion, series
from takeup.demo.attachments import attachments
from takeup.demo.walls import walls
from takeup.desk import site as desk_site
from takeup.desk.site import Site
from takeup.evidence.facts import Photo, TemperatureSeries
from takeup.fields import Fact
from takeup.progress import Progress, silent
from takeup.register.entities import LifeEvent, LineModel, Plant

AUTHOR = "Demo"


def create(folder: Path, *, today: dt.date, seed: int = 1, progress: Progress = silent) -> Site:
    """Create the demo site in ``folder``; the same for the same ``today`` and ``seed``."""
    times = facts.Times(today=today)
    head = facts.site(times)
    plant = head[0]
    assert isinstance(plant, Plant)
    progress(0.0, "creating the demo site")
    made = desk_site.create(folder, plant, author=AUTHOR)
    register = joints.register(times)
    events = [fact for fact in register if isinstance(fact, LifeEvent)]
    _put(made, [*head[1:], *(fact for fact in register if fact not in events)], "register taken on")
    _put(made, events, "life events from the files")
    _put(made, _models(), "models of lines taken on")
    _put(made, walls(), "walls of joints taken on")
    _put(made, attachments(), "rings on hot pipe taken on")
    shown = len(series.SHAPES)
    kept: list[Fact] = []
    for number, shape in enumerate(series.SHAPES):
        progress(0.1 + 0.5 * number / shown, f"temperature history {shape.tag}")
        kept.append(_history(made, shape, times, seed))
    _put(made, kept, "bellows temperatures of five years")
    progress(0.7, "lines worked out")
    moved = motion.moved(made)
    _put(made, joints.expected(moved), "expected movements by the models of the lines")
    progress(0.8, "inspections")
    _put(
        made,
        evidence.evidence(times, moved, seed),
        "hot walks, cold inspection, marks, readings and tests",
    )
    progress(0.9, "photos")
    _put(made, _photos(made, times), "photos of the hot walk")
    progress(1.0, "demo site made")
    return made


def _put(site: Site, new: Sequence[Fact], reason: str) -> None:
    with site.change(AUTHOR, reason) as change:
        change.put_many(new)


def _history(site: Site, shape: series.Shape, times: facts.Times, seed: int) -> TemperatureSeries:
    from takeup.register.series import keep_arrays, span

    history = series.history(shape, times.today, times.past[1], 30.0, seed)
    file = keep_arrays(site.series_folder, history.seconds, history.kelvin, history.good)
    first, last, rows, bad = span(site.series_folder / file)
    return TemperatureSeries(
        tag=shape.tag,
        joint=shape.joint,
        bellows="A",
        place="cuff, 6 o'clock",
        file=file,
        rows=rows,
        bad=bad,
        first=dt.datetime.fromtimestamp(first, dt.UTC),
        last=dt.datetime.fromtimestamp(last, dt.UTC),
        original="plant history (invented)",
    )


def _models() -> list[Fact]:
    """Models of lines, invented; joints that a model names without data come from the register."""
    folder = Path(__file__).parent / "lines"
    return [
        LineModel(line=path.stem, text=path.read_text(encoding="utf-8"))
        for path in sorted(folder.glob("*.toml"))
    ]


def _photos(site: Site, times: facts.Times) -> list[Fact]:
    """Drawn stand-ins for photos: what was seen, plainly not a photograph."""
    from takeup.register.photos import keep

    made: list[Fact] = []
    for joint, item, words in (
        ("EJ-1503", "HH1", "rod 3: outer nut gone"),
        ("EJ-1801", "HS1", "anchor 18-A1 off its scribe"),
        ("EJ-1302", "HB6", "cover gone over the upper half"),
        ("EJ-1203", "HS3", "spring 12-S1 at its cold mark"),
    ):
        photo = keep(_sketch(joint, words), site.photo_folder)
        made.append(
            Photo(
                file=photo.file,
                joint=joint,
                visit=f"{times.walked.year}-hot",
                item=item,
                caption=f"{words} (drawn stand-in)",
                taken=dt.datetime.combine(times.walked, dt.time(10), dt.UTC),
                width=photo.width,
                height=photo.height,
            )
        )
    return made


def _sketch(joint: str, words: str) -> bytes:
    from PIL import Image, ImageDraw

    image = Image.new("RGB", (960, 640), "#e9e4d8")
    pen = ImageDraw.Draw(image)
    for place in range(0, 960, 24):
        pen.line([(place, 0), (place - 320, 640)], fill="#ddd6c6", width=1)
    pen.rectangle([(120, 250), (840, 390)], outline="#3b3a36", width=4)
    for n in range(9):
        left = 330 + n * 34
        pen.arc([(left, 215), (left + 34, 285)], 180, 360, fill="#3b3a36", width=4)
        pen.arc([(left, 355), (left + 34, 425)], 0, 180, fill="#3b3a36", width=4)
    pen.ellipse([(640, 150), (720, 230)], outline="#9c2f1f", width=6)
    pen.text((40, 40), f"{joint}", fill="#3b3a36", font_size=36)
    pen.text((40, 560), words, fill="#9c2f1f", font_size=30)
    stream = io.BytesIO()
    image.save(stream, "JPEG", quality=80)
    return stream.getvalue()
