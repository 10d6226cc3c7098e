"""The setting at which a moving solid comes nearest to a point, against dense grids and scipy's optimisers.

A distance that is found belongs to a real setting, so it can never be less than the least; the tests ask that it is not
more either, by a thousandth of a tire's tolerances.
"""

from __future__ import annotations

import numpy as np
import pytest
from oracles import Scene, random_scene
from scipy.optimize import minimize

from clearance.geom.limit import Limit
from clearance.geom.nearest import Nearest
from clearance.geom.path import along_and_across, fit
from clearance.geom.revolve import closed

SETTLED_MM = 0.03
"""A step that promises less than 0.005 mm is not taken, and a few such steps may be left."""


def around(scene: Scene, rng: np.random.Generator, count: int) -> np.ndarray:
    """Points within about a hand's breadth of the solid somewhere in its cycle, outside it there."""
    box = scene.path.box
    centre, axis = scene.path.at(rng.uniform(box[:, 0], box[:, 1], (count, len(box))))
    square = np.cross(axis, rng.normal(size=(count, 3)))
    square /= np.linalg.norm(square, axis=1)[:, None]
    low, high, _, top = scene.solid.profile.bounds
    along = rng.uniform(low - 60.0, high + 60.0, count)
    away = rng.uniform(0.3 * top, top + 120.0, count)
    return centre + along[:, None] * axis + away[:, None] * square


def settled(nearest: Nearest, points: np.ndarray):
    return nearest.settle(points, nearest.among_stations(points))


def least_on_a_grid(nearest: Nearest, point: np.ndarray, per_number: int) -> tuple[float, np.ndarray]:
    """The least over a grid of all numbers, play among them, and where."""
    lines = [np.linspace(*ends, per_number if i < nearest.smooth else 7) for i, ends in enumerate(nearest.path.box)]
    grid = np.array(np.meshgrid(*lines, indexing="ij")).reshape(len(lines), -1).T
    for limit in nearest.limits:
        grid = grid[limit.allows(grid)]
    distance = nearest.distance(np.repeat(point[None], len(grid), axis=0), grid)
    best = int(np.argmin(distance))
    return float(distance[best]), grid[best]


def least_by_scipy(nearest: Nearest, point: np.ndarray, start: np.ndarray) -> float:
    """Nelder and Mead's simplex, which needs no slope, within the box; limits are kept by a wall."""
    box = nearest.path.box
    middle, half = box.mean(axis=1), np.maximum(np.diff(box, axis=1)[:, 0] / 2, 1e-9)

    def asked(share: np.ndarray) -> float:
        setting = (middle + half * np.clip(share, -1.0, 1.0))[None]
        if not all(limit.allows(setting)[0] for limit in nearest.limits):
            return 1e9
        return float(nearest.distance(point[None], setting)[0])

    share = (start - middle) / half
    for _ in range(2):
        found = minimize(
            asked, share, method="Nelder-Mead", bounds=[(-1.0, 1.0)] * len(box),
            options={"xatol": 1e-5, "fatol": 1e-5, "maxiter": 600},
        )  # fmt: skip
        share = found.x
    return float(found.fun)


@pytest.mark.parametrize("number", range(8))
@pytest.mark.parametrize("convex", [True, False])
def test_what_is_found_belongs_to_its_setting_and_no_grid_or_optimiser_gets_nearer(number: int, convex: bool) -> None:
    """Random tires on random motions, half of them with play."""
    scene = random_scene(number)
    solid = closed(scene.solid) if convex else scene.solid
    nearest = Nearest(scene.path, solid)
    rng = np.random.default_rng(100 + number)
    points = around(scene, rng, 12)
    found = settled(nearest, points)
    box = scene.path.box
    assert np.all((found.settings >= box[:, 0] - 1e-9) & (found.settings <= box[:, 1] + 1e-9))
    assert found.distance == pytest.approx(nearest.distance(points, found.settings), abs=1e-9)
    assert np.linalg.norm(found.normal, axis=1) == pytest.approx(1.0)
    for point, distance in zip(points, found.distance, strict=True):
        if distance < 1.0:
            continue  # deep inside, the least is a maximum of depth, which nothing asks for
        least, where = least_on_a_grid(nearest, point, 41)
        truth = min(least, least_by_scipy(nearest, point, where))
        assert distance <= truth + SETTLED_MM


