"""The envelope of shipped corners at full size, asked of the suspension itself and of trimesh's own inside test.

The checks above the sweep: poses come from `suspension.pose`, points from the true hollow wheel's mesh, so nothing that
the proof is made of is used to judge it.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh

from clearance.corner_file.load import load
from clearance.envelope.build import Envelope, envelope_of
from clearance.geom.revolve import hull
from clearance.mockup.mockup import MockUp
from clearance.pose import Array
from clearance.suspension.position import HUB

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"


def random_places(mockup: MockUp, count: int, rng: np.random.Generator) -> tuple[Array, Array]:
    """Positions (n, 3) of the cycle and play (n, 3) taken up; every third stands at an end of everything."""
    cycle, shift = mockup.suspension.cycle, mockup.suspension.cycle.shift
    play = np.array([[-shift.behind_mm, shift.ahead_mm], [-shift.inboard_mm, shift.outboard_mm], [0.0, 0.0]])
    box = np.concatenate([cycle.box, play])
    share = rng.random((count, 6))
    share[::3] = np.rint(share[::3])
    settings = box[:, 0] + share * (box[:, 1] - box[:, 0])
    return settings[:, :3], settings[:, 3:]


def carried_wheel(mockup: MockUp, positions: int, each: int, rng: np.random.Generator) -> Array:
    """(positions x each, 3): points of the true tire and wheel, carried by the hub and pushed by the play."""
    vertices, _ = mockup.solid.mesh(1.0)
    settings, play = random_places(mockup, positions, rng)
    pose = mockup.suspension.pose(settings, HUB)
    chosen = vertices[rng.integers(0, len(vertices), (positions, each))]
    return (np.einsum("nij,nkj->nki", pose.turn, chosen) + (pose.origin_mm + play)[:, None]).reshape(-1, 3)


def holds_the_wheel(mockup: MockUp, envelope: Envelope, rng: np.random.Generator) -> None:
    mesh = trimesh.Trimesh(envelope.vertices_mm, envelope.faces, process=True)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume > 0
    assert envelope.standoff_mm >= 0
    points = carried_wheel(mockup, positions=40, each=10, rng=rng)
    assert mesh.contains(points).all()
    # the same question does find a point that is out
    assert not mesh.contains(points + np.array([0.0, 0.0, 2000.0])).any()


@pytest.fixture(scope="module")
def orchard() -> tuple[MockUp, Envelope]:
    mockup = load(CORNERS / "orchard-pickup-rear.toml")
    return mockup, envelope_of(mockup, slack_mm=4.0)


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


def test_the_pickups_envelope_holds_its_tire_at_random_positions_pushed_by_the_play(orchard):
    holds_the_wheel(*orchard, np.random.default_rng(7))


def test_the_pickups_surface_lies_within_the_stated_slack(orchard):
    """Corners and middles of sides by the sum above; its grid of play overstates by at most 0.6 mm."""
    mockup, envelope = orchard
    rng = np.random.default_rng(8)
    faces = envelope.faces[rng.integers(0, len(envelope.faces), 150)]
    points = envelope.vertices_mm[faces]
    sample = np.concatenate([points[:, 0], (points[:, 0] + points[:, 1]) / 2])
    away = outside_a_straight_travel_mm(mockup, sample)
    assert away.min() >= envelope.grown_mm - 0.05
    assert away.max() <= envelope.grown_mm + envelope.slack_mm + 0.6


def test_a_grown_envelope_keeps_its_distance_from_the_pickups_tire(orchard):
    """Grown by 25 mm: no place of the surface is nearer than that to the swept disc."""
    mockup, _ = orchard
    envelope = envelope_of(mockup, grown_mm=25.0, slack_mm=5.0)
    assert envelope.grown_mm == pytest.approx(25.0 + mockup.suspension.uncertainty_mm)
    rng = np.random.default_rng(9)
    sample = envelope.vertices_mm[rng.integers(0, len(envelope.vertices_mm), 200)]
    assert outside_a_straight_travel_mm(mockup, sample).min() >= envelope.grown_mm - 0.05


@pytest.mark.slow
def test_a_steered_corners_envelope_holds_its_tire_at_random_positions_pushed_by_the_play():
    mockup = load(CORNERS / "heron-roadster-front.toml")
    envelope = envelope_of(mockup, slack_mm=5.0)
    assert envelope.grown_mm > 0  # the play is held by growing all round
    holds_the_wheel(mockup, envelope, np.random.default_rng(7))
