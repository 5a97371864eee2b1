"""Laws asked together answer as each of them does alone, and a caller's own law is asked too."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np
import pytest

from takeup.line import contact, rows
from takeup.line.bundle import Bundle, answers
from takeup.line.contact import Law, Parts
from takeup.line.model import Guide
from takeup.units import Array


def guide(friction: float, across: Any = None) -> Law:
    """A guide with a gap of 3 mm."""
    one = Guide(name="g", station="s", gap=0.003, friction=friction, across=across)
    return rows.guide(one, (1 if across else 2) + (friction > 0.0))


LAWS = {
    "anchor": lambda: contact.moved("a", [1e8, 2e8, 3e8, 1e7, 1e7, 1e7], np.full(6, 0.002)),
    "strut": lambda: contact.bilateral("b", [1e8], [500.0]),
    "lock": lambda: contact.linkage("l", np.diag([1e6, 2e6, 3e6]) + 1e5, np.full(3, 0.001)),
    "held": lambda: contact.held("h", 1e9, np.full(3, 0.001), np.full(3, 100.0)),
    "stop": lambda: contact.gap("s", plus=0.002, minus=None),
    "rods": lambda: contact.gaps("r", 4, plus=0.001, minus=0.002),
    "smooth rest": lambda: contact.pressed("p", friction=0.0, clear=0.001),
    "rest": lambda: contact.pressed("p", friction=0.3),
    "clear rest": lambda: contact.pressed("p", friction=0.4, clear=0.002, back=0.001),
    "spring": lambda: contact.variable("v", rate=8e4, load=9e3, up=0.004, down=0.003),
    "hung spring": lambda: contact.variable(
        "v", rate=8e4, load=300.0, up=0.01, down=0.003, rod=2.0
    ),
    "pinned": lambda: contact.variable("v", rate=8e4, load=9e3, up=0.0, down=0.0, pinned=True),
    "constant": lambda: contact.constant("c", load=5e3, tolerance=0.06, up=0.004, down=0.004),
    "seized": lambda: contact.constant(
        "c", load=5e3, tolerance=0.06, up=0.004, down=0.004, seized=True
    ),
    "rod": lambda: contact.hung("h", stiffness=1e8, length=1.5),
    "rubless": lambda: contact.smooth(contact.pressed("p", friction=0.3)),
    "pins": lambda: contact.turning("t", 2, stiffness=4e3, moment=20.0, stick=1e5),
    "gone": lambda: contact.nothing("n", 3, 2),
    "guide": lambda: guide(0.0),
    "rubbing guide": lambda: guide(0.3),
    "slanted guide": lambda: guide(0.2, (0.0, 0.0, 1.0)),
}


@pytest.mark.parametrize("kind", LAWS)
def test_together_as_alone(kind: str) -> None:
    """A hundred laws of a kind asked at once give what each gives alone, however it stands."""
    rng = np.random.default_rng(3)
    laws = [LAWS[kind]() for _ in range(100)]
    wide = len(laws[0].reference)
    for which, law in enumerate(laws):
        law.rows = tuple(range(which * wide, (which + 1) * wide))
    u = rng.choice([1e-6, 1e-3, 1e-2], 100 * wide) * rng.normal(size=100 * wide)
    memory = [rng.normal(size=law.memory) * 1e-3 for law in laws]
    bundle = Bundle(laws, len(u))
    asked = bundle.ask(u, bundle.together(memory))
    slope = bundle.dense(asked.slope)
    np.testing.assert_array_equal(bundle.force(u, bundle.together(memory)), asked.force)
    new = bundle.apart(asked.memory)
    ours: list[Array] = []
    for which, (law, old) in enumerate(zip(laws, memory, strict=True)):
        at = np.array(law.rows, dtype=np.intp)
        force, block, kept = law.answer(u[at], old)
        np.testing.assert_allclose(asked.force[at], force, rtol=1e-12, atol=1e-9)
        np.testing.assert_allclose(slope[at[:, None], at], block, rtol=1e-9, atol=1e-3)
        np.testing.assert_allclose(new[which], kept, rtol=1e-12, atol=1e-15)
        ours.append(force)
    if kind != "gone":
        assert len({tuple(np.round(force, 3)) for force in ours}) > 10, "every law stood alike"


def test_a_law_answered_otherwise_is_asked_itself() -> None:
    """A caller's own answer, put in place of a support's or made new, is what is asked."""
    drawn = contact.gap("s", plus=0.0, minus=0.0)
    other = msgspec.structs.replace(drawn, rows=(0,))

    def pulls(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        return np.array([7.0]), np.array([[-2.0]]), memory

    other.answer = pulls
    own = Law(name="own", reference=(0.0,), answer=pulls, rows=(1,))
    drawn.rows = (2,)
    force, slope, _ = answers([other, own, drawn], np.full(3, 0.001), contact.blank([own] * 3))
    assert force[:2].tolist() == [7.0, 7.0]
    assert force[2] == pytest.approx(-0.001 * contact.CLOSED)
    assert np.diag(slope)[:2].tolist() == [-2.0, -2.0]
    assert isinstance(drawn.answer, Parts)
