"""The command line face over desk. Imports nothing heavy until a verb needs it."""

from __future__ import annotations


def main() -> None:
    """Run the command line."""
    from takeup.cli.app import run

    run()
