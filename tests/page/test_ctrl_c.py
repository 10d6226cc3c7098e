"""Ctrl-C on the real server, whatever it is in the middle of: it ends, what takes long is left, nothing remains."""

from __future__ import annotations

import http.client
import os
import threading
import time
from pathlib import Path

import pytest
from page.conftest import closed, laid_out, served

SOON_S = 15.0
"""A hang, not a speed: to an end that waits for a gauge or an envelope of these corners it takes longer than this."""
KINDS = ["envelope", *(pytest.param(kind, marks=pytest.mark.slow) for kind in ("drawings", "gauge", "report"))]


def beside(process: int) -> set[int]:
    """What a process started, and what that did."""
    found, todo = set(), [process]
    while todo:
        number = todo.pop()
        for task in Path(f"/proc/{number}/task").glob("*"):
            some = [int(one) for one in (task / "children").read_text().split()]
            found |= set(some)
            todo += some
    return found


def running(process: int) -> bool:
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="no /proc here")
@pytest.mark.parametrize("kind", KINDS)
def test_in_the_middle_of_what_takes_long(tmp_path, kind):
    found = served(laid_out(tmp_path) / "sorrel-sedan-front.toml")
    found.come_in()
    names = sorted(os.listdir(tmp_path))
    answers: list[int | str] = []

    def takes():
        try:
            answers.append(found.post("/ask/take", {"kind": kind}).status)
        except (OSError, http.client.HTTPException) as left:
            answers.append(repr(left))

    asking = threading.Thread(target=takes)
    asking.start()
    time.sleep(1.0)
    assert answers == []
    helpers = beside(found.process.pid)
    code, said = found.end(SOON_S)
    asking.join(SOON_S)
    assert code == 0
    assert said.endswith("Closed.\n")
    assert "Traceback" not in said
    # left, not made: what came back, if anything, was no file
    assert answers
    assert answers[0] != 200
    # each of them sees that its parent is gone, and goes
    latest = time.monotonic() + SOON_S
    while any(map(running, helpers)) and time.monotonic() < latest:
        time.sleep(0.1)
    assert [one for one in helpers if running(one)] == []
    assert sorted(os.listdir(tmp_path)) == names
    closed(found)
