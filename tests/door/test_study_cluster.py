"""The same study on a real Dask cluster of processes: a worker killed, the scheduler restarted, a run cut short."""

from __future__ import annotations

import os
import resource
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
from hostile.commands import command
from test_study import LIST, small_corner

from clearance.door import study_spread

pytest.importorskip("distributed")
pytestmark = pytest.mark.slow
CARS = 8
PATIENCE_S = 240


def port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


class Cluster:
    """A scheduler and two workers, each a process of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.port = port()
        self.address = f"tcp://127.0.0.1:{self.port}"
        self.scheduler = self._begun("scheduler", "--host", "127.0.0.1", "--port", str(self.port), "--no-dashboard")
        self.workers = [self._worker() for _ in range(2)]

    def _worker(self) -> subprocess.Popen[bytes]:
        return self._begun(
            "worker", self.address, "--nthreads", "1", "--no-nanny", "--no-dashboard", "--local-directory",
            str(self.folder), "--death-timeout", "60",
        )  # fmt: skip

    def _begun(self, *words: str) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            [sys.executable, "-m", "dask", *words], cwd=self.folder, stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip

    def restart_scheduler(self) -> None:
        end(self.scheduler)
        for worker in self.workers:
            end(worker)
        self.scheduler = self._begun("scheduler", "--host", "127.0.0.1", "--port", str(self.port), "--no-dashboard")
        self.workers = [self._worker() for _ in range(2)]

    def close(self) -> None:
        for one in (*self.workers, self.scheduler):
            end(one)


def end(one: subprocess.Popen[bytes]) -> None:
    one.kill()
    one.wait(timeout=30)


@pytest.fixture
def cars(tmp_path):
    (tmp_path / "cars").mkdir()
    for number in range(CARS):
        text = f"{small_corner()}\n# car {number}\n"
        (tmp_path / "cars" / f"car-{number}.toml").write_text(text, encoding="utf-8")
    (tmp_path / "cars" / "torn.toml").write_text("[tire", encoding="utf-8")
    (tmp_path / "list.csv").write_text(LIST, encoding="utf-8")
    return tmp_path


@pytest.fixture
def cluster(tmp_path):
    made = Cluster(tmp_path)
    yield made
    made.close()


def begun(folder: Path, out: str, *words: str) -> subprocess.Popen[bytes]:
    line = [*command(), "study", "cars", "list.csv", "--out", out, *words]
    return subprocess.Popen(line, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE)


def finished(run: subprocess.Popen[bytes]) -> None:
    _, err = run.communicate(timeout=PATIENCE_S)
    assert run.returncode == 0, err


def pieces(folder: Path, out: str) -> set[str]:
    return {place.name for place in (folder / out / "finished").glob("*.piece")}


def wait_for_pieces(run: subprocess.Popen[bytes], folder: Path, out: str, count: int) -> None:
    until = time.monotonic() + PATIENCE_S
    while len(pieces(folder, out)) < count and run.poll() is None and time.monotonic() < until:
        time.sleep(0.02)


def tables(folder: Path, out: str) -> dict[str, bytes]:
    names = ("study.csv", "study.parquet", "not-answered.csv", "study.html")
    return {name: (folder / out / name).read_bytes() for name in names}


def test_a_worker_killed_in_mid_run_changes_nothing(cars, cluster):
    alone = begun(cars, "alone", "--processes", "1")
    finished(alone)
    run = begun(cars, "spread", "--scheduler", cluster.address)
    wait_for_pieces(run, cars, "spread", 2)
    end(cluster.workers[0])
    finished(run)
    assert tables(cars, "spread") == tables(cars, "alone")
    assert pieces(cars, "spread") == pieces(cars, "alone")


def test_a_scheduler_that_is_restarted_is_found_again_or_the_run_is_taken_up(cars, cluster):
    run = begun(cars, "spread", "--scheduler", cluster.address)
    wait_for_pieces(run, cars, "spread", 2)
    cluster.restart_scheduler()
    run.communicate(timeout=PATIENCE_S)
    # whatever became of the first run, the next one ends with the same table
    finished(begun(cars, "spread", "--scheduler", cluster.address))
    finished(begun(cars, "alone", "--processes", "1"))
    assert tables(cars, "spread") == tables(cars, "alone")


def test_a_run_that_is_stopped_is_taken_up_from_what_was_finished(cars):
    run = begun(cars, "out", "--processes", "2")
    wait_for_pieces(run, cars, "out", 2)
    run.send_signal(signal.SIGINT)
    run.communicate(timeout=PATIENCE_S)
    assert run.returncode == 128 + signal.SIGINT
    before = {name: (cars / "out" / "finished" / name).stat().st_mtime_ns for name in pieces(cars, "out")}
    assert before
    assert not (cars / "out" / "study.csv").exists()
    finished(begun(cars, "out", "--processes", "2"))
    after = {name: (cars / "out" / "finished" / name).stat().st_mtime_ns for name in before}
    assert after == before
    finished(begun(cars, "alone", "--processes", "1"))
    assert tables(cars, "out") == tables(cars, "alone")


def test_a_disk_that_is_full_leaves_no_half_table_and_the_run_is_taken_up(cars):
    """A limit on the size of a file stands for the full disk, as in tests/hostile: the page is larger than that."""
    line = [*command(), "study", "cars", "list.csv", "--out", "out", "--processes", "1"]
    limit = 4_000
    run = subprocess.run(
        line, cwd=cars, capture_output=True, timeout=PATIENCE_S, check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit)),
    )  # fmt: skip
    assert run.returncode == 2
    assert b"cannot write here" in run.stderr
    assert not (cars / "out" / "study.csv").exists()
    before = pieces(cars, "out")
    assert before
    finished(begun(cars, "out", "--processes", "1"))
    assert before <= pieces(cars, "out")
    assert tables(cars, "out")


def test_a_worker_holds_to_what_dask_says_that_it_may_have():
    """Of one thread; several share a limit, and none can be told what is another's."""
    from distributed import Client, LocalCluster

    for given, threads, holds_to in (("3GB", 1, 3_000_000_000), ("3GB", 2, None), (0, 1, None)):
        settings = {"n_workers": 1, "threads_per_worker": threads, "memory_limit": given, "dashboard_address": None}
        with LocalCluster(processes=False, **settings) as made, Client(made) as client:
            assert client.submit(study_spread.worker_limit, pure=False).result(timeout=PATIENCE_S) == holds_to


def test_nobody_at_the_address_is_said_in_one_message(cars):
    run = begun(cars, "out", "--scheduler", f"tcp://127.0.0.1:{port()}")
    _, err = run.communicate(timeout=PATIENCE_S)
    assert run.returncode == 2
    assert b"no Dask scheduler answers" in err
    assert b"Traceback" not in err
    assert os.listdir(cars) == ["cars", "list.csv"] or not (cars / "out" / "study.csv").exists()
