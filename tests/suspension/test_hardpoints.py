"""Hardpoints of open vehicle models against curves that other libraries solved from them.

Points: Project Chrono's data (BSD-3), see fixtures/hardpoints/SOURCES.md. Curves: solved from those points and
confirmed by exudyn, MuJoCo and pinocchio to 4e-14 m where a test says so; printed to five decimals of a millimetre
and six of a degree, which is the tolerance here.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from clearance.pose import camber_deg, toe_deg
from clearance.suspension.kinds import build
from clearance.suspension.position import Cycle

PRINTED_MM = 0.51e-5
PRINTED_DEG = 0.51e-6


def rows(bumps, other=None, steer=0.0):
    bumps = np.asarray(bumps, dtype=float)
    return np.stack([bumps, bumps * 0.0 if other is None else np.asarray(other, float), 0.0 * bumps + steer], axis=1)


def curve(suspension, hub_mm, bumps):
    hub = suspension.pose(rows(bumps))
    return np.column_stack([hub.origin_mm[:, :2] + hub_mm[:2], camber_deg(hub.axis), toe_deg(hub.axis)])


def held_to_its_printed_digits(found, printed):
    printed = np.array(printed)
    assert np.abs(found[:, :2] - printed[:, :2]).max() <= PRINTED_MM
    assert np.abs(found[:, 2:] - printed[:, 2:]).max() <= PRINTED_DEG


OFF_ROAD = {
    -100: (-32.34027, 876.08064, 0.963247, 1.175484),
    -75: (-34.54352, 887.58893, 1.032283, 0.722433),
    -50: (-36.49047, 896.88501, 0.862290, 0.404298),
    -25: (-38.29001, 904.28777, 0.507973, 0.172424),
    0: (-40, 910, 0, 0),
    25: (-41.65479, 914.15864, -0.643738, -0.129564),
    50: (-43.27683, 916.85886, -1.412947, -0.227609),
    75: (-44.88229, 918.16682, -2.302280, -0.302629),
    100: (-46.48391, 918.12699, -3.309892, -0.361550),
}


def test_a_double_wishbone_follows_its_solved_curve(hardpoints):
    """numpy, exudyn, MuJoCo and pinocchio agreed to 4e-14 m."""
    points = hardpoints("heavy-off-road-front")
    suspension = build(points.kind, points.values, Cycle(bump_mm=(-100, 100)))
    held_to_its_printed_digits(curve(suspension, points.hub_mm, list(OFF_ROAD)), list(OFF_ROAD.values()))


def test_a_double_wishbone_agrees_to_twelve_digits(hardpoints):
    """Same source, in metres."""
    points = hardpoints("heavy-off-road-front")
    suspension = build(points.kind, points.values, Cycle(bump_mm=(-100, 100)))
    hub = suspension.pose(rows([-100, 100]))
    metres = (hub.origin_mm + points.hub_mm) / 1000.0
    printed = [(-0.032340267172, 0.876080635763, -0.126), (-0.046483911986, 0.918126992561, 0.074)]
    axes = [(0.020511723168, 0.999648267109, -0.016811046303), (-0.006299674293, 0.998311986975, 0.057736390308)]
    assert np.abs(metres - printed).max() < 1e-12
    assert np.abs(hub.axis - axes).max() < 1e-12


def test_a_double_wishbone_shows_its_static_angles(hardpoints):
    points = hardpoints("heavy-off-road-front")
    suspension = build(points.kind, points.values, Cycle())
    assert suspension.kingpin.caster_deg == pytest.approx(2.922473, abs=PRINTED_DEG)
    assert suspension.kingpin.inclination_deg == pytest.approx(12.035992, abs=PRINTED_DEG)


RACK = {
    20: (8.29003, -0.27442),
    60: (25.70931, -0.05680),
    80: (35.02878, 0.48223),
    -60: (-24.36225, 2.25459),
    -80: (-32.76103, 3.52301),
}


def hub_held(points, rack_mm, cycle):
    """The corner as its printed values have it, the hub itself held at its height, and its lock with the rack there."""
    still = replace(build(points.kind, points.values, cycle), standing=None)
    lock = still.travel.steer_at(rack_mm)
    return replace(still, cycle=replace(cycle, steer_deg=(min(lock, 0.0), max(lock, 0.0)))), lock


@pytest.mark.parametrize("rack_mm", RACK)
def test_rack_travel_becomes_the_road_wheels_angle(hardpoints, rack_mm):
    """A rack that moves outboard pushes this wheel's rear out: toe-in, which is a turn to the right."""
    toe, camber = RACK[rack_mm]
    suspension, lock = hub_held(hardpoints("heavy-off-road-front"), rack_mm, Cycle())
    hub = suspension.pose([[0.0, 0.0, lock]])
    assert toe_deg(hub.axis)[0] == pytest.approx(toe, abs=0.51e-5)
    assert camber_deg(hub.axis)[0] == pytest.approx(camber, abs=0.51e-5)


COMBINED = {
    (60, 80): (15.62094, 904.56048, 54, -3.422312, 24.909733),
    (60, -80): (27.79436, 870.92318, -106, 1.979165, 26.726412),
    (-60, 80): (-102.72997, 906.54957, 54, 0.870291, -23.872426),
    (-60, -80): (-95.14343, 874.28627, -106, 2.284138, -24.381658),
}


