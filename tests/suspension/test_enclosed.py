"""Motion that is bounded for every position: polynomials that keep a suspension's rods, held against its poses."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest

from clearance.geom.model import Grid, Unproven
from clearance.suspension.enclosed import At, enclosed
from clearance.suspension.kinds import KINDS, build
from clearance.suspension.position import HUB, Cycle
from clearance.suspension.straight import Straight
from tests.suspension.test_laws import BAR, KINGPIN, LEAF, LOCKS, LOWER, SAMPLES, STRAIGHT_UPPER, TABLE, TRACK, WISHBONE

STEER_ROWS = np.array(
    [
        [b, s, -4e-3 * s * s, 0.6 * s, 0.05 * s + 1e-3 * b * s / 50]
        for b in (-75.0, 0.0, 75.0)
        for s in (-30.0, 0.0, 30.0)
    ]
)
MORE = {
    "table with steer rows": ("table", {"rows": TABLE, "steer_rows": STEER_ROWS}, {"left": 30.0, "right": 30.0}),
    "axle with a bar too many": ("four-link", TRACK | LOWER | STRAIGHT_UPPER | BAR, None),
    "tie rod on an arm": (
        "double-wishbone",
        WISHBONE | {"arm_pivot": [-128.0, -352.0, 100.0], "arm_axis": [10.0, -352.0, 100.0]},
        LOCKS,
    ),
    "drag link to the other side": (
        "solid-steer-axle",
        TRACK
        | LEAF
        | KINGPIN
        | {"drag_inner": [120.0, -900.0, -60.0], "drag_outer": [140.0, -1350.0, -60.0]}
        | {"track_rod_here": [-150.0, -110.0, -60.0], "track_rod_there": [-150.0, -1390.0, -60.0]},
        LOCKS,
    ),
}
CORNERS = {kind: (kind, *SAMPLES[kind]) for kind in KINDS} | MORE


@cache
def corner(name):
    kind, values, steering = CORNERS[name]
    live = {"other_bump_mm": (-55.0, 60.0), "articulation_mm": 110.0} if KINDS[kind].live_axle else {}
    return build(kind, values, Cycle(bump_mm=(-55.0, 60.0), **live), steering)


def over(box, degrees=(9, 9, 14)):
    """All positions of a box (3, 2), and which of its numbers vary."""
    moving = [i for i in range(3) if box[i][1] > box[i][0]]
    grid = Grid(
        box=tuple((float(box[i][0]), float(box[i][1])) for i in moving), degrees=tuple(degrees[i] for i in moving)
    )
    numbers = [grid.number(moving.index(i)) if i in moving else grid.constant(float(box[i][0])) for i in range(3)]
    return At(grid=grid, bump=numbers[0], other=numbers[1], steer=numbers[2]), moving


@pytest.mark.parametrize("name", CORNERS)
def test_every_pose_lies_within_the_bound_of_its_polynomials(name):
    """Positions that nothing was fitted at; the polynomials' own evaluation rounds at 1e-12 of 1000 mm."""
    suspension = corner(name)
    at, moving = over(suspension.cycle.box)
    low, high = suspension.cycle.box.T
    rows = np.random.default_rng(6).uniform(low, high, (200, 3))
    for frame in (HUB, *suspension.frames):
        pose, true = enclosed(suspension, at, frame), suspension.pose(rows, frame)
        assert np.all(np.abs(pose.origin.at(rows[:, moving]) - true.origin_mm) <= pose.origin.rest + 2e-9)
        assert np.all(np.abs(pose.turn.at(rows[:, moving]) - true.turn) <= pose.turn.rest + 5e-12)


@pytest.mark.parametrize("name", [name for name in CORNERS if name != "drag link to the other side"])
def test_the_bound_is_far_below_a_gaps_tolerance(name):
    suspension = corner(name)
    at, _ = over(suspension.cycle.box)
    pose = enclosed(suspension, at, HUB)
    assert pose.origin.rest.max() + 400.0 * pose.turn.rest[:, 1].max() < 2e-3  # of 0.05


def test_a_motion_that_is_not_the_linkages_own_is_not_believed():
    """Rows that lengthen one rod by 0.1 mm: the poses still solved for the old one lie outside the new bound."""
    suspension = deepcopy(corner("double-wishbone"))
    rows = tuple(
        replace(row, length_mm=row.length_mm + 0.1) if row.name == "upper arm, front leg" else row
        for row in suspension.travel.linkage.rows
    )
    longer = replace(suspension.travel.linkage, rows=rows)
    object.__setattr__(suspension.travel, "linkage", longer)
    at, moving = over(suspension.cycle.box)
    positions = np.array([[20.0, 0.0, 10.0]])
    try:
        pose = enclosed(suspension, at, HUB)
    except Unproven:
        return
    true = corner("double-wishbone").pose(positions)
    assert np.any(np.abs(pose.origin.at(positions[:, moving]) - true.origin_mm) > pose.origin.rest)


def test_a_kind_that_states_no_equations_is_only_checked():
    @dataclass(frozen=True, slots=True, kw_only=True, eq=False)
    class Bent(Straight):
        """Its own motion, under the name of another."""

    at, _ = over(((-10.0, 10.0), (0.0, 0.0), (0.0, 0.0)))
    with pytest.raises(Unproven):
        enclosed(Bent(cycle=Cycle(bump_mm=(-10.0, 10.0))), at, HUB)


def test_a_travel_up_to_where_rods_lock_is_bounded_or_refused_never_wrong():
    """Close to a lock the slopes grow without bound: the contraction must fail there before it lies."""
    values, _ = SAMPLES["trailing-arm"]
    reach = float(np.linalg.norm([450.0, 20.0]))
    top = reach + 20.0  # the arm stands straight up
    for short in (30.0, 3.0, 0.3, 0.03):
        suspension = build("trailing-arm", values, Cycle(bump_mm=(0.0, top - short)))
        at, moving = over(suspension.cycle.box)
        rows = np.array([[share * (top - short), 0.0, 0.0] for share in np.linspace(0, 1, 41)])
        try:
            pose = enclosed(suspension, at, HUB)
        except Unproven:
            continue
        off = np.abs(pose.origin.at(rows[:, moving]) - suspension.pose(rows).origin_mm)
        assert np.all(off <= pose.origin.rest + 1e-9)
