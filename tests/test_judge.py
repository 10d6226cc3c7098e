"""Every certified gap before a second judge that shares no line with the search: see tests/judge/.

200 seeded corner files here, 2,000 more in `make test-all`. A seed alone: `python -m tests.judge 17`.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest
from judge import charges
from judge.court import SLOW_WORK, WORK, hear, hear_it
from judge.inventing import invented
from judge.tally import Tally
from judge.trial import asked, tried

from clearance.description import motion
from clearance.mockup import paths

JUDGE = Path(__file__).parent / "judge"
FROM_THE_PROGRAM = {"clearance_cli.main", "clearance.description.load"}
"""The front door, and the outline of tire on wheel."""
MOST_REFUSED = 0.15
"""Of the files, so many may be ones that no car could be built by; more, and the judge would judge too little."""


@pytest.mark.parametrize("first", [0, *(pytest.param(k, marks=pytest.mark.slow) for k in range(20, 200, 20))])
def test_nothing_is_held_against_two_hundred_answers(first: int, tmp_path: Path) -> None:
    _hear_all(range(first, first + 20), tmp_path, WORK)


@pytest.mark.parametrize("name", ["near-over-centre"])
def test_nothing_is_held_against_the_answers_that_were_once_found_wrong(name: str, tmp_path: Path) -> None:
    assert not [charge.words for charge in tried(_copied(name, tmp_path), number=0).charges]


@pytest.mark.slow
@pytest.mark.parametrize("first", range(1000, 3000, 50))
def test_nothing_is_held_against_two_thousand_more(first: int, tmp_path: Path) -> None:
    _hear_all(range(first, first + 50), tmp_path, SLOW_WORK)


@pytest.mark.parametrize("first", [pytest.param(k, marks=pytest.mark.slow) for k in (4000, 4100)])
def test_nothing_is_held_against_cylinders(first: int, tmp_path: Path) -> None:
    """Every bar that one thing carries as a body with flat ends: some 20 of 100 files."""
    charged, heard = [], 0
    for seed in range(first, first + 100):
        invention = invented(seed).with_cylinders()
        if any(table["kind"] == "cylinder" for table in invention.tables["part"]):
            heard += 1
            hearing = hear_it(invention, seed, tmp_path, work=WORK)
            charged += [hearing.text()] if hearing.trial.charges else []
    assert heard > 10
    assert not charged, "\n".join(charged)


def _hear_all(seeds: Sequence[int], folder: Path, work: int) -> None:
    tally, charged = Tally(), []
    for seed in seeds:
        hearing = hear(seed, folder, work=work)
        tally.add(hearing.trial, hearing.suspension)
        if hearing.trial.charges:
            charged.append(hearing.text())
    print(tally.text())
    assert not charged, "\n".join(charged)
    assert sum(tally.refusals.values()) <= MOST_REFUSED * len(seeds), dict(tally.refusals)


# ---- the judge is independent, and can find against the program


@pytest.mark.parametrize("path", sorted(JUDGE.glob("*.py")), ids=lambda path: path.name)
def test_the_judge_takes_nothing_from_the_program_but_its_answer_and_the_outline(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    named = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.level == 0:
            named.add(node.module or "")
        elif isinstance(node, ast.Import):
            named |= {alias.name for alias in node.names}
    ours = {name for name in named if name.split(".")[0] in ("clearance", "clearance_cli", "oracles", "tests")}
    assert ours <= (FROM_THE_PROGRAM if path.name == "trial.py" else set())


def test_of_what_the_program_reads_the_judge_sees_the_outline_alone() -> None:
    source = (JUDGE / "trial.py").read_text(encoding="utf-8")
    assert source.count("load(") == 1
    assert "load(beside).solid.profile.elements" in source


def _play_of_bars_forgotten(monkeypatch: pytest.MonkeyPatch) -> None:
    real = paths._play
    monkeypatch.setattr(paths, "_play", lambda cycle, near, far: None if far is not None else real(cycle, near, far))


def _locks_too_small(monkeypatch: pytest.MonkeyPatch) -> None:
    real = motion._steering

    def shortened(table):  # type: ignore[no-untyped-def]
        return {key: value if key == "axis" else 0.97 * value for key, value in real(table).items()}

    monkeypatch.setattr(motion, "_steering", shortened)


def _wheel_a_tenth_inboard(monkeypatch: pytest.MonkeyPatch) -> None:
    """In the search's path alone; what proves the path would see it, and is told to look away."""
    real = paths.relative

    def off(*arguments):  # type: ignore[no-untyped-def]
        seen = np.array(real(*arguments))
        seen[:, 1] -= 0.1
        return seen

    monkeypatch.setattr(paths, "relative", off)
    monkeypatch.setattr(paths, "_proven_mm", lambda *_: 0.0)


def _nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """No fault at all."""


@pytest.mark.parametrize(
    ("fault", "charged"),
    [
        (_nothing, set()),
        (_play_of_bars_forgotten, {("brake hose", "undercut")}),
        (_locks_too_small, {("the corner", "range"), ("inner wall", "undercut")}),
        (_wheel_a_tenth_inboard, {("body side", "undercut")}),
    ],
)
def test_the_judge_finds_faults_that_are_put_into_the_program(
    fault: Callable[[pytest.MonkeyPatch], None],
    charged: set[tuple[str, str]],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    fault(monkeypatch)
    trial = tried(_copied("none", tmp_path), number=0)
    found = {(charge.part, charge.what) for charge in trial.charges}
    assert charged <= found, trial.charges
    assert bool(found) == bool(charged), trial.charges


def _copied(name: str, folder: Path) -> Path:
    file = folder / f"{name}.toml"
    file.write_text((JUDGE / "faults" / file.name).read_text(encoding="utf-8"), encoding="utf-8")
    return file


def test_what_is_held_against_a_part_is_written_with_that_part_alone(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(charges, "UNDERCUT_MM", -1000.0)
    hearing = hear(0, tmp_path)
    assert hearing.minimised.keys() == {part.name for part in hearing.trial.parts}
    for name, file in hearing.minimised.items():
        assert str(file) in hearing.text()
        assert [row["name"] for row in asked(file)[1]["parts"]] == [name]
