"""Work done beside this process, in others that share its memory: begun at once, asked for in order or as it is made.

A helper is silent, ends with the process that began it however that ends, and never outlives a stop: what it has to
say, an answer or a refusal, comes back through its pipe.
"""

from __future__ import annotations

import contextlib
import os
import signal
import threading
import traceback
import warnings
from collections.abc import Callable, Iterator, Sequence
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from typing import Any, TypeVar, cast

from clearance.errors import ClearanceError, OutputError

Made = TypeVar("Made")


def in_order(work: Callable[..., Made], asked: Sequence[tuple[Any, ...]], processes: int) -> Iterator[Made]:
    """What `work` makes of each row of arguments, in their order, from so many processes at most.

    Raises what `work` raised, and OutputError where a helper was ended from outside.
    """
    count = min(processes, len(asked))
    pipes: list[Connection | None] = []
    for first in range(count):
        pipes.append(_begun(work, asked[first::count]))
    return (_received(pipes[row % count], work, asked[row]) for row in range(len(asked)))


def as_made(work: Callable[..., Made], asked: Sequence[tuple[Any, ...]], processes: int) -> Iterator[tuple[int, Made]]:
    """The number of each row of arguments with what `work` makes of it, as it comes: who is done gets the next row.

    Raises what `work` raised, and OutputError where a helper was ended from outside.
    """
    helpers = [_ready(work) for _ in range(min(processes, len(asked)))]
    busy: dict[Connection, int] = {}
    rows = iter(range(len(asked)))
    for helper in helpers:
        if helper is not None:
            _next(helper, rows, asked, busy)
    while busy:
        for pipe in wait(list(busy)):
            helper = cast("Connection", pipe)
            row = busy.pop(helper)
            found = _received(helper, work, asked[row])
            # what comes next is begun before this is looked at
            _next(helper, rows, asked, busy)
            yield row, found
    # where the system gave no process at all
    yield from ((row, work(*asked[row])) for row in rows)


def _next(
    helper: Connection, rows: Iterator[int], asked: Sequence[tuple[Any, ...]], busy: dict[Connection, int]
) -> None:
    """Give a helper the next row, or let it end."""
    row = next(rows, None)
    with contextlib.suppress(OSError):
        helper.send(None if row is None else asked[row])
    if row is not None:
        busy[helper] = row


def _ready(work: Callable[..., Any]) -> Connection | None:
    """The end of a pipe to a new process that does what it is sent; None where the system gives no more processes."""
    ours, theirs = get_context("fork").Pipe()
    return _started(_asked, (work, theirs, _parent()), ours, theirs)


def _asked(work: Callable[..., Any], pipe: Connection, parent: int) -> None:
    """What such a helper does: what it is sent, until there is no more."""
    _tie_to(parent)
    while True:
        try:
            row = pipe.recv()
        except (EOFError, OSError):
            return
        if row is None:
            return
        _answer(work, row, pipe)


def _parent() -> int:
    # a helper that is tied to a thread ends with the thread
    return os.getpid() if threading.current_thread() is threading.main_thread() else 0


def _begun(work: Callable[..., Any], rows: Sequence[tuple[Any, ...]]) -> Connection | None:
    """The end of a pipe that a new process answers into; None where the system gives no more processes."""
    ours, theirs = get_context("fork").Pipe(duplex=False)
    return _started(_helped, (work, rows, theirs, _parent()), ours, theirs)


def _started(
    does: Callable[..., Any], given: tuple[Any, ...], ours: Connection, theirs: Connection
) -> Connection | None:
    helper = get_context("fork").Process(target=does, args=given, daemon=True)
    try:
        with warnings.catch_warnings():
            # from Python 3.12 on, forking beside threads is warned of; those of a linear algebra library are idle here
            warnings.simplefilter("ignore", DeprecationWarning)
            helper.start()
    except OSError:
        return None
    theirs.close()
    return ours


def _received(pipe: Connection | None, work: Callable[..., Made], row: tuple[Any, ...]) -> Made:
    if pipe is None:
        return work(*row)
    try:
        done, found = pipe.recv()
    except (EOFError, OSError):
        raise OutputError(
            "the answer was cut short: one of the processes that work on it was ended from outside, as happens where"
            " memory runs out. Close other programs, or ask for less at once."
        ) from None
    if not done:
        raise found
    made: Made = found
    return made


def _helped(work: Callable[..., Any], rows: Sequence[tuple[Any, ...]], answers: Connection, parent: int) -> None:
    """What a helper does: its rows, one after the other."""
    _tie_to(parent)
    for row in rows:
        _answer(work, row, answers)


def _answer(work: Callable[..., Any], row: tuple[Any, ...], answers: Connection) -> None:
    try:
        answer = (True, work(*row))
    except ClearanceError as refused:
        answer = (False, refused)
    except BaseException as fault:  # whatever it is, it is told where the question came from
        answer = (False, RuntimeError("".join(traceback.format_exception(fault))))
    with contextlib.suppress(OSError):
        answers.send(answer)


def _tie_to(parent: int) -> None:
    """End when the parent ends, where it can be told; a stop is the parent's to heed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    for name in ("SIGTERM", "SIGHUP"):
        signal.signal(getattr(signal, name), signal.SIG_DFL)
    if not parent:
        return
    with contextlib.suppress(Exception):
        import ctypes

        ctypes.CDLL(None).prctl(1, signal.SIGKILL)  # PR_SET_PDEATHSIG, Linux
    if os.getppid() != parent:
        os._exit(1)
