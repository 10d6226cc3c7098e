"""A rolled lip: the flange turned about its edge. By hand: reach D level, turned until D - x is left, rises by
sqrt(D^2 - (D - x)^2), and its end goes round by D acos(1 - x / D)."""

import math
from dataclasses import replace

import numpy as np
import pytest

from clearance.well.lip import lip
from clearance.well.parts import Tag
from clearance.well.rolled import folded_mm, rolled, rolling_gains_mm, turned_mm

TAG = Tag(name="lip", required_mm=10.0)


def arch(depth=20.0, **more):
    return lip(TAG, outboard_mm=150.0, radius_mm=400.0, from_deg=-110.0, to_deg=110.0, return_depth_mm=depth, **more)


def test_the_edge_stays_and_the_end_goes_round_it():
    part, gain = arch(), 8.0
    after = rolled(part, gain)
    across, radius = after.triangles_mm[..., 1], np.hypot(after.triangles_mm[..., 0], after.triangles_mm[..., 2])
    on_edge = part.triangles_mm[..., 1] > 149.999
    assert np.allclose(after.triangles_mm[on_edge], part.triangles_mm[on_edge])
    assert np.allclose(across[~on_edge], 150.0 - 12.0)
    # all round an arch of more than half a turn, away from the tire, also where that is downward
    assert np.allclose(radius[~on_edge], 400.0 + math.sqrt(20.0**2 - 12.0**2), atol=0.01)


def test_an_outline_written_either_way_round_is_rolled_upward():
    for outline in ([(-300.0, 400.0), (300.0, 400.0)], [(300.0, 400.0), (-300.0, 400.0)]):
        part = lip(TAG, outboard_mm=150.0, outline_mm=outline, return_depth_mm=15.0)
        assert rolled(part, 9.0).triangles_mm[..., 2].max() == pytest.approx(400.0 + math.sqrt(15.0**2 - 6.0**2))


def test_no_point_goes_further_than_the_end_of_the_flange():
    part = arch()
    for one, other in ((0.0, 1.0), (1.0, 5.0), (5.0, 18.0)):
        way = np.linalg.norm(rolled(part, one).triangles_mm - rolled(part, other).triangles_mm, axis=-1).max()
        assert way <= turned_mm(part, other) - turned_mm(part, one) + 1e-9
    assert turned_mm(part, 8.0) == pytest.approx(20.0 * math.acos(0.6))


def test_rolling_gains_the_return_less_two_sheets_and_no_more_than_a_roll_does():
    """20 mm of return, two sheets of 1 mm stay: 18; of 0.8 mm: 18.4; 13 at most; a plain edge has nothing to roll."""
    assert rolling_gains_mm(arch(), 40.0) == pytest.approx(18.0)
    assert rolling_gains_mm(replace(arch(), thickness_mm=0.8), 40.0) == pytest.approx(18.4)
    assert rolling_gains_mm(arch(), 13.0) == 13.0
    assert rolling_gains_mm(arch(depth=6.0), 13.0) == pytest.approx(4.0)
    assert rolling_gains_mm(arch(depth=0.0), 13.0) == 0.0
    assert folded_mm(arch()) == 2.0
