"""The wall of a joint as text: TOML to typed input, every fault by its key."""

from __future__ import annotations

import functools
import re

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


def line_of(text: str, fault: str) -> int:
    """Line of ``text`` that a fault of :func:`read` is about, from 1; 0 where none can be told."""
    told = re.search(r"\(at line (\d+),", fault)
    if told:
        return int(told.group(1))
    path = fault.split(" ", 1)[0].removeprefix("$.").split(".")
    if not fault.startswith("$."):
        return 0
    table, key = (".".join(path[:-1]), path[-1]) if len(path) > 1 else ("", path[0])
    here, headed = "", 0
    for number, line in enumerate(text.split("\n"), 1):
        words = line.split("#", 1)[0].strip()
        if words.startswith("["):
            here = words.strip("[] ")
            headed = number if here in {table, key} else headed
        elif here == table and words.split("=", 1)[0].strip().strip("\"'") == key:
            return number
    return headed
