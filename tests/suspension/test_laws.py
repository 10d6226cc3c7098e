"""What holds for every suspension, whatever its numbers."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from clearance.pose import camber_deg, rotation, toe_deg
from clearance.suspension.kinds import KINDS, build
from clearance.suspension.linkage import (
    Rod,
    assembled,
    slopes_of,
    turn_by,
    values_of,
    vector_of,
)
from clearance.suspension.position import Cycle
from clearance.suspension.travel import left_over

TRACK = {"track": 1500.0}
LOWER = {"lower_axle": [0.0, -230.0, -80.0], "lower_body": [480.0, -240.0, -50.0]}
UPPER = {"upper_axle": [-30.0, -600.0, 130.0], "upper_body": [270.0, -330.0, 150.0]}
STRAIGHT_UPPER = {"upper_axle": [0.0, -700.0, 150.0], "upper_body": [430.0, -700.0, 160.0]}
BAR = {"bar_axle": [-120.0, -1150.0, 20.0], "bar_body": [-120.0, -330.0, 45.0]}
WATTS = {
    "lever_pivot": [-150.0, -750.0, 20.0],
    "lever_end_1": [-150.0, -750.0, 110.0],
    "lever_end_2": [-150.0, -750.0, -70.0],
    "watts_end_1": [-150.0, -340.0, 110.0],
    "watts_end_2": [-150.0, -1160.0, -70.0],
}
LEAF = {
    "front_eye": [610.0, -230.0, -20.0],
    "front_clamp": [60.0, -230.0, -75.0],
    "rear_clamp": [-60.0, -230.0, -75.0],
    "rear_eye": [-690.0, -230.0, -25.0],
    "shackle_hanger": [-650.0, -230.0, 75.0],
}
KINGPIN = {"kingpin_lower": [8.0, -70.0, -100.0], "kingpin_upper": [-8.0, -95.0, 100.0]}
TABLE = np.column_stack(
    [np.arange(-75.0, 76.0, 25.0), np.zeros(7), np.zeros(7), -0.02 * np.arange(-75.0, 76.0, 25.0), np.zeros(7)]
)
WISHBONE = {
    "upper_front": [55.0, -300.0, 145.0],
    "upper_rear": [-145.0, -305.0, 132.0],
    "upper_ball": [-18.0, -118.0, 148.0],
    "lower_front": [150.0, -400.0, -112.0],
    "lower_rear": [-160.0, -395.0, -118.0],
    "lower_ball": [6.0, -62.0, -128.0],
    "tie_inner": [-128.0, -352.0, -63.0],
    "tie_outer": [-122.0, -78.0, -70.0],
}
AXIS = {"through": [0.0, -90.0, 0.0], "inclination": 9.0, "caster": 4.0}
LOCKS = {"left": 30.0, "right": 26.0}
TWIN = {
    "beam_pivot": [0.0, -900.0, -60.0],
    "arm_pivot_on_car": [-700.0, -500.0, -30.0],
    **KINGPIN,
    "tie_inner": [150.0, -620.0, -40.0],
    "tie_outer": [150.0, -95.0, -60.0],
}

SAMPLES = {
    "straight": ({"camber_per_100mm": -1.5, "toe_per_100mm": 0.3, "along_per_100mm": 4.0}, LOCKS | {"axis": AXIS}),
    "table": ({"rows": TABLE}, LOCKS | {"axis": AXIS}),
    "double-wishbone": (WISHBONE, LOCKS),
    "strut": (
        {k: v for k, v in WISHBONE.items() if not k.startswith("upper")}
        | {"strut_top": [-30.0, -150.0, 480.0], "strut_bottom": [-5.0, -110.0, 60.0]},
        LOCKS,
    ),
    "multi-link": (
        {
            "links": np.array(
                [
                    [60.0, -403.0, 82.0, 56.0, -86.0, 151.0],
                    [-157.0, -442.0, 62.0, 56.0, -86.0, 151.0],
                    [36.0, -612.0, -133.0, 29.0, -108.0, -93.0],
                    [723.0, -351.0, -72.0, 0.0, -86.0, -156.0],
                ]
            ),
            "tie_inner": [-257.0, -630.0, -116.0],
            "tie_outer": [-144.0, -88.0, -56.0],
        },
        {"left": 3.0, "right": 3.0},
    ),
    "trailing-arm": ({"pivot": [450.0, -100.0, 20.0]}, None),
    "semi-trailing-arm": ({"outer_pivot": [420.0, -150.0, 0.0], "inner_pivot": [330.0, -500.0, -20.0]}, None),
    "swing-axle": ({"inner_joint": [0.0, -520.0, -10.0], "arm_front": [520.0, -420.0, -20.0]}, None),
    "twin-beam": (TWIN, LOCKS),
    "swing-arm": ({"swing_arm": 1400.0, "centre_above": -60.0, "camber": -0.5}, LOCKS | {"axis": AXIS}),
    "four-link": (TRACK | LOWER | UPPER, None),
    "three-link": (TRACK | LOWER | STRAIGHT_UPPER | BAR, None),
    "watts-link": (TRACK | LOWER | STRAIGHT_UPPER | WATTS, None),
    "torque-arm": (TRACK | LOWER | BAR | {"arm_front": [1050.0, -750.0, 60.0]}, None),
    "truck-arm": (TRACK | BAR | {"arm_body": [1300.0, -650.0, 50.0]}, None),
    "de-dion": (TRACK | WATTS | {"arm_body": [700.0, -750.0, 10.0], "camber": -1.0, "toe": 0.1}, None),
    "leaf-spring": (TRACK | LEAF, None),
    "leaf-arc": (
        TRACK | {"half_length": 560.0, "rear_half_length": 640.0, "arch": 40.0, "spring_inboard": 220.0},
        None,
    ),
    "solid-steer-axle": (
        TRACK
        | LEAF
        | KINGPIN
        | {"drag_inner": [520.0, -215.0, 60.0], "drag_outer": [-20.0, -215.0, 55.0]}
        | {"arm_pivot": [520.0, -215.0, 220.0], "arm_axis": [520.0, -315.0, 220.0]},
        LOCKS,
    ),
    "track-bar": (TRACK | {"bar_length": 900.0, "axle_end_below": 30.0}, None),
    "axle-by-travel": (TRACK | {"carried_by": "leaf springs", "axis_within": 5.0}, LOCKS | {"axis": AXIS}),
    "wheel-by-travel": ({"carried_by": "strut", "camber": -0.5}, LOCKS | {"axis": AXIS}),
    "standing": ({"carried_by": "strut"}, None),
}
"""One believable corner of every kind, invented."""


@cache
def corner(kind):
    values, steering = SAMPLES[kind]
    live = {"other_bump_mm": (-55.0, 60.0), "articulation_mm": 110.0} if KINDS[kind].live_axle else {}
    return build(kind, values, Cycle(bump_mm=(-55.0, 60.0), **live), steering)


def positions_of(suspension, count=60):
    rng = np.random.default_rng(7)
    low, high = suspension.cycle.box.T
    rows = rng.uniform(low, high, (count, 3))
    limit = suspension.cycle.articulation_mm
    return rows if limit is None else rows[np.abs(rows[:, 0] - rows[:, 1]) <= limit]


def test_every_kind_has_a_sample():
    assert set(SAMPLES) == set(KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_ride_height_returns_what_was_measured(kind):
    suspension = corner(kind)
    start = np.zeros((1, 3))
    for frame in suspension.frames:
        pose = suspension.pose(start, frame)
        assert np.abs(pose.origin_mm).max() < 2e-11, frame
        assert np.abs(pose.turn[0] - np.eye(3)).max() < 1e-12, frame
    hub = suspension.pose(start)
    assert np.abs(hub.origin_mm).max() < 2e-11
    static = SAMPLES[kind][0]
    assert camber_deg(hub.axis)[0] == pytest.approx(static.get("camber", 0.0), abs=1e-10)
    assert toe_deg(hub.axis)[0] == pytest.approx(static.get("toe", 0.0), abs=1e-10)


@pytest.mark.parametrize("kind", KINDS)
def test_straight_ahead_the_hub_is_as_high_as_asked(kind):
    suspension = corner(kind)
    rows = positions_of(suspension) * np.array([1.0, 1.0, 0.0])
    if kind in ("twin-beam", "solid-steer-axle"):
        # bump steer of the tie rod turns the wheel about its kingpin, and the hub with it: the beam is as high as asked
        assert suspension.pose(rows, "axle").origin_mm[:, 2] == pytest.approx(rows[:, 0], abs=1e-9)
    else:
        assert suspension.pose(rows).origin_mm[:, 2] == pytest.approx(rows[:, 0], abs=1e-9)


@pytest.mark.parametrize("kind", KINDS)
def test_every_pose_is_rigid(kind):
    suspension = corner(kind)
    rows = positions_of(suspension)
    for frame in ("hub", *suspension.frames):
        turn = suspension.pose(rows, frame).turn
        assert np.abs(np.swapaxes(turn, 1, 2) @ turn - np.eye(3)).max() < 1e-12, frame
        assert np.linalg.det(turn) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("kind", KINDS)
def test_the_path_is_smooth(kind):
    """Third differences along a line through the cycle fall as the cube of the step: no jump, no kink."""
    suspension = corner(kind)
    low, high = suspension.cycle.box.T
    if suspension.cycle.articulation_mm is not None:
        low, high = low * [1.0, 0.3, 1.0], high * [1.0, 0.3, 1.0]

    def third(count):
        line = low + np.linspace(0.0, 1.0, count)[:, None] * (high - low)
        hub = suspension.pose(line)
        return np.abs(np.diff(np.concatenate([hub.origin_mm, 300.0 * hub.axis], axis=1), n=3, axis=0)).max()

    assert third(161) < 0.25 * third(81) + 1e-8


@pytest.mark.parametrize("kind", KINDS)
def test_one_position_or_many_make_no_difference(kind):
    suspension = corner(kind)
    rows = positions_of(suspension, 12)
    together = suspension.pose(rows).origin_mm
    apart = np.concatenate([suspension.pose(row[None]).origin_mm for row in rows])
    assert np.abs(together - apart).max() < 1e-9


@pytest.mark.parametrize("kind", [k for k in KINDS if k not in ("table",)])
def test_a_smaller_cycle_changes_no_pose(kind):
    """The polynomials start the answer and the rows decide it: another box, another start, the same pose."""
    suspension = corner(kind)
    steer = tuple(0.8 * lock for lock in suspension.cycle.steer_deg)
    # of one by its travel the cycle holds what was not measured as well: what was is given
    own = "measured" if hasattr(suspension, "measured") else "cycle"
    small = replace(suspension, **{own: replace(getattr(suspension, own), bump_mm=(-31.0, 37.0), steer_deg=steer)})
    rows = positions_of(small, 30)
    assert np.abs(small.pose(rows).origin_mm - suspension.pose(rows).origin_mm).max() < 1e-7
    assert np.abs(small.pose(rows).axis - suspension.pose(rows).axis).max() < 1e-9


UNLINKED = (
    "straight", "table", "trailing-arm", "semi-trailing-arm", "swing-axle", "twin-beam", "swing-arm", "axle-by-travel",
    "wheel-by-travel", "standing",
)  # fmt: skip
LINKED = [kind for kind in KINDS if kind not in UNLINKED]


def test_all_but_these_stand_on_links():
    assert {kind for kind in KINDS if not hasattr(corner(kind), "travel")} == set(UNLINKED)


@pytest.mark.parametrize("kind", LINKED)
def test_links_keep_their_lengths_to_a_nanometre(kind):
    suspension = corner(kind)
    travel, rows = suspension.travel, positions_of(suspension) * np.array([1.0, 1.0, 0.0])
    state = travel.states(rows)
    assert left_over(travel, rows).max() < 1e-6
    for row in travel.linkage.exact:
        if isinstance(row, Rod):
            length = np.linalg.norm(row.b.at(state) - row.a.at(state), axis=1)
            assert np.abs(length - row.length_mm).max() < 1e-6, row.name


@pytest.mark.parametrize("kind", LINKED)
def test_walking_there_ends_where_jumping_there_ends(kind):
    """Continuation outward from ride height and the polynomial start find one assembly."""
    suspension = corner(kind)
    rows = positions_of(suspension, 20)
    rows = rows if hasattr(suspension, "linkage") and not KINDS[kind].live_axle else rows * np.array([1.0, 1.0, 0.0])
    walked, reached = suspension.travel.walk(rows)
    assert reached.all()
    assert np.abs(walked.origin - suspension.travel.states(rows).origin).max() < 1e-7


@pytest.mark.parametrize("kind", LINKED)
def test_there_and_back_returns(kind):
    suspension = corner(kind)
    travel = suspension.travel
    far = np.array([[55.0, -40.0 if KINDS[kind].live_axle else 0.0, 0.0]])
    state, _ = travel.walk(far)
    for part in np.linspace(1.0, 0.0, 12)[1:]:
        state.asked = part * travel.asked(far)
        state, good = assembled(travel.linkage, state)
        assert good.all()
    assert np.abs(state.origin).max() < 1e-8
    assert np.abs(state.turn - np.eye(3)).max() < 1e-10


@pytest.mark.parametrize("kind", LINKED)
def test_the_slopes_are_those_of_central_differences(kind):
    """Relative 1e-7: a central difference of 0.01 mm has lost half of its digits by then."""
    suspension = corner(kind)
    travel = suspension.travel
    state = travel.states(positions_of(suspension, 5) * np.array([1.0, 1.0, 1.0 if travel.steers else 0.0]))
    rows = travel.linkage.rows
    analytic = slopes_of(rows, state)
    step = 0.01
    for column in range(travel.linkage.unknowns):
        move = np.zeros((len(state.drive), travel.linkage.unknowns))
        move[:, column] = step
        measured = (values_of(rows, state.moved(move)) - values_of(rows, state.moved(-move))) / (2.0 * step)
        assert np.abs(analytic[:, :, column] - measured).max() < 1e-7 * max(1.0, np.abs(analytic).max())
    if travel.steers:
        state.drive = state.drive + step
        after = values_of(rows, state)
        state.drive = state.drive - 2.0 * step
        measured = (after - values_of(rows, state)) / (2.0 * step)
        state.drive = state.drive + step
        assert np.abs(analytic[:, :, -1] - measured).max() < 1e-7


@pytest.mark.parametrize("kind", ["four-link", "leaf-spring", "leaf-arc"])
def test_a_symmetric_axle_mirrors(kind):
    """Swap the two wheels' travels and each hub does what the other did."""
    suspension = corner(kind)
    rows = positions_of(suspension, 20) * np.array([1.0, 1.0, 0.0])
    there = np.array([0.0, -1500.0, 0.0])
    here = suspension.pose(rows, "axle").origin_mm
    other = suspension.pose(rows[:, [1, 0, 2]], "axle").carry(there)
    assert here[:, [0, 2]] == pytest.approx(other[:, [0, 2]], abs=1e-8)
    assert here[:, 1] == pytest.approx(-(other[:, 1] + 1500.0), abs=1e-8)


