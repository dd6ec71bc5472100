"""Time limits: a step that hangs costs its own result, and a worker that cannot be interrupted is ended."""

from __future__ import annotations

import faulthandler
import math
import os
import signal
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Any

from heatbrief.errors import StepError

STEP_SECONDS = 300.0
"""What one step may take for one picture or group, unless the environment says otherwise."""

VARIABLE = "HEATBRIEF_STEP_SECONDS"
"""Environment variable with another limit in seconds, for machines that are slow."""

GRACE_SECONDS = 5.0
"""After this much more the worker is ended: code that holds the interpreter hears no signal."""

REMEDY = (
    f"Tell the authors of the step, or leave it out under stages. On a slow machine set {VARIABLE} to more seconds."
)


class Overtime(BaseException):
    """Raised in a step that takes too long. No Exception, so that a step that catches everything does not catch it."""


def step_seconds() -> float:
    """The limit in seconds that holds for this process: the environment's if it is a number above 0."""
    with suppress(ValueError):
        given = float(os.environ.get(VARIABLE, ""))
        if 0.0 < given < 1e7:
            return given
    return STEP_SECONDS


_TURN = threading.Lock()
"""Tasks of one worker are done one at a time, however many threads it has: there is one timer for a process."""

_file: IO[Any] | None = None
_seconds = STEP_SECONDS
_since = -math.inf
"""When the end of this process was last put off."""

LATE = 0.1
"""Share of the limit by which a process may be ended later: putting it off for every step takes longer than many steps."""


@contextmanager
def watched(mark: Path | None, seconds: float) -> Iterator[None]:
    """While this holds, a step that runs over may end the whole process; what it was doing is written to `mark` first.

    Without a mark the process is never ended (it may be the one the person started).
    """
    global _file, _seconds, _since
    with _TURN:
        _seconds = seconds
        if mark is None:
            yield
            return
        mark.parent.mkdir(parents=True, exist_ok=True)
        try:
            with mark.open("w", encoding="utf-8") as _file:
                yield
        finally:
            faulthandler.cancel_dump_traceback_later()
            _file, _since = None, -math.inf
        mark.unlink(missing_ok=True)


def trace_of(mark: Path) -> str:
    """What a process that was ended for its time was doing; "" when none was."""
    with suppress(OSError):
        return mark.read_text("utf-8", "replace")
    return ""


@contextmanager
def time_limit(step: str) -> Iterator[None]:
    """Raise StepError "step-timeout" in the block when it takes longer than a step may.

    The main thread is interrupted by a timer. A block that does not listen, or another thread, is ended with its
    process where `watched` allows that.
    """
    interruptible = hasattr(signal, "setitimer") and threading.current_thread() is threading.main_thread()
    if _file is not None:
        _put_off(_file, _seconds + (GRACE_SECONDS if interruptible else 0.0))
    old = signal.signal(signal.SIGALRM, _ring) if interruptible else None
    try:
        if interruptible:
            signal.setitimer(signal.ITIMER_REAL, _seconds)
        yield
    except Overtime:
        raise overtime(step, _seconds) from None
    finally:
        if interruptible:
            signal.setitimer(signal.ITIMER_REAL, 0.0)
            signal.signal(signal.SIGALRM, old)


def _put_off(file: IO[Any], seconds: float) -> None:
    """End this process so many seconds from now, or a little later, unless it is put off again."""
    global _since
    now, late = time.monotonic(), LATE * _seconds
    if now - _since > late:
        faulthandler.dump_traceback_later(seconds + late, exit=True, file=file)
        _since = now


def overtime(step: str, seconds: float) -> StepError:
    """What is said about a step that took too long."""
    return StepError("step-timeout", f"{step or 'a step'} was stopped after {seconds:g} s.", REMEDY)


def _ring(number: int, frame: Any) -> None:
    raise Overtime
