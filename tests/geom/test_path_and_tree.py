"""Paths follow what they were fitted to and bound what they say; trees lose no triangle."""

from __future__ import annotations

import numpy as np
import pytest
from oracles import random_motion

from clearance.geom.path import along_and_across, fit, part_of
from clearance.geom.tree import Tree
from clearance.pose import rotation

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
    path = fit(motion, BOX, slide=along_and_across(np.array([[-3.0, 3.0], [-6.0, 6.0]])), reach_mm=400)
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


def test_the_axis_turn_bounds_what_bends_the_axis_sideways(motion):
    """|u x u_ij| by differences of the path's own first derivatives, at random settings; never more than all of it."""
    path = fit(motion, BOX, reach_mm=400)
    q = np.random.default_rng(4).uniform(BOX[:, 0] + 0.1, BOX[:, 1] - 0.1, (800, 2))
    axis = path.at(q)[1]
    step = 0.02
    for i in range(2):
        for j in range(2):
            a, b = q.copy(), q.copy()
            a[:, j] -= step
            b[:, j] += step
            bend = (path.rates(b).axis_by[:, i] - path.rates(a).axis_by[:, i]) / (2 * step)
            assert np.linalg.norm(np.cross(axis, bend), axis=1).max() <= path.axis_turn[i, j] + 1e-9


@pytest.mark.parametrize("spin", [(0.0, 0.0, 1.0), (0.6, 0.0, 0.8)])
def test_an_axis_square_to_what_it_turns_about_has_no_sideways_bend_when_it_turns_steadily(spin):
    """u = (cos, sin) of a steady turn: u'' = -u, so u x u'' = 0, though u'' is not. By hand."""

    def steady(q):
        axis = np.einsum("nij,j->ni", rotation(np.array(spin), q[:, 0]), np.array([0.0, 1.0, 0.0]))
        return np.column_stack([np.zeros((len(q), 3)), axis, np.zeros((len(q), 3))])

    path = fit(steady, np.array([[-35.0, 30.0]]), reach_mm=400)
    radian = np.pi / 180
    assert path.axis_bend[0, 0] >= 0.99 * radian**2
    assert path.axis_turn[0, 0] <= 1e-4 * radian**2  # what the fit leaves


def test_an_axis_that_turns_about_a_leaning_pin_bends_sideways_by_the_sum_by_hand():
    """About a pin at an angle a to it, u x u'' is sin a cos a per radian squared, at every setting."""
    lean = np.radians(70.0)
    pin = np.array([0.0, np.cos(lean), np.sin(lean)])

    def steady(q):
        axis = np.einsum("nij,j->ni", rotation(pin, q[:, 0]), np.array([0.0, 1.0, 0.0]))
        return np.column_stack([np.zeros((len(q), 3)), axis, np.zeros((len(q), 3))])

    path = fit(steady, np.array([[-35.0, 30.0]]), reach_mm=400)
    exact = np.sin(lean) * np.cos(lean) * (np.pi / 180) ** 2
    # coefficients are summed without their signs: a bound, and one not far off over such a range
    assert exact * (1 - 1e-4) <= path.axis_turn[0, 0] <= 2.0 * exact


@pytest.mark.parametrize("shift", [None, np.array([[-3.0, 3.0], [-6.0, 6.0]])])
def test_a_part_of_a_path_is_the_whole_path_on_its_box(motion, shift):
    whole = fit(motion, BOX, slide=None if shift is None else along_and_across(shift), reach_mm=400)
    box = np.array([[-10.0, 45.0], [-35.0, 2.0]])
    part = part_of(whole, box)
    assert np.array_equal(part.box[:2], box)
    assert np.array_equal(part.box[2:], whole.box[2:])
    q = np.random.default_rng(5).uniform(part.box[:, 0], part.box[:, 1], (1000, part.numbers))
    for one, other in zip(part.at(q), whole.at(q), strict=True):
        assert 400 * np.abs(one - other).max() <= 400 * part.error_mm
    away = np.linalg.norm(part.at(q)[0] - whole.at(q)[0], axis=1)
    away = away + 400 * np.linalg.norm(part.at(q)[1] - whole.at(q)[1], axis=1)
    assert away.max() <= part.error_mm
    truth = motion(q)
    off = part.at(q)[0] - truth[:, :3]
    if shift is not None:
        off[:, :2] -= q[:, 2:]
    off = np.linalg.norm(off, axis=1) + 400 * np.linalg.norm(part.at(q)[1] - truth[:, 3:6], axis=1)
    assert off.max() <= part.error_mm + 1e-6
    assert part.error_mm >= whole.error_mm


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


def scattered(count):
    rng = np.random.default_rng(count)
    return rng.normal(size=(count, 1, 3)) * 300 + rng.normal(size=(count, 3, 3))


