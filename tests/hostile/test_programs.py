"""Thousands of accidents, from numbered generators: no trace, no hang, no answer on what should be refused.

A sample runs with `make test`, all of them with `make test-all`. The counts stand in docs/accuracy.md.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import signal
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from clearance_cli.main import run
from hostile import mutants
from hostile.commands import CORNERS, LONGEST_S, copied, patience

from clearance import plain

TEXTS = {place.name: place.read_text() for place in sorted(CORNERS.glob("*.toml"))}


class TooLongError(BaseException):
    """Nobody waits so long. The command takes it for a fault of its own, which `held` does not let pass."""


@contextlib.contextmanager
def patient() -> Iterator[None]:
    """Ends what takes longer than a person waits for a refusal."""

    def ring(*_: object) -> None:
        raise TooLongError

    before = signal.signal(signal.SIGALRM, ring)
    signal.setitimer(signal.ITIMER_REAL, LONGEST_S * patience())
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def said(words: list[str]) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), patient():
        code = run(words)
    return code, out.getvalue(), err.getvalue()


def held(code: int, out: str, err: str, words: list[str], kept: Path) -> None:
    """What is true of every run, whatever was put into it; `kept` is the file, for whoever mends it."""
    where = f"{words} on {kept}"
    assert "a fault in clearance" not in err, where
    assert "Traceback" not in out + err, where
    assert code in (0, 1, 2, 3), where
    assert (code == 2) == (out == ""), where
    assert (code == 2) <= bool(err.strip()), where
    assert not any(plain.is_unseen(c) for c in out + err if c != "\n"), where
    if code == 2:
        assert len(err.splitlines()) < 45, where
        assert max(map(len, err.splitlines())) <= 1000, where


# ---- corner files

VERBS = (
    ["order"],
    ["other"],
    ["motion"],
    ["check", "--work", "1000", "--json"],
    ["order", "--json"],
    ["motion", "--json"],
)
"""Those that answer quickly; all of them read the whole file first."""


def corner_files(seed: int, count: int, folder: Path) -> Counter[str]:
    """How many were refused and answered, by what was done to them."""
    rng = np.random.default_rng(seed)
    copied(folder)
    corner = folder / "mutant.toml"
    names = list(TEXTS)
    seen: Counter[str] = Counter()
    for _ in range(count):
        mutant = mutants.corner_mutant(rng, TEXTS[names[int(rng.integers(len(names)))]])
        corner.write_bytes(mutant.text.encode("utf-8", "surrogateescape"))
        verb = VERBS[int(rng.integers(len(VERBS)))] if rng.random() < 0.2 else ["order"]
        words = [verb[0], str(corner), *verb[1:]]
        code, out, err = said(words)
        held(code, out, err, words, corner)
        if mutant.must:
            assert code == 2, f"{mutant.how} was answered: {corner}"
        elif code == 2:
            assert "mutant.toml" in err, err
        seen["refused" if code == 2 else "answered"] += 1
        seen[mutant.how] += 1
    return seen


def test_a_sample_of_mutated_corner_files(tmp_path):
    seen = corner_files(1, 50, tmp_path)
    assert seen["refused"] > 25
    assert seen["answered"] > 5


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(10))
def test_five_thousand_mutated_corner_files(seed, tmp_path):
    seen = corner_files(100 + seed, 500, tmp_path)
    assert seen["refused"] > 250
    assert all(seen[change.__name__] for change in (*mutants.MUST, *mutants.MAY))


# ---- meshes, findings and tables

MEASURED = (
    "name,width,overall_width,straight_edge,holes,hole_on,hole_reading,lug_seat,thread,engagement_turns\n"
    'box 1,7 in,203 mm,3 3/4 in,5,2,108.7 mm,60 deg cone,M12x1.5,8.5\nbox 2,7 in,,"3 13/16 in",,,,,,\n'
)
SIZES = "size,load_index,section_width_mm,source\n235/75R15,104,239,tape\n215/75R15,100,,\n"
SECTION = "across,radius\n0,366.7125\n60,365\n95,352\n118,300\n119.5,280\n104,220\n95,205\n"


def findings() -> dict:
    code, out, _ = said(["check", str(CORNERS / "orchard-pickup-rear.toml"), "--json"])
    assert code == 0
    found: dict = json.loads(out)
    return found


def files_of(seed: int, count: int, folder: Path) -> Counter[str]:
    """Meshes in every format, scenes, findings, lists of sizes, readings, sections and answers, each spoiled."""
    from hostile.test_torn_meshes import COUNTED, LINES

    rng = np.random.default_rng(seed)
    copied(folder)
    whole = small_meshes()
    good = findings()
    answers = answers_text()
    seen: Counter[str] = Counter()
    pickup = str(folder / "orchard-pickup-rear.toml")
    section = folder / "section.toml"
    section.write_text(
        TEXTS["orchard-pickup-rear.toml"].replace("[wheel]", 'shape = { file = "t.csv", unit = "mm" }\n\n[wheel]', 1)
    )
    kinds = [*COUNTED, *LINES, "scene", "scene", "findings", "findings", "measured", "sizes", "section", "answers"]
    for number in range(count):
        kind = kinds[number % len(kinds)]
        place = folder / f"x.{kind}"
        if kind in whole:
            place.write_bytes(mutants.bytes_mutant(rng, whole[kind]))
            words = ["scan", str(place)]
        elif kind == "scene":
            place = folder / "x.glb"
            place.write_bytes(mutants.glb_mutant(rng, whole["glb"]))
            words = ["scan", str(place), "--json"]
        elif kind == "findings":
            place = folder / "x.json"
            place.write_bytes(mutants.json_text_mutant(rng, good).encode("utf-8", "surrogatepass"))
            words = ["compare", str(place), str(place)]
        else:
            words = table_words(kind, folder, rng, pickup, str(section), answers)
            place = Path(words[-1]) if kind != "section" else folder / "t.csv"
        code, out, err = said(words)
        held(code, out, err, words, place)
        seen[f"{kind} {'refused' if code == 2 else 'read'}"] += 1
        if kind == "answers":
            (folder / "new.toml").unlink(missing_ok=True)
            (folder / "new.answers.csv").unlink(missing_ok=True)
    return seen


def table_words(
    kind: str, folder: Path, rng: np.random.Generator, pickup: str, section: str, answers: str
) -> list[str]:
    text = {"measured": MEASURED, "sizes": SIZES, "section": SECTION, "answers": answers}[kind]
    place = folder / ("t.csv" if kind == "section" else f"{kind}.csv")
    place.write_text(mutants.table_mutant(rng, text), encoding="utf-8", errors="surrogateescape")
    return {
        "measured": ["inspect", pickup, "--measured", str(place)],
        "sizes": ["largest", pickup, "--enough", "1", "--sizes", str(place)],
        "section": ["order", section],
        "answers": ["new", "--no-ask", "--out", str(folder / "new.toml"), "--answers", str(place)],
    }[kind]


def answers_text() -> str:
    from importlib.resources import files

    return files("clearance.report").joinpath("example_roadster-front.csv").read_text(encoding="utf-8")


def small_meshes() -> dict[str, bytes]:
    """A box without a lid in every format: small, so that an accident seldom misses what matters."""
    import trimesh
    from hostile.test_torn_meshes import embedded

    mesh = trimesh.creation.box((300, 200, 120))
    mesh = trimesh.Trimesh(mesh.vertices, mesh.faces[:10], process=False)
    made = {
        "stl": mesh.export(file_type="stl"),
        "ascii.stl": mesh.export(file_type="stl_ascii"),
        "ply": mesh.export(file_type="ply"),
        "ascii.ply": mesh.export(file_type="ply", encoding="ascii"),
        "off": mesh.export(file_type="off"),
        "glb": mesh.export(file_type="glb"),
        "3mf": mesh.export(file_type="3mf"),
        "obj": mesh.export(file_type="obj", include_normals=False) + "\n",
        "xyz": "".join(f"{x} {y} {z}\n" for x, y, z in mesh.vertices),
        "csv": "x,y,z\n" + "".join(f"{x},{y},{z}\n" for x, y, z in mesh.vertices),
        "gltf": embedded(mesh),
    }
    return {kind: content.encode() if isinstance(content, str) else bytes(content) for kind, content in made.items()}


def test_a_sample_of_spoiled_meshes_and_tables(tmp_path):
    seen = files_of(2, 60, tmp_path)
    assert sum(n for kind, n in seen.items() if kind.endswith("refused")) > 30


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(5))
def test_two_thousand_spoiled_meshes_and_tables(seed, tmp_path):
    seen = files_of(200 + seed, 418, tmp_path)
    assert sum(n for kind, n in seen.items() if kind.endswith("refused")) > 200


# ---- faults of the machine


def faults(seed: int, count: int, folder: Path) -> Counter[str]:
    """Runs that are killed, stopped, starved of disk, memory, processes and files, or not alone: what each leaves."""
    from hostile.faults import one_fault

    rng = np.random.default_rng(seed)
    seen: Counter[str] = Counter()
    for number in range(count):
        seen[one_fault(rng, folder / str(number))] += 1
    return seen


linux = pytest.mark.skipif(not os.path.exists("/proc/self/limits"), reason="limits of a process, as Linux has them")


@linux
def test_a_sample_of_faults_of_the_machine(tmp_path):
    faults(3, 2, tmp_path)


@linux
@pytest.mark.slow
@pytest.mark.parametrize("seed", range(5))
def test_two_hundred_faults_of_the_machine(seed, tmp_path):
    seen = faults(300 + seed, 40, tmp_path)
    assert len(seen) >= 5
