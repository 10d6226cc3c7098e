"""Work in other processes: in order, the same as alone, and whatever goes wrong comes back."""

from __future__ import annotations

import os
import select
import signal
import sys
import threading
import time
import warnings

import pytest

from clearance import beside
from clearance.errors import OutputError, ShapeError

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="helpers are forked on Linux alone")


def squared(number: int, plus: int = 0) -> tuple[int, int]:
    return number * number + plus, os.getpid()


@pytest.mark.parametrize("processes", [1, 2, 3, 5, 9])
@pytest.mark.parametrize("count", [1, 2, 5, 7])
def test_answers_come_in_the_order_asked_from_so_many_others(processes, count):
    found = list(beside.in_order(squared, [(n, 1) for n in range(count)], processes))
    assert [value for value, _ in found] == [n * n + 1 for n in range(count)]
    pids = {pid for _, pid in found}
    assert os.getpid() not in pids
    assert len(pids) == min(processes, count)


def test_helpers_begin_before_anybody_asks(tmp_path):
    def begun(name: str) -> str:
        (tmp_path / name).write_text("")
        return name

    coming = beside.in_order(begun, [("a",), ("b",)], 2)
    assert list(coming) == ["a", "b"]
    assert {path.name for path in tmp_path.iterdir()} == {"a", "b"}


def test_a_refusal_comes_back_as_itself_and_a_fault_with_where_it_was():
    def refused(number: int) -> int:
        if number == 1:
            raise ShapeError("no such shape")
        if number == 2:
            raise ZeroDivisionError("by nothing")
        return number

    coming = beside.in_order(refused, [(0,), (1,), (2,)], 3)
    assert next(coming) == 0
    with pytest.raises(ShapeError, match="no such shape"):
        next(coming)
    (fault,) = (beside.in_order(refused, [(2,)], 1),)
    with pytest.raises(RuntimeError, match=r"(?s)in refused.*ZeroDivisionError: by nothing"):
        next(fault)


def test_a_helper_that_is_ended_from_outside_is_a_refusal():
    coming = beside.in_order(lambda: os.kill(os.getpid(), signal.SIGKILL), [()], 1)
    with pytest.raises(OutputError, match="ended from outside"):
        next(coming)


def test_from_a_thread_it_goes_on_too():
    """A helper is tied to the process alone where a thread began it."""
    found: list[int] = []
    thread = threading.Thread(
        target=lambda: found.extend(value for value, _ in beside.in_order(squared, [(3,), (4,)], 2))
    )
    thread.start()
    thread.join(60.0)
    assert found == [9, 16]


def test_where_there_are_no_more_processes_it_is_done_here(monkeypatch):
    context = beside.get_context("fork")

    class Refused(context.Process):
        def start(self) -> None:
            raise OSError("no more processes")

    monkeypatch.setattr(context, "Process", Refused)
    monkeypatch.setattr(beside, "get_context", lambda kind: context)
    assert list(beside.in_order(squared, [(5,)], 1)) == [(25, os.getpid())]


def test_a_helper_heeds_no_interrupt_and_ends_by_a_stop_as_any_process_does():
    def heeded() -> tuple[object, ...]:
        return tuple(signal.getsignal(s) for s in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP))

    stops = (signal.SIGTERM, signal.SIGHUP)
    before = [signal.signal(stop, lambda number, frame: None) for stop in stops]
    try:
        (found,) = beside.in_order(heeded, [()], 1)
    finally:
        for stop, handler in zip(stops, before, strict=True):
            signal.signal(stop, handler)
    assert found == (signal.SIG_IGN, signal.SIG_DFL, signal.SIG_DFL)


@pytest.mark.parametrize("ended", ["by itself", "from outside"])
def test_a_helper_ends_with_the_process_that_began_it_however_that_ends(ended):
    """A helper that sleeps, begun by a process in between. Both hold the same pipe: it is at its end when the last of
    them is gone, and not before."""
    said, says = os.pipe()
    heard, hears = os.pipe()

    def sleeps() -> None:
        os.write(says, b"%d\n" % os.getpid())
        time.sleep(600)

    def begins() -> None:
        coming = beside.in_order(sleeps, [()], 1)
        os.read(heard, 1)
        del coming

    between = beside.get_context("fork").Process(target=begins)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        between.start()
    os.close(says)
    helper = int(os.read(said, 20))
    if ended == "by itself":
        os.write(hears, b"x")
    else:
        between.kill()
    gone, _, _ = select.select([said], [], [], 20.0)
    if not gone:
        os.kill(helper, signal.SIGKILL)
        between.kill()
    between.join()
    for end in (said, heard, hears):
        os.close(end)
    assert gone


def test_a_helper_whose_parent_is_gone_ends():
    """Begun by another that is there no more: its own parent is not the one that it was tied to."""
    reading, writing = os.pipe()
    pid = os.fork()
    if pid == 0:
        beside._tie_to(os.getpid())
        os.write(writing, b"x")
        os._exit(0)
    _, status = os.waitpid(pid, 0)
    os.close(writing)
    assert os.waitstatus_to_exitcode(status) == 1
    assert os.read(reading, 1) == b""
    os.close(reading)
