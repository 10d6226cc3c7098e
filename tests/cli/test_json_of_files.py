"""Verbs that make files name them in JSON, and say nothing else there."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from clearance_cli.main import run

PICKUP = Path(__file__).parents[2] / "fixtures" / "corners" / "orchard-pickup-rear.toml"


@pytest.mark.parametrize("words", [["draw", str(PICKUP)], ["measure", "rear-leaf"]], ids=lambda words: words[0])
def test_the_files_that_are_named_are_those_that_are_there(words, tmp_path, capsys):
    assert run([*words, "--out", str(tmp_path), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["format"] == f"clearance-{words[0]}/1"
    there = {path.name for path in tmp_path.iterdir() if not path.name.startswith(".")}
    assert set(said["files"]) == there
    assert len(there) > 1


@pytest.mark.parametrize("words", [
    ["motion", str(PICKUP)], ["order", str(PICKUP)], ["other", str(PICKUP)], ["window", str(PICKUP), "--width", "7 in"],
    ["relief", str(PICKUP)], ["tire", "235/75R15"], ["compare", str(PICKUP), str(PICKUP)],
    ["scan", str(PICKUP.parent / "scanned-well.ply")],
], ids=lambda words: words[0])  # fmt: skip
def test_every_answer_says_what_it_is(words, capsys):
    """By name and number, so that a program that reads it knows when it would misread a later one."""
    assert run([*words, "--json"]) in (0, 1)
    assert json.loads(capsys.readouterr().out)["format"] == f"clearance-{words[0]}/1"
