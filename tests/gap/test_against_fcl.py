"""At fixed positions without contact: python-fcl (FCL, the Flexible Collision Library) on a finely meshed tire."""

from __future__ import annotations

import numpy as np
import pytest
from oracles import random_triangles, tire_and_wheel

from clearance.geom.bracket import bracket
from clearance.geom.path import fit
from clearance.pose import spin_axis, turn_onto

fcl = pytest.importorskip("fcl", reason="python-fcl is not installed")

CHORD_MM = 0.02


def model_of(vertices, faces):
    model = fcl.BVHModel()
    model.beginModel(len(vertices), len(faces))
    model.addSubModel(vertices, faces)
    model.endModel()
    return model


@pytest.fixture(scope="module")
def tire():
    solid = tire_and_wheel()
    return solid, model_of(*solid.mesh(CHORD_MM))


@pytest.mark.parametrize("number", range(24))
def test_the_gap_agrees_with_a_collision_library_within_its_meshing(number, tire):
    solid, mesh = tire
    rng = np.random.default_rng(number)
    triangles = random_triangles(rng)
    centre, axis = rng.normal(size=3) * 40, spin_axis(rng.uniform(-6, 6), rng.uniform(-30, 30))
    path = fit(
        lambda q: np.repeat(np.concatenate([centre, axis, np.zeros(3)])[None], len(q), axis=0),
        np.zeros((0, 2)),
        reach_mm=400,
    )
    found = bracket(triangles, path, solid, deep_work=20_000)
    part = fcl.CollisionObject(model_of(triangles.reshape(-1, 3), np.arange(3 * len(triangles)).reshape(-1, 3)))
    moved = fcl.CollisionObject(mesh, fcl.Transform(turn_onto(axis), centre))
    theirs = fcl.distance(moved, part, fcl.DistanceRequest(), fcl.DistanceResult())
    if theirs <= 0:
        assert found.at_most_mm <= CHORD_MM
        return
    # a mesh of chords lies inside the round tire, by up to the chord's height across and around at once
    assert found.at_least_mm - 1e-6 <= theirs <= found.at_most_mm + 2 * CHORD_MM + 1e-6
