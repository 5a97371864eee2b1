"""The command line face over desk. Imports nothing heavy until a verb needs it."""

from __future__ import annotations


def main() -> None:
    """Run the command line."""
    import os

    # one thread of linear algebra: spinning threads on a busy machine cost tenfold, and work goes
    # to processes where it pays; what the person set stays
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")  # noqa: TID251 - an edge

    from takeup.cli.app import run

    run()
