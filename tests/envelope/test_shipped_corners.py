"""The envelope of shipped corners at full size, asked of the suspension itself and of trimesh's own inside test.

The checks above the sweep: poses come from `suspension.pose`, points from the true hollow wheel's mesh, so nothing that
the proof is made of is used to judge it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import manifold3d
import numpy as np
import pytest
import trimesh
from scipy.optimize import minimize

from clearance.description.load import load
from clearance.envelope.build import SLACK_MM, Envelope, envelope_of
from clearance.geom.revolve import hull
from clearance.mockup.mockup import MockUp
from clearance.pose import Array
from clearance.suspension.position import HUB, Cycle

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"


def random_places(mockup: MockUp, count: int, rng: np.random.Generator) -> tuple[Array, Array]:
    """Positions (n, 3) of the cycle and play (n, 3) taken up; every third stands at an end of everything."""
    cycle, shift = mockup.suspension.cycle, mockup.suspension.cycle.shift
    play = np.array([[-shift.behind_mm, shift.ahead_mm], [-shift.inboard_mm, shift.outboard_mm], [0.0, 0.0]])
    box = np.concatenate([cycle.box, play])
    share = rng.random((8 * count, 6))  # the articulation forbids some
    share[::3] = np.rint(share[::3])
    settings = box[:, 0] + share * (box[:, 1] - box[:, 0])
    settings = settings[allowed(cycle, settings)]
    return settings[:count, :3], settings[:count, 3:]


def carried_wheel(mockup: MockUp, positions: int, each: int, rng: np.random.Generator) -> Array:
    """(positions x each, 3): points of the true tire and wheel, carried by the hub and pushed by the play."""
    vertices, _ = mockup.solid.mesh(1.0)
    settings, play = random_places(mockup, positions, rng)
    pose = mockup.suspension.pose(settings, HUB)
    assert len(settings) == positions
    chosen = vertices[rng.integers(0, len(vertices), (positions, each))]
    return (np.einsum("nij,nkj->nki", pose.turn, chosen) + (pose.origin_mm + play)[:, None]).reshape(-1, 3)


def holds_the_wheel(mockup: MockUp, envelope: Envelope, rng: np.random.Generator) -> None:
    mesh = trimesh.Trimesh(envelope.vertices_mm, envelope.faces, process=False)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume > 0
    solid = manifold3d.Manifold(manifold3d.Mesh64(envelope.vertices_mm, envelope.faces.astype(np.uint64)))
    assert solid.status() == manifold3d.Error.NoError
    assert envelope.standoff_mm >= 0
    assert 0 < envelope.slack_mm <= SLACK_MM
    points = carried_wheel(mockup, positions=40, each=10, rng=rng)
    assert mesh.contains(points).all()
    # the same question does find a point that is out
    assert not mesh.contains(points + np.array([0.0, 0.0, 2000.0])).any()


def places_on(envelope: Envelope, count: int, rng: np.random.Generator) -> Array:
    """Random points of random faces, small faces as likely as great ones: most lie where the surface bends."""
    corners = envelope.vertices_mm[envelope.faces[rng.integers(0, len(envelope.faces), count)]]
    return np.einsum("nij,ni->nj", corners, rng.dirichlet(np.ones(3), count))


@dataclass(frozen=True, slots=True, kw_only=True)
class Outside:
    """How far points are outside the wheel's hull, posed by the suspension itself, chord by chord of its outline."""

    mockup: MockUp
    outline: Array
    """(n, 2) a convex outline, chords within 0.01 mm."""

    @classmethod
    def of(cls, mockup: MockUp) -> Outside:
        return cls(mockup=mockup, outline=hull(mockup.solid.profile).outline(0.01))

    def at(self, settings: Array, play: Array, points: Array) -> Array:
        """(n,) row by row."""
        pose = self.mockup.suspension.pose(settings, HUB)
        offset = points - pose.origin_mm - play
        axis = pose.turn[:, :, 1]
        along = np.einsum("ni,ni->n", offset, axis)
        away = np.linalg.norm(offset - along[:, None] * axis, axis=1)
        return outside_outline_mm(self.outline, along, away)