def test_a_wishbone_moved_as_a_whole_along_and_across_moves_alike():
    """Shift every hardpoint and the hub's own reference with it: the change of pose is the same."""
    values = {name: np.array(p) for name, p in WISHBONE.items()}
    one = build("double-wishbone", values, Cycle(bump_mm=(-50, 50)))
    # the same linkage seen from a point 100 mm ahead of the hub, which keeps the hub's height as its drive
    from clearance.suspension.linkage import Height, Linkage, Riding

    offset = np.array([100.0, 30.0, 0.0])
    moved = {name: p - offset for name, p in values.items()}
    other = build("double-wishbone", moved, Cycle(bump_mm=(-50, 50)))
    hub_row = Height(name="hub", letters=(), point=Riding(-offset), column=0)
    rows = tuple(hub_row if isinstance(row, Height) else row for row in other.linkage.rows)
    other = replace(other, linkage=Linkage(bodies=1, rows=rows))
    positions = np.array([[-50.0, 0.0, 0.0], [40.0, 0.0, 0.0]])
    a, b = one.pose(positions, "knuckle"), other.pose(positions, "knuckle")
    assert a.turn == pytest.approx(b.turn, abs=1e-10)
    assert a.origin_mm == pytest.approx(b.carry(-offset) + offset, abs=1e-8)


