"""The bends that a bound pays for, against the most that a place can really do: swept all round on a fine grid."""

from __future__ import annotations

import numpy as np
import pytest

from clearance.geom.bounds import (
    _circle_bend,
    _depth_bound,
    _point_bend,
    allowed,
    by_hull,
    by_touch,
    on_surface,
)  # fmt: skip
from clearance.geom.boxes import Boxes
from clearance.geom.limit import Limit
from clearance.geom.path import fit
from clearance.geom.profile import Arc, Line, Profile, polygon
from clearance.geom.revolve import HULL_SLACK_MM, Solid
from clearance.geom.tree import Tree
from clearance.geom.view import View
from clearance.pose import Array

ROUND = np.linspace(0.0, 2.0 * np.pi, 7201)


def grown(far: float, moved: float) -> float:
    """The most that a distance to a point grows beyond its linear part where the place moves so far, any way."""
    along, square = moved * np.cos(ROUND), moved * np.sin(ROUND)
    return float((np.hypot(far + along, square) - far - along).max())


@pytest.mark.parametrize("share", [0.01, 0.1, 0.5, 0.9])
@pytest.mark.parametrize("far", [2.0, 50.0, 400.0])
def test_the_bend_of_a_distance_to_a_point_is_enough_and_near_the_middle_no_more(far, share):
    true = grown(far, share * far)
    (bend,) = _point_bend(np.array([far]), np.array([share * far]))
    assert bend >= true
    if share <= 0.1:
        # twice the least distance for twice the distance: a tenth at a tenth of it, and what is of fourth order
        assert bend <= 1.12 * true
    # to a circle the same, by the share of the way that leads towards the axis; away from it none
    towards, across, off = _circle_bend(np.array([-0.6, 0.0, 0.8]), np.full(3, far), np.full(3, share * far))
    assert towards == pytest.approx(0.6 * bend)
    assert (across, off) == (0.0, 0.0)


@pytest.mark.parametrize("moved", [7.0, 7.5, 100.0])
def test_as_far_as_the_point_itself_no_bend_is_enough(moved):
    assert np.isinf(_point_bend(np.array([7.0]), np.array([moved]))).all()
    assert np.isinf(_circle_bend(np.array([-0.1]), np.array([7.0]), np.array([moved]))).all()


def test_a_depth_is_bounded_by_its_bend_or_by_how_far_the_place_moves():
    """10 deep, moved 3, the linear part 2 deeper: 9 / (2 x 7) more by the bend. Moved 10 or with 5 deeper: the move."""
    found = _depth_bound(np.array([-10.0, -10.0, -10.0]), np.array([-2.0, -5.0, -2.0]), np.array([3.0, 3.0, 10.0]))
    assert found == pytest.approx([-12.0 - 9.0 / 14.0, -13.0, -20.0])


# ---- limits


def settings_boxes(count: int = 400) -> Boxes:
    rng = np.random.default_rng(8)
    half = rng.uniform(0.0, 12.0, (count, 3))
    return Boxes(
        node=np.arange(count), corners=np.zeros((0, 3, 3)), weights=np.zeros((count, 2)),
        middle=rng.uniform(-50.0, 50.0, (count, 3)), half=half, group=np.arange(count),
    )  # fmt: skip


def test_boxes_of_which_two_limits_leave_nothing_go_and_no_others():
    """Two numbers of a box differ by least and most at its corners, and by all between: see where 0 to `most` lies."""
    boxes = settings_boxes()
    limits = (Limit(one=0, other=1, most=20.0), Limit(one=2, other=0, most=35.0))
    keeps = np.ones(len(boxes), dtype=bool)
    for limit in limits:
        i, j = limit.one, limit.other
        corners = [
            boxes.middle[:, i] + a * boxes.half[:, i] - boxes.middle[:, j] - b * boxes.half[:, j]
            for a in (-1, 1)
            for b in (-1, 1)
        ]
        keeps &= (np.min(corners, axis=0) <= limit.most) & (np.max(corners, axis=0) >= -limit.most)
    left = allowed(boxes, limits, 3)
    assert 20 < keeps.sum() < 380
    assert left.group.tolist() == np.flatnonzero(keeps).tolist()
    assert left.bound.shape == (len(left),)
    assert left.score.shape == (len(left), 4)
    assert allowed(boxes, (), 3) is boxes
    # bounds that are there already go along with their boxes
    left.bound = left.group.astype(float)
    again = allowed(left, (Limit(one=0, other=1, most=5.0),), 3)
    assert 0 < len(again) < len(left)
    assert again.bound.tolist() == again.group.tolist()


def test_a_box_that_touches_a_limit_stays():
    edge = Boxes(
        node=np.arange(2), corners=np.zeros((0, 3, 3)), weights=np.zeros((2, 2)), group=np.arange(2),
        middle=np.array([[15.0, -5.0], [15.0, -5.25]]), half=np.array([[3.0, 2.0], [3.0, 2.0]]),
    )  # fmt: skip
    assert allowed(edge, (Limit(one=0, other=1, most=15.0),), 2).group.tolist() == [0]


# ---- the hull


