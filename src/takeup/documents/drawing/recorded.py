"""A bellows of the register as an outline, from usual proportions where little is on record."""

from __future__ import annotations

import msgspec

from takeup.bellows.model import BellowsCase, Convolution
from takeup.documents.drawing.profile import Shape, ring_outline, shape_of
from takeup.errors import Contradiction
from takeup.register.entities import BellowsElement, Line


class Recorded(msgspec.Struct, frozen=True, kw_only=True):
    """A bellows to draw; ``known`` is False where usual proportions stand in."""

    outline: Shape
    known: bool
    possible: bool = True
    """False where the dimensions on record make no convolution."""

    @property
    def diameter(self) -> float:
        """Inside diameter [m]."""
        return self.outline.inside_diameter

    @property
    def height(self) -> float:
        """From root to the top of the convolution, or of its ring if higher [m]."""
        high = self.outline.top
        if self.outline.reinforced:
            high = max(high, float(ring_outline(self.outline)[:, 1].max()))
        return high

    @property
    def length(self) -> float:
        """Convoluted length [m]."""
        return self.outline.length


_NEEDED = {
    Convolution.U_PLAIN: ("inside_diameter", "height", "pitch", "convolutions"),
    Convolution.U_REINFORCED: ("inside_diameter", "height", "pitch", "convolutions"),
    Convolution.TOROIDAL: (
        "inside_diameter", "mean_diameter", "torus_radius", "pitch", "convolutions",
    ),
}  # fmt: skip


def recorded(one: BellowsElement | None, line: Line) -> Recorded:
    """Outline of a bellows on record, or of one of usual proportions at the size of its line."""
    one = one or BellowsElement(joint="", letter="")
    names = _NEEDED[one.convolution]
    lacking = [name for name in (*names, "plies", "ply_thickness") if getattr(one, name) is None]
    known = not set(names).intersection(lacking)
    case = BellowsCase(
        convolution=one.convolution,
        inside_diameter=one.inside_diameter or line.diameter or 1.0,
        mean_diameter=one.mean_diameter,
        height=one.height,
        pitch=one.pitch or 0.0,
        convolutions=one.convolutions or 0,
        plies=one.plies or 0,
        ply_thickness=one.ply_thickness or 0.0,
        torus_radius=one.torus_radius,
        ring_area=one.ring_area,
        material=one.material,
        # drawn at the size of the pipe where only that is known
        missing=tuple(name for name in lacking if name != "inside_diameter"),
    )
    try:
        return Recorded(outline=shape_of(case), known=known)
    except Contradiction:
        every = (*names, "plies", "ply_thickness", "height", "torus_radius")
        bare = tuple(name for name in every if name != "inside_diameter")
        case = msgspec.structs.replace(case, missing=bare)
        return Recorded(outline=shape_of(case), known=False, possible=False)
