"""A right corner and a left one say the direction that somebody beside the car would point in.

By hand: a car that steers to the left turns the front of each front tire to the left. On the left wheel that is
outboard, on the right one inboard. So a post that stands ahead of the tire and outboard of it is neared by the left
wheel when the car steers to the left, and by the right wheel when it steers to the right.
"""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

import clearance
from clearance.answers.compare import measured
from clearance.answers.knobs import knobs_of
from clearance.export.glb import _said as said_in_scene
from clearance.facts.gap import gap_json
from clearance.words.text import position_words

FRONT = """
title = "Both hands"
corner = "front-{side}"
[tire]
size = "195/60R15"
[wheel]
diameter = "15 in"
width = "6.5 in"
backspace = "120 mm"
[suspension]
kind = "straight"
bump = "0 mm"
droop = "0 mm"
[steering]
left = "{left} deg"
right = "{right} deg"
axis = {{ through = ["0 mm", "-90 mm", "0 mm"], inclination = "0 deg", caster = "0 deg" }}
[[part]]
name = "post"
kind = "bar"
points = [["200 mm", "400 mm", "-60 mm"], ["200 mm", "400 mm", "60 mm"]]
diameter = "10 mm"
required = "20 mm"
"""


def other(side: str) -> str:
    return {"left": "right", "right": "left"}[side]


@pytest.fixture(scope="module", params=["left", "right"])
def seen(request):
    """The side, its corner, and what was found. The lock towards the post is 25 degrees, the other one 10."""
    side = request.param
    locks = {side: 25, other(side): 10}
    corner = clearance.read(FRONT.format(side=side, **locks))
    return side, corner, clearance.check(corner)


def test_the_page_says_it(seen):
    side, _, found = seen
    assert f"25.0 deg {side}" in found.words()
    assert f"25.0 deg {other(side)}" not in found.words()
    assert (
        f"lock {25 if side == 'left' else 10}.0 deg left, {10 if side == 'left' else 25}.0 deg right" in found.words()
    )


def test_ahead_is_where_a_viewer_beside_the_wheel_has_the_nose(seen):
    """The nose of the car is to the left of somebody who looks at its left side: 9 o'clock."""
    side, _, found = seen
    [row] = found.rows()
    assert row["where"].startswith({"left": "9 o'clock", "right": "3 o'clock"}[side])
    assert "ahead of the axle" in row["where"]
    assert "outboard of the hub face" in row["where"]


def test_every_number_has_the_cars_own_sign(seen):
    side, corner, found = seen
    sign = {"left": 1.0, "right": -1.0}[side]
    [gap], [row] = found.value.gaps, found.rows()
    assert row["position.steer"] == pytest.approx(25.0 * sign)
    assert gap_json(corner, gap)["steer"] == pytest.approx(25.0 * sign)
    assert said_in_scene(corner, gap.position)["steer"] == pytest.approx(25.0 * sign)
    # steering on towards the post takes room away
    assert row["per_mm.steer_per_deg"] * sign < 0
    assert found.to_dict()["cycle"]["steer"] == pytest.approx(sorted((25.0 * sign, -10.0 * sign)))


def test_every_page_says_it(seen):
    side, corner, found = seen
    [gap] = found.value.gaps
    assert position_words(corner, gap) == f"ride height, 25.0 deg {side}"
    assert measured(corner).sides["post"].position == f"ride height, 25.0 deg {side}"
    tables = clearance.motion(corner).to_dict()["tables"]
    [far] = {row["steer_deg"] for row in tables[f"full {side} lock"]}
    assert far == pytest.approx(25.0 if side == "left" else -25.0)
    assert all(row["turned_deg"] * far > 0 for row in tables[f"full {side} lock"])
    report = clearance.report_of(found).decode()
    assert f"25.0 deg {side}" in report
    assert f"25.0 deg {other(side)}" not in report


def test_the_stop_to_move_is_the_one_towards_the_post(seen):
    side, corner, _ = seen
    limits = replace(corner.terms.limits, steering_stop_deg=25.0)
    knobs = {knob.name: knob for knob in knobs_of(corner, limits, corner.terms.sold, ("post",))}
    gaps = {
        name: clearance.check(knobs[f"steering stop, {name}"].apply(corner, 10.0)).value.gaps[0].at_least_mm
        for name in ("left", "right")
    }
    before = clearance.check(corner).value.gaps[0].at_least_mm
    assert gaps[side] > before + 5.0
    assert gaps[other(side)] == pytest.approx(before, abs=0.1)
    assert f"of lock lost at {side} lock" in knobs[f"steering stop, {side}"].cost(3.0)


def test_drawings_have_ahead_where_the_viewer_has_it(seen):
    """Seen from outboard, the post is left of the hub on a left corner; its lock is named as the car steers."""
    side, corner, found = seen
    from clearance.report.drawings import positions_drawn, view_drawing

    assert f"lock, 25.0 deg {side}" in [words for words, _, _ in positions_drawn(corner)]
    from clearance.geom.drawing import OUTLINE, Circle

    for view in ("side", "behind"):
        marks = view_drawing(corner, found.value.gaps, view, 0.25).marks
        # the dots are the ends of leaders
        [ring] = [mark for mark in marks if isinstance(mark, Circle) and mark.layer == OUTLINE]
        assert (ring.centre[0] > 0) is (side == "right"), view


def test_json_of_the_scene(seen):
    side, _, found = seen
    scene = clearance.scene_of(found)
    length = int.from_bytes(scene[12:16], "little")
    extras = json.loads(scene[20 : 20 + length])["scenes"][0]["extras"]
    assert extras["worst"]["steer"] == pytest.approx(25.0 if side == "left" else -25.0)
