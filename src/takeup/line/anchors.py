"""Loads on anchors as ASME B31.3 319.5.1 estimates them, hot and cold, with cold spring."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec
import numpy as np

from takeup import materials
from takeup.checks import Check, Outcome
from takeup.line import codes, elements, stress, stresses, supports
from takeup.line.frame import ROOM
from takeup.line.model import Anchor, Line, State
from takeup.line.solve import Prepared, StateResult, loads
from takeup.line.stresses import Placed
from takeup.units import Array


class AnchorReaction(msgspec.Struct, frozen=True, kw_only=True):
    """Load on an anchor as 319.5.1 estimates it, east, north, up and about them [N, N.m]."""

    name: str
    hot: tuple[float, ...]
    """Weight and pressure, with the part of growth at the modulus when hot"""
    cold: tuple[float, ...] | None
    """As solved cold, with what cold spring or yielding leaves; ``None``: the range is not known"""
    hot_share: float
    """Of the reaction range that acts hot [-]"""
    cold_share: float | None
    """Of the reaction range that acts cold, the other way [-]"""


def anchored(
    ready: Prepared, placed: Placed, cold: StateResult, hot: StateResult, steady: Array,
    states: tuple[State, State],
) -> tuple[AnchorReaction, ...]:  # fmt: skip
    """Loads on anchors as 319.5.1 estimates them from the range, with cold spring.

    The part by growth is the load when hot less that of weight and pressure alone.  It acts hot by
    (1 - 2C/3) Em/Ea, and cold the other way by the larger of C and 1 - Sh Ea/(SE Em).
    """
    line = ready.line
    lasting = _on_nodes(ready, steady, states[1])
    ratio, relaxed = _softer(ready, placed, hot.ends - cold.ends, states)
    found = []
    for one in line.supports:
        if not isinstance(one, Anchor):
            continue
        at_hot, at_cold = (
            np.array((*result.reaction(one.name).force, *result.reaction(one.name).moment))
            for result in (hot, cold)
        )
        still = lasting[ready.frame.node(one.station)]
        grown = at_hot - still
        hot_share = (1.0 - 2.0 * line.cold_spring / 3.0) * ratio
        cold_share = None if relaxed is None else max(line.cold_spring, relaxed, 0.0)
        found.append(
            AnchorReaction(
                name=one.name,
                hot=tuple((still + hot_share * grown).tolist()),
                cold=None if cold_share is None else tuple((at_cold - cold_share * grown).tolist()),
                hot_share=hot_share,
                cold_share=cold_share,
            )
        )
    return tuple(found)


def _on_nodes(ready: Prepared, ends: Array, state: State) -> Array:
    """Loads on what holds each node (N, 6), from the forces of nodes on pieces."""
    made = ready.frame
    acting = loads(ready, msgspec.structs.replace(state, temperature=ROOM, temperatures={}))
    places = (6 * made.ends[:, :, None] + np.arange(6)).reshape(len(made.ends), 12)
    equal = elements.equivalent(made.elements, acting.strain, acting.line_load)
    found = acting.force.copy()
    np.add.at(found, places.ravel(), -equal.ravel())
    np.add.at(found, places.ravel(), -ends.ravel())
    return found.reshape(-1, 6)


def _softer(
    ready: Prepared, placed: Placed, ranged: Array, states: tuple[State, State]
) -> tuple[float, float | None]:
    """Em/Ea of the stiffest metal, and the largest 1 - Sh Ea/(SE Em), or nothing if unknown."""
    line = ready.line
    metals = {name: section.metal for name, section in ready.frame.sections.items()}
    ratios = {}
    for pipe in line.pipes:
        at = states[1].temperatures.get(pipe.name, states[1].temperature)
        metal = metals[pipe.name]
        ambient = float(materials.modulus(metal, ROOM).value)
        ratios[pipe.name] = float(materials.modulus(metal, at).value) / ambient
    limits = stresses.allowed(line, metals, *states)
    se = placed.range_stress(placed.acting(ranged))
    names = [ready.frame.spots[one.element].pipe for one in placed.places]
    left = []
    for name, value in zip(names, se.tolist(), strict=True):
        sh = limits[name].hot
        if sh is None or not np.isfinite(value):
            return max(ratios.values(), default=1.0), None
        left.append(float(codes.cold_sprung(0.0, sh, value, 1.0, ratios[name])[1]))
    return max(ratios.values(), default=1.0), max(left, default=0.0)


def estimated(line: Line, reactions: Iterable[AnchorReaction]) -> Iterable[Check]:
    """Estimated loads on anchors and nozzles against what is allowed."""
    by_name = {one.name: one for one in line.supports}
    more = sum(not isinstance(one, Anchor) for one in line.supports)
    cautions = (
        "319.5.1 is meant for a line between two anchors; other supports hold this one too.",
    )
    for one in reactions:
        anchor = by_name[one.name]
        assert isinstance(anchor, Anchor)
        if anchor.allowed is None:
            continue
        what = "nozzle" if anchor.nozzle else "anchor"
        for name, values, share in (("hot", one.hot, one.hot_share),
                                    ("cold", one.cold, one.cold_share)):  # fmt: skip
            id, title = (
                f"reaction.{one.name}@{name}",
                f"Estimated load on {what} {one.name}, {name}",
            )
            if values is None or share is None:
                yield Check(
                    id=id, name=title, outcome=Outcome.NOT_EVALUATED, kind="force",
                    source=stress.REACTIONS, because="unknown: displacement stress range or Sh",
                )  # fmt: skip
                continue
            yield supports.against_six(
                id, title, values, anchor.allowed, stress.REACTIONS,
                cautions if more or len(anchors_of(line)) > 2 else (),
                f"; {share:.2f} of the range by growth acts {name}",
            )  # fmt: skip


def anchors_of(line: Line) -> list[Anchor]:
    """The anchors of a line."""
    return [one for one in line.supports if isinstance(one, Anchor)]
