"""Boxes split in two and opened: what they held is held by their parts, once, and by nothing else. And what real places
of them are off a solid, by a ball whose distances are Pythagoras."""

from __future__ import annotations

import numpy as np
import pytest

from clearance.geom.boxes import Boxes, bisected, halved, joined, with_lowest, with_room
from clearance.geom.limit import Limit
from clearance.geom.passing import Passing
from clearance.geom.path import fit
from clearance.geom.profile import Arc, Line, Profile
from clearance.geom.revolve import Solid
from clearance.geom.split import split, split_once
from clearance.geom.tree import Tree
from clearance.pose import Array

BALL = Profile(
    elements=(
        Line(start=(-100.0, 0.0), end=(100.0, 0.0)),
        Arc(start=(100.0, 0.0), end=(0.0, 100.0), centre=(0.0, 0.0)),
        Arc(start=(0.0, 100.0), end=(-100.0, 0.0), centre=(0.0, 0.0)),
    )
)
SOLID = Solid(profile=BALL, pieces=(BALL,))
RANGES = np.array([[-40.0, 60.0], [-20.0, 20.0]])


def moving(settings: Array) -> Array:
    """A ball that goes up by the one number and ahead by the other; a far end goes across by twice the first."""
    up, ahead = settings[:, 0], settings[:, 1]
    zero = np.zeros(len(settings))
    return np.column_stack([ahead, zero, up, zero, zero + 1.0, zero, zero, 2.0 * up, zero])


PATH = fit(moving, RANGES, reach_mm=100.0)


def some_triangles(count: int, seed: int = 3) -> Array:
    rng = np.random.default_rng(seed)
    return rng.normal(size=(count, 1, 3)) * 150.0 + rng.normal(size=(count, 3, 3)) * 40.0


def passing(count: int = 60, *, share: bool = True, limits: tuple[Limit, ...] = ()) -> Passing:
    triangles = some_triangles(count)
    shares = np.random.default_rng(9).uniform(0.1, 0.9, (count, 3)) if share else None
    return Passing(triangles=triangles, share=shares, path=PATH, solid=SOLID, limits=limits, tree=Tree(triangles))


def boxes_of(count: int = 25, *, places: float = 0.0) -> Boxes:
    """Boxes of triangles, each with a range; `places` is the score of their points, that of one number is 1."""
    rng = np.random.default_rng(5)
    half = rng.uniform(1.0, 5.0, (count, 2))
    boxes = with_room(
        Boxes(
            node=-1 - np.arange(count), corners=some_triangles(count), weights=rng.random((count, 3)),
            middle=rng.uniform(-30.0, 30.0, (count, 2)), half=half, group=np.arange(count) + 100,
        ),
        2,
    )  # fmt: skip
    boxes.score[np.arange(count), rng.integers(0, 2, count)] = 1.0
    boxes.score[:, 2] = places
    return boxes


def volume(boxes: Boxes) -> Array:
    """The sides of a box multiplied."""
    result: Array = np.prod(2.0 * boxes.half, axis=1)
    return result


def area(corners: Array) -> Array:
    result: Array = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1) / 2
    return result


def inside(corners: Array, places: Array) -> np.ndarray:
    """Are places (n, m, 3) on triangles (n, 3, 3)? By the areas to the three sides."""
    parts = [
        np.linalg.norm(np.cross(corners[:, None, (i + 1) % 3] - places, corners[:, None, (i + 2) % 3] - places), axis=2)
        for i in range(3)
    ]
    return np.abs(np.sum(parts, axis=0) / 2 - area(corners)[:, None]) < 1e-6 * area(corners)[:, None]


# ---- one box in two


