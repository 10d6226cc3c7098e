"""One contact has one place, whichever answer tells of it."""

from __future__ import annotations

import clearance

CORNER = """
title = "Wren roadster, front left"
corner = "front-left"
[tire]
size = "185/65R15"
[wheel]
diameter = "15 in"
width = "6 in"
backspace = "118 mm"
[suspension]
kind = "straight"
bump = "70 mm"
droop = "80 mm"
[steering]
left = "33 deg"
right = "28 deg"
axis = { through = ["0 mm", "-90 mm", "0 mm"], inclination = "9 deg", caster = "4 deg" }
[[part]]
name = "strut"
kind = "wall"
inboard = "150 mm"
below = "0 mm"
rides_on = "knuckle"
required = "40 mm"
"""


def test_check_relief_and_least_change_name_the_same_place_of_a_gap_that_never_changes(tmp_path):
    (tmp_path / "corner.toml").write_text(CORNER)
    corner = clearance.load(tmp_path / "corner.toml")
    (row,) = clearance.check(corner).value.findings["parts"]
    assert row["every_position"]
    relief, change = clearance.relief(corner), clearance.least_change(corner)
    assert f"tightest at every position: {row['tire_region']}, {row['where']}" in " ".join(relief.words().split())
    assert "(every position)" in change.words()
    told = relief.to_dict()["parts"][0]["before"]
    assert told["where"] == row["where"]
    assert {key: told[key] for key in ("bump", "other_bump", "steer")} == row["position"]
