"""Libraries are loaded by one thread at a time.

Most are loaded when they are first needed, and here several threads need them. Where the modules of a library load one
another in a circle, Python lets a second thread see one that is half loaded rather than let both wait for ever, and
that thread fails: "cannot import name ... from partially initialized module".
"""

from __future__ import annotations

import builtins
import os
import threading
from typing import Any

_one = threading.RLock()
_load = builtins.__import__


def by_one_thread() -> None:
    """From now on, in this process: who loads a library is waited for."""
    if builtins.__import__ is _waiting:
        return
    builtins.__import__ = _waiting
    if hasattr(os, "register_at_fork"):
        # a process begun beside this one in the middle of that would wait for ever for a thread that it has not got
        os.register_at_fork(before=_one.acquire, after_in_parent=_one.release, after_in_child=_one.release)


def _waiting(*asked: Any, **more: Any) -> Any:
    with _one:
        return _load(*asked, **more)