def test_halved_along_one_number_a_box_is_its_two_halves():
    boxes = boxes_of()
    number = np.arange(25) % 2
    both = halved(boxes, number)
    assert both.group.tolist() == [*boxes.group, *boxes.group]
    assert both.corners == pytest.approx(np.concatenate([boxes.corners, boxes.corners]))
    low, high = both.middle - both.half, both.middle + both.half
    for i in range(25):
        one, other, whole = i, i + 25, (boxes.middle[i] - boxes.half[i], boxes.middle[i] + boxes.half[i])
        along, across = number[i], 1 - number[i]
        # end to end along the number, and whole along the other
        assert (low[one, along], high[other, along]) == pytest.approx((whole[0][along], whole[1][along]))
        assert high[one, along] == pytest.approx(low[other, along])
        assert high[one, along] == pytest.approx(boxes.middle[i, along])
        for row in (one, other):
            assert (low[row, across], high[row, across]) == pytest.approx((whole[0][across], whole[1][across]))
    # less is uncertain about that number, as much about the rest
    rows = np.arange(50)
    twice = np.concatenate([number, number])
    was = np.concatenate([boxes.score, boxes.score])
    assert np.all((both.score[rows, twice] < was[rows, twice]) | (was[rows, twice] == 0.0))
    both.score[rows, twice] = was[rows, twice]
    assert both.score == pytest.approx(was)


def test_halves_are_no_views_of_the_box_that_they_come_from():
    boxes = boxes_of()
    before = boxes.middle.copy(), boxes.half.copy(), boxes.score.copy()
    halved(boxes, np.zeros(25, dtype=np.intp))
    bisected(boxes)
    assert all(np.array_equal(a, b) for a, b in zip(before, (boxes.middle, boxes.half, boxes.score), strict=True))


def test_a_triangle_is_bisected_across_its_longest_side_and_its_shares_with_it():
    boxes = boxes_of(places=0.9)
    both = bisected(boxes)
    # of its points less is uncertain, of its numbers as much
    assert np.all(both.score[:, 2] < 0.9)
    assert both.score[:, :2] == pytest.approx(np.concatenate([boxes.score, boxes.score])[:, :2])
    twice = np.concatenate([boxes.corners, boxes.corners])
    assert area(both.corners) == pytest.approx(area(twice) / 2)
    assert inside(twice, both.corners).all()
    for i in range(25):
        sides = np.linalg.norm(np.roll(boxes.corners[i], -1, axis=0) - boxes.corners[i], axis=1)
        new = [c for c in both.corners[i] if not any(np.allclose(c, old) for old in boxes.corners[i])]
        assert len(new) == 1
        a = int(np.argmax(sides))
        assert new[0] == pytest.approx((boxes.corners[i, a] + boxes.corners[i, (a + 1) % 3]) / 2)
        # both have the corner across from it, and each has one of the ends
        for row in (i, i + 25):
            assert any(np.allclose(c, boxes.corners[i, (a + 2) % 3]) for c in both.corners[row])
        ends = [
            [any(np.allclose(c, boxes.corners[i, k]) for c in both.corners[row]) for k in (a, (a + 1) % 3)]
            for row in (i, i + 25)
        ]
        assert sorted(ends) == [[False, True], [True, False]]
    # a share is linear on a triangle: by the place of each corner in the parent
    for row, parent in enumerate(np.concatenate([np.arange(25), np.arange(25)])):
        system = np.vstack([boxes.corners[parent].T, np.ones(3)])
        mix = np.linalg.lstsq(system, np.vstack([both.corners[row].T, np.ones(3)]), rcond=None)[0]
        assert both.weights[row] == pytest.approx(boxes.weights[parent] @ mix)
    assert both.node.tolist() == [*boxes.node, *boxes.node]


def test_the_orientation_of_a_bisected_triangle_stays():
    boxes = boxes_of()
    both = bisected(boxes)
    normals = [np.cross(c[:, 1] - c[:, 0], c[:, 2] - c[:, 0]) for c in (boxes.corners, both.corners)]
    assert np.all(np.einsum("ij,ij->i", np.concatenate([normals[0]] * 2), normals[1]) > 0.0)


# ---- many boxes


