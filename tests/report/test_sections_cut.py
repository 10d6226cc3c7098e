"""What a section cuts: by hand, and the same whichever way the last digit of a corner in its plane fell."""

from __future__ import annotations

import numpy as np
import pytest

from clearance.report.sections import _crossings

AWAY = np.array([1.0, 0.0, 0.0])
SHEET = np.array(
    [
        [[100.0, 0.0, 0.0], [100.0, 40.0, -10.0], [120.0, 40.0, 10.0]],
        [[100.0, 0.0, 0.0], [120.0, 40.0, 10.0], [110.0, -30.0, 0.0]],
        [[110.0, -30.0, 0.0], [100.0, 0.0, 0.0], [90.0, -20.0, -15.0]],
    ]
)
"""Two corners lie in the plane z = 0, a triangle on either side of the edge between them."""


def cut(off: np.ndarray) -> list:
    sides = SHEET[:, :, 2] + np.where(SHEET[:, :, 2] == 0.0, off, 0.0)
    return _crossings(SHEET, sides, AWAY)


def test_a_corner_in_the_plane_and_an_edge_in_it_by_hand():
    across, edge = cut(np.zeros((3, 3)))
    assert {tuple(np.round(end, 9)) for end in across} == {(0.0, 100.0), (40.0, 110.0)}
    assert {tuple(np.round(end, 9)) for end in edge} == {(0.0, 100.0), (-30.0, 110.0)}


@pytest.mark.parametrize("seed", range(20))
def test_the_last_digit_of_a_corner_in_the_plane_cuts_nothing_else(seed):
    noise = np.random.default_rng(seed).uniform(-1e-12, 1e-12, (3, 3))
    assert cut(noise) == cut(np.zeros((3, 3)))
