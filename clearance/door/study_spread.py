"""Pieces of a study worked on side by side: in processes of this machine, or by the workers of a Dask cluster.

Whatever becomes of a worker, a piece is asked for until it is there; the order in which they come does not matter.
"""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from clearance import opener
from clearance.door.study_work import Piece, work
from clearance.errors import FileError, InputError, OutputError
from clearance.plain import echoed

PROCESS_BYTES = 800_000_000
"""The least that one process is given: the outlines of a corner that steers took 690 MB, of a straight one 220."""
OWN_BYTES = 250_000_000
"""What the process that asks the others needs for itself."""
_AGAIN = 5
"""So often a cluster is asked again after it went away."""
_WAIT_S = 20


def processes_for(memory_bytes: int, processes: int | None) -> int:
    """How many processes the cores and the memory allow. Raises InputError where it is not even one."""
    if memory_bytes < PROCESS_BYTES:
        raise InputError(
            f"--memory: one process needs {PROCESS_BYTES // 10**6} MB at most, and {memory_bytes // 10**6} MB are less."
        )
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return max(1, min(processes or cores, (memory_bytes - OWN_BYTES) // PROCESS_BYTES))


def here(pieces: Sequence[Piece], processes: int, memory_bytes: int) -> Iterator[tuple[Piece, str]]:
    """Each piece with its text as it is made, from so many processes, which together take no more memory than this.

    Raises OutputError for a piece that needs more than its process may have.
    """
    if processes < 2 or len(pieces) < 2 or not sys.platform.startswith("linux"):
        yield from ((piece, _within(piece, memory_bytes)) for piece in pieces)
        return
    from clearance.beside import as_made

    each = (memory_bytes - OWN_BYTES) // processes
    for row, text in as_made(_within, [(piece, each) for piece in pieces], processes):
        yield pieces[row], text


_HERE = "Give more with --memory, or work on fewer at once with --processes."
_THERE = "Give the workers more: dask worker ADDRESS --nthreads 1 --memory-limit 2GB."


def _within(piece: Piece, memory_bytes: int, remedy: str = _HERE) -> str:
    """A piece, made within so much memory."""
    with held_to(memory_bytes, f"{echoed(piece.file)}: this car needs", remedy):
        return work(piece)


@contextlib.contextmanager
def held_to(memory_bytes: int, needs: str, remedy: str) -> Iterator[None]:
    """Let this process take no more memory than that. Raises OutputError for what needs more."""
    try:
        with _held_to(memory_bytes):
            yield
    except MemoryError:
        raise OutputError(
            f"{needs} more than the {memory_bytes // 10**6} MB that one process may take. {remedy} What was finished is"
            " kept."
        ) from None


def on_worker(piece: Piece) -> str:
    """A piece, made by a worker of a cluster within the memory that the worker was given."""
    limit = worker_limit()
    return work(piece) if limit is None else _within(piece, limit, _THERE)


def worker_limit() -> int | None:
    """What Dask lets this worker have; None where it has no limit, or where its threads share one."""
    import distributed

    made: Any = distributed
    worker = made.get_worker()
    limit = worker.memory_manager.memory_limit
    return int(limit) if limit and worker.state.nthreads == 1 else None


@contextlib.contextmanager
def _held_to(memory_bytes: int) -> Iterator[None]:
    """Refuse this process more memory than that, where the system can; what it has taken counts."""
    try:
        import resource

        taken, private = _taken()
        before = resource.getrlimit(resource.RLIMIT_DATA)
        # the limit is on what was asked for, of which a library may have much that it never touched
        most = private + max(memory_bytes - taken, 0)
        resource.setrlimit(resource.RLIMIT_DATA, (most if before[1] < 0 else min(most, before[1]), before[1]))
    except (ImportError, OSError, ValueError, FileError):
        yield
        return
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_DATA, before)


def _taken() -> tuple[int, int]:
    """Bytes that this process holds, and that it asked for, for its own."""
    kept = {}
    for line in opener.text_of(Path("/proc/self/status")).splitlines():
        name, _, value = line.partition(":")
        if name in ("VmRSS", "VmData"):
            kept[name] = int(value.split()[0]) * 1024
    return kept.get("VmRSS", 0), kept.get("VmData", 0)


def on_cluster(pieces: Sequence[Piece], address: str) -> Iterator[tuple[Piece, str]]:
    """Each piece with its text, as it comes, from the workers of a Dask cluster.

    The workers read the same files by the same names. A worker that is gone is Dask's to replace; a scheduler that is
    gone is looked for again. Raises InputError where Dask is not installed, OutputError where nobody answers.
    """
    left = {piece.key: piece for piece in pieces}
    for _ in range(_AGAIN):
        if not left:
            return
        for piece, text in _asked(list(left.values()), address):
            del left[piece.key]
            yield piece, text
    if left:
        raise OutputError(
            f"{address}: the cluster went away {_AGAIN} times with {len(left)} cars to do. What was finished is kept:"
            " run the same again."
        )


def _asked(pieces: Sequence[Piece], address: str) -> Iterator[tuple[Piece, str]]:
    """What of some pieces one connection to the cluster gives before it ends."""
    client, as_completed = _client(address)
    lost: Any = _losses()
    try:
        by_key = {f"clearance-study-{piece.key}": piece for piece in pieces}
        futures = [client.submit(on_worker, piece, key=key, pure=True, retries=0) for key, piece in by_key.items()]
        for future in as_completed(futures, loop=client.loop):
            if future.status == "error":
                _refuse(future)
            if future.status == "finished":
                yield by_key[future.key], str(future.result(timeout=_WAIT_S))
    except lost:
        return
    finally:
        _closed(client)


def _refuse(future: Any) -> None:
    """A fault of the work is told; a worker that died too often is asked for again."""
    from distributed.scheduler import KilledWorker

    fault = future.exception()
    if not isinstance(fault, KilledWorker):
        raise fault


def _losses() -> tuple[type[BaseException], ...]:
    from concurrent.futures import CancelledError

    from distributed.comm.core import CommClosedError

    return (CommClosedError, CancelledError, TimeoutError, OSError)


def _client(address: str) -> tuple[Any, Any]:
    try:
        import distributed
    except ImportError:
        raise InputError(
            "--scheduler: Dask is not installed. Install wheelwell-clearance[study] here and on every worker."
        ) from None
    try:
        made: Any = distributed
        return made.Client(address, timeout=_WAIT_S, set_as_default=False), made.as_completed
    except (OSError, ValueError, TimeoutError):
        raise OutputError(
            f"--scheduler {address}: no Dask scheduler answers there. Start one with `dask scheduler`, and write its"
            " address as it prints it: tcp://10.0.0.5:8786. What was finished is kept."
        ) from None


def _closed(client: Any) -> None:
    try:
        client.close(timeout=2)
    except Exception:
        return
