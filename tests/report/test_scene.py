"""What the 3D view is drawn from: parts of a large scan left out only for the eye, tubes round, stops where wanted."""

from __future__ import annotations

import numpy as np
import pytest

from clearance.report.scene import thinned
from clearance.report.tubes import is_line, tube


def test_a_thinned_scan_keeps_points_where_they_were_and_covers_the_same_ground():
    rng = np.random.default_rng(7)
    side = np.linspace(0.0, 600.0, 81)
    x, y = np.meshgrid(side, side)
    grid = np.stack([x, y, 3.0 * rng.standard_normal(x.shape)], axis=-1)
    a, b, c, d = grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]
    triangles = np.concatenate([np.stack([a, b, c], axis=2), np.stack([a, c, d], axis=2)]).reshape(-1, 3, 3)
    fewer, cell = thinned(triangles, 3000)
    assert 500 < len(fewer) <= 3000
    known = {tuple(p) for p in triangles.reshape(-1, 3)}
    assert {tuple(p) for p in fewer.reshape(-1, 3)} <= known
    # nothing of the sheet's edge is further in than a cube's side
    assert np.ptp(fewer[..., 0]) >= 600.0 - 2 * cell


def test_a_tube_stands_its_radius_off_its_line_everywhere():
    start, end = np.array([[0.0, 0.0, 0.0]]), np.array([[30.0, 40.0, 120.0]])
    round_it = tube(start, end, 11.0)
    along = (end - start)[0] / np.linalg.norm(end - start)
    off = round_it.reshape(-1, 3) - np.outer(round_it.reshape(-1, 3) @ along, along)
    assert np.linalg.norm(off, axis=1) == pytest.approx(np.full(len(off), 11.0), abs=1e-9)
    assert is_line(np.stack([start, end, end], axis=1))
    assert not is_line(round_it)
