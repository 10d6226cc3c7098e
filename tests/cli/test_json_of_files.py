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
