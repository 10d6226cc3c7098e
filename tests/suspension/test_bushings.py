"""Axles with more links than they can keep: where they settle, and how far bushings give."""

from __future__ import annotations

import numpy as np
import pytest

from clearance.suspension.kinds import build
from clearance.suspension.linkage import values_of
from clearance.suspension.position import Cycle

CYCLE = Cycle(bump_mm=(-60, 60), other_bump_mm=(-60, 60))
ARMS = {
    "track": 1500.0,
    "arm_body": [1300.0, -650.0, 50.0],
    "bar_axle": [-150.0, -1200.0, 0.0],
    "bar_body": [-150.0, -300.0, 0.0],
}


def test_truck_arm_pivots_give_by_their_spread_times_the_roll():
    """Pivots 100 mm either side of the middle: 4.0 and 8.0 mm at 30 and 60 mm of opposed travel (100 tan(roll))."""
    suspension = build("truck-arm", ARMS, CYCLE)
    give = dict(suspension.give_mm([[30.0, -30.0, 0.0], [60.0, -60.0, 0.0]]))
    assert list(give) == ["truck arm", "other truck arm"]
    for size in give.values():
        assert size == pytest.approx([4.0, 8.0], abs=0.05)


def test_both_wheels_alike_hardly_squash_anything():
    suspension = build("truck-arm", ARMS, CYCLE)
    for _, size in suspension.give_mm([[60.0, 60.0, 0.0]]):
        assert size.max() < 0.5


def test_parallel_links_and_a_bar_roll_without_giving():
    """Equal level links trace one circle each: rolled, the axle still fits all five rods but for the versine."""
    values = {
        "track": 1500.0,
        "lower_axle": [0.0, -200.0, -100.0],
        "lower_body": [500.0, -200.0, -100.0],
        "upper_axle": [0.0, -300.0, 150.0],
        "upper_body": [500.0, -300.0, 150.0],
        "bar_axle": [-100.0, -300.0, 0.0],
        "bar_body": [-100.0, -1200.0, 0.0],
    }
    suspension = build("four-link", values, CYCLE)
    give = suspension.give_mm([[60.0, -60.0, 0.0]])
    assert len(give) == 4
    assert max(size.max() for _, size in give) < 0.01


def test_the_axle_settles_where_no_small_move_costs_less():
    """Every move that both hubs' heights and the bar allow costs energy, in both directions."""
    suspension = build("truck-arm", ARMS, CYCLE)
    travel = suspension.travel
    state = travel.states(np.array([[60.0, -45.0, 0.0]]))
    least = float(np.sum(values_of(travel.linkage.soft, state) ** 2))
    rng = np.random.default_rng(7)
    from clearance.suspension.linkage import slopes_of

    slopes = slopes_of(travel.linkage.exact, state)[0, :, :-1]
    free = np.linalg.svd(slopes)[2][slopes.shape[0] :]
    for _ in range(20):
        move = rng.normal(size=len(free)) @ free
        for sign in (1.0, -1.0):
            moved = state.moved(sign * 0.02 * move[None])
            assert float(np.sum(values_of(travel.linkage.soft, moved) ** 2)) > least


def test_a_three_link_axle_needs_no_give():
    values = {
        "track": 1500.0,
        "lower_axle": [0.0, -200.0, -100.0],
        "lower_body": [500.0, -200.0, -100.0],
        "upper_axle": [0.0, -750.0, 150.0],
        "upper_body": [500.0, -750.0, 150.0],
        "bar_axle": [0.0, -300.0, 0.0],
        "bar_body": [0.0, -1200.0, 0.0],
    }
    assert build("three-link", values, CYCLE).give_mm([[60.0, -60.0, 0.0]]) == []


def test_how_far_bushings_give_is_said_with_the_answer():
    suspension = build("truck-arm", ARMS, CYCLE)
    assert any("bushings, taken as equally stiff, give up to 8.0 mm" in note for note in suspension.notes)


def test_articulation_bounds_what_bushings_are_asked_for():
    """With the two wheels never more than 60 mm apart the pivots give half of what 120 mm asks: 100 tan(roll)."""
    limited = Cycle(bump_mm=(-60, 60), other_bump_mm=(-60, 60), articulation_mm=60.0)
    most = dict(build("truck-arm", ARMS, limited).most_give_mm())
    assert most["truck arm"] == pytest.approx(4.0, abs=0.3)
