"""Corners on hardpoints, as a user has them: the two shipped ones, and a public body with its own hardpoints."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from clearance_cli.main import run

from clearance.description.load import load
from clearance.suspension.position import Position

ROOT = Path(__file__).resolve().parents[2]
CORNERS = ROOT / "fixtures" / "corners"
REAL = ROOT / ".." / "shared" / "real"


def findings(capsys, file, code):
    assert run(["check", str(file), "--json"]) == code
    return json.loads(capsys.readouterr().out)


def test_the_four_link_rear_clears_and_articulation_decides_it(capsys):
    found = findings(capsys, CORNERS / "tern-coupe-rear.toml", 0)
    assert found["verdict"] == "clears"
    wall = next(part for part in found["parts"] if part["name"] == "inner wall")
    # straight up and down the wall is never nearer than at ride height: rolling brings the tire to it
    assert wall["position"]["other_bump"] - wall["position"]["bump"] == pytest.approx(130.0, abs=1.0)


def test_the_double_wishbone_front_is_tight_at_lock(capsys):
    found = findings(capsys, CORNERS / "sorrel-sedan-front.toml", 1)
    assert found["verdict"] == "tight"
    tight = {part["name"]: part for part in found["parts"] if part["verdict"] == "tight"}
    assert set(tight) == {"liner, front", "tie rod"}
    assert abs(tight["tie rod"]["position"]["steer"]) > 25.0


def test_parts_that_ride_on_links_ride_with_their_own_joint():
    """The upper arm's gap is that of an arm that swings: a still one would be far off at full bump."""
    mockup = load(CORNERS / "sorrel-sedan-front.toml")
    suspension = mockup.suspension
    assert {part.rides_on for part in mockup.parts} >= {"body", "upper arm", "tie rod"}
    up = np.array([[80.0, 0.0, 0.0]])
    ball = np.array([-18.0, -118.0, 148.0])
    carried = suspension.pose(up, "upper arm").carry(ball)[0]
    assert carried == pytest.approx(suspension.pose(up, "knuckle").carry(ball)[0], abs=1e-8)
    assert carried[2] - ball[2] > 70.0


SEDAN = """
title = "public sedan body, front left"
corner = "front-left"

[tire]
overall_diameter = "676 mm"
section_width = "205 mm"
rim_diameter = "16 in"

[wheel]
diameter = "16 in"
width = "6 1/2 in"
offset = "0 mm"

[suspension]
kind = "double-wishbone"
bump = "80 mm"
droop = "60 mm"
upper_front = ["-100 mm", "-327.9 mm", "224.9 mm"]
upper_rear = ["-250 mm", "-287.9 mm", "229.9 mm"]
upper_ball = ["-40 mm", "-102.9 mm", "224.9 mm"]
lower_front = ["200 mm", "-377.9 mm", "-150.1 mm"]
lower_rear = ["-200 mm", "-327.9 mm", "-145.1 mm"]
lower_ball = ["0 mm", "-27.9 mm", "-200.1 mm"]
tie_inner = ["-200 mm", "-377.9 mm", "-0.1 mm"]
tie_outer = ["-150 mm", "-27.9 mm", "-0.1 mm"]

[steering]
left = "25 deg"
right = "25 deg"

[[part]]
name = "body"
kind = "mesh"
file = "FILE"
unit = "m"
place = { hub = [1.388, 0.7979, 0.1301], up = "+z", ahead = "+x" }
"""


@pytest.mark.skipif(not REAL.is_dir(), reason="the public vehicle bodies are not on this machine")
def test_a_public_body_on_its_own_hardpoints(tmp_path):
    """Points and rough gaps: SOURCES.md beside the body; a plain tire of this size had 45 mm at ride height, good to
    3."""
    from clearance.gap.cycle import over_cycle
    from clearance.gap.still import at_position

    file = tmp_path / "corner.toml"
    file.write_text(SEDAN.replace("FILE", str((REAL / "sedan-body.obj").resolve())))
    mockup = load(file)
    # at one position the mock-up's tire is held against the rough table's
    ride = at_position(mockup, Position())[0]
    assert ride.at_most_mm == pytest.approx(45.0, abs=3.0)
    whole = over_cycle(mockup, tolerance_mm=0.2)[0]
    # one position is one of the cycle's, and full bump with lock is the cycle's worst neighbourhood
    corners = [at_position(mockup, Position(bump_mm=80.0, steer_deg=s))[0].at_most_mm for s in (-25.0, 0.0, 25.0)]
    assert whole.at_least_mm <= min(corners)
    assert whole.at_most_mm < 22.0
    assert whole.position.bump_mm > 70.0
