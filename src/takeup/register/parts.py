"""A history that grows: new readings become a file of their own, small files are merged.

Nothing kept is written over.  A file is merged into the next one once it holds no more than twice
its rows, so that a year of hourly batches leaves a dozen files and each reading is written again
only a dozen times.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from takeup.register import series


def add(connection: Any, folder: Path, files: tuple[str, ...], select: str) -> tuple[str, ...]:
    """Keep the rows (us, k, ok) of ``select``, whose stamps are in none of ``files``.

    Returns the names of the files that hold the history now, oldest first.
    """
    staged = folder / f".staged-{os.getpid()}-{os.urandom(4).hex()}.parquet"
    try:
        _write(connection, select, staged)
        names, rows = list(files), _rows(connection, staged)
        merged: list[str] = []
        while names and _rows(connection, folder / names[-1]) <= 2 * rows:
            merged.insert(0, names.pop())
            rows += _rows(connection, folder / merged[0])
        if merged:
            whole = folder / f"{staged.stem}-whole.parquet"
            paths = [*(folder / name for name in merged), staged]
            try:
                _write(connection, f"SELECT us, k, ok FROM {series.kept(paths)}", whole)
                whole.replace(staged)
            finally:
                whole.unlink(missing_ok=True)
        name = series.content_name(staged)
        staged.replace(folder / name)
        return (*names, name)
    finally:
        staged.unlink(missing_ok=True)


def _write(connection: Any, select: str, path: Path) -> None:
    connection.execute(
        f"COPY (SELECT us, k, ok FROM ({select}) ORDER BY us) TO '{series.quoted(path)}' "
        "(FORMAT PARQUET, COMPRESSION ZSTD)"
    )


def _rows(connection: Any, path: Path) -> int:
    row = connection.execute(
        f"SELECT sum(num_rows) FROM parquet_file_metadata('{series.quoted(path)}')"
    ).fetchone()
    return int(row[0] or 0) if row else 0