def test_random_wishbones_agree_with_sphere_meets_sphere():
    """Lower ball on its circle, upper ball where its circle is the right distance away, tie rod by three spheres."""
    rng = np.random.default_rng(7)
    for _ in range(25):
        values = {name: np.array(p) + rng.uniform(-15.0, 15.0, 3) for name, p in WISHBONE.items()}
        bump = float(rng.uniform(-45.0, 45.0))
        suspension = build("double-wishbone", values, Cycle(bump_mm=(-45, 45)))
        knuckle = suspension.pose([[bump, 0.0, 0.0]], "knuckle")
        lower, upper, outer = (knuckle.carry(values[name])[0] for name in ("lower_ball", "upper_ball", "tie_outer"))
        by_spheres = three_spheres(
            (values["upper_front"], values["upper_rear"], lower),
            [
                np.linalg.norm(values["upper_ball"] - values[name])
                for name in ("upper_front", "upper_rear", "lower_ball")
            ],
            upper,
        )
        assert upper == pytest.approx(by_spheres, abs=1e-7)
        by_spheres = three_spheres(
            (values["tie_inner"], lower, upper),
            [np.linalg.norm(values["tie_outer"] - values[name]) for name in ("tie_inner", "lower_ball", "upper_ball")],
            outer,
        )
        assert outer == pytest.approx(by_spheres, abs=1e-7)


