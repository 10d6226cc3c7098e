"""Every term of every bound is needed: with any of them taken out, a sampled place beats the bound of its box.

Random scenes of gentle corners forgive a bound that is a little wrong: their paths hardly bend between two halvings,
and what is missing hides in the tolerance. So here boxes are looked at one by one, and these bend: hubs on short
cranks, axes that swing far, far ends on parabolas, parts all round and in the barrel. Unchanged, no sample beats the
bound of a box; each mutant is beaten.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from clearance.geom import bounds as bounds_module
from clearance.geom import search as search_module
from clearance.geom import view as view_module
from clearance.geom.boxes import Boxes
from clearance.geom.bracket import bracket
from clearance.geom.limit import Limit, kept_within
from clearance.geom.passing import Passing
from clearance.geom.path import Path, Slide, _interpolated, fit
from clearance.geom.search import bound_by_cover, bound_by_hull
from clearance.geom.touch import Touch
from clearance.geom.tree import Tree
from clearance.pose import Array, rotation
from tests.oracles import tire_and_wheel

SCENES = 12
BOXES = 600
SAMPLES = 160


class Crank:
    """A hub on a short crank, its axis swinging about a skew line, and a far end on a parabola."""

    def __init__(self, number: int) -> None:
        rng = np.random.default_rng(1000 + number)
        self.arm = rng.normal(size=3) * [60.0, 20.0, 60.0]
        self.about = _unit(rng.normal(size=3))
        self.skew = _unit(np.array([1.0, 0.0, 1.0]) + 0.4 * rng.normal(size=3))
        self.swing = rng.uniform(0.6, 1.2)
        self.far = rng.normal(size=(2, 3)) * [[0.4], [4e-2]]
        self.gain = rng.choice([-1.0, 1.0]) * rng.uniform(0.004, 0.012)
        self.speeds_up = number % 3 == 1
        self.box = np.array([[-70.0, 70.0], [-45.0, 45.0]])
        self.play = np.array([[-4.0, 4.0], [-6.0, 6.0]]) if number % 2 else None
        self.limit = Limit(one=0, other=1, most=30.0) if number % 4 == 2 else None
        self.solid = tire_and_wheel(diameter_mm=rng.uniform(560, 700), offset_mm=rng.uniform(-20, 40))

    def __call__(self, settings: Array) -> Array:
        crank, swing = settings[:, 0], settings[:, 1]
        centre = np.einsum("nij,j->ni", rotation(self.about, crank), self.arm) - self.arm
        angle = self.swing * (swing**2 / 25.0 if self.speeds_up else swing * (1.0 + self.gain * swing))
        axis = rotation(self.skew, angle)[:, :, 1]
        far = crank[:, None] * self.far[0] + (crank**2)[:, None] * self.far[1]
        return np.column_stack([centre, axis, far])

    @property
    def slide(self) -> Slide | None:
        if self.play is None:
            return None
        by = np.zeros((2, 9))
        by[:, :2] = np.eye(2)
        by[:, 6:8] = -0.5 * np.eye(2)
        return Slide(ranges=self.play, by=by)

    @property
    def whole(self) -> Array:
        """The box of all numbers."""
        return self.box if self.slide is None else np.concatenate([self.box, self.slide.ranges])

    def moved(self, settings: Array) -> Array:
        """Centre, axis and far move (n, 9), play taken in."""
        rows = self(settings[:, :2])
        return rows if self.slide is None else rows + settings[:, 2:] @ self.slide.by

    @property
    def limits(self) -> tuple[Limit, ...]:
        return () if self.limit is None else (self.limit,)


def _unit(vector: Array) -> Array:
    return vector / np.linalg.norm(vector)


@lru_cache(maxsize=64)
def crank_and_path(number: int) -> tuple[Crank, Path]:
    crank = Crank(number)
    return crank, fit(crank, crank.box, slide=crank.slide, reach_mm=crank.solid.reach_mm)


@lru_cache(maxsize=64)
def scattered(number: int) -> tuple[Boxes, Array]:
    """Boxes of triangles near where the wheel may be, of all sizes, and samples of what each holds: see `least_in`."""
    rng = np.random.default_rng(number)
    crank, _ = crank_and_path(number)
    whole = crank.whole
    half = rng.uniform(0.02, 0.5, (BOXES, len(whole))) ** 1.5 * (whole[:, 1] - whole[:, 0])
    # half of them move by one number alone, for there a term has nothing to hide behind
    alone = rng.integers(0, len(whole), BOXES)
    half = np.where((rng.random((BOXES, 1)) < 0.5) & (np.arange(len(whole)) != alone[:, None]), 0.0, half)
    middle = rng.uniform(whole[:, 0] + half, whole[:, 1] - half) * rng.choice([0.05, 1.0], (BOXES, 1))
    weights = rng.random((BOXES, 3)) * (rng.random((BOXES, 1)) < 0.5)
    rows = crank.moved(middle)
    inside = rng.random(BOXES) < 0.5
    way = rng.normal(size=(BOXES, 3))
    way /= np.linalg.norm(way, axis=1)[:, None]
    far = np.where(inside, rng.uniform(0.0, 260.0, BOXES), rng.uniform(250.0, 480.0, BOXES))
    size = 250.0 ** rng.uniform(0.0, 1.0, (BOXES, 1, 1))
    corners = (rows[:, :3] + way * far[:, None])[:, None] + rng.normal(size=(BOXES, 3, 3)) * size
    corners -= weights[:, :, None] * rows[:, None, 6:]
    boxes = Boxes(node=-1 - np.arange(BOXES), corners=corners, weights=weights, middle=middle, half=half)
    return boxes, least_in(crank, boxes, rng)


def least_in(crank: Crank, boxes: Boxes, rng: np.random.Generator) -> Array:
    """(n,): the least distance at random places and settings of each box, by the motion itself."""
    least = np.full(len(boxes), np.inf)
    for _ in range(SAMPLES):
        mix = rng.dirichlet([0.3] * 3, size=len(boxes))
        ways = np.clip(rng.uniform(-1.6, 1.6, boxes.middle.shape), -1.0, 1.0)
        settings = kept_within(boxes.middle + ways * boxes.half, crank.whole, crank.limits)
        held = np.all(np.abs(settings - boxes.middle) <= boxes.half + 1e-12, axis=1)
        rows = crank.moved(settings)
        place = np.einsum("nk,nkj->nj", mix, boxes.corners)
        place = place + np.einsum("nk,nk->n", mix, boxes.weights)[:, None] * rows[:, 6:]
        offset = place - rows[:, :3]
        along = np.einsum("ij,ij->i", offset, rows[:, 3:6])
        radial = np.sqrt(np.maximum(np.einsum("ij,ij->i", offset, offset) - along**2, 0.0))
        least = np.minimum(least, np.where(held, crank.solid.chain.near(along, radial).distance, np.inf))
    return least


def bounds(number: int, which: str, change: Callable[[Path], Path] | None = None) -> Array:
    """(n,): the bounds of the scene's boxes, as the search makes them: by the hull, by touching, by cover and depth."""
    crank, path = crank_and_path(number)
    path = path if change is None else change(path)
    boxes = replace(scattered(number)[0])
    tree = Tree(boxes.corners)
    passing = Passing(
        triangles=boxes.corners, share=boxes.weights, path=path, solid=crank.solid, limits=crank.limits, tree=tree
    )
    view = view_module.View(boxes, path, crank.solid, tree, crank.limits)
    bound_by_hull(boxes, view)
    if which == "hull":
        return boxes.bound
    if which == "touch":
        touch = Touch(view, np.arange(BOXES), crank.solid.hull_chain)
        touch.step()
        touch.step()
        return touch.bound
    boxes.bound = np.full(BOXES, -np.inf)
    bound_by_cover(boxes, view, np.arange(BOXES), passing)
    return boxes.bound


