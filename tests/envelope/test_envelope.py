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
from scipy.optimize import minimize

from clearance.envelope.build import SLACK_MM, Envelope, envelope_of, envelopes_of, swept_disc
from clearance.geom.mesh import is_closed
from clearance.geom.nearest import Nearest
from clearance.geom.profile import Arc, Line, Profile, polygon
from clearance.geom.revolve import Solid
from clearance.pose import Array, Pose, about, turn_onto
from clearance.suspension.position import Cycle, Shift
from clearance.suspension.steering import kingpin_by_angles
from clearance.suspension.straight import Straight


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


def least_by_brute_force(disc: Nearest, points: Array, settings: Array) -> Array:
    """The distance of the disc at every setting in turn, and the least of them."""
    least = np.full(len(points), np.inf)
    for setting in settings:
        least = np.minimum(least, disc.distance(points, np.repeat(setting[None], len(points), axis=0)))
    return least


def mock_up(solid: Solid, suspension: object) -> SimpleNamespace:
    """The envelope reads a mock-up's solid and suspension, and that all of its links were measured."""
    return SimpleNamespace(solid=solid, suspension=suspension, off_mm=lambda rides_on: 0.0)


def built(solid: Solid, suspension: object, **options: float) -> Envelope:
    return envelope_of(mock_up(solid, suspension), **options)


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
    assert 0.0 < envelope.slack_mm <= SLACK_MM
    mesh = trimesh.Trimesh(envelope.vertices_mm, envelope.faces, process=False)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
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


def test_a_travel_longer_than_the_roller_is_high_still_gives_one_solid_with_its_exact_volume():
    """240 mm of travel of a roller 80 mm high: no point is inside it all the time, so it is made of parts, joined."""
    envelope = built(rounded_cylinder(40.0, 30.0, 8.0), Straight(cycle=Cycle(bump_mm=(-120.0, 120.0))))
    holds_exactly(envelope, exact_roller(40.0, 30.0, 8.0, 240.0))


def test_two_growths_asked_together_are_as_good_as_each_asked_alone():
    """Their meshes may differ; what both hold and how loosely may not: volumes by hand, within each slack."""
    corner = mock_up(rounded_cylinder(40.0, 30.0, 8.0), Straight(cycle=Cycle(bump_mm=(-20.0, 30.0))))
    together = envelopes_of(corner, (0.0, 12.0))
    for grown_mm, envelope in zip((0.0, 12.0), together, strict=True):
        holds_exactly(envelope, exact_roller(40.0, 30.0, 8.0, 50.0, grow=grown_mm))
        alone = envelope_of(corner, grown_mm=grown_mm)
        assert envelope.grown_mm == alone.grown_mm == grown_mm
        loose = max(envelope.slack_mm * area(envelope), alone.slack_mm * area(alone))
        assert abs(volume(envelope) - volume(alone)) <= loose


def test_less_slack_is_kept_where_less_is_asked():
    envelope = built(rounded_cylinder(40.0, 30.0, 8.0), Straight(cycle=Cycle(bump_mm=(-20.0, 30.0))), slack_mm=0.2)
    holds_exactly(envelope, exact_roller(40.0, 30.0, 8.0, 50.0))
    assert envelope.slack_mm <= 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Tied:
    """A hub that its own bump lifts, that the other side's carries sideways, and whose axis tilts with the two apart.

    Within an articulation of 20 mm, of a box that would allow 50.
    """

    articulation_mm: float | None
    kind: str = "tied"
    frames: tuple[str, ...] = ("body",)
    uncertainty_mm: float = 0.0

    @property
    def cycle(self) -> Cycle:
        return Cycle(bump_mm=(-25.0, 25.0), other_bump_mm=(-25.0, 25.0), articulation_mm=self.articulation_mm)

    def pose(self, positions: Array, frame: str = "hub") -> Pose:
        bump, other, _ = np.asarray(positions, dtype=float).reshape(-1, 3).T
        tilt = np.degrees((bump - other) * 2e-3)
        turned = about(np.zeros(3), np.array([1.0, 0.0, 0.0]), tilt)
        return Pose(origin_mm=np.column_stack([0.0 * bump, 0.1 * other, bump]), turn=turned.turn)


