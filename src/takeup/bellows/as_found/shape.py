"""What measured pitches, heights and offsets say of the shape of a bellows.

Round one convolution the pitch is a mean and a first harmonic: the convolution leans.  Along
the bellows the leans are those of the joint's own movement, the same everywhere for an angle
between the ends and changing from one end to the other for a lateral movement, and what is
left over: a bow of the whole column, which leans the ends one way and the middle the other,
and leans of single convolutions, which is how in-plane squirm begins.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from takeup.bellows.as_found.model import AsFound, Convolved, Distortion, Pattern
from takeup.bellows.model import BellowsCase
from takeup.errors import Contradiction
from takeup.sources import Source, Standing
from takeup.units import Array

SOURCE = Source(
    document="Takeup",
    at="pitch round and along the bellows split into the leans of angle, offset, bow and the rest",
    standing=Standing.DERIVED,
)
NEVER = (
    "A squirmed or bent bellows is never straightened back into service: straightening hides "
    "what bent it and uses up what metal is left."
)
PRESSURE_OFF = (
    "Squirm shows most under pressure; what is measured cold and empty is what stayed of it."
)
LEAST = 4
"""Leaning convolutions from which the patterns along the bellows can be told apart."""


def distortion(case: BellowsCase, found: AsFound, limit: float) -> Distortion | None:
    """State the shape that was measured, or ``None`` where neither pitch nor offset was.

    ``limit`` is the deviation of pitch, over mean pitch, from which it counts.  Raises
    :class:`takeup.errors.Contradiction` for a convolution that the bellows does not have.
    """
    readings = found.convolutions
    for one in readings:
        if one.convolution > case.convolutions:
            raise Contradiction(
                f"convolution {one.convolution} was measured, but the bellows has "
                f"{case.convolutions}; count from end 1 and start anew at each bellows"
            )
    pitched = [one for one in readings if one.pitch is not None]
    offset = [one for one in readings if one.offset is not None]
    if not pitched and not offset:
        return None
    patterns: list[Pattern] = []
    words: list[str] = []
    mean = worst = None
    where = ""
    if pitched:
        mean, worst, at = _deviation(case, pitched)
        where = f"convolution {at.convolution} at {math.degrees(at.angle):.0f} degrees"
        patterns.append(_pitch(mean, worst, where, limit))
        patterns += _leans(case, pitched, mean, limit, words)
    if offset:
        bow = _bow(case, found, offset, mean or case.pitch, limit)
        if bow is None:
            words.append("Offsets at fewer than two convolutions: no line can be drawn of them.")
        else:
            patterns.append(bow)
    words += [one.words for one in patterns if one.beyond or one.id == "pitch"]
    if any(one.beyond for one in patterns):
        words.append(NEVER)
    return Distortion(
        mean_pitch=mean,
        worst=worst,
        where=where,
        limit=limit,
        patterns=tuple(patterns),
        words=tuple(words),
        source=SOURCE,
    )


def _deviation(case: BellowsCase, pitched: Sequence[Convolved]) -> tuple[float, float, Convolved]:
    """Mean pitch, largest deviation as a share of it, and where."""
    each = [one.pitch or math.nan for one in pitched]
    # A few readings at the worst place say nothing of the mean: the drawing does.
    places = {one.convolution for one in pitched}
    mean = float(np.mean(each)) if len(places) >= 3 else case.pitch
    shares = [pitch / mean - 1.0 for pitch in each]
    at = max(range(len(shares)), key=lambda place: abs(shares[place]))
    return mean, shares[at], pitched[at]


def _pitch(mean: float, worst: float, where: str, limit: float) -> Pattern:
    beyond = abs(worst) > limit
    return Pattern(
        id="pitch",
        name="Uneven pitch",
        size=abs(worst),
        kind="share",
        beyond=beyond,
        words=(
            f"Pitch differs by {worst:+.0%} from the mean of {mean * 1e3:.1f} mm at {where}: "
            + (
                f"beyond {limit:.0%}, a sign of squirm."
                if beyond
                else f"within {limit:.0%} everywhere measured."
            )
        ),
    )


def _leans(
    case: BellowsCase,
    pitched: Sequence[Convolved],
    mean: float,
    limit: float,
    words: list[str],
) -> list[Pattern]:
    """Split the leans of the convolutions into what the joint's movement and squirm make."""
    rings: dict[int, list[Convolved]] = defaultdict(list)
    for one in pitched:
        rings[one.convolution].append(one)
    leans: dict[int, complex] = {}
    for number, ring in rings.items():
        lean = _lean(ring)
        if lean is not None:
            leans[number] = complex(lean / mean)
    if not leans:
        words.append(
            "Each pitch was measured at one place round the bellows: whether convolutions lean "
            "cannot be told. Measure at four angles."
        )
        return []
    if len(leans) < LEAST:
        return [_parallel(leans, limit)]
    numbers = sorted(leans)
    along = np.array(numbers, dtype=float) / case.convolutions
    values = np.array([leans[number] for number in numbers])
    shapes = np.column_stack(
        [np.ones_like(along), 2.0 * along - 1.0, np.cos(2.0 * np.pi * along)]
    ).astype(complex)
    parts, *_ = np.linalg.lstsq(shapes, values, rcond=None)
    left = values - shapes @ parts
    single = int(np.argmax(np.abs(left)))
    crest = _crest(case)
    angle = abs(parts[0]) * mean * case.convolutions / crest
    return [
        Pattern(
            id="angular",
            name="Angle between the ends",
            size=float(abs(parts[0])),
            kind="share",
            beyond=False,
            words=(
                f"All convolutions lean alike, as an angle of {math.degrees(angle):.2f} degrees "
                "between the ends makes them."
            ),
        ),
        Pattern(
            id="lateral",
            name="Lateral offset between the ends",
            size=float(abs(parts[1])),
            kind="share",
            beyond=False,
            words="Leans turn round from one end to the other, as a lateral offset makes them.",
        ),
        _beyond(
            "bow",
            "Bow of the column",
            float(abs(parts[2])),
            limit,
            "The ends lean one way and the middle the other: the column bows, a sign of column "
            "squirm.",
        ),
        _beyond(
            "inplane",
            "Convolutions out of parallel",
            float(abs(left[single])),
            limit,
            f"Convolution {numbers[single]} opens on one side against its neighbours: a sign of "
            "in-plane squirm.",
        ),
    ]