def beaten_mm(which: str, change: Callable[[Path], Path] | None = None) -> float:
    """By how much a sample comes nearer than the bound of its box, at worst; below zero where none does."""
    return max(float((bounds(n, which, change) - scattered(n)[1]).max()) for n in range(SCENES))


WHICH = ("hull", "touch", "cover")


@pytest.mark.parametrize("which", WHICH)
def test_unchanged_no_sample_beats_the_bound_of_its_box(which):
    # the fit is within a hundred-thousandth of the motion, and is not in the bound of a box but in the answer
    assert beaten_mm(which) <= 1e-5


@pytest.mark.parametrize("which", WHICH)
@pytest.mark.parametrize("term", ["centre_bend", "axis_turn", "far_bend"])
def test_without_a_bend_of_the_path_a_sample_beats_it(which, term):
    def mutant(path: Path) -> Path:
        return replace(path, **{term: np.zeros_like(getattr(path, term))})

    assert beaten_mm(which, mutant) > 1e-3


def test_without_the_bend_of_its_axis_the_turn_of_a_box_is_too_small():
    """It enters a bound with the cube of the box alone, where no sample shows it: held against the turn itself."""
    for number in range(SCENES):
        crank, path = crank_and_path(number)
        boxes, _ = scattered(number)
        plain = replace(path, axis_bend=np.zeros_like(path.axis_bend))
        turned = [view_module.View(boxes, p, crank.solid, Tree(boxes.corners), ()).turned for p in (path, plain)]
        ends = np.maximum(*(_turn(crank, boxes, side) for side in (-1.0, 1.0)))
        assert np.all(ends <= turned[0] + 1e-9)
    # somewhere the linear part alone falls short
    assert any(_short(number) for number in range(SCENES))


