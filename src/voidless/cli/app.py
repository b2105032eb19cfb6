"""The table of commands, and the one place where faults become exit statuses."""

from __future__ import annotations

import difflib
import sys
import warnings
from collections.abc import Callable, Sequence
from typing import Any, TextIO

import typer

from voidless.cli.answer import print_json, printable
from voidless.cli.commands import (
    demo,
    learn,
    log,
    make,
    new,
    next_builds,
    part,
    plan,
    predict,
    prove,
    read,
    report,
    serve,
    sheet,
    window,
)
from voidless.errors import InputError, VoidlessError

__all__ = ["COMMANDS", "STOPPED", "build_app", "run"]

STOPPED = 130
"""Exit status after a stop by hand, as shells give it."""

COMMANDS: dict[str, Callable[..., None]] = {
    "new": new.command,
    "plan": plan.command,
    "make": make.command,
    "log": log.command,
    "read": read.command,
    "learn": learn.command,
    "next": next_builds.command,
    "window": window.command,
    "prove": prove.command,
    "sheet": sheet.command,
    "report": report.command,
    "predict": predict.command,
    "part": part.command,
    "serve": serve.command,
    "demo": demo.command,
}

_USAGE_FAULT: type[Exception] = next(
    base for base in typer.BadParameter.__mro__ if base.__name__ == "ClickException"
)


def build_app() -> typer.Typer:
    """Return the application with every command of the table."""
    app = typer.Typer(
        name="voidless",
        no_args_is_help=True,
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )

    @app.callback()
    def root(
        version: bool = typer.Option(False, "--version", help="Print the version and leave."),
    ) -> None:
        """Find, prove and publish filament-printing settings for fully fused, void-free parts."""
        if version:
            from voidless import __version__

            typer.echo(__version__)
            raise typer.Exit

    for name, function in COMMANDS.items():
        app.command(name)(function)
    return app


def run(argv: Sequence[str], stdout: TextIO | None = None, stderr: TextIO | None = None) -> int:
    """
    Run one command and return its exit status.

    Parameters
    ----------
    argv : sequence of str
        Arguments without the program's name.
    stdout, stderr : text stream or None
        Where faults are written; the process's own when None.
    """
    out, err = stdout or sys.stdout, stderr or sys.stderr
    as_json = "--json" in argv
    with warnings.catch_warnings():
        warnings.simplefilter("default")
        warnings.showwarning = _show_warning
        try:
            command = typer.main.get_command(build_app())
            status = command.main(args=list(argv), prog_name="voidless", standalone_mode=False)
        except VoidlessError as fault:
            return _tell(fault, as_json, out, err)
        except _USAGE_FAULT as fault:
            return _tell(_usage_error(fault, argv), as_json, out, err)
        except (KeyboardInterrupt, typer.Abort):
            status = STOPPED
        except BrokenPipeError:
            return 1
    if status == STOPPED:  # typer makes a status of the stop by itself
        err.write("Stopped. What had been stored is whole; run the same command again to go on.\n")
    return status if isinstance(status, int) else 0


def _usage_error(fault: Exception, argv: Sequence[str]) -> InputError:
    message = str(getattr(fault, "format_message", lambda: str(fault))())
    given = next((word for word in argv if not word.startswith("-")), "")
    where = f"voidless {given}" if given in COMMANDS else "voidless"
    remedy = f"See: {where} --help"
    if given and given not in COMMANDS:
        near = difflib.get_close_matches(given, COMMANDS, n=1)
        remedy = f"Did you mean {near[0]}? {remedy}" if near else remedy
        return InputError("voidless", f"no command {given!r}", "one of " + ", ".join(COMMANDS), remedy)
    return InputError(where, message or "the command is not complete", "arguments as --help shows", remedy)


def _tell(fault: VoidlessError, as_json: bool, out: TextIO, err: TextIO) -> int:
    if as_json:
        print_json({"schema_version": 1, "error": fault.to_dict(), **getattr(fault, "details", {})}, out)
    else:
        err.write(printable(str(fault)) + "\n")
    return fault.exit_status


def _show_warning(
    message: Warning | str,
    category: type[Warning],  # noqa: ARG001 - the signature is that of warnings.showwarning
    filename: str,  # noqa: ARG001
    lineno: int,  # noqa: ARG001
    file: Any = None,  # noqa: ARG001
    line: str | None = None,  # noqa: ARG001
) -> None:
    sys.stderr.write(f"Note: {message}\n")
