"""The command as a person runs it: in a process of its own, with the surroundings that they happen to have."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
CORNERS = ROOT / "fixtures" / "corners"
CLEARANCE = Path(sysconfig.get_path("scripts")) / "clearance"
LONGEST_S = 20.0
"""Nobody waits longer for an answer to what is wrong; the machine may be busy with other tests, which `patience` allows
for."""


def patience() -> float:
    """How much slower than on a machine of its own a process may be here."""
    return float(os.environ.get("CLEARANCE_TEST_PATIENCE", "6"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What a run gave."""

    code: int
    out: bytes
    err: bytes

    @property
    def words(self) -> str:
        """Both streams, for looking through."""
        return (self.out + self.err).decode("utf-8", "replace")


def command() -> list[str]:
    """The console script where it is installed, else the module."""
    return [str(CLEARANCE)] if CLEARANCE.exists() else [sys.executable, "-m", "clearance_cli.main"]


def clearance(
    *words: str | Path,
    cwd: Path | None = None,
    env: Mapping[str, str] | None = None,
    stdin: bytes = b"",
    seconds: float = LONGEST_S,
) -> Said:
    """Run it to its end. subprocess.TimeoutExpired where it does not come to one."""
    done = subprocess.run(
        [*command(), *map(str, words)],
        cwd=cwd,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1", **(env or {})},
        input=stdin,
        capture_output=True,
        timeout=seconds * patience(),
        check=False,
    )
    return Said(code=done.returncode, out=done.stdout, err=done.stderr)


def copied(folder: Path, names: Sequence[str] = ()) -> Path:
    """A folder of its own with the shipped corners in it."""
    folder.mkdir(parents=True, exist_ok=True)
    for place in sorted(CORNERS.iterdir()):
        if not names or place.name in names:
            shutil.copy(place, folder)
    return folder


def traced(said: Said) -> bool:
    """Whether the words of the program's inside reached the person."""
    return any(
        word in said.words for word in ("Traceback", 'File "', "a fault in clearance", "Error:", "Exception ignored")
    )