@pytest.mark.parametrize(("rack_mm", "bump_mm"), COMBINED)
def test_rack_and_bump_together_follow_the_linkage(hardpoints, rack_mm, bump_mm):
    """Confirmed by MuJoCo to 1e-15 m; there the hub itself is held at its height, so `standing` is taken off."""
    points = hardpoints("heavy-off-road-front")
    suspension, lock = hub_held(points, rack_mm, Cycle(bump_mm=(-80, 80)))
    hub = suspension.pose([[bump_mm, 0.0, lock]])
    found = np.concatenate([(hub.origin_mm + points.hub_mm)[0], camber_deg(hub.axis), toe_deg(hub.axis)])
    assert found == pytest.approx(COMBINED[rack_mm, bump_mm], abs=0.51e-5)


STRUT = {
    -80: (-32.60143, 1092.75014, 1.556737, 2.379145),
    -50: (-35.19846, 1096.93864, 0.888678, 1.537452),
    50: (-45.69535, 1098.13760, -0.544651, -1.782278),
    80: (-49.73211, 1094.54972, -0.656855, -3.021692),
}
FIVE_LINK = {
    -80: (8.84429, 952.79710, 1.634575, -0.200326),
    -50: (5.03055, 953.43100, 1.198202, -0.116600),
    50: (-3.33908, 941.08042, -1.850819, 0.126065),
    80: (-4.49518, 933.07221, -3.322806, 0.223230),
}
SEMI_TRAILING = {
    -80: (10.80664, 1110.45156, 2.112027, 1.544967),
    -50: (5.33999, 1106.90934, 1.342857, 0.926601),
    50: (-0.69258, 1091.85135, -1.418516, -0.799972),
    80: (1.13302, 1086.36453, -2.306491, -1.219547),
}


@pytest.mark.parametrize(
    ("name", "printed"),
    [("generic-strut", STRUT), ("generic-five-link", FIVE_LINK), ("generic-semi-trailing", SEMI_TRAILING)],
)
def test_other_independent_kinds_follow_their_solved_curves(hardpoints, name, printed):
    """The strut was confirmed by MuJoCo to all digits printed; the semi-trailing arm is a closed form."""
    points = hardpoints(name)
    suspension = build(points.kind, points.values, Cycle(bump_mm=(-80, 80)))
    held_to_its_printed_digits(curve(suspension, points.hub_mm, list(printed)), list(printed.values()))


def test_a_semi_trailing_arm_turns_as_far_as_printed(hardpoints):
    points = hardpoints("generic-semi-trailing")
    suspension = build(points.kind, points.values, Cycle(bump_mm=(-80, 80)))
    assert abs(suspension.turned_deg(np.array([-80.0]))[0]) == pytest.approx(8.730114, abs=PRINTED_DEG)


def axle_at(hardpoints, name, positions):
    points = hardpoints(name)
    suspension = build(points.kind, points.values, Cycle(bump_mm=(-80, 80), other_bump_mm=(-80, 80)))
    axle = suspension.pose(positions, "axle")
    left = axle.origin_mm + points.hub_mm
    right = axle.carry(np.array([0.0, -points.values["track"], 0.0])) + points.hub_mm
    roll = np.degrees(np.arcsin(axle.axis[:, 2]))
    yaw = np.degrees(np.arctan2(-axle.axis[:, 0], axle.axis[:, 1]))
    return left, right, roll, yaw, axle


def test_a_four_link_axle_follows_its_solved_curve(hardpoints):
    """(80, -80) and (50, 0) were confirmed by MuJoCo's rods to all digits."""
    positions = rows([50, 80, -80, 80, 50], [50, 80, -80, -80, 0])
    left, right, roll, yaw, axle = axle_at(hardpoints, "generic-four-link", positions)
    assert left[:3, 0] == pytest.approx([0.67211, 3.91778, 11.27629], abs=PRINTED_MM)
    assert left[3:, :2].ravel() == pytest.approx([3.46993, 907.85177, 1.76267, 910.22430], abs=PRINTED_MM)
    assert right[3:, :2].ravel() == pytest.approx([0.68447, -905.09949, -2.15433, -909.08454], abs=PRINTED_MM)
    assert roll[3:] == pytest.approx([5.043502, 1.574258], abs=PRINTED_DEG)
    assert yaw[3:] == pytest.approx([-0.088030, -0.123359], abs=PRINTED_DEG)
    pitch = np.degrees(np.arctan2(-axle.turn[:, 2, 0], axle.turn[:, 0, 0]))
    assert pitch[0] == pytest.approx(0.951607, abs=PRINTED_DEG)


def test_an_upper_arm_axle_follows_its_solved_curve(hardpoints):
    positions = rows([80, -80, 80, 50], [80, -80, -80, 0])
    left, right, roll, yaw, _ = axle_at(hardpoints, "truck-a-arm-rear", positions)
    assert left[:2, 0] == pytest.approx([-14.33480, 16.35032], abs=PRINTED_MM)
    assert left[2:, :2].ravel() == pytest.approx([-2.45973, 1051.99710, -5.06540, 1040.97850], abs=PRINTED_MM)
    assert right[2:, :2].ravel() == pytest.approx([4.12382, -1011.79956, -4.21574, -1028.41737], abs=PRINTED_MM)
    assert roll[2] == pytest.approx(4.433081, abs=PRINTED_DEG)
    assert yaw[2] == pytest.approx(0.182774, abs=PRINTED_DEG)