@pytest.mark.parametrize("number", range(4))
def test_a_limit_is_kept_and_nothing_that_it_allows_comes_nearer(number: int) -> None:
    """Two bumps that may differ by 40 mm, the one tilting the axis by a tenth of what it does to the other."""
    scene = random_scene(number)
    rng = np.random.default_rng(200 + number)
    tilt = rng.normal() * 6e-4

    def truth(q: np.ndarray) -> np.ndarray:
        lean = tilt * (q[:, 0] - q[:, 1])
        zero = np.zeros(len(q))
        centre = np.column_stack([1e-4 * q[:, 0] ** 2, 0.05 * q[:, 1], 0.9 * q[:, 0] + 0.1 * q[:, 1]])
        return np.column_stack([centre, zero, np.cos(lean), np.sin(lean), zero, zero, zero])

    path = fit(truth, np.array([[-70.0, 80.0], [-70.0, 80.0]]), slide=scene.path.slide, reach_mm=450.0)  # fmt: skip
    limit = Limit(one=0, other=1, most=40.0)
    nearest = Nearest(path, closed(scene.solid), (limit,))
    free = Nearest(path, closed(scene.solid))
    points = around(Scene(solid=scene.solid, path=path, triangles=scene.triangles, share=None, truth=truth), rng, 15)
    found = settled(nearest, points)
    assert limit.allows(found.settings).all()
    assert limit.allows(nearest.stations).all()
    assert not limit.allows(free.stations).all()
    for point, distance in zip(points, found.distance, strict=True):
        if distance >= 1.0:
            least, where = least_on_a_grid(nearest, point, 61)
            assert distance <= min(least, least_by_scipy(nearest, point, where)) + SETTLED_MM
    # what the limit forbids would come nearer to some of them, or it was not asked anything
    assert np.any(settled(free, points).distance < found.distance - 0.5) or number != 0


def test_play_is_taken_up_towards_a_point_beside_a_still_wheel():
    """Sums by hand: pushed 4 mm ahead and 6 mm outboard, a wheel is that much nearer to what stands there."""
    scene = random_scene(3)

    def still(q: np.ndarray) -> np.ndarray:
        return np.array([[0.0, 0, 0, 0, 1, 0, 0, 0, 0]] * len(q))

    path = fit(still, np.zeros((0, 2)), slide=along_and_across(np.array([[-3.0, 4.0], [-6.0, 6.0]])), reach_mm=450.0)
    nearest = Nearest(path, closed(scene.solid))
    low, high, _, top = nearest.solid.profile.bounds
    middle = nearest.solid.profile.outline(0.01)
    y = middle[np.argmax(middle[:, 1]), 0]
    points = np.array([[top + 50.0, y, 0.0], [-top - 50.0, y, 0.0], [0.0, high + 30.0, 0.0], [0.0, low - 30.0, 0.0]])
    assert settled(nearest, points).distance == pytest.approx([46.0, 47.0, 24.0, 24.0], abs=0.01)


def test_the_direction_given_is_the_one_in_which_the_distance_grows():
    scene = random_scene(5)
    nearest = Nearest(scene.path, closed(scene.solid))
    points = around(scene, np.random.default_rng(300), 60)
    found = settled(nearest, points)
    off = found.distance > 1.0
    grown = nearest.distance(points + 0.01 * found.normal, found.settings)
    assert grown[off] == pytest.approx(found.distance[off] + 0.01, abs=1e-4)
