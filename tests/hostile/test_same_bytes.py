"""Same input, same bytes: whatever the hash seed, the threads, the folder, the time zone, the width and the language.

Each verb runs twice, in two processes whose surroundings differ in all of these at once; everything that it prints and
every file that it writes must be the same.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from few import FEW
from hostile.commands import clearance, copied

HERE = {
    "PYTHONHASHSEED": "1", "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "TZ": "UTC", "COLUMNS": "80",
    "LANG": "C", "LC_ALL": "C", "HOME": "/nonexistent",
}  # fmt: skip
THERE = {
    "PYTHONHASHSEED": "271", "OPENBLAS_NUM_THREADS": "8", "OMP_NUM_THREADS": "8", "MKL_NUM_THREADS": "8",
    "TZ": "Pacific/Kiritimati", "COLUMNS": "211", "LANG": "tr_TR.UTF-8", "LC_ALL": "", "PYTHONIOENCODING": "latin-1",
    "SOURCE_DATE_EPOCH": "12", "NO_COLOR": "1", "PYTHONUTF8": "0",
}  # fmt: skip
PICKUP, ROADSTER, COUPE = "orchard-pickup-rear.toml", "heron-roadster-front.toml", "tern-coupe-rear.toml"
SCANNED, SEDAN = "scanned-well-rear.toml", "sorrel-sedan-front.toml"
MEASURED = 'name,width,straight_edge\nbox 1,7 in,3 3/4 in\nbox 2,7 in,"3 13/16 in"\n'
CAR = f'[corner.rear-left]\nfile = "{PICKUP}"\n[corner.rear-right]\nlike = "rear-left"\n'
MORE = '\n[chains]\nclass = "S"\n'
WORN = (
    '\n[now]\nsize = "215/75R15 100S"\nwidth = "6 in"\nbackspace = "3 1/2 in"\n'
    '[spare]\nsize = "T145/80R15 98M"\nwidth = "4 in"\nbackspace = "3 in"\n'
)

QUICK = [
    ["check", "few.toml", "--slack", "5 mm", "--out", "out"],
    ["motion", ROADSTER, "--csv", "motion.csv", "--picture", "motion.svg"],
    ["scan", "scanned-well.ply", "--unit", "m", "--json"],
    ["new", "--from", "roadster-front", "--no-ask", "--out", "new.toml"],
    ["compare", "worn-few.toml"],
    ["rotate", "worn-few.toml"],
]
SLOW = [
    ["check", PICKUP, "--slack", "5 mm", "--out", "out"],
    ["compare", "worn.toml"],
    ["rotate", "worn.toml"],
    ["draw", COUPE, "--out", "out"],
    ["verify", PICKUP, "pickup.certificate.json"],
    ["gauge", PICKUP, "--flat", "rings", "--out", "out"],
    ["check", PICKUP, "--json"],
    ["check", COUPE, "--certificate", "coupe.certificate.json"],
    ["check", SCANNED, "--slack", "5 mm", "--out", "out"],
    ["motion", COUPE, "--picture", "motion.png"],
    ["scan", "scanned-well.ply", "--picture", "look.png"],
    ["tire", "245/45R17", "95W"],
    ["measure", "front-strut", "--out", "out"],
    ["draw", COUPE, "--out", "out", "--full-size", "side"],
    ["gauge", PICKUP, "--out", "out"],
    ["order", COUPE, "--out", "out"],
    ["inspect", "car.toml", "--sheet", "sheet.pdf", "--blank", "blank.csv"],
    ["inspect", "car.toml", "--measured", "measured.csv"],
    ["inspect", PICKUP, "--measured", "measured.csv"],
    ["other", "other.toml"],
    ["compare", PICKUP, COUPE, "--picture", "both.svg"],
    ["relief", ROADSTER, "--out", "out", "--slack", "5 mm", "--map", "well crown"],
    ["check", SEDAN, "--out", "out"],
    ["check", ROADSTER, "--out", "out"],
    ["envelope", PICKUP, "--out", "out"],
    ["window", PICKUP, "--picture", "window.svg"],
    ["largest", PICKUP, "--enough", "3"],
    ["least-change", ROADSTER],
    ["least-change", "car.toml"],
    ["relief", "car.toml", "--out", "out", "--slack", "5 mm"],
    ["check", "car.toml", "--out", "out", "--slack", "5 mm"],
    ["budget", PICKUP],
    ["room", "standing.toml"],
    ["candidates", PICKUP, "list.csv"],
    ["study", "many", "list.csv", "--out", "out"],
    ["study", PICKUP, "--over", "backspace=90 mm, 100 mm", "--over", "bump_stop=0 mm, 10 mm", "--out", "out"],
    ["gauge", COUPE, "--flat", "blade", "--out", "out"],
]


def laid_out(folder: Path) -> None:
    """Every file that the verbs above ask for."""
    copied(folder)
    (folder / "measured.csv").write_text(MEASURED)
    (folder / "car.toml").write_text(CAR)
    (folder / "list.csv").write_text(
        "tire,width,backspace\n235/75R15,7 in,3 3/4 in\n235/75R15,7 in,5 in\nx,1 in,1 in\n"
    )
    pickup = (folder / PICKUP).read_text()
    travel = {"straight": "standing", 'bump = "3 1/2 in"': "", 'droop = "3 in"': ""}
    for was, now in travel.items():
        assert was in pickup
        pickup = pickup.replace(was, now, 1)
    (folder / "standing.toml").write_text("\n".join(r for r in pickup.splitlines() if not r.startswith("shift")))
    (folder / "worn.toml").write_text((folder / PICKUP).read_text() + WORN)
    (folder / "few.toml").write_text(FEW)
    (folder / "worn-few.toml").write_text(FEW + WORN)
    (folder / "other.toml").write_text((folder / PICKUP).read_text() + MORE)
    (folder / "many").mkdir()
    (folder / "many" / PICKUP).write_text((folder / PICKUP).read_text())
    (folder / "many" / "torn.toml").write_text("[tire")


def answered(folder: Path, words: list[str], env: dict[str, str]) -> tuple[int, dict[str, bytes]]:
    """The exit code, and the bytes of stdout and of every file that was written, by name."""
    laid_out(folder)
    if "verify" in words:
        clearance("check", PICKUP, "--certificate", words[-1], cwd=folder, env=env, seconds=200)
    before = {place.name for place in folder.iterdir()}
    said = clearance(*words, cwd=folder, env=env, seconds=200)
    made = [p for p in sorted(folder.rglob("*")) if p.is_file() and p.relative_to(folder).parts[0] not in before]
    return said.code, {"stdout": said.out, **{str(p.relative_to(folder)): p.read_bytes() for p in made}}


def held(tmp_path: Path, words: list[str]) -> None:
    here = answered(tmp_path / "a", words, HERE)
    there = answered(tmp_path / "somewhere else" / "dossier \u00e9", words, THERE)
    assert here[0] == there[0]
    assert here[0] in (0, 1, 3), here[1]["stdout"]
    assert list(here[1]) == list(there[1])
    differing = [name for name, content in here[1].items() if there[1][name] != content]
    assert differing == []


@pytest.mark.parametrize("words", QUICK, ids=" ".join)
def test_the_same_input_gives_the_same_bytes(words, tmp_path):
    held(tmp_path, words)


@pytest.mark.slow
@pytest.mark.parametrize("words", SLOW, ids=" ".join)
def test_the_same_input_gives_the_same_bytes_where_it_takes_longer(words, tmp_path):
    held(tmp_path, words)


def test_every_verb_is_held(verbs):
    # a page is no answer: what is taken from it is held in tests/page
    assert {words[0] for words in QUICK + SLOW} == set(verbs) - {"open"}


@pytest.fixture
def verbs():
    from clearance_cli.verbs import VERBS

    return VERBS


@pytest.mark.parametrize("seed", range(3))
def test_a_drawing_does_not_depend_on_the_hash_seed(seed, tmp_path):
    """Three of eleven seeds put the class records of a DXF in another order."""
    import subprocess

    code = (
        "from clearance.geom.drawing import CUT, ENGRAVE, Text, drawing_of, rectangle; import hashlib;"
        "from clearance.export.dxf import dxf;"
        "d = drawing_of([rectangle(0, 0, 9, 9, CUT), Text(at=(1, 1), text='a', height_mm=2, layer=ENGRAVE)]);"
        "print(hashlib.sha256(dxf(d)).hexdigest())"
    )
    shown = [
        subprocess.run([sys.executable, "-c", code], env={"PYTHONHASHSEED": str(s)}, capture_output=True, check=True)
        for s in (0, 2 * seed + 5)
    ]
    assert shown[0].stdout == shown[1].stdout


def test_sums_are_steady_also_where_a_program_asked_for_threads():
    """From Python the environment is the program's own: the library is held while we measure, and given back."""
    import numpy as np
    from threadpoolctl import ThreadpoolController, threadpool_limits

    from clearance.steady import steady

    def threads() -> set[int]:
        return {one["num_threads"] for one in ThreadpoolController().select(user_api="blas").info()}

    @steady
    def inside() -> set[int]:
        np.ones((4, 4)) @ np.ones((4, 4))
        return threads()

    @steady
    def within() -> set[int]:
        return inside() | threads()

    inside()
    # it brings a library of its own, after the first sums were made
    import scipy.linalg  # noqa: F401

    with threadpool_limits(limits=2, user_api="blas"):
        before = threads()
        assert within() == {1}
        assert threads() == before
