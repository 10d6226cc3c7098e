"""Which triangles a moving solid comes nearer to than asked: all of them and no others, by the bracket of each."""

from __future__ import annotations

import numpy as np
import pytest
from oracles import Scene, random_scene

from clearance.geom.bracket import bracket, reached
from clearance.geom.limit import Limit
from clearance.geom.revolve import Solid, closed

DOUBT_MM = 0.2
NEARER_MM = 15.0


def triangles_about(scene: Scene, rng: np.random.Generator, count: int) -> np.ndarray:
    """Small triangles from just inside to a hand's breadth off the solid, somewhere in its cycle."""
    box = scene.path.box
    centre, axis = scene.path.at(rng.uniform(box[:, 0], box[:, 1], (count, len(box))))
    square = np.cross(axis, rng.normal(size=(count, 3)))
    square /= np.linalg.norm(square, axis=1)[:, None]
    low, high, _, top = scene.solid.profile.bounds
    on_side = rng.random(count) < 0.5
    off = rng.uniform(-10.0, 150.0, count)
    along = np.where(on_side, np.where(rng.random(count) < 0.5, low - off, high + off), rng.uniform(low, high, count))
    away = np.where(on_side, rng.uniform(0.2 * top, top, count), top + off)
    place = centre + along[:, None] * axis + away[:, None] * square
    return place[:, None] + rng.normal(size=(count, 3, 3)) * 12.0


def agrees(scene: Scene, solid: Solid, limits: tuple[Limit, ...], number: int) -> tuple[int, int]:
    triangles = triangles_about(scene, np.random.default_rng(400 + number), 24)
    found = reached(
        triangles, scene.path, solid, nearer_than_mm=NEARER_MM, doubt_mm=DOUBT_MM, limits=limits, work=400_000
    )
    assert found.finished
    assert len(set(found.triangle)) == len(found.triangle)
    reported = np.isin(np.arange(len(triangles)), found.triangle)
    others = np.inf
    for i, triangle in enumerate(triangles):
        alone = bracket(
            triangle[None], scene.path, solid, limits=limits, tolerance_mm=0.2, work=20_000, deep_work=3_000
        )
        if alone.at_most_mm < NEARER_MM:
            assert reported[i]
        if alone.at_least_mm > NEARER_MM + DOUBT_MM + scene.path.error_mm:
            assert not reported[i]
        if not reported[i]:
            others = min(others, alone.at_most_mm)
    # what is proven of the others is true of the nearest of them
    assert NEARER_MM <= found.at_least_mm <= others + 1e-9
    box = scene.path.box
    for triangle, setting in zip(triangles[found.triangle], found.setting, strict=True):
        assert np.all((setting >= box[:, 0] - 1e-9) & (setting <= box[:, 1] + 1e-9))
        assert all(limit.allows(setting[None])[0] for limit in limits)
        # the setting is one at which the triangle is that near: looked for on a grid of the triangle
        share = np.random.default_rng(1).dirichlet([0.5, 0.5, 0.5], 3000)
        places = np.concatenate([share @ triangle, triangle])
        centre, axis = scene.path.at(setting[None])
        along = (places - centre) @ axis[0]
        away = np.sqrt(np.maximum(((places - centre) ** 2).sum(axis=1) - along**2, 0.0))
        near = solid.chain.near(along, away).distance.min()
        # 3000 places of a triangle 40 mm wide leave less than 1 mm between them
        assert near < NEARER_MM + DOUBT_MM + scene.path.error_mm + 0.5
    return int(reported.sum()), int((~reported).sum())


@pytest.mark.parametrize("convex", [True, False])
def test_triangles_that_come_nearer_are_all_reported_and_those_that_clear_are_not(convex: bool) -> None:
    near = clear = 0
    for number in range(2):
        scene = random_scene(number)
        some = agrees(scene, closed(scene.solid) if convex else scene.solid, (), number)
        near, clear = near + some[0], clear + some[1]
    assert near > 10
    assert clear > 5


def test_what_a_limit_forbids_is_not_counted() -> None:
    """Bump and steer tied together, as no suspension does it: only the sum matters."""
    limit = Limit(one=0, other=1, most=20.0)
    fewer = 0
    for number in range(4, 6):
        scene = random_scene(number)
        solid = closed(scene.solid)
        near, _ = agrees(scene, solid, (limit,), number)
        fewer += agrees(scene, solid, (), number)[0] - near
    assert fewer > 0
