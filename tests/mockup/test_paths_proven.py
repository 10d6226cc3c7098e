"""What parts see of the wheel: bounded paths, and play as every frame takes it along."""

from __future__ import annotations

from functools import cache
from pathlib import Path as FilePath

import numpy as np
import pytest

from clearance.description.load import load
from clearance.mockup.paths import carried, seen_by
from clearance.suspension.position import AXLE, BODY, HUB, KNUCKLE

CORNERS = sorted((FilePath(__file__).parents[2] / "fixtures" / "corners").glob("*.toml"))


shipped = cache(load)


@pytest.mark.parametrize("file", CORNERS, ids=lambda file: file.stem)
def test_every_shipped_path_is_proven_closer_than_any_digit_shown(file):
    mockup = shipped(file)
    for part in mockup.parts:
        path = seen_by(mockup, part).path
        assert path.proven, part.name
        assert path.error_mm < 1e-4, part.name


def worlds(mockup, part, position, shift):
    """Hub centre, axis, and a part's places, all in the body's axes, straight from the suspension's poses.

    The wheel is pushed along the body's axes; what rides on axle or knuckle goes along with it, a link takes none.
    """
    suspension = mockup.suspension
    push = np.array([*shift, 0.0])
    row = position.row()[None]
    hub = suspension.pose(row, HUB)
    near = suspension.pose(row, part.rides_on)
    corners = part.triangles_mm.reshape(-1, 3)
    goes = {BODY: 0.0, AXLE: 1.0, KNUCKLE: 1.0}
    places = near.carry(corners) + goes.get(part.rides_on, 0.0) * push
    if part.far_end is not None:
        far = part.far_end
        end = suspension.pose(row, far.frame).carry(far.point_mm[None])[0] + goes.get(far.frame, 0.0) * push
        start = near.carry(far.point_mm[None])[0] + goes.get(part.rides_on, 0.0) * push
        places = places + far.share.reshape(-1, 1) * (end - start)
    return hub.origin_mm[0] + push, hub.axis[0], places


@pytest.mark.parametrize("file", CORNERS, ids=lambda file: file.stem)
def test_a_path_sees_what_stands_in_the_bodys_axes(file):
    """Distances along and off the spin axis are the same, whoever looks: at random positions, play at random too."""
    mockup = shipped(file)
    for part in mockup.parts:
        held_in_the_bodys_axes(mockup, part)


def held_in_the_bodys_axes(mockup, part):
    seen = seen_by(mockup, part)
    rng = np.random.default_rng(11)
    box = seen.path.box
    rows = rng.integers(0, part.triangles_mm.reshape(-1, 3).shape[0], 40)
    shares = np.zeros(part.triangles_mm.shape[:2]) if part.far_end is None else part.far_end.share
    for setting in rng.uniform(box[:, 0], box[:, 1], (12, len(box))):
        if any(not limit.allows(setting[None])[0] for limit in seen.limits):
            continue
        position, shift = seen.position(setting), seen.shift_mm(setting)
        centre, axis, places = worlds(mockup, part, position, shift)
        own, own_axis = seen.path.at(setting[None])
        points = part.triangles_mm.reshape(-1, 3)[rows]
        points = points + shares.reshape(-1, 1)[rows] * seen.path.far_at(setting[None])
        along, true_along = (points - own) @ own_axis[0], (places[rows] - centre) @ axis
        assert along == pytest.approx(true_along, abs=1e-4)
        apart, true_apart = np.linalg.norm(points - own, axis=1), np.linalg.norm(places[rows] - centre, axis=1)
        assert apart == pytest.approx(true_apart, abs=1e-4)
        told = [
            carried(
                mockup.suspension, part, part.triangles_mm.reshape(-1, 3)[r], shares.reshape(-1)[r], position, shift
            )
            for r in rows[:3]
        ]
        assert np.array(told) == pytest.approx(places[rows[:3]], abs=1e-9)
