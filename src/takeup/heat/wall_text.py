"""The wall of a joint as text: TOML to typed input, every fault by its key."""

from __future__ import annotations

import functools

from takeup.errors import BadFile, TakeupError
from takeup.given import raw_of, take
from takeup.heat.wall_study import WallInput

NAME = "wall.toml"


def read(text: str) -> tuple[WallInput | None, tuple[str, ...]]:
    """The wall that ``text`` describes, or none and what is wrong, key by key.

    What only the balance can refuse (a cold wall without lining, ...) is told by
    :func:`takeup.heat.wall_study.study`, not here.
    """
    return _read(text)


@functools.lru_cache(maxsize=256)
def _read(text: str) -> tuple[WallInput | None, tuple[str, ...]]:
    try:
        taken = take(raw_of(NAME, text.encode()), WallInput)
    except BadFile as fault:
        return None, (str(fault).removeprefix(f"{NAME} "),)
    except TakeupError as fault:
        return None, (str(fault),)
    return taken.value, tuple(f"{fault.place} {fault.wrong}" for fault in taken.faults)
