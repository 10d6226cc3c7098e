"""Axes and turns against scipy's rotations, and against angles that a hand can turn."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from clearance.errors import InputError, SuspensionError
from clearance.pose import (
    OPPOSITE,
    Pose,
    about,
    camber_deg,
    car_steer_deg,
    mirrored,
    read_only,
    rightward,
    rotation,
    spin_axis,
    still,
    toe_deg,
    turn_onto,
)


def random_poses(count: int, seed: int) -> Pose:
    rng = np.random.default_rng(seed)
    turn = Rotation.random(count, random_state=seed).as_matrix()
    return Pose(origin_mm=rng.normal(size=(count, 3)) * 300.0, turn=turn)


def test_a_rotation_is_that_of_a_library_that_knows_nothing_of_ours():
    rng = np.random.default_rng(1)
    for axis in Rotation.random(20, random_state=2).as_matrix()[:, 0]:
        angles = rng.uniform(-200.0, 200.0, 7)
        theirs = Rotation.from_rotvec(np.radians(angles)[:, None] * axis).as_matrix()
        assert rotation(axis, angles) == pytest.approx(theirs, abs=1e-14)
        assert rotation(axis, float(angles[0])) == pytest.approx(theirs[0], abs=1e-14)


def test_carrying_and_back_are_the_library_s_and_undo_each_other():
    poses = random_poses(9, 3)
    points = np.random.default_rng(4).normal(size=(9, 3)) * 100.0
    carried = Rotation.from_matrix(poses.turn).apply(points) + poses.origin_mm
    assert poses.carry(points) == pytest.approx(carried, abs=1e-11)
    assert poses.back(carried) == pytest.approx(points, abs=1e-11)
    assert poses.inverse().carry(carried) == pytest.approx(points, abs=1e-11)
    assert poses.carry(points[0]) == pytest.approx(
        Rotation.from_matrix(poses.turn).apply(points[0]) + poses.origin_mm, abs=1e-11
    )
    assert poses.axis == pytest.approx(Rotation.from_matrix(poses.turn).apply([0.0, 1.0, 0.0]), abs=1e-14)


def test_one_pose_after_another_carries_as_one_and_then_the_other():
    first, then = random_poses(6, 5), random_poses(6, 6)
    points = np.random.default_rng(7).normal(size=(6, 3)) * 100.0
    assert then.after(first).carry(points) == pytest.approx(then.carry(first.carry(points)), abs=1e-10)


def test_about_keeps_the_line_through_its_point_and_turns_by_the_right_hand():
    through, axis = np.array([10.0, 20.0, 30.0]), np.array([0.0, 0.0, 1.0])
    turned = about(through, axis, 90.0)
    assert turned.carry(through + 5.0 * axis) == pytest.approx(through + 5.0 * axis, abs=1e-12)
    ahead, outboard = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
    assert turned.carry(through + ahead) == pytest.approx(through + outboard, abs=1e-12)


def test_what_is_still_stays():
    points = np.random.default_rng(8).normal(size=(5, 3))
    assert np.array_equal(still().carry(points), points)
    many = still(5)
    assert many.origin_mm.shape == (5, 3)
    assert many.turn.shape == (5, 3, 3)
    assert np.array_equal(many.carry(points), points)
    # each is its own, and may be written to
    many.turn[0] *= 2.0
    assert np.array_equal(many.turn[1], np.eye(3))


@pytest.mark.parametrize(
    ("origin", "turn"),
    [(np.zeros(2), np.eye(3)), (np.zeros(3), np.eye(2)), (np.zeros(3), np.zeros((3, 2))), (np.zeros(()), np.eye(3))],
)
def test_a_pose_of_another_shape_is_refused(origin, turn):
    with pytest.raises(InputError, match=r"an origin \(3,\) and a turn \(3, 3\)"):
        Pose(origin_mm=origin, turn=turn)


def test_signs_of_camber_and_toe_are_those_of_the_standard():
    """ISO 8855:2011, from memory: camber positive with the top of the wheel outboard, so the outboard spin axis points
    down; a left wheel that toes in has its spin axis ahead."""
    assert spin_axis(0.0, 0.0) == pytest.approx([0.0, 1.0, 0.0])
    assert spin_axis(30.0, 0.0) == pytest.approx([0.0, np.sqrt(0.75), -0.5])
    assert spin_axis(0.0, 30.0) == pytest.approx([0.5, np.sqrt(0.75), 0.0])


def test_camber_and_toe_are_read_off_the_axis_that_they_make():
    rng = np.random.default_rng(9)
    camber, toe = rng.uniform(-60.0, 60.0, 40), rng.uniform(-120.0, 120.0, 40)
    axis = spin_axis(camber, toe)
    assert np.linalg.norm(axis, axis=1) == pytest.approx(1.0)
    assert camber_deg(axis) == pytest.approx(camber, abs=1e-10)
    assert toe_deg(axis) == pytest.approx(toe, abs=1e-10)
    assert spin_axis(camber, 1.0).shape == (40, 3)
    # an axis that rounding has made a hair too long is one that lies on its side
    assert camber_deg(np.array([[0.0, 0.0, -1.0 - 1e-15], [0.0, 0.0, 1.0 + 1e-15]])) == pytest.approx([90.0, -90.0])


@pytest.mark.parametrize("camber", [-89.99, 89.99])
def test_a_wheel_that_nearly_lies_down_still_has_a_camber(camber):
    assert camber_deg(spin_axis(camber, 0.0)) == pytest.approx(camber)
    with pytest.raises(SuspensionError, match=r"95 deg of camber") as refused:
        spin_axis(np.array([0.0, -95.0, 91.0]), 0.0)
    assert refused.value.key == "camber"


def test_the_least_turn_is_the_library_s_and_turns_about_no_axis_along_the_wheel_s():
    axes = Rotation.random(50, random_state=10).as_matrix()[:, 1]
    for axis, turn in zip(axes, turn_onto(axes), strict=True):
        across = np.cross([0.0, 1.0, 0.0], axis)
        angle = np.arctan2(np.linalg.norm(across), axis[1])
        theirs = Rotation.from_rotvec(angle * across / np.linalg.norm(across)).as_matrix()
        assert turn == pytest.approx(theirs, abs=1e-11)
        assert turn_onto(axis) == pytest.approx(turn, abs=1e-15)


def test_how_near_to_the_opposite_axis_a_turn_is_still_one():
    """0.003 degrees off it: 1 + y is half the square of the angle."""
    assert np.degrees(np.sqrt(2.0 * OPPOSITE)) == pytest.approx(0.0026, abs=0.0001)
    near = np.radians(0.003)
    turn_onto(np.array([np.sin(near), -np.cos(near), 0.0]))


def test_the_mirror_changes_outboard_alone():
    points = np.array([[1.0, 2.0, 3.0], [-4.0, -5.0, -6.0]])
    assert np.array_equal(mirrored(points), [[1.0, -2.0, 3.0], [-4.0, 5.0, -6.0]])


def test_what_is_read_only_is_a_copy_that_refuses():
    mine = np.array([1.0, 2.0])
    kept = read_only(mine)
    mine[0] = 9.0
    assert np.array_equal(kept, [1.0, 2.0])
    assert read_only([1, 2]).dtype == float
    with pytest.raises(ValueError, match="read-only"):
        kept[0] = 5.0


@pytest.mark.parametrize("steer", [-30.0, 0.0, 12.5])
def test_a_turn_of_a_right_corner_is_told_by_its_mirror_image(steer):
    """A wheel that turns left points its front outboard on the left of a car and inboard on the right of it."""
    ahead = rotation(np.array([0.0, 0.0, 1.0]), steer) @ [1.0, 0.0, 0.0]
    seen = mirrored(ahead)
    assert np.degrees(np.arctan2(seen[1], seen[0])) == pytest.approx(car_steer_deg(steer, right_hand=True))
    assert car_steer_deg(steer, right_hand=False) == steer
    assert str(car_steer_deg(0.0, right_hand=True)) == "0.0"


def test_ahead_is_to_the_right_of_who_stands_beside_a_right_wheel():
    """Looking inboard, what is to the right is ahead where up times outboard, turned, points ahead."""
    for right_hand, side in ((True, 1.0), (False, -1.0)):
        assert rightward(right_hand=right_hand) == side