def scanned(count, lost=0):
    """A sheet in the order of a scan, the last `lost` of its triangles scattered about."""
    rows = int(np.sqrt(count / 2))
    place = np.stack(np.meshgrid(np.arange(rows + 1.0), np.arange(rows + 1.0), indexing="ij"), axis=-1)
    place = np.concatenate([place, np.sin(place.sum(axis=-1, keepdims=True) / 40.0) * 30.0], axis=-1)
    a, b, c, d = place[:-1, :-1], place[1:, :-1], place[1:, 1:], place[:-1, 1:]
    sheet = np.stack([np.stack([a, b, c], axis=2), np.stack([a, c, d], axis=2)], axis=2).reshape(-1, 3, 3)
    return np.concatenate([sheet, scattered(lost)]) if lost else sheet


@pytest.mark.parametrize(
    "triangles",
    [*map(scattered, (1, 2, 7, 400, 20_000)), scanned(60_000), scanned(60_000, lost=4_003), scanned(60_000)[:40_001]],
    ids=["1", "2", "7", "400", "20000", "scan", "scan and strays", "scan, cut off"],
)
def test_every_triangle_is_found_once_and_within_its_boxes(triangles):
    tree = Tree(triangles)
    nodes, found = np.array([0]), []
    while len(nodes):
        leaf = tree.is_leaf(nodes)
        # whatever stands for a node lies within it
        sample = tree.sample(nodes)
        assert (np.abs(triangles[sample] - tree.middle[nodes][:, None]) <= tree.half[nodes][:, None] + 1e-9).all()
        ids, row = tree.triangles_of(nodes[leaf])
        inside = (
            np.abs(triangles[ids] - tree.middle[nodes[leaf]][row][:, None])
            <= tree.half[nodes[leaf]][row][:, None] + 1e-9
        )
        assert inside.all()
        found.append(ids)
        nodes = tree.children(nodes[~leaf])[0] if (~leaf).any() else nodes[:0]
    assert np.array_equal(np.sort(np.concatenate(found)), np.arange(len(triangles)))


@pytest.mark.parametrize(
    "triangles",
    [*map(scattered, (1, 7, 400)), scanned(3_000), scanned(20_000, lost=1_003), np.zeros((50, 3, 3))],
    ids=["1", "7", "400", "sheet", "scan and strays", "no area"],
)
def test_every_triangle_lies_within_the_slabs_of_all_nodes_above_it(triangles):
    tree = Tree(triangles)
    above = np.zeros((1, 1), dtype=np.intp)
    while len(above):
        nodes = above[:, -1]
        # asked for a second time, and one by one, they are the same
        again = np.array(
            [np.hstack([slab[0] for slab in map(np.atleast_2d, tree.slabs(node[None]))]) for node in nodes[:9]]
        )
        assert np.array_equal(np.column_stack(tree.slabs(nodes))[:9].ravel(), again.ravel())
        leaf = tree.is_leaf(nodes)
        ids, row = tree.triangles_of(nodes[leaf])
        for node in above[leaf][row].T:
            normal, low, high = tree.slabs(node)
            height = np.einsum("nij,nj->ni", triangles[ids] - tree.middle[node][:, None], normal)
            assert (height >= low[:, None] - 1e-9).all()
            assert (height <= high[:, None] + 1e-9).all()
        if leaf.all():
            break
        child, row = tree.children(nodes[~leaf])
        above = np.column_stack([above[~leaf][row], child])


def test_a_slab_is_as_thin_as_the_sheet_bends_whichever_way_round_its_triangles_run():
    """A sheet on a cylinder of 400 mm radius, leaning: over a chord s it bends by s^2 / (8 x 400)."""
    turn, across = np.meshgrid(np.linspace(0.6, 1.0, 81), np.linspace(0.0, 160.0, 81), indexing="ij")
    place = np.stack([400.0 * np.cos(turn), across, 400.0 * np.sin(turn)], axis=-1)
    a, b, c, d = place[:-1, :-1], place[1:, :-1], place[1:, 1:], place[:-1, 1:]
    triangles = np.concatenate([np.stack([a, b, c], axis=2), np.stack([d, c, a], axis=2)]).reshape(-1, 3, 3)
    tree = Tree(triangles)
    nodes = np.array([0])
    while (tree.held[nodes] > 200).any():
        nodes = tree.children(nodes)[0]
    _, low, high = tree.slabs(nodes)
    chord = np.hypot(2.0 * tree.half[nodes, 0], 2.0 * tree.half[nodes, 2])
    thick = high - low
    assert chord.max() > 15.0
    # the mean of its normals stands off the middle one where a cell holds more of one side: half as much again
    assert (thick <= 1.5 * (chord + 4.0) ** 2 / 3200.0 + 1e-6).all()


def test_only_what_lies_in_order_is_sorted_by_the_handful():
    ordered = scanned(60_000)
    shuffled = np.random.default_rng(4).permutation(ordered)
    assert Tree(ordered).held[0] < len(ordered) / 4
    assert Tree(shuffled).held[0] == len(shuffled)


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
