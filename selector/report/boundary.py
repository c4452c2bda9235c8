"""Where errors end: what a command raises becomes a message and an exit status, never a traceback.

Exit status: 0 done, 1 the answer is "not possible", 2 the input is wrong, 3 a defect of ours; as shells count them, 130
stopped from the keyboard, 141 the reader of a pipe went away.
"""

from __future__ import annotations

import functools
import os
import sys
import traceback
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import ParamSpec

import typer

NOT_POSSIBLE, WRONG_INPUT, DEFECT, STOPPED, PIPE_CLOSED = 1, 2, 3, 130, 141

P = ParamSpec("P")


class Boundary:
    """Turns whatever a command raises into an exit status and a message without a traceback."""

    def __enter__(self) -> None:
        """Begin only where there is somewhere to answer: a closed standard output is none."""
        if sys.stdout is None:
            from selector.report.terminal import say

            say("standard output: file: got closed; allowed: a place that can be written")
            sys.exit(WRONG_INPUT)

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Print what went wrong and leave with its status."""
        from selector.inputs.errors import InputFaults
        from selector.inputs.quantities import QuantityError
        from selector.report.files import forsake_standard_output
        from selector.report.terminal import say

        if error is None or isinstance(error, (SystemExit, typer.Exit)):
            return
        if isinstance(error, (InputFaults, QuantityError)):
            say(str(error))
            sys.exit(WRONG_INPUT)
        if isinstance(error, typer.Abort):
            say("stopped: an answer is missing")
            sys.exit(WRONG_INPUT)
        if isinstance(error, KeyboardInterrupt):
            say("stopped")
            sys.exit(STOPPED)
        if isinstance(error, BrokenPipeError):
            forsake_standard_output()
            sys.exit(PIPE_CLOSED)
        if os.environ.get("SELECTOR_TRACE") == "1":
            traceback.print_exception(error)
            sys.exit(DEFECT)
        while trace is not None and trace.tb_next is not None:
            trace = trace.tb_next
        place = (
            f"{Path(trace.tb_frame.f_code.co_filename).name}, line {trace.tb_lineno}"
            if trace is not None
            else "?"
        )
        name = type(error).__name__
        message = (str(error).strip() or "no message").splitlines()[0]
        say(
            f"selector: a defect of ours, not of your input: {name}: {message} ({place}). Please "
            "report it to the project with your files; SELECTOR_TRACE=1 shows the full trace."
        )
        sys.exit(DEFECT)


def guarded(run: Callable[P, int]) -> Callable[P, None]:
    """Run a command inside the boundary and leave with its status.

    Args: run, a command that returns its status. Returns: the command with the same arguments.
    """

    @functools.wraps(run)
    def command(*args: P.args, **kwargs: P.kwargs) -> None:
        with Boundary():
            status = run(*args, **kwargs)
            sys.stdout.flush()
            compiled = sys.modules.get("selector.physics.compiled")
            if compiled is not None:
                compiled.note_compiled(work=run.__name__)
            raise typer.Exit(status)

    return command