def three_spheres(centres, radii, near):
    """The common point of three spheres that is nearest to `near`; closed form."""
    a, b, c = centres
    ex = (b - a) / np.linalg.norm(b - a)
    i = ex @ (c - a)
    ey = c - a - i * ex
    ey /= np.linalg.norm(ey)
    ez = np.cross(ex, ey)
    d, j = np.linalg.norm(b - a), ey @ (c - a)
    x = (radii[0] ** 2 - radii[1] ** 2 + d**2) / (2.0 * d)
    y = (radii[0] ** 2 - radii[2] ** 2 + i**2 + j**2 - 2.0 * i * x) / (2.0 * j)
    z = np.sqrt(radii[0] ** 2 - x**2 - y**2)
    return min((a + x * ex + y * ey + s * z * ez for s in (1.0, -1.0)), key=lambda p: np.linalg.norm(p - near))


def test_links_follow_their_joints():
    """A lower arm carries its ball joint to where the knuckle has it; a rod's end stays on its end."""
    suspension = corner("double-wishbone")
    rows = positions_of(suspension, 20)
    ball = np.array(WISHBONE["lower_ball"])
    assert suspension.pose(rows, "lower arm").carry(ball) == pytest.approx(
        suspension.pose(rows, "knuckle").carry(ball), abs=1e-8
    )
    outer = np.array(WISHBONE["tie_outer"])
    assert suspension.pose(rows, "tie rod").carry(outer) == pytest.approx(
        suspension.pose(rows, "knuckle").carry(outer), abs=1e-8
    )
    pivot = np.array(WISHBONE["lower_front"])
    assert suspension.pose(rows, "lower arm").carry(pivot) == pytest.approx(np.broadcast_to(pivot, (20, 3)), abs=1e-8)


def test_rotation_vectors_come_back():
    rng = np.random.default_rng(7)
    vector = rng.uniform(-1.5, 1.5, (50, 3))
    assert vector_of(turn_by(vector)) == pytest.approx(vector, abs=1e-12)
    axis = np.array([0.6, 0.0, 0.8])
    assert turn_by(axis * np.radians(33.0)) == pytest.approx(rotation(axis, 33.0), abs=1e-14)
