"""Steering about an inclined axis, by rack, by drag link, against worked values and its own arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from clearance.errors import SuspensionError
from clearance.pose import camber_deg, toe_deg
from clearance.suspension.kinds import build
from clearance.suspension.position import Cycle
from clearance.suspension.steering import kingpin_by_angles, rotation_deg

PSI = (38.0, 30.0, 20.0, -20.0, -30.0)
"""Steer to the left, so that the wheel is the inner one first; the source counts the other way round."""

CAMBER_AT = {
    (0, 10): (2.14778, 1.35609, 0.60982, 0.60982, 1.35609),
    (5, 0): (3.08317, 2.50477, 1.71394, -1.71394, -2.50477),
    (5, 10): (5.25569, 3.87713, 2.33081, -1.10317, -1.15066),
    (7, 12): (6.96901, 5.18498, 3.15589, -1.66605, -1.87867),
}


def steered(caster, inclination, through=(0.0, 0.0, 0.0), steer=PSI):
    axis = {"through": np.array(through), "inclination": inclination, "caster": caster}
    suspension = build("straight", {}, Cycle(), {"left": 40.0, "right": 40.0, "axis": axis})
    return suspension, suspension.pose([[0.0, 0.0, psi] for psi in steer])


@pytest.mark.parametrize(("caster", "inclination"), CAMBER_AT)
def test_camber_follows_the_road_wheels_angle(caster, inclination):
    """Wheel turned about the axis until its plan view shows the angle; solved twice, by two people's arithmetic."""
    _, hub = steered(caster, inclination)
    assert camber_deg(hub.axis) == pytest.approx(CAMBER_AT[caster, inclination], abs=0.51e-5)
    assert toe_deg(hub.axis) == pytest.approx([-psi for psi in PSI], abs=1e-10)


def test_the_hub_swings_fore_and_aft_at_lock():
    """Scrub 50 outboard, trail 20, radius 330, caster 5, inclination 10: the hub moves 60 mm at 35 deg.

    The axis meets the ground 20 ahead of the patch and 50 inboard of it; 330 up it has leaned back and in.
    """
    ground = np.array([20.0, -50.0, -330.0])
    _, hub = steered(5, 10, through=ground, steer=(35.0, 20.0, -20.0, -35.0))
    printed = [
        (-63.510, -14.746, -8.157),
        (-37.526, -3.560, -3.911),
        (36.447, -9.561, 1.503),
        (60.401, -24.619, 0.943),
    ]
    assert np.abs(hub.origin_mm - printed).max() <= 0.51e-3


def test_the_rotation_about_the_kingpin_is_not_the_steer_angle():
    """Up to 1.4 deg apart in the table above; the difference is what a turn plate never shows."""
    kingpin = kingpin_by_angles(np.zeros(3), 12.0, 7.0)
    turned = rotation_deg(kingpin, np.array([38.0, -38.0]))
    assert np.abs(turned - [38.0, -38.0]).max() > 0.4
    assert np.abs(turned - [38.0, -38.0]).max() < 1.5


def test_small_angles_follow_the_rule_of_thumb():
    """camber ~ -caster sin(psi) + inclination (1 - cos(psi)): 5 and 10 deg at 20 deg give -1.107."""
    _, hub = steered(5, 10, steer=(-20.0,))
    psi = np.radians(20.0)
    assert camber_deg(hub.axis)[0] == pytest.approx(-5.0 * np.sin(psi) + 10.0 * (1.0 - np.cos(psi)), abs=0.01)


@pytest.mark.parametrize("kind", ["rack", "arm"])
def test_the_label_is_the_road_wheels_angle_at_ride_height(hardpoints, kind):
    points = hardpoints("heavy-off-road-front")
    values = dict(points.values)
    if kind == "arm":
        along = values["tie_inner"][1]
        values |= {"arm_pivot": [-400.0, along, 60.0], "arm_axis": [-400.0, along, 160.0]}
    suspension = build(points.kind, values, Cycle(bump_mm=(-60, 60)), {"left": 32.0, "right": 27.0})
    steer = np.linspace(-27, 32, 13)
    hub = suspension.pose(np.stack([0 * steer, 0 * steer, steer], axis=1))
    assert toe_deg(hub.axis) == pytest.approx(-steer, abs=1e-8)