def _turn(crank: Crank, boxes: Boxes, side: float) -> Array:
    there, here = crank.moved(boxes.middle + side * boxes.half)[:, 3:6], crank.moved(boxes.middle)[:, 3:6]
    return np.linalg.norm(there - here, axis=1)


def _short(number: int) -> bool:
    """On an axis that swings ever faster, the rate at the middle does not say how far it goes."""
    rng = np.random.default_rng(number)
    rate = rng.uniform(2e-4, 4e-4)

    def faster(settings: Array) -> Array:
        angle = rate * settings[:, 0] ** 2
        zero = 0.0 * angle
        return np.column_stack([zero, zero, zero, np.sin(angle), np.cos(angle), zero, zero, zero, zero])

    path = fit(faster, np.array([[-40.0, 40.0]]), reach_mm=400.0)
    boxes = Boxes(
        node=np.array([-1]), corners=np.zeros((1, 3, 3)), weights=np.zeros((1, 3)), middle=np.zeros((1, 1)),
        half=np.full((1, 1), 40.0),
    )  # fmt: skip
    solid = tire_and_wheel()
    full = view_module.View(boxes, path, solid, Tree(boxes.corners), ()).turned[0]
    bare = replace(path, axis_bend=np.zeros((1, 1)))
    short = view_module.View(boxes, bare, solid, Tree(boxes.corners), ()).turned[0]
    true = 2.0 * np.sin(rate * 1600.0 / 2.0)
    assert full >= true
    return bool(short < true)


@pytest.mark.parametrize(("which", "term"), [("hull", "remainder"), ("cover", "remainder"), ("cover", "furthest")])
def test_without_a_views_remainder_a_sample_beats_it(monkeypatch, which, term):
    made = view_module.View._motion

    def less(self, boxes, path):
        made(self, boxes, path)
        setattr(self, term, np.zeros_like(getattr(self, term)))

    monkeypatch.setattr(view_module.View, "_motion", less)
    assert beaten_mm(which) > 1e-3