def least_over_the_cycle(mockup: MockUp, points: Array, rng: np.random.Generator, wanted_mm: float) -> Array:
    """(n,): the least of random positions and pushes, all corners of the cycle among them, then refined by a simplex of
    scipy's, which knows neither slopes nor the fitted path. A place inside the disc counts as 0.

    A simplex may stop in the wrong valley: where it found more than `wanted_mm`, it is started from many more.
    """
    outside = Outside.of(mockup)
    cycle, shift = mockup.suspension.cycle, mockup.suspension.cycle.shift
    play = np.array([[-shift.behind_mm, shift.ahead_mm], [-shift.inboard_mm, shift.outboard_mm]])
    box = np.concatenate([cycle.box, play])
    free = np.flatnonzero(box[:, 1] > box[:, 0])
    share = rng.random((500, 5))
    share[::4] = np.rint(share[::4])
    tried = box[:, 0] + share * (box[:, 1] - box[:, 0])
    corners = np.array(np.meshgrid(*box, indexing="ij")).reshape(5, -1).T
    tried = np.concatenate([tried, corners])
    tried = tried[allowed(cycle, tried)]

    def at(rows: Array, places: Array) -> Array:
        push = np.column_stack([rows[:, 3:], np.zeros(len(rows))])
        return outside.at(rows[:, :3], push, places)

    def refined(point: Array, start: Array) -> float:
        def asked(part: Array) -> float:
            row = start.copy()
            row[free] = box[free, 0] + np.clip(part, 0.0, 1.0) * (box[free, 1] - box[free, 0])
            return float(at(row[None], point[None])[0]) if allowed(cycle, row[None])[0] else 1e9

        part = (start[free] - box[free, 0]) / (box[free, 1] - box[free, 0])
        for _ in range(2):  # a simplex that has shrunk is started anew
            options = {"xatol": 1e-5, "fatol": 1e-4, "maxiter": 400}
            found = minimize(asked, part, method="Nelder-Mead", bounds=[(0, 1)] * len(free), options=options)
            part = found.x
        return float(found.fun)

    least = np.empty(len(points))
    for i, point in enumerate(points):
        distance = at(tried, np.repeat(point[None], len(tried), axis=0))
        order = np.argsort(distance)
        least[i] = min(refined(point, tried[j]) for j in order[:3])
        for j in order[3:60:2]:
            if least[i] <= wanted_mm:
                break
            least[i] = min(least[i], refined(point, tried[j]))
    return least


def allowed(cycle: Cycle, rows: Array) -> Array:
    """Which rows the articulation allows."""
    if cycle.articulation_mm is None:
        return np.ones(len(rows), dtype=bool)
    return np.abs(rows[:, 0] - rows[:, 1]) <= cycle.articulation_mm


CHORD_MM = 0.01
"""Of the outline that stands for the hull: it makes a place seem no more than this further out."""
STOPPED_MM = 0.03
"""How much short of the least the simplex may stop: its tolerance is 1e-4, but the least may have a crease."""


def lies_within_its_slack(mockup: MockUp, envelope: Envelope, rng: np.random.Generator, count: int) -> None:
    most = envelope.grown_mm + envelope.slack_mm + CHORD_MM + STOPPED_MM
    away = least_over_the_cycle(mockup, places_on(envelope, count, rng), rng, most)
    assert away.min() >= envelope.grown_mm - CHORD_MM
    assert away.max() <= most


@pytest.fixture(scope="module", params=["orchard-pickup-rear", "scanned-well-rear"])
def straight(request) -> tuple[MockUp, Envelope]:
    mockup = load(CORNERS / f"{request.param}.toml")
    return mockup, envelope_of(mockup)


def outside_a_straight_travel_mm(mockup: MockUp, points: Array) -> Array:
    """How far points lie from the disc of a corner that moves straight up and down with play: least over a grid of its
    travel and play, where the distance in the half plane is to the wheel's hull.

    The pickup's hub keeps its direction, so the least over its straight travel is at the height of the point, where the
    travel reaches it, and the least over play is found on a grid of at most 0.75 mm.
    """
    cycle = mockup.suspension.cycle
    axis = mockup.suspension.pose(np.zeros((1, 3)), HUB).turn[0, :, 1]
    assert axis == pytest.approx([0.0, 1.0, 0.0], abs=1e-12)  # or the sum below is not this corner's
    outline = hull(mockup.solid.profile).outline(0.02)
    centre_z = np.clip(points[:, 2], *cycle.bump_mm)
    least = np.full(len(points), np.inf)
    shift = cycle.shift
    for ahead in np.linspace(-shift.behind_mm, shift.ahead_mm, 9):
        r = np.hypot(points[:, 0] - ahead, points[:, 2] - centre_z)
        for outboard in np.linspace(-shift.inboard_mm, shift.outboard_mm, 17):
            least = np.minimum(least, outside_outline_mm(outline, points[:, 1] - outboard, r))
    return least


