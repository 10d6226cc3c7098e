"""Being stopped: by Ctrl-C, by the system, by a closed terminal.

Python turns a Ctrl-C into an exception wherever it happens to be, in the middle of a library that may swallow it or
of a file being written. Here it is none: what was begun is undone, one word is said, and the program is gone.

* undo - what must not be left behind: a folder of half-written files
* held - a moment that must not be cut in two: files changing places. A stop that comes then waits for its end

A server works in several threads, and leaves by `leave`: who is in the middle of writing is waited for a while, who
would begin then comes no further.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext, suppress
from types import FrameType
from typing import Any, NoReturn

_SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")
_undo: list[Callable[[], None]] = []
_held: list[object] = []
_waiting: int | None = None
_door = threading.Lock()
"""Passed by each thread that begins something; shut by who leaves. No handler of a signal takes it."""
_mine = threading.local()
_gone = False
PATIENCE_S = 1.0
"""How long who leaves waits for what another thread is writing."""


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


def leave(code: int) -> NoReturn:
    """End here, whatever other threads still work on: Python itself would wait until what nobody fetches is made.

    What one of them is writing by now is waited for, and undone where that takes long.
    """
    global _gone
    _door.acquire()
    latest = time.monotonic() + PATIENCE_S
    while _undo and time.monotonic() < latest:
        time.sleep(0.01)
    _gone = True
    while _held:
        time.sleep(0.01)
    for undo in reversed(_undo):
        undo()
    _end_helpers()
    os._exit(code)


def _end_helpers() -> None:
    """The processes that were begun beside this one."""
    beside = sys.modules.get("multiprocessing")
    for helper in beside.active_children() if beside is not None else ():
        helper.kill()


@contextmanager
def _listed(one: Any, among: list[Any]) -> Iterator[None]:
    """In the middle of something that changes files; the first of it that a thread does lies behind the door."""
    depth = getattr(_mine, "depth", 0)
    with nullcontext() if depth else _door:
        among.append(one)
    _mine.depth = depth + 1
    try:
        yield
    finally:
        _mine.depth = depth
        among.remove(one)


@contextmanager
def undone_by(undo: Callable[[], None]) -> Iterator[None]:
    """While this lasts, a stop undoes what was begun."""
    with _listed(undo, _undo):
        yield


@contextmanager
def held() -> Iterator[None]:
    """While this lasts, a stop waits."""
    moment = object()
    try:
        with _listed(moment, _held):
            if _gone:
                # what this would change is being undone
                _held.remove(moment)
                threading.Event().wait()
            yield
    finally:
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
