"""The envelope against sums by hand and against brute force.

Small wheels, so that the proofs take seconds; the mathematics does not know the size.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from types import SimpleNamespace

import manifold3d
import numpy as np
import pytest
import trimesh

from clearance.envelope.build import Envelope, as_disc, envelope_of
from clearance.envelope.surface import Lattice, dual_mesh, edges_of, is_closed, split, triangles_of
from clearance.envelope.sweep import Sweep, sweep_of
from clearance.geom.profile import Arc, Line, Profile, polygon
from clearance.geom.revolve import Solid
from clearance.pose import Array, Pose, about, turn_onto
from clearance.suspension.position import Cycle, Shift
from clearance.suspension.steering import kingpin_by_angles
from clearance.suspension.straight import Straight

SLACK_MM = 0.5
"""Aimed at; every sum below is held against the slack that the envelope states."""


def rounded_cylinder(radius: float, width: float, corner: float) -> Solid:
    """A roller with rounded edges, convex, closed to the axis."""
    h, r = width / 2, radius
    profile = Profile(
        elements=(
            Line(start=(-h, 0.0), end=(h, 0.0)),
            Line(start=(h, 0.0), end=(h, r - corner), label="side"),
            Arc(start=(h, r - corner), end=(h - corner, r), centre=(h - corner, r - corner), label="edge"),
            Line(start=(h - corner, r), end=(corner - h, r), label="tread"),
            Arc(start=(corner - h, r), end=(-h, r - corner), centre=(corner - h, r - corner), label="edge"),
            Line(start=(-h, r - corner), end=(-h, 0.0), label="side"),
        )
    )
    return Solid(profile=profile, pieces=(profile,))


def hollow_wheel() -> Solid:
    """A tire on a rim that is open inboard: not convex, with sharp edges."""
    tire = polygon([(-20.0, 35.0), (20.0, 35.0), (26.0, 48.0), (18.0, 60.0), (-18.0, 60.0), (-26.0, 48.0)])
    disc = polygon([(6.0, 0.0), (16.0, 0.0), (16.0, 35.0), (6.0, 35.0)])
    chain = [(6.0, 0.0), (16.0, 0.0), (16.0, 35.0), (20.0, 35.0), (26.0, 48.0), (18.0, 60.0)]
    chain += [(-18.0, 60.0), (-26.0, 48.0), (-20.0, 35.0), (6.0, 35.0)]
    return Solid(profile=polygon(chain), pieces=(tire, disc))


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """A hub on an arm about an axis parallel to its own: it travels on an arc and does not turn."""

    arm_mm: float
    angle_deg: float
    cycle: Cycle = field(default_factory=lambda: Cycle(bump_mm=(0.0, 1.0)))
    kind: str = "swing"
    frames: tuple[str, ...] = ("body",)
    uncertainty_mm: float = 0.0

    def pose(self, positions: Array, frame: str = "hub") -> Pose:
        """The bump counts the share of the swing."""
        share = np.asarray(positions, dtype=float).reshape(-1, 3)[:, 0]
        swung = about(np.array([self.arm_mm, 0.0, 0.0]), np.array([0.0, 1.0, 0.0]), share * self.angle_deg)
        return Pose(origin_mm=swung.origin_mm, turn=np.broadcast_to(np.eye(3), swung.turn.shape).copy())


def volume(envelope: Envelope) -> float:
    return float(trimesh.Trimesh(envelope.vertices_mm, envelope.faces, process=False).volume)


def area(envelope: Envelope) -> float:
    return float(trimesh.Trimesh(envelope.vertices_mm, envelope.faces, process=False).area)


def is_solid(envelope: Envelope) -> bool:
    """A general solid library takes it as it is."""
    mesh = manifold3d.Mesh64(envelope.vertices_mm, envelope.faces.astype(np.uint64))
    return bool(manifold3d.Manifold(mesh).status() == manifold3d.Error.NoError)


def places_on(envelope: Envelope, count: int, rng: np.random.Generator) -> Array:
    """Random points of the surface."""
    corners = envelope.vertices_mm[envelope.faces[rng.integers(0, len(envelope.faces), count)]]
    weight = rng.dirichlet(np.ones(3), count)
    return np.einsum("nij,ni->nj", corners, weight)


def least_by_brute_force(sweep: Sweep, points: Array, settings: Array) -> Array:
    least = np.full(len(points), np.inf)
    for setting in settings:
        least = np.minimum(least, sweep.distance(points, np.repeat(setting[None], len(points), axis=0)))
    return least


def built(solid: Solid, suspension: object, **options: float) -> Envelope:
    """The envelope reads a mock-up's solid and suspension alone."""
    return envelope_of(SimpleNamespace(solid=solid, suspension=suspension), slack_mm=SLACK_MM, **options)


