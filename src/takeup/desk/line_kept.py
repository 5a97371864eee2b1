"""Lines worked out, kept between questions while nothing that they rest on has changed."""

from __future__ import annotations

import hashlib
import threading
from collections import OrderedDict
from typing import TYPE_CHECKING

import msgspec

from takeup import __version__

if TYPE_CHECKING:
    from collections.abc import Mapping

    from takeup.desk.lines import Solved
    from takeup.line.text import JointData

KEEP = 256
"""Lines kept; the one used longest ago goes first."""


def key_of(text: str, known: Mapping[str, JointData], asked: tuple[str, ...]) -> str:
    """Hash over everything that a line is worked out from: text, joint data, what is not known.

    The joint data are what the register says as it stands, so that a change of the register
    that matters to the line changes the key, and no other does.
    """
    digest = hashlib.sha256(__version__.encode())
    joints = sorted(known.items())
    digest.update(msgspec.json.encode((text, joints, asked)))
    return digest.hexdigest()


class WorkedOut:
    """Lines already worked out, by the hash of what they rest on. One for each open site."""

    def __init__(self, keep: int = KEEP) -> None:
        self.keep, self.solved = keep, 0
        self._known: OrderedDict[str, Solved] = OrderedDict()
        self._lock = threading.Lock()  # pages of one site are made in several threads

    def get(self, key: str) -> Solved | None:
        """What is kept under ``key``."""
        with self._lock:
            found = self._known.get(key)
            if found is not None:
                self._known.move_to_end(key)
            return found

    def put(self, key: str, made: Solved) -> None:
        """Keep ``made``; ``solved`` counts how often anything was worked out."""
        with self._lock:
            self.solved += 1
            self._known[key] = made
            while len(self._known) > self.keep:
                self._known.popitem(last=False)