def outside_outline_mm(outline: Array, y: Array, r: Array) -> Array:
    """Distance in the half plane from points outside a convex outline, chord by chord."""
    start, along = outline, np.roll(outline, -1, axis=0) - outline
    long = np.einsum("ij,ij->i", along, along)
    keep = long > 0
    start, along, long = start[keep], along[keep], long[keep]
    off = np.column_stack([y, r])[:, None] - start[None]
    share = np.clip(np.einsum("nmi,mi->nm", off, along) / long, 0.0, 1.0)
    return np.linalg.norm(off - share[..., None] * along, axis=2).min(axis=1)


def test_an_envelope_holds_its_tire_at_random_positions_pushed_by_the_play(straight):
    holds_the_wheel(*straight, np.random.default_rng(7))


@pytest.mark.parametrize("straight", ["orchard-pickup-rear"], indirect=True)
def test_a_surface_lies_within_the_stated_slack_by_a_sum_for_straight_travel(straight):
    """Corners, middles of sides and of faces. The grid of play overstates by what half its steps, 0.4 mm outboard and
    0.4 mm ahead, can move the disc: less than 0.6 mm in all.
    """
    mockup, envelope = straight
    rng = np.random.default_rng(8)
    points = envelope.vertices_mm[envelope.faces[rng.integers(0, len(envelope.faces), 150)]]
    sample = np.concatenate([points[:, 0], (points[:, 0] + points[:, 1]) / 2, points.mean(axis=1)])
    away = outside_a_straight_travel_mm(mockup, sample)
    assert away.min() >= envelope.grown_mm - 0.05
    assert away.max() <= envelope.grown_mm + envelope.slack_mm + 0.6


def test_a_surface_lies_within_the_stated_slack_by_an_optimiser_of_another_library(straight):
    lies_within_its_slack(*straight, np.random.default_rng(10), 12)


def test_a_grown_envelope_keeps_its_distance_from_the_pickups_tire():
    """Grown by 25 mm: no place of the surface is nearer than that to the swept disc, none further than the slack."""
    mockup = load(CORNERS / "orchard-pickup-rear.toml")
    envelope = envelope_of(mockup, grown_mm=25.0)
    assert envelope.grown_mm == pytest.approx(25.0 + mockup.suspension.uncertainty_mm)
    assert envelope.slack_mm <= SLACK_MM
    rng = np.random.default_rng(9)
    sample = envelope.vertices_mm[rng.integers(0, len(envelope.vertices_mm), 200)]
    away = outside_a_straight_travel_mm(mockup, sample)
    assert away.min() >= envelope.grown_mm - 0.05
    assert away.max() <= envelope.grown_mm + envelope.slack_mm + 0.6


@pytest.mark.slow
@pytest.mark.parametrize("name", ["heron-roadster-front", "tern-coupe-rear", "sorrel-sedan-front"])
def test_a_corner_that_steers_or_articulates_is_held_within_its_slack(name):
    mockup = load(CORNERS / f"{name}.toml")
    envelope = envelope_of(mockup)
    assert envelope.grown_mm == mockup.suspension.uncertainty_mm
    holds_the_wheel(mockup, envelope, np.random.default_rng(7))
    lies_within_its_slack(mockup, envelope, np.random.default_rng(11), 40)


@pytest.mark.slow
def test_tern_without_its_limit_on_articulation_sweeps_more():
    """Freed of the limit, the same axle reaches further; with it, the envelope still holds every allowed position."""
    mockup = load(CORNERS / "tern-coupe-rear.toml")
    cycle = mockup.suspension.cycle
    assert cycle.articulation_mm is not None
    freed = replace(mockup, suspension=replace(mockup.suspension, cycle=replace(cycle, articulation_mm=None)))
    tied, free = envelope_of(mockup), envelope_of(freed)
    holds_the_wheel(mockup, tied, np.random.default_rng(12))
    tied_mesh, free_mesh = (trimesh.Trimesh(e.vertices_mm, e.faces, process=False) for e in (tied, free))
    assert tied_mesh.volume < free_mesh.volume
    # what only the freed axle reaches is not held by the tied one
    assert not tied_mesh.contains(carried_wheel(freed, positions=40, each=10, rng=np.random.default_rng(13))).all()