def roller_travel(grown_mm: float = 0.0) -> Envelope:
    return built(rounded_cylinder(40.0, 30.0, 8.0), Straight(cycle=Cycle(bump_mm=(-20.0, 30.0))), grown_mm=grown_mm)


def exact_roller(radius: float, width: float, corner: float, travel: float, grow: float = 0.0) -> float:
    """Volume of a rounded roller moved square to its axis, grown by `grow`, by slices across the axis.

    A slice at y is a disc of radius rho moved by `travel`: pi rho^2 + 2 rho travel.
    """
    r, h, c = radius + grow, width / 2 + grow, corner + grow
    y = np.linspace(0.0, h, 200_001)
    inward = np.maximum(y - (h - c), 0.0)
    rho = r - c + np.sqrt(np.maximum(c**2 - inward**2, 0.0))
    return 2 * float(np.trapezoid(math.pi * rho**2 + 2 * rho * travel, y))


def holds_exactly(envelope: Envelope, exact_mm3: float) -> None:
    """Watertight, no smaller than the sum by hand, and no larger than it plus the slack over the whole area."""
    assert is_closed(envelope.faces)
    assert is_solid(envelope)
    assert envelope.standoff_mm >= 0.0
    assert exact_mm3 <= volume(envelope) <= exact_mm3 + envelope.slack_mm * area(envelope)


def test_a_roller_moved_straight_has_its_exact_volume_within_the_slack():
    """Sum by hand in `exact_roller`, 50 mm of travel."""
    holds_exactly(roller_travel(), exact_roller(40.0, 30.0, 8.0, 50.0))


def test_a_grown_envelope_holds_the_roller_grown_on_all_sides():
    """The same sum with radius, half width and corner radius 12 mm larger."""
    holds_exactly(roller_travel(grown_mm=12.0), exact_roller(40.0, 30.0, 8.0, 50.0, grow=12.0))


def test_a_roller_swung_on_an_arm_has_its_exact_volume_within_the_slack():
    """A disc of radius rho <= R whose centre runs an arc of radius R sweeps pi rho^2 + 2 rho R angle (Pappus)."""
    arm, angle = 90.0, 40.0
    envelope = built(rounded_cylinder(40.0, 30.0, 8.0), Swing(arm_mm=arm, angle_deg=angle))
    holds_exactly(envelope, exact_roller(40.0, 30.0, 8.0, arm * math.radians(angle)))


def test_a_still_roller_is_its_own_envelope():
    envelope = built(rounded_cylinder(40.0, 30.0, 8.0), Straight(cycle=Cycle()))
    holds_exactly(envelope, exact_roller(40.0, 30.0, 8.0, 0.0))


def steered(shift: Shift | None = None) -> Straight:
    pin = kingpin_by_angles(np.array([0.0, -30.0, 0.0]), 8.0, 3.0)
    cycle = Cycle(bump_mm=(-12.0, 15.0), steer_deg=(-14.0, 18.0), shift=shift or Shift())
    return Straight(cycle=cycle, camber_deg_per_mm=-0.03, kingpin=pin)