def test_boxes_of_which_nothing_is_known_yet_are_given_room_for_it():
    bare = Boxes(
        node=np.arange(4), corners=np.zeros((0, 3, 3)), weights=np.zeros((4, 2)), middle=np.zeros((4, 3)),
        half=np.ones((4, 3)),
    )  # fmt: skip
    assert len(bare) == 4
    assert [len(each) for each in (bare.group, bare.bound, bare.best_corner)] == [0, 0, 0]
    roomy = with_room(bare, 3)
    assert (roomy.bound.shape, roomy.score.shape, roomy.best_setting.shape) == ((4,), (4, 4), (4, 3))
    assert roomy.best_corner.shape == (4,)


def test_joined_are_nodes_with_nodes_and_triangles_with_triangles():
    triangles = boxes_of()
    nodes = triangles.take(np.arange(10))
    nodes.node, nodes.corners = np.arange(10), np.zeros((0, 3, 3))
    none = triangles.take(np.zeros(0, dtype=np.intp))
    first, second = joined([triangles, nodes, none, triangles.take(np.arange(3)), nodes])
    assert first.node.tolist() == [*range(10), *range(10)]
    assert len(first.corners) == 0
    assert second.group.tolist() == [*triangles.group, *triangles.group[:3]]
    assert second.corners.shape == (28, 3, 3)
    assert joined([none]) == []
    (alone,) = joined([none, nodes])
    assert alone is nodes


def test_what_waits_is_taken_up_again_where_it_is_lower_than_all_that_is_at_hand():
    def bound_to(*bounds: float) -> Boxes:
        boxes = boxes_of().take(np.arange(len(bounds)))
        boxes.bound = np.array(bounds)
        return boxes

    low, high, now = bound_to(1.0, 9.0), bound_to(4.0, 5.0), bound_to(3.0, 7.0)
    later = [(4.0, high), (1.0, low)]
    (taken,) = with_lowest([now], later)
    assert sorted(taken.bound) == [1.0, 3.0, 7.0, 9.0]
    assert later == [(4.0, high)]
    assert with_lowest([now], later) == [now]
    assert later == [(4.0, high)]
    assert with_lowest([now], []) == [now]
    # where nothing is at hand, whatever waits
    (taken,) = with_lowest([], later)
    assert sorted(taken.bound) == [4.0, 5.0]
    assert later == []


def test_a_box_is_split_where_most_is_uncertain():
    for places in (0.5, 2.0):
        boxes = boxes_of(places=places)
        parts = split_once(boxes, passing())
        total = sum(float((volume(part) * area(part.corners)).sum()) for part in parts)
        assert total == pytest.approx(float((volume(boxes) * area(boxes.corners)).sum()))
        (both,) = parts
        if places > 1.0:
            assert both.half == pytest.approx(np.concatenate([boxes.half, boxes.half]))
        else:
            assert area(both.corners) == pytest.approx(area(np.concatenate([boxes.corners, boxes.corners])))
            widest = np.argmax(boxes.score[:, :2], axis=1)
            rows = np.arange(25)
            assert both.half[:25][rows, widest] == pytest.approx(boxes.half[rows, widest] / 2)


@pytest.mark.parametrize(("count", "times"), [(25, 8), (199, 8), (200, 4), (1499, 4), (1500, 2)])
def test_a_few_boxes_are_split_over_and_over_and_hold_what_they_held(count, times):
    boxes = boxes_of(count, places=0.9)
    parts = split(boxes, passing())
    assert sum(len(part) for part in parts) == times * count
    total = sum(float((volume(part) * area(part.corners)).sum()) for part in parts)
    assert total == pytest.approx(float((volume(boxes) * area(boxes.corners)).sum()))
    assert split(boxes.take(np.zeros(0, dtype=np.intp)), passing()) == []


