"""Paths follow what they were fitted to and bound what they say; trees lose no triangle."""

from __future__ import annotations

import numpy as np
import pytest
from oracles import random_motion

from clearance.geom.path import fit
from clearance.geom.tree import Tree

BOX = np.array([[-80.0, 100.0], [-35.0, 30.0]])


@pytest.fixture(scope="module")
def motion():
    return random_motion(np.random.default_rng(12))


def test_a_path_follows_its_motion(motion):
    path = fit(motion, BOX, reach_mm=400)
    q = np.random.default_rng(1).uniform(BOX[:, 0], BOX[:, 1], (2000, 2))
    truth = motion(q)
    centre, axis = path.at(q)
    assert np.linalg.norm(centre - truth[:, :3], axis=1).max() <= 1e-5
    assert 400 * np.linalg.norm(axis - truth[:, 3:6], axis=1).max() <= 1e-5
    assert np.linalg.norm(path.far_at(q) - truth[:, 6:], axis=1).max() <= 1e-5


def test_derivatives_are_those_of_the_path(motion):
    path = fit(motion, BOX, shift=np.array([[-3.0, 3.0], [-6.0, 6.0]]), reach_mm=400)
    q = np.random.default_rng(2).uniform(path.box[:, 0], path.box[:, 1], (300, 4))
    rates = path.rates(q)
    for i in range(4):
        low, high = q.copy(), q.copy()
        low[:, i] -= 1e-4
        high[:, i] += 1e-4
        assert (path.at(high)[0] - path.at(low)[0]) / 2e-4 == pytest.approx(rates.centre_by[:, i], abs=1e-6)
        assert (path.at(high)[1] - path.at(low)[1]) / 2e-4 == pytest.approx(rates.axis_by[:, i], abs=1e-7)


def test_second_derivatives_stay_within_their_bounds(motion):
    path = fit(motion, BOX, reach_mm=400)
    q = np.random.default_rng(3).uniform(BOX[:, 0] + 0.1, BOX[:, 1] - 0.1, (500, 2))
    step = 0.02
    for i in range(2):
        for j in range(2):
            a, b = q.copy(), q.copy()
            a[:, j] -= step
            b[:, j] += step
            bend = (path.rates(b).centre_by[:, i] - path.rates(a).centre_by[:, i]) / (2 * step)
            assert np.linalg.norm(bend, axis=1).max() <= path.centre_bend[i, j] + 1e-9
            bend = (path.rates(b).axis_by[:, i] - path.rates(a).axis_by[:, i]) / (2 * step)
            assert np.linalg.norm(bend, axis=1).max() <= path.axis_bend[i, j] + 1e-9


def test_what_stands_still_is_a_path_of_no_numbers():
    path = fit(lambda q: np.array([[1.0, 2, 3, 0, 1, 0, 0, 0, 0]] * len(q)), np.zeros((0, 2)), reach_mm=400)
    centre, axis = path.at(np.zeros((4, 0)))
    assert centre == pytest.approx(np.array([[1.0, 2, 3]] * 4))
    assert axis == pytest.approx(np.array([[0.0, 1, 0]] * 4))


def test_a_motion_that_polynomials_cannot_follow_says_how_far_it_missed():
    def kinked(q):
        zero = np.zeros(len(q))
        return np.column_stack([zero, np.abs(q[:, 0]), q[:, 0], zero, zero + 1, zero, zero, zero, zero])

    path = fit(kinked, np.array([[-50.0, 60.0]]), reach_mm=400)
    assert path.error_mm > 0.1


@pytest.mark.parametrize("count", [1, 2, 7, 400, 20_000])
def test_every_triangle_is_found_once_and_within_its_boxes(count):
    rng = np.random.default_rng(count)
    triangles = rng.normal(size=(count, 1, 3)) * 300 + rng.normal(size=(count, 3, 3))
    tree = Tree(triangles)
    nodes, found = np.array([0]), []
    while len(nodes):
        leaf = tree.is_leaf(nodes)
        ids, row = tree.triangles_of(nodes[leaf])
        inside = (
            np.abs(triangles[ids] - tree.middle[nodes[leaf]][row][:, None])
            <= tree.half[nodes[leaf]][row][:, None] + 1e-9
        )
        assert inside.all()
        found.append(ids)
        nodes = tree.children(nodes[~leaf])[0] if (~leaf).any() else nodes[:0]
    assert np.array_equal(np.sort(np.concatenate(found)), np.arange(count))


def test_a_thousand_triangles_in_one_place_do_not_divide_for_ever():
    triangles = np.repeat(np.random.default_rng(0).normal(size=(1, 3, 3)), 1000, axis=0)
    tree = Tree(triangles)
    nodes = np.array([0])
    for _ in range(30):
        leaf = tree.is_leaf(nodes)
        if leaf.all():
            break
        nodes = tree.children(nodes[~leaf])[0]
    assert leaf.all()
