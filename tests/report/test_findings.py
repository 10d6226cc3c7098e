"""Findings: the contract of findings.json, and what a mirror does to it."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from clearance.description.load import load
from clearance.gap.cycle import over_cycle
from clearance.gap.still import at_position
from clearance.report.findings import as_json, findings_of, overall_verdict, worst_first
from clearance.suspension.position import Position
from clearance.words.sentence import verdict_sentence

ROOT = Path(__file__).resolve().parents[2]
FRONT = """
title = "Mirror test"
corner = "{corner}"
[tire]
size = "195/60R15"
[wheel]
diameter = "15 in"
width = "6.5 in"
backspace = "120 mm"
[suspension]
kind = "straight"
bump = "60 mm"
droop = "60 mm"
[steering]
left = "{left} deg"
right = "{right} deg"
axis = {{ through = ["0 mm", "-90 mm", "0 mm"], inclination = "9 deg", caster = "4 deg" }}
[[part]]
name = "inner wall"
kind = "wall"
inboard = "250 mm"
[[part]]
name = "lip"
kind = "lip"
outboard = "120 mm"
radius = "360 mm"
return_depth = "18 mm"
"""


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict]:
    """The same car's front wheels, left and right: the mirror image swaps the two locks."""
    folder = tmp_path_factory.mktemp("mirror")
    result = {}
    for corner, left, right in (("front-left", 34, 27), ("front-right", 27, 34)):
        path = folder / f"{corner}.toml"
        path.write_text(FRONT.format(corner=corner, left=left, right=right))
        mockup = load(path)
        result[corner] = findings_of(mockup, over_cycle(mockup), versions={"clearance": "test"})
    return result


def test_a_right_corner_is_the_mirror_of_the_left_one_in_everything_but_the_sign_of_steer(found):
    left, right = found["front-left"], found["front-right"]
    assert left["cycle"]["steer"] == [-27, 34]
    assert right["cycle"]["steer"] == [-34, 27]
    for one, other in zip(left["parts"], right["parts"], strict=True):
        assert one["gap"] == other["gap"]
        assert one["on_part"] == other["on_part"]
        assert one["position"]["steer"] == -other["position"]["steer"]
    assert any(abs(part["position"]["steer"]) > 5 for part in left["parts"])


def test_findings_keep_the_schema(found):
    """The schema of docs/, read by an independent implementation of JSON Schema 2020-12."""
    jsonschema = pytest.importorskip("jsonschema", reason="jsonschema is not installed")
    schema = json.loads((ROOT / "docs" / "findings.schema.json").read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    for findings in found.values():
        jsonschema.Draft202012Validator(schema).validate(json.loads(as_json(findings)))


def test_the_rounded_ends_still_hold_the_gap_between_them(tmp_path):
    path = tmp_path / "a.toml"
    path.write_text(FRONT.format(corner="front-left", left=34, right=27))
    mockup = load(path)
    gaps = over_cycle(mockup)
    rows = findings_of(mockup, gaps)["parts"]
    for gap, row in zip(worst_first(gaps), rows, strict=True):
        # rounded outward to 0.0001 mm; half a millionth is what a double of this size cannot hold
        assert row["gap"]["at_least"] <= gap.at_least_mm + 5e-7
        assert row["gap"]["at_most"] >= gap.at_most_mm - 5e-7
        assert row["gap"]["at_most"] - gap.at_most_mm < 1.1e-4


def test_the_same_findings_are_the_same_bytes(found):
    assert as_json(found["front-left"]) == as_json(json.loads(as_json(found["front-left"])))


def test_the_worst_verdict_stands_first_and_is_the_verdict_of_the_whole(found):
    findings = found["front-left"]
    assert findings["parts"][0]["verdict"] == findings["verdict"]


def test_a_corner_with_nothing_around_it_is_not_a_pass():
    assert overall_verdict([]) == "undecided"


STRUT = """
[[part]]
name = "strut"
kind = "wall"
inboard = "150 mm"
below = "0 mm"
rides_on = "knuckle"
"""


@pytest.mark.parametrize("corner", ["front-left", "front-right"])
def test_a_gap_that_never_changes_is_one_of_every_position_with_its_witness_at_ride_height(tmp_path, corner):
    """The witness is measured anew at ride height: same gap, same two points, same words for the place."""
    path = tmp_path / "a.toml"
    path.write_text(FRONT.format(corner=corner, left=34, right=27) + STRUT)
    mockup = load(path)
    (gap,) = over_cycle(mockup, parts=["strut"])
    # the search may end anywhere; here it is made to end at a place that is not ride height
    elsewhere = Position(bump_mm=40.0, steer_deg=-20.0)
    (moved,) = at_position(mockup, elsewhere, parts=["strut"])
    assert moved.position == elsewhere
    findings = findings_of(mockup, [moved])
    row = findings["parts"][0]
    assert row["every_position"]
    assert row["position"] == {"bump": 0, "other_bump": 0, "steer": 0}
    assert row["gap"]["at_least"] == pytest.approx(gap.at_least_mm, abs=0.06)
    distance, foot, normal, _ = mockup.solid.nearest(np.array([row["on_part"]]))
    assert distance[0] == pytest.approx(moved.at_most_mm, abs=1e-3)
    assert foot[0] == pytest.approx(row["on_tire"], abs=1e-3)
    assert normal[0] == pytest.approx(row["toward_part"], abs=1e-4)
    # a wall that steers with the wheel is as near all over the top: its lower edge is at the height of the hub
    assert row["where"] == (
        f"an arc of {np.hypot(*np.delete(row['on_tire'], 1)):.0f} mm radius about the wheel's own middle, from"
        " 9 o'clock over 12 o'clock to 3 o'clock,"
        " 150 mm inboard of the hub face"
    )
    assert verdict_sentence(findings).endswith("at every position.")


def test_a_gap_that_changes_keeps_its_position(found):
    for row in found["front-left"]["parts"]:
        assert not row["every_position"]


def test_the_sentence_names_part_gap_and_position(found):
    findings = found["front-left"]
    worst = findings["parts"][0]
    words = verdict_sentence(findings)
    assert worst["name"] in words
    assert f"{abs(worst['gap']['at_least']):.1f} mm" in words
    assert ("left" in words) or ("right" in words) or ("straight ahead" in words)
