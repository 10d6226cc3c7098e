"""Being stopped: by Ctrl-C, by the system, by a closed terminal.

Python turns a Ctrl-C into an exception wherever it happens to be, in the middle of a library that may swallow it or
of a file being written. Here it is none: what was begun is undone, one word is said, and the program is gone.

* undo - what must not be left behind: a folder of half-written files
* held - a moment that must not be cut in two: files changing places. A stop that comes then waits for its end
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from types import FrameType

_SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")
_undo: list[Callable[[], None]] = []
_held = 0
_waiting: int | None = None


def heed() -> None:
    """From now on a stop ends the program without a trace; before that Python's own ways hold."""
    for name in _SIGNALS:
        number = getattr(signal, name, None)
        # what a parent asked to be deaf to (nohup) it stays deaf to
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _stopped)


def _stopped(number: int, _frame: FrameType | None) -> None:
    global _waiting
    if _held:
        _waiting = number
        return
    _end(number)


def _end(number: int) -> None:
    for undo in reversed(_undo):
        undo()
    _end_helpers()
    with suppress(OSError):
        os.write(2, b"\nstopped.\n")
    os._exit(128 + number)


def _end_helpers() -> None:
    """The processes that were begun beside this one."""
    beside = sys.modules.get("multiprocessing")
    for helper in beside.active_children() if beside is not None else ():
        helper.kill()


@contextmanager
def undone_by(undo: Callable[[], None]) -> Iterator[None]:
    """While this lasts, a stop undoes what was begun."""
    _undo.append(undo)
    try:
        yield
    finally:
        _undo.remove(undo)


@contextmanager
def held() -> Iterator[None]:
    """While this lasts, a stop waits."""
    global _held
    _held += 1
    try:
        yield
    finally:
        _held -= 1
        if not _held and _waiting is not None:
            _end(_waiting)


@contextmanager
def asked() -> Iterator[None]:
    """While a question stands in the terminal, a Ctrl-C is an answer to it: KeyboardInterrupt."""
    before = signal.getsignal(signal.SIGINT)
    if before is not _stopped:
        yield
        return
    signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