def test_the_hull_of_a_grooved_washer_is_its_own_surface_but_for_the_bridges():
    """The slopes beside the groove are real. What spans it is a bridge; so are the sides, which go on into the hole."""
    grooved = polygon([(0, 20), (30, 20), (30, 50), (20, 56), (15, 30), (10, 56), (0, 50)])
    whole = polygon([(0, 20), (30, 20), (30, 50), (20, 56), (10, 56), (0, 50)])
    solid = Solid(profile=grooved, pieces=(whole,))
    real = []
    for element in solid.hull_chain.surfaces:
        ring = element.points(0.01)
        places = np.array([ring[0] + t * (ring[-1] - ring[0]) for t in np.linspace(0.0, 1.0, 11)])
        real.append(np.abs(solid.chain.near(places[:, 0], places[:, 1]).distance).max() < 1e-9)
    assert on_surface(solid).tolist() == real
    assert sorted(real) == [False, False, False, True, True]
    crown = Arc(start=(10.0, 40.0), end=(-10.0, 40.0), centre=(0.0, 40.0))
    ring = Profile(elements=(Line(start=(-10.0, 40.0), end=(10.0, 40.0)), crown))
    on = on_surface(Solid(profile=ring, pieces=(ring,)))
    assert [isinstance(e, Arc) for e in Solid(profile=ring, pieces=(ring,)).hull_chain.surfaces] == on.tolist()


BALL = Profile(
    elements=(
        Line(start=(-100.0, 0.0), end=(100.0, 0.0)),
        Arc(start=(100.0, 0.0), end=(0.0, 100.0), centre=(0.0, 0.0)),
        Arc(start=(0.0, 100.0), end=(-100.0, 0.0), centre=(0.0, 0.0)),
    )
)


def rising(settings: Array) -> Array:
    """A ball that goes straight up."""
    rows = np.zeros((len(settings), 9))
    rows[:, 2], rows[:, 4] = settings[:, 0], 1.0
    return rows


def ball_boxes() -> tuple[View, Array, Solid]:
    """Small triangles about a ball with small moves up; and the least distance of each box, by rows of samples."""
    rng = np.random.default_rng(4)
    count = 300
    way = rng.normal(size=(count, 3))
    way *= rng.uniform(60.0, 200.0, (count, 1)) / np.linalg.norm(way, axis=1)[:, None]
    boxes = Boxes(
        node=-1 - np.arange(count), corners=way[:, None] + rng.normal(size=(count, 3, 3)) * 4.0,
        weights=np.zeros((count, 3)), middle=np.zeros((count, 1)), half=rng.uniform(0.0, 3.0, (count, 1)),
    )  # fmt: skip
    solid = Solid(profile=BALL, pieces=(BALL,))
    path = fit(rising, np.array([[-5.0, 5.0]]), reach_mm=100.0)
    mix = np.concatenate([rng.dirichlet([0.4] * 3, 400), np.eye(3)])
    up = np.linspace(-1.0, 1.0, 21)[:, None, None] * boxes.half[None]
    places = np.einsum("mk,nkj->nmj", mix, boxes.corners)
    least = np.full(count, np.inf)
    for step in up:
        moved = places - np.concatenate([np.zeros((count, 2)), step], axis=1)[:, None]
        least = np.minimum(least, np.linalg.norm(moved, axis=2).min(axis=1) - 100.0)
    return View(boxes, path, solid, Tree(boxes.corners), ()), least, solid


def test_about_a_ball_the_hull_and_the_touching_planes_bound_a_box_to_what_is_of_second_order():
    """A place that moves by s, 160 or so from the middle of a ball, leaves its tangent plane by s^2 / 320 or so."""
    view, least, solid = ball_boxes()
    bound, lean = by_hull(view)
    assert np.all(bound <= least)
    second = (np.linalg.norm(view.corners, axis=2).max(axis=1) + view.furthest) ** 2 / (2.0 * 60.0)
    assert np.all(bound >= least - second - HULL_SLACK_MM - 1e-9)
    assert np.all(lean.least <= 0.0)
    rows = np.arange(0, 300, 2)
    size = view.score(lean)[rows]
    touched = by_touch(view, rows, solid.hull_chain, by_size=size, drop=np.full(len(rows), np.inf), hollow=False)
    assert np.all(touched.bound <= least[rows])
    # a tangent plane where the box is nearest to a ball loses nothing but what the move of the path does; sampled
    # places miss the nearest by a little
    assert np.median(least[rows] - touched.bound) < 0.2 * np.median(least[rows] - bound[rows])
    assert touched.open.tolist() == list(range(len(rows)))
    assert touched.open_bound.shape == (len(rows),)
    # what is proven is open no more
    half = float(np.median(touched.bound))
    fewer = by_touch(view, rows, solid.hull_chain, by_size=size, drop=np.full(len(rows), half), hollow=False)
    assert set(fewer.open) <= set(np.flatnonzero(fewer.bound < half))
    assert set(fewer.open) >= set(np.flatnonzero(touched.bound < half - 0.5))


def test_a_box_of_which_a_hollow_hull_has_told_all_is_split_by_its_sizes():
    """A hull that bridges no hollow is the solid: a touching plane is all that there is to know. One that does may be
    nearer than the solid, and then no splitting by what it leaves uncertain gets any further."""
    view, _, solid = ball_boxes()
    _, lean = by_hull(view)
    rows = np.arange(0, 300, 2)
    size = view.score(lean)[rows]
    whole = by_touch(view, rows, solid.hull_chain, by_size=size, drop=np.full(len(rows), np.inf), hollow=False)
    bridged = by_touch(view, rows, solid.hull_chain, by_size=size, drop=np.full(len(rows), np.inf), hollow=True)
    assert bridged.bound.tolist() == whole.bound.tolist()
    outside = whole.bound > 0.0
    assert outside.sum() > 50
    assert not whole.told[outside].any()
    assert bridged.told.all()
    assert np.array_equal(bridged.score, size)
    assert np.all(whole.score[outside].sum(axis=1) < size[outside].sum(axis=1))
    # with what splitting may still raise, the bound may get there: nothing is told yet
    close = np.argmax(whole.bound)
    drop = float(whole.bound[close] + whole.score[close].sum() / 2.0)
    assert not by_touch(view, rows, solid.hull_chain, by_size=size, drop=np.full(len(rows), drop), hollow=True).told[
        close
    ]