def rest_used(number: int, lacking: str = "") -> float:
    """The largest share of the rest that the places of a scene's boxes really need, as docs/how-gaps-are-measured.md
    writes it: X - v - a - sum t_i m_i + (sum t_i w_i) x a - (sum t_i w_i) x (sum t_j c_j)."""
    crank, path = crank_and_path(number)
    boxes, _ = scattered(number)
    view = view_module.View(boxes, path, crank.solid, Tree(boxes.corners), ())
    twice = view.axis_bent + 0.5 * view.turned**2
    rest = (
        Touch(view, np.arange(BOXES), crank.solid.hull_chain)._rest
        - {
            "": 0.0,
            "the middle point itself": view.remainder - view.turned * (view.size + view.shifted),
            "the set of points turned a second time": twice * view.size,
            "the centre turned a second time": twice * view.shifted,
        }[lacking]
    )
    rng = np.random.default_rng(number)
    used = 0.0
    for _ in range(60):
        t = np.clip(rng.uniform(-2.0, 2.0, boxes.middle.shape), -1.0, 1.0) * boxes.half
        corner = rng.integers(0, 3, BOXES)
        a = view.corners[np.arange(BOXES), corner]
        share = boxes.weights[np.arange(BOXES), corner]
        rows = path.rates(boxes.middle + t)
        place = boxes.corners[np.arange(BOXES), corner] + share[:, None] * rows.far
        there = np.swapaxes(_least_turns(view.axis, rows.axis), 1, 2)
        seen = np.einsum("nij,nj->ni", there, place - rows.centre)
        w = np.cross(view.axis[:, None], view.axis_by)
        m = -view.drift - np.cross(w, view.offset[:, None])
        turned = np.einsum("nk,nki->ni", t, w)
        patch = view.offset + a + np.einsum("nk,nki->ni", t, m)
        patch = patch - np.cross(turned, a) + np.cross(turned, np.einsum("nk,nki->ni", t, view.drift))
        off = np.linalg.norm(seen - patch, axis=1)
        used = max(used, float((off / np.maximum(rest, 1e-9))[off > 1e-6].max(initial=0.0)))
    return used


def _least_turns(first: Array, then: Array) -> Array:
    """(n, 3, 3): the least turn from each unit vector to another."""
    axis = np.cross(first, then)
    x, y, z = axis.T
    zero = 0.0 * x
    cross = np.stack([np.stack([zero, -z, y], 1), np.stack([z, zero, -x], 1), np.stack([-y, x, zero], 1)], axis=1)
    return np.eye(3) + cross + cross @ cross / (1.0 + np.einsum("ij,ij->i", first, then))[:, None, None]


def test_what_bends_is_no_more_than_the_rest_of_a_touching_plane():
    # where shares alone differ it is reached to the last digit
    assert max(rest_used(number) for number in range(SCENES)) <= 1.0 + 1e-9


@pytest.mark.parametrize(
    "term",
    ["the middle point itself", "the set of points turned a second time"],
)
def test_without_a_term_of_it_the_rest_of_a_touching_plane_is_too_small(term):
    """Two more terms, the centre turned a second time and its bend turned once, are of third order beside the
    second-order terms that they are made of, and no box needs all of them whole: that they are in the sum is read off
    the derivation."""
    assert max(rest_used(number, term) for number in range(SCENES)) > 1.0 + 1e-6


def test_without_the_rest_of_its_touching_planes_a_sample_beats_it(monkeypatch):
    """`_rest` taken off nothing: what is left over is linear, and the places are not."""
    stand = Touch._stand

    def rested(self, *words):
        self._rest = 0.0 * self._rest
        stand(self, *words)

    monkeypatch.setattr(Touch, "_stand", rested)
    assert beaten_mm("touch") > 1e-3


SEARCH_TERMS: dict[str, Callable[..., Array]] = {
    "_circle_bend": lambda away, radial, moved: np.zeros_like(away),
    "_point_bend": lambda distance, moved: np.zeros_like(distance),
    "_depth_bound": lambda distance, least, moved: distance + least,
}


@pytest.mark.parametrize("term", SEARCH_TERMS)
def test_without_a_bend_of_the_cover_or_of_a_depth_a_sample_beats_it(monkeypatch, term):
    monkeypatch.setattr(bounds_module, term, SEARCH_TERMS[term])
    assert beaten_mm("cover") > 1e-3


