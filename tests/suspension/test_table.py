"""Measured rows: the fit against a known linkage, its carried scatter, and what it refuses."""

from __future__ import annotations

import numpy as np
import pytest

from clearance.errors import SuspensionError
from clearance.pose import camber_deg, toe_deg
from clearance.suspension.kinds import build
from clearance.suspension.position import Cycle
from clearance.suspension.table import ANGLE_ARM_MM


def measured(hardpoints, bumps):
    """What a tape without error would read off the open double wishbone."""
    points = hardpoints("heavy-off-road-front")
    suspension = build(points.kind, points.values, Cycle(bump_mm=(-100, 100)))
    bumps = np.asarray(bumps, dtype=float)
    hub = suspension.pose(np.stack([bumps, 0 * bumps, 0 * bumps], axis=1))
    return np.column_stack([bumps, hub.origin_mm[:, 1], hub.origin_mm[:, 0], camber_deg(hub.axis), toe_deg(hub.axis)])


def test_a_quadratic_is_given_back_exactly():
    bump = np.array([-75.0, -50.0, -25.0, 0.0, 25.0, 50.0])
    rows = np.column_stack(
        [bump, 412.0 + 0.01 * bump - 4e-4 * bump**2, 7.0 + 0.02 * bump, -0.5 - 0.02 * bump, 0.1 + 1e-3 * bump]
    )
    table = build("table", {"rows": rows}, Cycle(bump_mm=(-75, 50)))
    hub = table.pose([[-60.0, 0.0, 0.0], [0.0, 0.0, 0.0], [33.0, 0.0, 0.0]])
    bumps = np.array([-60.0, 0.0, 33.0])
    assert hub.origin_mm[:, 1] == pytest.approx(0.01 * bumps - 4e-4 * bumps**2, abs=1e-9)
    assert hub.origin_mm[:, 0] == pytest.approx(0.02 * bumps, abs=1e-9)
    assert camber_deg(hub.axis) == pytest.approx(-0.5 - 0.02 * bumps, abs=1e-9)
    assert table.uncertainty_mm < 1e-9


def test_a_known_linkage_is_followed_within_the_scatter_that_is_stated(hardpoints):
    """Nine exact rows of the double wishbone, cubic: the truth between rows is no further off than rows are."""
    table = build("table", {"rows": measured(hardpoints, np.arange(-100, 101, 25))}, Cycle(bump_mm=(-100, 100)))
    truth = measured(hardpoints, np.arange(-98, 99, 4))
    hub = table.pose(np.stack([truth[:, 0], 0 * truth[:, 0], 0 * truth[:, 0]], axis=1))
    off = np.hypot(hub.origin_mm[:, 1] - truth[:, 1], hub.origin_mm[:, 0] - truth[:, 2])
    assert 0.0 < table.uncertainty_mm < 3.0
    assert off.max() < table.uncertainty_mm


def test_tape_noise_is_carried_as_uncertainty(hardpoints):
    """1 mm of reading noise shows as scatter of that size, on forty tables."""
    rng = np.random.default_rng(7)
    rows = measured(hardpoints, np.arange(-75, 76, 25))
    scatter = []
    for _ in range(40):
        noisy = rows.copy()
        noisy[:, 1] += rng.normal(0.0, 1.0, len(rows))
        scatter.append(build("table", {"rows": noisy}, Cycle(bump_mm=(-75, 75))).uncertainty_mm)
    assert 0.7 < np.mean(scatter) < 4.0
    assert ANGLE_ARM_MM > 300.0


def steer_table():
    straight = [[b, 0.0, 0.0, -0.5 - 0.02 * b, 0.0] for b in (-75.0, -50.0, -25.0, 0.0, 25.0, 50.0)]
    steer = [
        [b, s, -0.01 * s**2 + 1e-4 * b * s, 1.5 * s, -0.5 - 0.02 * b + 0.05 * s]
        for b in (-75.0, 0.0, 50.0)
        for s in (-28.0, 0.0, 33.0)
    ]
    return {"rows": np.array(straight), "steer_rows": np.array(steer)}


def test_nine_steer_rows_are_given_back():
    table = build("table", steer_table(), Cycle(bump_mm=(-75, 50)), {"left": 33.0, "right": 28.0})
    hub = table.pose([[-75.0, 0.0, 33.0], [50.0, 0.0, -28.0], [20.0, 0.0, 10.0]])
    assert toe_deg(hub.axis) == pytest.approx([-33.0, 28.0, -10.0], abs=1e-9)
    b, s = np.array([-75.0, 50.0, 20.0]), np.array([33.0, -28.0, 10.0])
    assert hub.origin_mm[:, 1] == pytest.approx(-0.01 * s**2 + 1e-4 * b * s, abs=1e-9)
    assert hub.origin_mm[:, 0] == pytest.approx(1.5 * s, abs=1e-9)
    assert camber_deg(hub.axis) == pytest.approx(-0.5 - 0.02 * b + 0.05 * s, abs=1e-9)


def test_ride_height_is_the_identity():
    table = build("table", steer_table(), Cycle(bump_mm=(-75, 50)), {"left": 33.0, "right": 28.0})
    for frame in ("axle", "knuckle"):
        pose = table.pose(np.zeros((1, 3)), frame)
        assert np.abs(pose.turn[0] - np.eye(3)).max() < 1e-12
        assert np.abs(pose.origin_mm).max() < 1e-12
    hub = table.pose(np.zeros((1, 3)))
    assert camber_deg(hub.axis)[0] == pytest.approx(-0.5, abs=1e-12)


ROWS = np.column_stack([[-50.0, -25.0, 0.0, 25.0, 50.0], np.zeros((5, 4))])


@pytest.mark.parametrize(
    ("rows", "cycle", "message"),
    [
        (ROWS, (-60.0, 50.0), r"bump -60 mm is outside the measured table, which runs from -50 mm to 50 mm"),
        (ROWS[:4], (-50.0, 25.0), "has 4 rows; a fit needs at least 5"),
        (ROWS + np.array([1.0, 0, 0, 0, 0]), (-40.0, 40.0), "no row of the measured table is at ride height"),
        (np.vstack([ROWS, ROWS[:1]]), (-40.0, 40.0), "two rows of the measured table are at bump -50 mm"),
        (ROWS[:, :4], (-40.0, 40.0), "five numbers"),
    ],
)
def test_a_table_that_cannot_be_fitted_is_refused(rows, cycle, message):
    with pytest.raises(SuspensionError, match=message):
        build("table", {"rows": rows}, Cycle(bump_mm=cycle))


def test_a_table_is_never_asked_beyond_its_rows():
    table = build("table", {"rows": ROWS}, Cycle(bump_mm=(-50, 50)))
    with pytest.raises(SuspensionError, match="never extrapolated"):
        table.pose([[51.0, 0.0, 0.0]])


def test_steer_beyond_the_measured_locks_is_refused():
    with pytest.raises(SuspensionError, match="steer 35 deg is outside the measured table"):
        build("table", steer_table(), Cycle(bump_mm=(-75, 50)), {"left": 35.0, "right": 28.0})
