"""Verbs that make files name them in JSON, and say nothing else there."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from clearance_cli.main import run
from few import FEW

SCAN = Path(__file__).parents[2] / "fixtures" / "corners" / "scanned-well.ply"


@pytest.fixture
def corner(tmp_path):
    file = tmp_path / "few.toml"
    file.write_text(FEW, encoding="utf-8")
    return file


@pytest.mark.parametrize("words", [["draw", "CORNER"], ["measure", "rear-leaf"]], ids=lambda words: words[0])
def test_the_files_that_are_named_are_those_that_are_there(words, corner, tmp_path, capsys):
    out = tmp_path / "out"
    assert run([*(str(corner) if word == "CORNER" else word for word in words), "--out", str(out), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["format"] == f"clearance-{words[0]}/1"
    there = {path.name for path in out.iterdir() if not path.name.startswith(".")}
    assert set(said["files"]) == there
    assert len(there) > 1


@pytest.mark.parametrize("words", [
    ["motion", "CORNER"], ["order", "CORNER"], ["other", "CORNER"], ["window", "CORNER", "--width", "7 in"],
    ["relief", "CORNER"], ["tire", "235/75R15"], ["compare", "CORNER", "CORNER"], ["scan", str(SCAN)],
], ids=lambda words: words[0])  # fmt: skip
def test_every_answer_says_what_it_is(words, corner, capsys):
    """By name and number, so that a program that reads it knows when it would misread a later one."""
    assert run([*(str(corner) if word == "CORNER" else word for word in words), "--json"]) in (0, 1)
    assert json.loads(capsys.readouterr().out)["format"] == f"clearance-{words[0]}/1"