def test_an_articulation_limit_makes_the_envelope_smaller_and_it_holds_every_position_still_allowed():
    rng = np.random.default_rng(21)
    roller = rounded_cylinder(40.0, 30.0, 8.0)
    free, tied = (built(roller, Tied(articulation_mm=most)) for most in (None, 20.0))
    assert 0.0 < tied.slack_mm <= SLACK_MM
    # smaller by more than both slacks could make up
    assert volume(free) - volume(tied) > free.slack_mm * area(free)
    disc = swept_disc(roller, Tied(articulation_mm=20.0))
    anywhere = rng.uniform(-25.0, 25.0, (2500, 2))
    anywhere[::4] = np.rint(anywhere[::4] / 25.0) * 25.0  # ends too
    edge = rng.uniform(-25.0, 5.0, 300)
    edges = np.concatenate([np.column_stack([edge, edge + 20.0]), np.column_stack([edge + 20.0, edge])])
    within = np.abs(anywhere[:, 0] - anywhere[:, 1]) <= 20.0
    allowed = np.concatenate([anywhere[within], edges])
    places = places_on(tied, 500, rng)
    near = least_by_brute_force(disc, places, allowed)
    assert near.min() >= 0.0
    # the nearest of 1900 settings is at most about 0.5 mm and 2e-3 x 0.5 x 43 mm of movement from the best
    assert near.max() <= tied.slack_mm + 0.6
    # and what the limit forbids does reach out of it
    assert least_by_brute_force(disc, places, anywhere[~within][:300]).min() < -0.5


def steered(shift: Shift | None = None, share: float = 1.0) -> Straight:
    pin = kingpin_by_angles(np.array([0.0, -30.0, 0.0]), 8.0, 3.0)
    bump, steer = (-12.0 * share, 15.0 * share), (-14.0 * share, 18.0 * share)
    cycle = Cycle(bump_mm=bump, steer_deg=steer, shift=shift or Shift())
    return Straight(cycle=cycle, camber_deg_per_mm=-0.03, kingpin=pin)


PLAY = Shift(inboard_mm=2.0, outboard_mm=1.0, ahead_mm=1.5, behind_mm=0.5)


def rounded_wheel() -> Solid:
    """As wide and high as the hollow one, its edges rounded as those of a tire are."""
    return rounded_cylinder(60.0, 52.0, 12.0)


@pytest.fixture(scope="module")
def held() -> dict[str, tuple[Nearest, Envelope]]:
    """A hollow wheel with sharp edges that travels and steers, and a rounded one that has play besides."""
    corners = {"hollow": (hollow_wheel(), steered(share=0.4)), "with play": (rounded_wheel(), steered(PLAY))}
    return {name: (swept_disc(*corner), built(*corner)) for name, corner in corners.items()}


@pytest.mark.parametrize("name", ["hollow", "with play"])
def test_a_wheel_that_travels_and_steers_is_held_at_every_random_position(held, name):
    """600 positions that the proof never saw, ends of the play among them: no place of the surface is ever reached,
    and the wheel's own points lie inside.
    """
    rng = np.random.default_rng(7)
    disc, envelope = held[name]
    solid = hollow_wheel() if name == "hollow" else rounded_wheel()
    assert is_closed(envelope.faces)
    assert is_solid(envelope)
    assert 0.0 < envelope.slack_mm <= SLACK_MM
    low, high = disc.path.box.T
    settings = rng.uniform(low, high, size=(600, len(low)))
    settings[::4] = np.where(rng.random((150, len(low))) < 0.5, low, high)
    if disc.path.slide is not None:
        settings[:, -2:] = np.where(rng.random((600, 2)) < 0.5, low[-2:], high[-2:])
    assert least_by_brute_force(disc, places_on(envelope, 1000, rng), settings).min() >= 0.0
    mesh = trimesh.Trimesh(envelope.vertices_mm, envelope.faces, process=False)
    vertices, _ = solid.mesh(0.5)
    for setting in settings[:10]:
        centre, axis = disc.path.at(setting[None])
        chosen = vertices[rng.integers(0, len(vertices), 120)] @ turn_onto(axis[0]).T + centre
        assert mesh.contains(chosen).all()