def test_a_cover_that_misses_a_piece_is_beaten():
    worst = -np.inf
    for number in range(SCENES):
        crank, _ = crank_and_path(number)
        whole = crank.solid.piece_chains
        object.__setattr__(crank.solid, "piece_chains", whole[:1])
        try:
            worst = max(worst, float((bounds(number, "cover") - scattered(number)[1]).max()))
        finally:
            object.__setattr__(crank.solid, "piece_chains", whole)
    assert worst > 1e-2


# ---- what is taken off, or left out, of the whole answer


def answer_beaten_mm(number: int, path: Path, tolerance_mm: float = 0.02) -> float:
    """By how much the lower end of a whole search lies over the least that the motion itself has there."""
    crank, _ = crank_and_path(number)
    boxes, _ = scattered(number)
    one = int(np.argsort(scattered(number)[1])[BOXES // 2])
    triangle, share = boxes.corners[[one]], boxes.weights[[one]]
    found = bracket(
        triangle, path, crank.solid, share=share, tolerance_mm=tolerance_mm, limits=crank.limits, deep_work=60_000
    )
    whole = crank.whole
    rng = np.random.default_rng(3)
    around = found.setting + rng.normal(size=(4000, len(whole))) * (whole[:, 1] - whole[:, 0]) * np.geomspace(
        1e-4, 0.3, 4000
    ).reshape(-1, 1)
    settings = kept_within(
        np.concatenate([around, rng.uniform(whole[:, 0], whole[:, 1], (4000, len(whole)))]), whole, crank.limits
    )
    rows = crank.moved(settings)
    mix = rng.dirichlet([0.3] * 3, size=len(settings))
    place = mix @ triangle[0] + (mix @ share[0])[:, None] * rows[:, 6:]
    offset = place - rows[:, :3]
    along = np.einsum("ij,ij->i", offset, rows[:, 3:6])
    radial = np.sqrt(np.maximum(np.einsum("ij,ij->i", offset, offset) - along**2, 0.0))
    return found.at_least_mm - float(crank.solid.chain.near(along, radial).distance.min())


def poorly_fitted(number: int) -> Path:
    """A path of too few powers, off by far more than a thousandth of a millimetre, whose error is known and said."""
    crank, _ = crank_and_path(number)
    path = _interpolated(crank, crank.box, (3, 3), crank.slide)
    probes = np.random.default_rng(5).uniform(crank.box[:, 0], crank.box[:, 1], (4000, 2))
    off = path._basis(probes) @ path.coefficients - crank(probes)
    centre, axis, far = (np.linalg.norm(off[:, 3 * i : 3 * i + 3], axis=1) for i in range(3))
    error = float((centre + 2.0 * crank.solid.reach_mm * axis + far).max()) * 1.05
    assert error > 1e-3
    return replace(path, error_mm=error)


def test_a_path_that_is_off_costs_the_lower_end_what_it_is_off_by():
    paths = [poorly_fitted(number) for number in range(SCENES)]
    assert max(answer_beaten_mm(n, path) for n, path in enumerate(paths)) <= 1e-9
    # and without that, a sample beats it
    assert max(answer_beaten_mm(n, replace(path, error_mm=0.0)) for n, path in enumerate(paths)) > 1e-3


def test_with_half_of_the_play_a_sample_beats_it():
    def halved(path: Path) -> Path:
        box = path.box.copy()
        box[-2:] /= 2
        return replace(path, box=box)

    assert max(answer_beaten_mm(n, halved(crank_and_path(n)[1])) for n in range(1, SCENES, 2)) > 1e-2


def test_with_a_tighter_limit_than_is_set_a_sample_beats_it(monkeypatch):
    allowed = search_module.allowed

    def tighter(boxes, limits, numbers):
        return allowed(boxes, tuple(replace(limit, most=0.5 * limit.most) for limit in limits), numbers)

    monkeypatch.setattr(search_module, "allowed", tighter)
    assert max(answer_beaten_mm(n, crank_and_path(n)[1]) for n in range(2, SCENES, 4)) > 1e-2
