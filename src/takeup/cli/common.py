"""What verbs share: the site option, JSON, progress on a terminal."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from takeup.desk.site import Site
    from takeup.progress import Progress

F = TypeVar("F", bound=Callable[..., Any])


def site_option(function: F) -> F:
    """Add ``--site``."""
    return click.option(
        "--site",
        "folder",
        type=click.Path(file_okay=False, path_type=Path),
        default=Path(),
        envvar="TAKEUP_SITE",
        help="Folder of the site (default: here, or TAKEUP_SITE).",
    )(function)


def json_option(function: F) -> F:
    """Add ``--json``."""
    return click.option("--json", "as_json", is_flag=True, help="Print the result as JSON.")(
        function
    )


def author_option(function: F) -> F:
    """Add ``--author``, by default the name of the user."""
    return click.option(
        "--author",
        default=_user,
        show_default="your user name",
        help="Who makes the change; kept with it.",
    )(function)


def _user() -> str:
    import getpass

    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "unknown user"


def opened(folder: Path) -> Site:
    """Open the site of a verb."""
    from takeup.desk.site import open_site

    return open_site(folder)


@contextmanager
def writing(path: Path) -> Iterator[None]:
    """Say plainly that ``path`` cannot be written, instead of a fault of the library."""
    from takeup.errors import BadFile

    try:
        yield
    except OSError as fault:
        raise BadFile(f"{path} cannot be written: {fault.strerror or fault}") from fault
    except Exception as fault:
        if type(fault).__module__.partition(".")[0] != "xlsxwriter":
            raise
        raise BadFile(f"{path} cannot be written: {fault}") from fault


def must_exist(path: Path) -> Path:
    """Return ``path``; a missing one is said so, whatever kind of file it would have been."""
    from takeup.errors import BadFile

    if not path.exists():
        raise BadFile(f"there is no file {path}")
    return path


def emit(value: Any) -> None:
    """Print as JSON: indented, in order of fields."""
    import msgspec

    data = msgspec.json.encode(value, enc_hook=_plain)
    click.echo(msgspec.json.format(data, indent=2).decode())


def _plain(value: Any) -> Any:
    tolist = getattr(value, "tolist", None)
    if tolist is not None:
        return tolist()
    if isinstance(value, Path):
        return str(value)
    raise NotImplementedError(type(value).__name__)  # msgspec asks for exactly this


def progress() -> Progress:
    """A line that rewrites itself on a terminal; silent elsewhere."""
    from takeup.progress import silent

    if not sys.stderr.isatty():
        return silent
    last = [0.0]

    def show(share: float, text: str) -> None:
        now = time.monotonic()
        if share < 1.0 and now - last[0] < 0.05:
            return
        last[0] = now
        full = round(24 * min(1.0, share))
        bar = "━" * full + "╌" * (24 - full)
        click.echo(f"\r{bar} {share:4.0%}  {text[:60]:<60}", nl=False, err=True)
        if share >= 1.0:
            click.echo("\r" + " " * 96 + "\r", nl=False, err=True)

    return show


def plain(text: str) -> str:
    """Plain spaces for a terminal, so that columns line up and values can be copied."""
    return text.replace("\u202f", " ").replace("\u00a0", " ")


def table(rows: list[tuple[str, ...]], heads: tuple[str, ...]) -> None:
    """Print rows in aligned columns."""
    widths = [max(len(str(row[n])) for row in [heads, *rows]) for n in range(len(heads))]
    for row in [heads, tuple("─" * w for w in widths), *rows]:
        line = "  ".join(str(cell).ljust(w) for cell, w in zip(row, widths, strict=True))
        click.echo(line.rstrip())