def test_the_lower_ball_joint_keeps_its_height_while_the_hub_swings(hardpoints):
    """Spring and stops act on the arm: at one bump the ball joint's height is one, at every lock."""
    points = hardpoints("heavy-off-road-front")
    suspension = build(points.kind, points.values, Cycle(bump_mm=(-80, 80)), {"left": 32.0, "right": 27.0})
    for bump in (-80.0, 0.0, 80.0):
        positions = np.array([[bump, 0.0, steer] for steer in (-27.0, 0.0, 32.0)])
        ball = suspension.pose(positions, "knuckle").carry(points.values["lower_ball"])[:, 2]
        assert np.ptp(ball) < 1e-8
        assert suspension.pose(positions[1:2]).origin_mm[0, 2] == pytest.approx(bump, abs=1e-9)


def test_without_a_tie_rod_the_wheel_points_where_it_is_steered_and_a_note_says_so(hardpoints):
    points = hardpoints("heavy-off-road-front")
    values = {name: value for name, value in points.values.items() if not name.startswith("tie")}
    suspension = build(points.kind, values, Cycle(bump_mm=(-80, 80)), {"left": 32.0, "right": 27.0})
    hub = suspension.pose([[-80.0, 0.0, 30.0], [80.0, 0.0, -25.0]])
    assert toe_deg(hub.axis) == pytest.approx([-30.0, 25.0], abs=1e-8)
    assert any("bump steer" in note for note in suspension.notes)


def solid_axle(**more):
    return {
        "track": 1500.0,
        "kingpin_lower": [8.0, -70.0, -100.0],
        "kingpin_upper": [-8.0, -95.0, 100.0],
        "lower_axle": [0.0, -350.0, -80.0],
        "lower_body": [-700.0, -350.0, -60.0],
        "upper_axle": [0.0, -550.0, 120.0],
        "upper_body": [-600.0, -550.0, 130.0],
        "bar_axle": [120.0, -1150.0, 60.0],
        "bar_body": [120.0, -350.0, 60.0],
        **more,
    }


def test_parallel_links_of_equal_length_give_no_bump_steer():
    """Track bar and drag link side by side, equal and parallel: D = R, and the planar sum is zero."""
    values = solid_axle(
        drag_inner=[280.0, -350.0 + 200.0 - 200.0, 60.0],
        drag_outer=[280.0, -1150.0, 60.0],
        track_rod_here=[-150.0, -110.0, 0.0],
        track_rod_there=[-150.0, -1390.0, 0.0],
    )
    cycle = Cycle(bump_mm=(-60, 60), other_bump_mm=(-60, 60))
    suspension = build("solid-steer-axle", values, cycle, {"left": 25.0, "right": 25.0})
    alike = np.array([[h, h, 0.0] for h in (-60.0, 60.0)])
    assert np.abs(toe_deg(suspension.pose(alike).axis)).max() < 0.05
    shorter = build("solid-steer-axle", values | {"drag_inner": [280.0, -700.0, 60.0]}, cycle)
    assert np.abs(toe_deg(shorter.pose(alike).axis)).max() > 0.2


