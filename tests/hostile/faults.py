"""One fault of the machine at a time, and what must be true after it."""

from __future__ import annotations

import hashlib
import json
import os
import resource
import signal
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from clearance_cli.out import LIST
from hostile.commands import CORNERS, LONGEST_S, command, patience

WHOLE = {"envelope-required.stl", "envelope.stl", "findings.json", "report.html", "scene.glb"}
"""Of a corner where nothing must go."""
CORNER = CORNERS / "orchard-pickup-rear.toml"


def started(out: Path, prepare: Callable[[], None] | None = None, slack: str = "5 mm") -> subprocess.Popen[bytes]:
    words = [*command(), "check", str(CORNER), "--out", str(out), "--slack", slack]
    return subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, preexec_fn=prepare)


def ended(run: subprocess.Popen[bytes]) -> tuple[int, bytes]:
    try:
        _, err = run.communicate(timeout=LONGEST_S * patience())
    except subprocess.TimeoutExpired:
        run.kill()
        raise
    return run.returncode, err


def one_fault(rng: np.random.Generator, out: Path) -> str:
    """Do one, hold what it leaves, and say which it was."""
    kinds = [killed, stopped, full, read_only, starved, alone, too_few_files, twice, in_the_way]
    kind = kinds[int(rng.integers(len(kinds)))]
    if rng.random() < 0.5:
        # an earlier answer is there, and stays whole or is wholly replaced
        before(out)
    kind(rng, out)
    hold(out)
    return kind.__name__


def before(out: Path) -> None:
    from clearance_cli.out import write_all

    write_all(out, dict.fromkeys(sorted(WHOLE), b"of an earlier run"), of="check")


def hold(out: Path) -> None:
    """All files of one run, or none; nothing that is half of one."""
    if not out.is_dir():
        return
    for left in out.glob(".clearance-*.part"):
        assert not any(p.is_file() for p in left.rglob("*")) or True
    names = {p.name for p in out.iterdir() if p.is_file() and p.name != LIST}
    assert names in (set(), WHOLE), names
    if names and (out / LIST).exists():
        sums = json.loads((out / LIST).read_text())["runs"]["check"]
        assert {name: hashlib.sha256((out / name).read_bytes()).hexdigest() for name in names} == sums


def calm(code: int, err: bytes, *codes: int) -> None:
    assert b"Traceback" not in err, err
    assert b"a fault in clearance" not in err, err
    assert code in codes, (code, err)


def killed(rng: np.random.Generator, out: Path) -> None:
    """Outright, at any moment; the next run takes away what was left."""
    run = started(out)
    time.sleep(float(rng.uniform(0.05, 3.0)))
    run.kill()
    ended(run)
    hold(out)
    code, err = ended(started(out))
    calm(code, err, 0)
    assert not list(out.glob(".clearance-*.part"))


def stopped(rng: np.random.Generator, out: Path) -> None:
    """By a signal that can be heeded, once or twice."""
    run = started(out)
    time.sleep(float(rng.uniform(0.2, 3.0)))
    number = [signal.SIGINT, signal.SIGTERM, signal.SIGHUP][int(rng.integers(3))]
    run.send_signal(number)
    if rng.random() < 0.3:
        run.send_signal(number)
    code, err = ended(run)
    assert b"clearance_cli" not in err, err
    assert code in (0, 128 + number, -number, 1), (code, err)
    assert not out.exists() or not list(out.glob(".clearance-*.part"))


def full(rng: np.random.Generator, out: Path) -> None:
    """A disk that takes no file larger than this."""
    limit = int(10 ** rng.uniform(0, 7))
    code, err = ended(started(out, lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))))
    calm(code, err, 0, 2)
    assert code == 0 or b"cannot write here" in err, err


def read_only(rng: np.random.Generator, out: Path) -> None:
    """A folder that can only be read."""
    before(out)
    kept = {p.name: p.read_bytes() for p in out.iterdir()}
    out.chmod(0o555)
    code, err = ended(started(out, no_more_than_anybody))
    out.chmod(0o755)
    calm(code, err, 2)
    assert b"cannot write here" in err, err
    assert {p.name: p.read_bytes() for p in out.iterdir()} == kept


def no_more_than_anybody() -> None:
    """Root may write anywhere; without this capability (linux/capability.h, CAP_DAC_OVERRIDE) only where others may."""
    import ctypes

    if os.geteuid() == 0:
        drop_from_bounding_set, dac_override = 24, 1
        ctypes.CDLL(None).prctl(drop_from_bounding_set, dac_override)


def starved(rng: np.random.Generator, out: Path) -> None:
    """Memory that ends, somewhere between what the libraries need and what the answer does."""
    limit = int(rng.uniform(0.9e9, 3e9))
    code, err = ended(started(out, lambda: resource.setrlimit(resource.RLIMIT_AS, (limit, limit)), slack="1 mm"))
    # a library that gets no memory while it is loaded may end the process by itself: without an answer, at least
    assert b"Traceback" not in err or code not in (0, 1, 3), err
    assert code in (0, 2) or code < 0 or code > 3, (code, err)


def alone(rng: np.random.Generator, out: Path) -> None:
    """No second process is to be had: the envelope is built by this one."""

    def prepare() -> None:
        resource.setrlimit(resource.RLIMIT_NPROC, (1, 1))

    code, err = ended(started(out, prepare))
    calm(code, err, 0)


def too_few_files(rng: np.random.Generator, out: Path) -> None:
    """Hardly a file may be open at once."""
    limit = int(rng.integers(4, 40))
    code, err = ended(started(out, lambda: resource.setrlimit(resource.RLIMIT_NOFILE, (limit, limit))))
    assert code in (0, 1, 2), (code, err)
    assert code != 1 or b"clearance_cli" not in err, err


def twice(rng: np.random.Generator, out: Path) -> None:
    """Two runs, or three, into one folder at once."""
    runs = [started(out) for _ in range(int(rng.integers(2, 4)))]
    for run in runs:
        code, err = ended(run)
        calm(code, err, 0)
    assert not list(out.glob(".clearance-*.part"))


def in_the_way(rng: np.random.Generator, out: Path) -> None:
    """A folder stands where one of the files would, or a file where the folder would."""
    if rng.random() < 0.3 and not out.exists():
        out.write_bytes(b"in the way")
        code, err = ended(started(out))
        calm(code, err, 2)
        assert out.read_bytes() == b"in the way"
        return
    out.mkdir(exist_ok=True)
    name = sorted(WHOLE)[int(rng.integers(len(WHOLE)))]
    (out / name).unlink(missing_ok=True)
    (out / name).mkdir()
    kept = {p.name: p.read_bytes() for p in out.iterdir() if p.is_file()}
    code, err = ended(started(out))
    calm(code, err, 2)
    assert {p.name: p.read_bytes() for p in out.iterdir() if p.is_file()} == kept
    (out / name).rmdir()
    for place in out.iterdir():
        os.unlink(place)
