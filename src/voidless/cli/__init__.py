"""
The command line: parse, call one workflow, render.

    app.py        the table of commands, faults and exit statuses
    answer.py     one answer: a JSON object on standard output, or text for people
    progress.py   stages on standard error
    text.py       small tables for people
    commands/     one file a command
"""

from __future__ import annotations

import io
import os
import signal
import sys

__all__ = ["main"]


def main() -> None:
    """Run the command line and leave with its exit status: 0 done, 1 failed, 2 bad input."""
    # The matrices here are small: threads of the linear algebra library wait for each other, and cost five times
    # the processor time on a busy machine. Whoever sets the variable keeps the choice.
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    from voidless.cli.app import STOPPED, run

    arguments = sys.argv[1:]
    _speak_utf8(everything="--json" in arguments)
    status = run(arguments)
    if status == STOPPED:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # a second press while leaving says nothing more
    sys.exit(status)


def _speak_utf8(everything: bool) -> None:
    """
    Write JSON in UTF-8 whatever the system's coding; let text show a `?` for what the coding lacks.

    On Windows a pipe takes the old code page: a name outside it would end the program after its work.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            coding = "utf-8" if everything else stream.encoding
            stream.reconfigure(encoding=coding, errors="backslashreplace" if everything else "replace")