def _beyond(id: str, name: str, size: float, limit: float, words: str) -> Pattern:
    return Pattern(id=id, name=name, size=size, kind="share", beyond=size > limit, words=words)


def _parallel(leans: dict[int, complex], limit: float) -> Pattern:
    number = max(leans, key=lambda one: abs(leans[one]))
    return _beyond(
        "inplane",
        "Convolutions out of parallel",
        abs(leans[number]),
        limit,
        f"Convolution {number} opens on one side. Too few convolutions were measured round to "
        "tell squirm from an angle or offset of the ends.",
    )


def _lean(ring: Sequence[Convolved]) -> complex | None:
    """First harmonic of pitch round one convolution, as c + i s [m]; ``None`` if not measured."""
    angles = np.array([one.angle for one in ring])
    pitches = np.array([one.pitch for one in ring], dtype=float)
    directions = np.column_stack([np.cos(angles), np.sin(angles)])
    apart = np.abs(directions[:, None] - directions[None]).max(initial=0.0)
    if apart < 0.5:
        return None
    if len(np.unique(np.round(np.mod(angles, 2.0 * np.pi), 6))) >= 3:
        fit, *_ = np.linalg.lstsq(
            np.column_stack([np.ones_like(angles), directions]), pitches, rcond=None
        )
        return complex(fit[1], fit[2])
    # Two places: the lean between them, none across.
    fit, *_ = np.linalg.lstsq(
        directions - directions.mean(axis=0), pitches - pitches.mean(), rcond=None
    )
    return complex(fit[0], fit[1])


def _crest(case: BellowsCase) -> float:
    """Radius of the crests' outer face, where pitch is measured [m]."""
    if case.mean_diameter is not None:
        return case.mean_diameter / 2.0 + (case.torus_radius or 0.0)
    wall = case.plies * case.ply_thickness
    return case.inside_diameter / 2.0 + (case.height or 0.0) + wall


def _bow(
    case: BellowsCase, found: AsFound, readings: Sequence[Convolved], pitch: float, limit: float
) -> Pattern | None:
    """Height of a bow in the crests' line, beyond what a lateral offset of the ends bends it.

    A column with fixed ends bows as (1 - cos 2 pi s) / 2; a lateral offset makes an S about
    the straight line, 3 s^2 - 2 s^3 - s.  At the limit the bow opens the pitch at the crest by
    ``limit``: 2 pi^2 h / L^2 times the crest radius.
    """
    if len({one.convolution for one in readings}) < 2:
        return None
    s = np.array([(one.convolution - 0.5) / case.convolutions for one in readings])
    angles = np.array([one.angle for one in readings])
    values = np.array([one.offset for one in readings], dtype=float)
    bow, bend = (1.0 - np.cos(2.0 * np.pi * s)) / 2.0, 3.0 * s**2 - 2.0 * s**3 - s
    length = case.convolutions * pitch
    known = found.offset_angular or 0.0
    round_ = (np.cos(angles), np.sin(angles))
    shapes = np.column_stack([shape * way for shape in (bow, bend) for way in round_])
    parts: Array = np.linalg.lstsq(shapes, values, rcond=None)[0]
    # An angle of the ends bends the line too, by theta L / 8 in the middle.
    height = max(math.hypot(float(parts[0]), float(parts[1])) - abs(known) * length / 8.0, 0.0)
    most = limit * length**2 / (2.0 * math.pi**2 * _crest(case))
    beyond = height > most
    return Pattern(
        id="bow",
        name="Bow of the column",
        size=height,
        kind="movement",
        beyond=beyond,
        words=(
            f"The line of the crests bows by {height * 1e3:.1f} mm, more than the "
            f"{most * 1e3:.1f} mm that change the pitch by {limit:.0%}: a sign of column squirm."
            if beyond
            else f"The line of the crests bows by {height * 1e3:.1f} mm."
        ),
    )