@pytest.mark.parametrize("share", [True, False])
def test_opened_to_the_end_the_whole_is_every_triangle_once_with_its_shares(share):
    some = passing(share=share)
    middle, half = np.array([[10.0, 0.0], [20.0, 1.0]]), np.array([[50.0, 20.0], [1.0, 2.0]])
    whole = some.whole(middle, half)
    assert len(whole) == 2
    assert whole.group.tolist() == [0, 1]
    shares = np.zeros((60, 3)) if some.share is None else some.share
    assert whole.weights == pytest.approx(np.array([[shares.min(), shares.max()]] * 2))
    assert np.array_equal(whole.middle, middle)
    assert np.array_equal(whole.half, half)
    open_boxes, done = [with_room(whole, 2)], []
    while open_boxes:
        boxes = open_boxes.pop()
        boxes.score[:, 2] = 1.0
        for part in split_once(boxes, some):
            assert np.all(part.score[:, 2] < 1.0)
            (open_boxes if part.node[0] >= 0 else done).append(part)
    for group in (0, 1):
        triangle = np.concatenate([-1 - part.node[part.group == group] for part in done])
        assert sorted(triangle) == list(range(60))
        corners = np.concatenate([part.corners[part.group == group] for part in done])
        assert np.array_equal(corners, some.triangles[triangle])
        assert np.array_equal(np.concatenate([part.weights[part.group == group] for part in done]), shares[triangle])
        assert all(np.all(part.middle[part.group == group] == middle[group]) for part in done)


# ---- real places


@pytest.mark.parametrize("share", [True, False])
def test_a_place_is_as_far_off_a_ball_as_its_middle_less_its_radius(share):
    some = passing(share=share)
    rng = np.random.default_rng(2)
    points, shares = rng.normal(size=(500, 3)) * 150.0, rng.random(500)
    settings = rng.uniform(RANGES[:, 0], RANGES[:, 1], (500, 2))
    rows = moving(settings)
    place = points + (shares[:, None] * rows[:, 6:] if share else 0.0)
    true = np.linalg.norm(place - rows[:, :3], axis=1) - 100.0
    assert some.distance_mm(points, shares, settings) == pytest.approx(true, abs=1e-4)


def test_on_a_leaning_axis_itself_a_place_is_as_far_as_it_is_along_it():
    """Where rounding may make the square of the way from the axis less than nothing."""

    def leaning(settings: Array) -> Array:
        zero = np.zeros(len(settings))
        lean = 0.01 * settings[:, 0]
        return np.column_stack([zero, zero, zero, np.sin(lean), np.cos(lean), zero, zero, zero, zero])

    path = fit(leaning, RANGES[:1], reach_mm=100.0)
    some = Passing(
        triangles=some_triangles(1), share=None, path=path, solid=SOLID, limits=(), tree=Tree(some_triangles(1))
    )
    settings = np.random.default_rng(4).uniform(-40.0, 60.0, (400, 1))
    far = np.random.default_rng(5).uniform(-300.0, 300.0, 400)
    far[:40] *= 1e-3
    _, axis = path.at(settings)
    found = some.distance_mm(far[:, None] * axis, np.zeros(400), settings)
    assert found == pytest.approx(np.abs(far) - 100.0, abs=1e-6)


def test_shares_are_those_of_the_triangles_or_none():
    some, plain = passing(), passing(share=False)
    rows = np.array([5, 0, 59, 5])
    assert some.share is not None
    assert np.array_equal(some.shares_of(rows), some.share[rows])
    assert np.array_equal(some.first_share_of(rows), some.share[rows, 0])
    assert np.array_equal(plain.shares_of(rows), np.zeros((4, 3)))
    assert np.array_equal(plain.first_share_of(rows), np.zeros(4))


def test_settings_are_brought_within_their_ranges_and_limits():
    limit = Limit(one=0, other=1, most=25.0)
    settings = np.random.default_rng(1).uniform(-200.0, 200.0, (300, 2))
    kept = passing(limits=(limit,)).within(settings.copy())
    assert np.all((kept >= RANGES[:, 0]) & (kept <= RANGES[:, 1]))
    assert np.all(np.abs(kept[:, 0] - kept[:, 1]) <= 25.0 + 1e-9)
    free = passing().within(settings.copy())
    assert np.array_equal(free, np.clip(settings, RANGES[:, 0], RANGES[:, 1]))
