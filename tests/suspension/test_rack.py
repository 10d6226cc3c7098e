"""Rack travel to lock, and what stays at its height: one meaning, at every height of the travel."""

from __future__ import annotations

import numpy as np
import pytest

from clearance.suspension.kinds import build
from clearance.suspension.position import Cycle

WISHBONE = {
    "upper_front": [55.0, -300.0, 145.0],
    "upper_rear": [-145.0, -305.0, 132.0],
    "upper_ball": [-18.0, -118.0, 148.0],
    "lower_front": [150.0, -400.0, -112.0],
    "lower_rear": [-160.0, -395.0, -118.0],
    "lower_ball": [6.0, -62.0, -128.0],
    "tie_inner": [-128.0, -352.0, -63.0],
    "tie_outer": [-122.0, -78.0, -70.0],
    "camber": -0.6,
    "toe": 0.1,
}
RACK_MM = {"rack_left": 58.0, "rack_right": 52.0}
"""Invented."""


@pytest.fixture(scope="module")
def corner():
    return build("double-wishbone", WISHBONE, Cycle(bump_mm=(-70.0, 80.0)), RACK_MM)


def moved(corner, point, frame, positions):
    return corner.pose(positions, frame).carry(np.array(WISHBONE[point]))


@pytest.mark.parametrize("lock", [0, 1])
@pytest.mark.parametrize("bump_mm", [-70.0, -30.0, 0.0, 45.0, 80.0])
def test_at_every_height_the_rack_goes_from_stop_to_stop(corner, bump_mm, lock):
    """The tie rod keeps its length, so its outer end says where its inner end is: on the rack, which only slides.

    Behind the axle a rack to the left, outboard on this side, turns the wheel to the right.
    """
    position = [[bump_mm, 0.0, corner.cycle.steer_deg[lock]]]
    outer = moved(corner, "tie_outer", "knuckle", position)[0]
    inner, length = (
        np.array(WISHBONE["tie_inner"]),
        np.linalg.norm(np.subtract(*map(WISHBONE.get, ("tie_outer", "tie_inner")))),
    )
    reach = np.sqrt(length**2 - (outer - inner)[0] ** 2 - (outer - inner)[2] ** 2)
    slid = outer[1] - reach - inner[1]
    wanted = RACK_MM["rack_right"] if lock == 0 else -RACK_MM["rack_left"]
    assert slid == pytest.approx(wanted, abs=1e-6)  # the lock's own digits


@pytest.mark.parametrize("bump_mm", [-70.0, 0.0, 80.0])
def test_the_lower_ball_keeps_its_height_from_lock_to_lock(corner, bump_mm):
    """Spring and stops act on the arm: steering lifts the hub, never the ball."""
    right, left = corner.cycle.steer_deg
    balls = moved(corner, "lower_ball", "knuckle", [[bump_mm, 0.0, steer] for steer in (right, 0.0, left)])
    assert balls[:, 2] == pytest.approx(balls[1, 2], abs=1e-8)


def test_an_angle_and_the_rack_that_gives_it_are_the_same_cycle(corner):
    right, left = corner.cycle.steer_deg
    angles = build("double-wishbone", WISHBONE, Cycle(bump_mm=(-70.0, 80.0)), {"left": left, "right": -right})
    rows = np.array([[b, 0.0, s] for b in (-70.0, 10.0, 80.0) for s in (right, -5.0, left)])
    assert corner.pose(rows).origin_mm == pytest.approx(angles.pose(rows).origin_mm, abs=1e-9)
