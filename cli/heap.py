"""What the C library keeps of memory that was given back to it, and how little of it that may be.

* arena - where a thread's memory comes from: glibc lays one for each thread that asks while another is asking, and what
          is freed in one is of no use to the others
* idle  - what is freed stays with the process until it is trimmed: half a measurement's arrays
* large - what is mapped by itself, and goes back when it is freed; glibc raises the size from which on with every such
          array that is freed, up to 32 MB, and then keeps what a scan's arrays took

Where the C library has no such words (macOS, Windows, musl) it is left to itself. No answer hangs on it.
"""

from __future__ import annotations

import ctypes
from typing import Any

_ARENA_MAX = -8
"""M_ARENA_MAX of glibc's malloc.h."""
_MMAP_THRESHOLD = -3
"""M_MMAP_THRESHOLD of the same."""
_TRIM_THRESHOLD = -1
"""M_TRIM_THRESHOLD of the same."""
_LARGE, _LARGEST = 4 << 20, 32 << 20
_ARENAS = 2
"""One for the hand, one for everybody else."""


def few_arenas() -> None:
    """For all threads of this process; to be said before there are any."""
    if limit := _of_libc("mallopt"):
        limit(_ARENA_MAX, _ARENAS)


def large_apart() -> None:
    """From here on the arrays of a large scan go back to the system as soon as nothing uses them."""
    if limit := _of_libc("mallopt"):
        limit(_MMAP_THRESHOLD, _LARGE)


def large_kept() -> None:
    """From here on they are kept for the next ones, as glibc comes to do by itself: quicker where they are small."""
    if limit := _of_libc("mallopt"):
        limit(_MMAP_THRESHOLD, _LARGEST)
        limit(_TRIM_THRESHOLD, 2 * _LARGEST)


def idle_given_back() -> None:
    """What nothing uses goes back to the system; 2 to 10 ms."""
    if trim := _of_libc("malloc_trim"):
        trim(0)


def _of_libc(name: str) -> Any:
    """A function of the C library that this process has; None where it has none of that name."""
    try:
        return getattr(ctypes.CDLL(None), name, None)
    except (OSError, TypeError):
        return None