@pytest.mark.parametrize("shift", [Shift(), Shift(inboard_mm=2.0, outboard_mm=1.0, ahead_mm=1.5, behind_mm=0.5)])
def test_a_hollow_wheel_that_travels_and_steers_is_held_at_every_random_position(shift):
    """1500 positions that the proof never saw, ends of the play among them: no place of the surface is ever reached,
    and the wheel's own points lie inside.
    """
    rng = np.random.default_rng(7)
    suspension = steered(shift)
    sweep = sweep_of(hollow_wheel(), suspension)
    envelope = built(sweep.solid, suspension)
    assert is_solid(envelope)
    low, high = sweep.path.box.T
    settings = rng.uniform(low, high, size=(1500, len(low)))
    if sweep.path.has_shift:
        settings[:, -2:] = np.where(rng.random((1500, 2)) < 0.5, low[-2:], high[-2:])
    assert least_by_brute_force(sweep, places_on(envelope, 1500, rng), settings).min() >= 0.0
    mesh = trimesh.Trimesh(envelope.vertices_mm, envelope.faces, process=False)
    vertices, _ = sweep.solid.mesh(0.5)
    for setting in settings[:10]:
        centre, axis = sweep.path.at(setting[None])
        chosen = vertices[rng.integers(0, len(vertices), 120)] @ turn_onto(axis[0]).T + centre
        assert mesh.contains(chosen).all()


def test_no_place_of_the_surface_is_further_out_than_the_stated_slack():
    """Against the disc at 5000 positions. Between them the wheel moves by at most about half of 0.6 mm of travel and of
    0.7 deg of steering on a radius of 65 mm, along the surface for the most part: 0.3 mm is what they can miss.
    """
    rng = np.random.default_rng(11)
    suspension = steered()
    envelope = built(hollow_wheel(), suspension)
    disc = as_disc(sweep_of(hollow_wheel(), suspension))
    box = disc.path.box
    grid = np.array(np.meshgrid(np.linspace(*box[0], 48), np.linspace(*box[1], 48), indexing="ij")).reshape(2, -1).T
    far = least_by_brute_force(disc, places_on(envelope, 1200, rng), grid)
    assert far.max() <= envelope.slack_mm + 0.3


def test_the_same_mock_up_gives_the_same_bytes():
    one, other = roller_travel(), roller_travel()
    assert one.vertices_mm.tobytes() == other.vertices_mm.tobytes()
    assert one.faces.tobytes() == other.faces.tobytes()


def test_every_pattern_of_signs_closes():
    """A random field, where every ambiguous cube occurs: every side is run along as often back as forth."""
    rng = np.random.default_rng(3)
    shape = (14, 14, 14)
    field_mm = rng.normal(size=shape)
    field_mm[[0, -1]] = field_mm[:, [0, -1]] = field_mm[:, :, [0, -1]] = 1.0
    places = np.array(np.meshgrid(*[np.arange(n) for n in shape], indexing="ij")).reshape(3, -1).T
    lattice = Lattice(
        low_mm=np.zeros(3),
        pitch_mm=1.0,
        shape=shape,
        places=places,
        field_mm=field_mm.ravel(),
        station=np.zeros(len(places), dtype=int),
    )
    vertices, quads, _ = dual_mesh(lattice, 0.0)
    faces = triangles_of(vertices, quads)
    half = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    forth = {}
    for a, b in half.tolist():
        forth[(a, b)] = forth.get((a, b), 0) + 1
    assert all(forth.get((b, a), 0) == count for (a, b), count in forth.items())


def test_a_split_closed_mesh_stays_closed_and_keeps_its_volume():
    """Random sides of a box cut at their middles: 1, 2 and 3 cuts to a face all occur."""
    rng = np.random.default_rng(5)
    mesh = trimesh.creation.icosphere(subdivisions=2)
    vertices, faces = np.asarray(mesh.vertices), np.asarray(mesh.faces)
    edges, face_edges = edges_of(faces)
    chosen = rng.random(len(edges)) < 0.5
    assert set(chosen[face_edges].sum(axis=1)) == {0, 1, 2, 3}
    number = np.full(len(edges), -1)
    number[chosen] = len(vertices) + np.arange(int(chosen.sum()))
    cut = split(faces, face_edges, number)
    grown = np.concatenate([vertices, vertices[edges[chosen]].mean(axis=1)])
    assert is_closed(cut)
    assert trimesh.Trimesh(grown, cut, process=False).volume == pytest.approx(mesh.volume, rel=1e-12)
