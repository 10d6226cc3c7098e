"""Trials: one mutant, in a process of its own, against the tests of its room.

No file is ever changed. The changed text is handed to the process that tries it, where it is imported in place of the
module; so nothing can be left behind, and several may be tried at once. What every test imports is loaded before the
processes part, so that none has to load it again.
"""

from __future__ import annotations

import importlib
import importlib.abc
import importlib.util
import os
import resource
import signal
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from importlib.machinery import ModuleSpec
from pathlib import Path
from types import ModuleType

from tests.mutation.mutants import Mutant

ROOT = Path(__file__).resolve().parents[2]
_LOADED_BEFORE = (
    "numpy", "scipy.optimize", "scipy.spatial", "scipy.sparse.csgraph", "shapely", "trimesh", "manifold3d", "fcl",
    "pydantic", "tomlkit", "threadpoolctl", "ctypes", "sqlite3",
)  # fmt: skip
_MOST_BYTES = 6 * 2**30
"""Of memory: a mutant that asks for more is as good as killed."""
_LONGER = 4.0
_AT_LEAST_S = 20.0
"""A trial may last this much longer than the tests take unchanged, and this long at least."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """A mutant and what became of it: "survived", "killed", or "stuck" where its tests came to no end."""

    mutant: Mutant
    end: str
    took_s: float
    by: str
    """What noticed first, as pytest names it."""


class _Instead(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives the changed text wherever the module is asked for; asked first, before pytest's own importer."""

    def __init__(self, module: str, source: str) -> None:
        self.path = ROOT / module
        self.name = module.removesuffix(".py").replace("/", ".")
        self.source = source

    def pytest_sessionstart(self) -> None:
        sys.meta_path.remove(self)
        sys.meta_path.insert(0, self)

    def find_spec(self, name: str, path: object = None, target: object = None) -> ModuleSpec | None:
        if name != self.name:
            return None
        return importlib.util.spec_from_file_location(name, self.path, loader=self)

    def exec_module(self, module: ModuleType) -> None:
        exec(compile(self.source, str(self.path), "exec"), module.__dict__)


def unchanged_s(module: str, tests: tuple[str, ...]) -> float:
    """How long the tests of a room take on the module as it is. Raises RuntimeError where they do not pass."""
    source = (ROOT / module).read_text()
    same = Mutant(module=module, operator="", source=source, was="", now="", line=0)
    (tried,) = trials([(same, tests, 1e4)], 1)
    if tried.end != "survived":
        raise RuntimeError(f"the tests of {module} do not pass unchanged: {tried.by}")
    return tried.took_s


def longest_s(took_s: float) -> float:
    """After so long a trial is ended."""
    return max(_AT_LEAST_S, _LONGER * took_s)


def trials(rows: Iterable[tuple[Mutant, tuple[str, ...], float]], at_once: int) -> Iterator[Tried]:
    """Try mutants against tests for so many seconds at most, several at once; each as it comes to its end."""
    _load()
    waiting = iter(rows)
    running: dict[int, tuple[Mutant, float, float, Path]] = {}
    with tempfile.TemporaryDirectory() as folder:
        while True:
            while len(running) < at_once and (row := next(waiting, None)) is not None:
                mutant, tests, most_s = row
                said = Path(folder) / f"{id(mutant)}.txt"
                running[_begun(mutant, tests, said)] = (mutant, time.monotonic(), most_s, said)
            if not running:
                return
            for pid, (mutant, began, most_s, said) in list(running.items()):
                took = time.monotonic() - began
                ended, status = os.waitpid(pid, os.WNOHANG)
                if not ended and took < most_s:
                    continue
                if not ended:
                    os.killpg(pid, signal.SIGKILL)
                    os.waitpid(pid, 0)
                del running[pid]
                end = "stuck" if not ended else "killed" if status else "survived"
                yield Tried(mutant=mutant, end=end, took_s=took, by=_first_said(said))
            time.sleep(0.02)


def _load() -> None:
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    for name in _LOADED_BEFORE:
        if importlib.util.find_spec(name.partition(".")[0]) is not None:
            importlib.import_module(name)


def _begun(mutant: Mutant, tests: tuple[str, ...], said: Path) -> int:
    sys.stdout.flush()
    pid = os.fork()
    if pid:
        return pid
    try:
        os.setsid()
        with said.open("w") as file:
            os.dup2(file.fileno(), 1)
            os.dup2(file.fileno(), 2)
        os._exit(_judged(mutant, tests))
    finally:
        os._exit(99)


def _judged(mutant: Mutant, tests: tuple[str, ...]) -> int:
    import pytest

    resource.setrlimit(resource.RLIMIT_AS, (_MOST_BYTES, _MOST_BYTES))
    sys.dont_write_bytecode = True
    os.chdir(ROOT)
    for name in [name for name in sys.modules if name.split(".")[0] in ("clearance", "clearance_cli")]:
        del sys.modules[name]
    sys.path.insert(0, str(ROOT))
    instead = _Instead(mutant.module, mutant.source)
    sys.meta_path.insert(0, instead)
    plugins = ("-p", "no:xdist", "-p", "no:cacheprovider")
    quiet = ("-x", "--tb=no", "-W", "ignore::pytest.PytestAssertRewriteWarning", "-m", "not slow")
    code = int(pytest.main([*plugins, *quiet, *tests], plugins=[instead]))
    sys.stdout.flush()
    return code


def _first_said(said: Path) -> str:
    lines = said.read_text(errors="replace").splitlines()
    return next((line for line in lines if line.startswith(("FAILED", "ERROR"))), lines[-1] if lines else "")