def test_a_drag_link_steers_by_the_difference_of_two_versines():
    """dtoe = [(D - sqrt(D^2 - h^2)) - (R - sqrt(R^2 - h^2))] / r: 700, 900, 150, 60 give 0.219230 deg (planar).

    The axle swings on a 900 mm bar and the drag link is 700 mm long, both level; the arm is 150 mm on an upright
    kingpin.
    """
    values = {
        "track": 1500.0,
        "bar_length": 900.0,
        "car_end": "near",
    }
    from dataclasses import replace

    from clearance.suspension.hinged import TieRod
    from clearance.suspension.linkage import Racked
    from clearance.suspension.steering import Kingpin

    cycle = Cycle(bump_mm=(-60, 60), other_bump_mm=(-60, 60))
    axle = build("track-bar", values, cycle)
    kingpin = Kingpin(through_mm=np.zeros(3), axis=np.array([0.0, 0.0, 1.0]))
    end = np.array([150.0, 0.0, 0.0])
    tie = TieRod(kingpin=kingpin, inner=Racked(end + np.array([0.0, 700.0, 0.0])), outer_mm=end)
    hub = replace(axle, kingpin=kingpin, tie_rod=tie).pose([[60.0, 60.0, 0.0]])
    planar = np.degrees(((700 - np.sqrt(700**2 - 60**2)) - (900 - np.sqrt(900**2 - 60**2))) / 150)
    assert planar == pytest.approx(0.219230, abs=0.51e-6)
    # the planar sum leaves out the arm's own arc: a thousandth of the angle
    assert abs(toe_deg(hub.axis)[0]) == pytest.approx(planar, rel=2e-3)


def test_a_cross_steer_axle_turns_this_knuckle_as_far_as_asked():
    values = solid_axle(
        drag_inner=[280.0, -300.0, 60.0],
        drag_outer=[280.0, -1300.0, 60.0],
        track_rod_here=[-150.0, -110.0, 0.0],
        track_rod_there=[-150.0, -1390.0, 0.0],
    )
    suspension = build("solid-steer-axle", values, Cycle(), {"left": 30.0, "right": 26.0})
    steer = np.linspace(-26, 30, 9)
    hub = suspension.pose(np.stack([0 * steer, 0 * steer, steer], axis=1))
    assert toe_deg(hub.axis) == pytest.approx(-steer, abs=1e-9)


def test_a_trapezoid_turns_its_outer_wheel_as_the_four_bar_does():
    """Pivots 1250 apart, arms 150, rod 1200 behind the axle: inner 10, 20, 30, 35, 40 give the outer below.

    Exam question's linkage, exact four-bar solution.
    """
    from clearance.suspension.hinged import rotation_keeping
    from clearance.suspension.steering import Kingpin

    lean = np.radians(9.59407)
    up = np.array([0.0, 0.0, 1.0])
    here, there = Kingpin(through_mm=np.zeros(3), axis=up), Kingpin(through_mm=np.array([0.0, -1250.0, 0.0]), axis=up)
    arm = 150.0 * np.array([-np.cos(lean), -np.sin(lean), 0.0])
    other_arm = np.array([arm[0], -1250.0 - arm[1], 0.0])
    inner = np.array([10.0, 20.0, 30.0, 35.0, 40.0])
    outer = rotation_keeping(there, here.turn(inner).carry(arm), other_arm, arm)
    assert abs(np.linalg.norm(arm - other_arm) - 1200.0) < 1e-3
    assert outer == pytest.approx([9.69784, 18.78087, 27.16722, 31.04834, 34.68106], abs=2e-5)


def test_a_tie_rod_through_the_kingpin_is_refused(hardpoints):
    points = hardpoints("heavy-off-road-front")
    middle = 0.5 * (points.values["upper_ball"] + points.values["lower_ball"])
    with pytest.raises(SuspensionError, match=r"the tie rod passes \d+\.\d mm from the steering axis"):
        build(points.kind, points.values | {"tie_outer": middle}, Cycle())


def test_an_axis_that_cannot_steer_so_far_is_refused():
    axis = {"through": [0.0, -90.0, 0.0], "inclination": 60.0, "caster": 5.0}
    with pytest.raises(SuspensionError, match="does not stand up"):
        build("straight", {}, Cycle(), {"left": 30.0, "right": 30.0, "axis": axis})


@pytest.mark.parametrize(
    ("steering", "message"),
    [
        ({"left": -30.0, "right": 30.0}, "without a sign"),
        ({"left": 340.0, "right": 30.0}, "more than any car steers"),
        ({"left": 30.0, "right": 30.0}, "needs an axis"),
        ({"rack_left": 60.0, "rack_right": 60.0}, "has no rack"),
    ],
)
def test_steering_that_cannot_be_is_refused(steering, message):
    with pytest.raises(SuspensionError, match=message):
        build("straight", {}, Cycle(), steering)
