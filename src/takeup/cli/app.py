"""The verbs: parse, call the desk, show. Errors in one paragraph on stderr, no traceback."""

from __future__ import annotations

import os
import sys
from typing import Any

import click

EXIT_FAULT, EXIT_USAGE, EXIT_REFUSED, EXIT_CANCELLED, EXIT_UNEXPECTED = 1, 2, 3, 130, 70

EPILOG = """
Exit codes: 0 done; 1 the input or data is at fault; 2 the command was written wrongly;
3 refused or nothing to do; 70 a fault of Takeup itself; 130 cancelled.
Results are an aid to licensed engineers: verify them against the codes that govern your plant.
"""


class Verbs(click.Group):
    """Lists verbs in the order of the job and loads each when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """In the order in which the job goes."""
        return list(self.commands)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the verb; an unknown one is answered with the nearest."""
        name = args[0]
        if name not in self.commands and not name.startswith("-"):
            import difflib

            near = difflib.get_close_matches(name, self.commands, n=3, cutoff=0.4)
            hint = f" Did you mean {' or '.join(near)}?" if near else ""
            ctx.fail(f"there is no verb {name!r}.{hint}")
        return super().resolve_command(ctx, args)


@click.group(
    cls=Verbs,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96},
    epilog=EPILOG,
)
@click.option(
    "--debug", is_flag=True, envvar="TAKEUP_DEBUG", help="Show tracebacks of unexpected faults."
)
@click.version_option(package_name="takeup", message="takeup %(version)s")
@click.pass_context
def verbs(ctx: click.Context, debug: bool) -> None:
    """Keep metallic bellows expansion joints fit from one outage to the next.

    Evidence in, verdicts with grounds, options, a scope under a budget, dates, a schedule and
    documents out. Most verbs work on a site: name its folder with --site, set TAKEUP_SITE, or
    call them inside it.
    """
    ctx.obj = {"debug": debug}


def load() -> None:
    """Register every verb."""
    from takeup.cli import (
        attachment,
        design_out,
        diagnosis,
        engines,
        feeding,
        looking,
        metal,
        wall,
        watching,
        what_if,
        working,
    )

    modules = (
        working, looking, engines, what_if, design_out, diagnosis, attachment, wall, metal, watching,
        feeding,
    )  # fmt: skip
    for module in modules:
        for command in module.COMMANDS:
            verbs.add_command(command)


def run(arguments: list[str] | None = None) -> None:
    """Run the command line and leave with its exit code."""
    sys.exit(call(arguments))


def call(arguments: list[str] | None = None) -> int:
    """Run the command line and return its exit code."""
    load()
    debug = "--debug" in (arguments if arguments is not None else sys.argv) or bool(
        os.environ.get("TAKEUP_DEBUG")  # noqa: TID251 - an edge
    )
    from takeup.errors import Cancelled, Refused, TakeupError

    try:
        result: Any = verbs.main(args=arguments, prog_name="takeup", standalone_mode=False)
    except click.exceptions.Exit as leave:
        return leave.exit_code
    except click.Abort:
        return _said("cancelled; nothing was changed", EXIT_CANCELLED)
    except click.ClickException as fault:
        fault.show()
        return fault.exit_code
    except (Cancelled, KeyboardInterrupt) as fault:
        return _said(str(fault) or "cancelled; nothing was changed", EXIT_CANCELLED)
    except Refused as fault:
        return _said(str(fault), EXIT_REFUSED)
    except TakeupError as fault:
        return _said(str(fault), EXIT_FAULT)
    except SystemExit as leave:
        if type(sys.stdout).__name__.endswith("PacifyFlushWrapper"):
            return 0  # the reader of a pipe left, as head does: not a fault
        return leave.code if isinstance(leave.code, int) else 1
    except OSError as fault:
        if debug:
            raise
        where = f"{fault.filename}: " if fault.filename else ""
        return _said(f"{where}{fault.strerror or fault}", EXIT_FAULT)
    except Exception as fault:
        if _interrupted(fault):
            return _said("cancelled; nothing was changed", EXIT_CANCELLED)
        if debug:
            raise
        return _said(
            f"unexpected fault: {type(fault).__name__}: {fault}. Nothing was changed by this verb. "
            "Run it again with --debug before it to see where, and report it",
            EXIT_UNEXPECTED,
        )
    return int(result) if isinstance(result, int) else 0


def _interrupted(fault: BaseException | None) -> bool:
    """Whether an interrupt lies behind a fault: one that hits a library while it loads."""
    while fault is not None:
        if isinstance(fault, KeyboardInterrupt):
            return True
        fault = fault.__cause__ or fault.__context__
    return False


def _said(text: str, code: int) -> int:
    click.echo(f"takeup: {text}", err=True)
    return code
