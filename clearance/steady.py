"""Sums in an order that does not depend on how many cores there are: the same input gives the same bytes.

A linear algebra library that shares a product out among threads cuts it where the threads' shares end, and sums the
last places differently. So whatever measures, lays or draws runs with that library held to one thread, also where a
program of somebody else's calls it and has told the library otherwise; its own setting is back as soon as we are done.
Our matrices are small: with two threads the same search took twice the processor's time and no less of the user's.
"""

from __future__ import annotations

import functools
import sys
import threading
from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar

import numpy  # noqa: F401 - its linear algebra must be there before it can be held
from threadpoolctl import ThreadpoolController

Given = ParamSpec("Given")
Made = TypeVar("Made")

_lock = threading.Lock()
_inside = 0
_limits: Any = None


def steady(function: Callable[Given, Made]) -> Callable[Given, Made]:
    """A function whose sums are made by one thread."""

    @functools.wraps(function)
    def held(*given: Given.args, **named: Given.kwargs) -> Made:
        _hold()
        try:
            return function(*given, **named)
        finally:
            _let_go()

    return held


@functools.cache
def _libraries(with_scipy: bool) -> ThreadpoolController:
    # looking through what the process has loaded takes a millisecond or two: once is enough, and once more when scipy
    # has brought a library of its own
    return ThreadpoolController().select(user_api="blas")


def _hold() -> None:
    global _inside, _limits
    # the setting is the process's, not the thread's: the first one in makes it, the last one out takes it back
    with _lock:
        if not _inside:
            _limits = _libraries("scipy.linalg" in sys.modules).limit(limits=1)
        _inside += 1


def _let_go() -> None:
    global _inside
    with _lock:
        _inside -= 1
        if not _inside:
            _limits.restore_original_limits()
