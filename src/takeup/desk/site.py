"""A site on disk: its folder, its store, and the register as it stands.

A site folder holds ``takeup.toml`` (where the store is), the store itself when it is a
file, and ``series/``, ``photos/`` and ``documents/`` beside it.
"""

from __future__ import annotations

import datetime as dt
import os
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from takeup.desk.line_kept import WorkedOut
from takeup.desk.theory import Theories
from takeup.errors import BadFile, Refused, TakeupError

if TYPE_CHECKING:
    from takeup.register.entities import Plant
    from takeup.register.snapshot import Register
    from takeup.register.store import Store
    from takeup.units import System

SETTINGS = "takeup.toml"
DATABASE = "register.db"


class Site:
    """An open site. Facts are read through :meth:`register`, changed through :meth:`change`."""

    def __init__(self, folder: Path, store: Store) -> None:
        self.folder = folder
        self.store = store
        self._cached: tuple[Any, Register] | None = None
        self.theories = Theories()
        self.worked_out = WorkedOut()

    @property
    def series_folder(self) -> Path:
        """Where temperature histories are kept, one file by content."""
        return _made(self.folder / "series")

    @property
    def photo_folder(self) -> Path:
        """Where photos are kept, one file by content."""
        return _made(self.folder / "photos")

    @property
    def documents_folder(self) -> Path:
        """Where documents are written unless told otherwise."""
        return _made(self.folder / "documents")

    @property
    def system(self) -> System:
        """The units this site prefers to read."""
        return self.register().plant.units

    def now(self) -> dt.datetime:
        """The present moment in UTC: the one clock of the desk."""
        return dt.datetime.now(dt.UTC)  # noqa: TID251 - desk is where the clock lives

    def today(self) -> dt.date:
        """Today where the site is."""
        from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

        zone = self.register().plant.time_zone
        try:
            return self.now().astimezone(ZoneInfo(zone)).date()
        except (ZoneInfoNotFoundError, ValueError):
            raise TakeupError(
                f"time zone {zone!r} of the site is not known; use a name such as Europe/Berlin"
            ) from None

    def register(self, at: dt.datetime | None = None) -> Register:
        """All facts as they stand, or as they stood at ``at``; kept until the next change."""
        from takeup.register.snapshot import Register

        if at is not None:
            return Register(self.store.facts(at=at))
        mark = self.store.last_change()
        if self._cached is None or self._cached[0] != mark:
            self._cached = (mark, Register(self.store.facts()))
        return self._cached[1]

    @contextmanager
    def change(self, author: str, reason: str) -> Iterator[Any]:
        """Open one change: everything put in it is stored together, or nothing is."""
        with self.store.change(author=author, reason=reason, time=self.now()) as changes:
            yield changes

    def close(self) -> None:
        """Let go of the store."""
        self.store.close()

    def __enter__(self) -> Site:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def create(folder: Path, plant: Plant, *, author: str, database: str = "") -> Site:
    """Make a new site in ``folder`` and open it.

    ``database`` is a database URL for teams (PostgreSQL); empty keeps a file in the folder.
    Refuses a folder that already holds a site.
    """
    if (folder / SETTINGS).exists():
        raise Refused(f"{folder} already holds a site; open it, or choose another folder")
    folder.mkdir(parents=True, exist_ok=True)
    store = _open_store(folder, database)
    site = Site(folder, store)
    with site.change(author, "site created") as change:
        change.put(plant)
    text = "# A Takeup site. The store is register.db in this folder unless database is set.\n"
    text += f"database = {_toml(database)}\n"
    temporary = folder / (SETTINGS + ".new")
    temporary.write_text(text, encoding="utf-8")
    temporary.replace(folder / SETTINGS)  # last: a half-made site is not a site
    return site


def open_site(folder: Path) -> Site:
    """Open the site in ``folder``; the fault names what to do when there is none."""
    settings = folder / SETTINGS
    if not settings.exists():
        raise Refused(
            f"{folder} holds no site (no {SETTINGS}); make one with 'takeup new', "
            "or name its folder with --site"
        )
    try:
        data = tomllib.loads(settings.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as fault:
        raise BadFile(f"{settings} cannot be read as TOML: {fault}") from fault
    return Site(folder, _open_store(folder, str(data.get("database", ""))))


def _open_store(folder: Path, database: str) -> Store:
    from takeup.register.store import Store

    url = database or os.environ.get("TAKEUP_DATABASE", "")  # noqa: TID251 - an edge
    store = Store.open(url or f"sqlite:///{folder / DATABASE}")
    store.migrate()
    return store


def _made(folder: Path) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _toml(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


open = open_site  # desk.site.open(folder) reads as the verb it is
