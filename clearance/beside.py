"""Work done beside this process, in others that share its memory: begun at once, asked for in order.

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
from multiprocessing.connection import Connection
from typing import Any, TypeVar

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


def _begun(work: Callable[..., Any], rows: Sequence[tuple[Any, ...]]) -> Connection | None:
    """The end of a pipe that a new process answers into; None where the system gives no more processes."""
    context = get_context("fork")
    ours, theirs = context.Pipe(duplex=False)
    # a helper that is tied to a thread ends with the thread
    parent = os.getpid() if threading.current_thread() is threading.main_thread() else 0
    helper = context.Process(target=_helped, args=(work, rows, theirs, parent), daemon=True)
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