def refined_by_scipy(disc: Nearest, point: Array, start: Array) -> float:
    """The least distance near a setting by a simplex that knows nothing of slopes, within the box."""
    box = disc.path.box
    width = box[:, 1] - box[:, 0]

    def asked(share: Array) -> float:
        setting = np.clip(box[:, 0] + share * width, *box.T)[None]
        return float(disc.distance(point[None], setting)[0])

    options = {"xatol": 1e-5, "fatol": 1e-5, "maxiter": 400}
    found = minimize(
        asked, (start - box[:, 0]) / width, method="Nelder-Mead", bounds=[(0, 1)] * len(box), options=options
    )
    return float(found.fun)


@pytest.mark.parametrize("name", ["hollow", "with play"])
def test_no_place_of_the_surface_is_further_out_than_the_stated_slack(held, name):
    """Against the disc on a grid of positions with the play at its ends and middle; then, from the best of them, by an
    optimiser of another library, which may stop short by no more than 0.02 mm where a minimum has a crease.
    """
    rng = np.random.default_rng(11)
    disc, envelope = held[name]
    box = disc.path.box
    across = 17 if disc.path.slide is not None else 41  # sharp edges make several valleys
    lines = [np.linspace(*ends, 3 if i >= disc.smooth else across) for i, ends in enumerate(box)]
    grid = np.array(np.meshgrid(*lines, indexing="ij")).reshape(len(lines), -1).T
    points = places_on(envelope, 80, rng)
    least, best = np.full(len(points), np.inf), np.zeros((len(points), len(box)))
    for setting in grid:
        distance = disc.distance(points, np.repeat(setting[None], len(points), axis=0))
        nearer = distance < least
        least[nearer], best[nearer] = distance[nearer], setting
    assert least.min() >= 0.0
    far = [refined_by_scipy(disc, point, start) for point, start in zip(points, best, strict=True)]
    assert min(far) >= 0.0
    assert max(far) <= envelope.slack_mm + 0.02


@pytest.mark.parametrize("name", ["hollow", "with play"])
def test_every_face_is_turned_outward_as_seen_from_inside_the_disc(held, name):
    """From the middle of the wheel at the middle of its cycle, every face is seen from behind: the solid is a star."""
    disc, envelope = held[name]
    centre, axis = disc.path.at(disc.path.box.mean(axis=1)[None])
    low, high, _, _ = disc.solid.profile.bounds
    heart = centre[0] + (low + high) / 2 * axis[0]
    a, b, c = np.moveaxis(envelope.vertices_mm[envelope.faces] - heart, 1, 0)
    six_volumes = np.einsum("ij,ij->i", a, np.cross(b, c))
    assert six_volumes.sum() / 6.0 == pytest.approx(volume(envelope), rel=1e-9)
    # the heart found may lie a little off this middle: sliver faces may look edge on from here, but hold no volume
    assert -six_volumes[six_volumes < 0].sum() < 1e-6 * six_volumes.sum()


def test_the_same_mock_up_gives_the_same_bytes():
    one, other = roller_travel(), roller_travel()
    assert one.vertices_mm.tobytes() == other.vertices_mm.tobytes()
    assert one.faces.tobytes() == other.faces.tobytes()
