"""Outlines: closed, the right way round; and distances to them against shapely on a fine polygon."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from oracles import tire_and_wheel

from clearance.errors import ShapeError
from clearance.geom.chain import Chain
from clearance.geom.profile import Arc, Line, Profile, polygon
from clearance.geom.revolve import Solid, hull, is_convex

DISC = Profile(
    elements=(
        Line(start=(-10.0, 0.0), end=(10.0, 0.0)),
        Line(start=(10.0, 0.0), end=(10.0, 90.0), label="face"),
        Arc(start=(10.0, 90.0), end=(0.0, 100.0), centre=(0.0, 90.0), label="rim"),
        Arc(start=(0.0, 100.0), end=(-10.0, 90.0), centre=(0.0, 90.0), label="rim"),
        Line(start=(-10.0, 90.0), end=(-10.0, 0.0), label="back"),
    )
)


def test_bounds_of_arcs_are_exact():
    assert DISC.bounds == (-10.0, 10.0, 0.0, 100.0)


def test_the_axis_is_no_surface():
    assert [e.label for e in DISC.surfaces] == ["face", "rim", "rim", "back"]


def test_an_open_chain_says_where():
    with pytest.raises(ShapeError, match=r"open: .* ends at \(10\.000, 0\.000\)"):
        Profile(elements=(Line(start=(0, 0), end=(10, 0)), Line(start=(10, 5), end=(0, 0))))


def test_the_wrong_way_round_is_refused():
    with pytest.raises(ShapeError, match="wrong way round"):
        polygon([(0, 0), (0, 10), (10, 10), (10, 0)])


def test_below_the_axis_is_refused():
    with pytest.raises(ShapeError, match=r"dips 5\.000 mm below"):
        polygon([(0, 0), (10, -5), (10, 10), (0, 10)])


def test_distances_by_hand():
    """Beside the face, above the rim, off the shoulder at 45 degrees, at the very centre of the solid, on the
    surface.
    """
    y = np.array([25.0, 0.0, 0.0 + 20 * math.sqrt(0.5), 0.0, 10.0])
    r = np.array([50.0, 130.0, 90.0 + 20 * math.sqrt(0.5), 50.0, 40.0])
    near = Chain(DISC).near(y, r)
    assert near.distance == pytest.approx([15.0, 30.0, 10.0, -10.0, 0.0], abs=1e-12)
    assert near.across[0] == pytest.approx(1.0)
    assert near.away[1] == pytest.approx(1.0)


def test_on_the_axis_inside_a_ball_a_place_is_inside():
    """There both of its arcs end, and the axis is no surface: 100 less how far it is from the middle."""
    ball = Profile(
        elements=(
            Line(start=(-100.0, 0.0), end=(100.0, 0.0)),
            Arc(start=(100.0, 0.0), end=(0.0, 100.0), centre=(0.0, 0.0)),
            Arc(start=(0.0, 100.0), end=(-100.0, 0.0), centre=(0.0, 0.0)),
        )
    )
    y = np.linspace(-160.0, 160.0, 641)
    assert Chain(ball).near(y, np.zeros(641)).distance == pytest.approx(np.abs(y) - 100.0)
    # of a double cone with a dent at one end: its tip, and the bottom of its dent
    cone = polygon([(-50.0, 0.0), (20.0, 0.0), (40.0, 30.0), (0.0, 50.0)])
    tip, dent = Chain(cone).near(np.array([-60.0, -40.0, 19.0, 21.0]), np.zeros(4)).distance.reshape(2, 2)
    assert tip == pytest.approx([10.0, -10.0 * math.sqrt(0.5)])
    assert dent == pytest.approx([-1.0, 30.0 / math.hypot(20.0, 30.0)])


SHAPES = {
    "disc": DISC,
    "tire": tire_and_wheel().profile,
    "stretched": tire_and_wheel(width_mm=185, tread_mm=150, rim_width_in=9.0).profile,
    "narrow rim": tire_and_wheel(width_mm=300, tread_mm=220, rim_width_in=6.0).profile,
    "dished": tire_and_wheel(offset_mm=-60.0).profile,
    "notched": polygon([(0, 0), (40, 0), (40, 80), (25, 80), (20, 30), (15, 80), (0, 80)]),
}


@pytest.mark.parametrize("name", SHAPES)
def test_signed_distance_agrees_with_a_fine_polygon(name):
    """shapely's distance to an outline of chords 1e-4 mm from the arcs, signed by its point-in-polygon."""
    profile = SHAPES[name]
    rng = np.random.default_rng(4)
    y, r = rng.uniform(-350, 300, 4000), rng.uniform(0, 500, 4000)
    outline = profile.outline(1e-4)
    inside = shapely.contains(shapely.Polygon(outline), shapely.points(y, r))
    surface = shapely.union_all([shapely.LineString(e.points(1e-4)) for e in profile.surfaces])
    exact = shapely.distance(surface, shapely.points(y, r)) * np.where(inside, -1.0, 1.0)
    near = Chain(profile).near(y, r)
    assert near.distance == pytest.approx(exact, abs=2e-4)
    step = 1e-6
    slope = (Chain(profile).near(y + step, r).distance - near.distance) / step
    # at creases of the distance a difference quotient straddles two sides
    assert np.mean(np.abs(slope - near.across) < 1e-3) > 0.995


@pytest.mark.parametrize("name", SHAPES)
def test_the_hull_is_convex_and_never_further_than_the_solid(name):
    profile = SHAPES[name]
    around = hull(profile)
    assert is_convex(around)
    rng = np.random.default_rng(5)
    y, r = rng.uniform(-350, 300, 4000), rng.uniform(0, 500, 4000)
    assert np.all(Chain(around).near(y, r).distance <= Chain(profile).near(y, r).distance + 2e-4)


@pytest.mark.parametrize("name", ["tire", "stretched", "narrow rim", "dished"])
def test_the_pieces_cover_the_solid_and_fit_it(name):
    """Off the solid the least distance to a piece is the distance to the solid; inside, some piece holds the point."""
    solid = {
        "tire": tire_and_wheel(),
        "stretched": tire_and_wheel(width_mm=185, tread_mm=150, rim_width_in=9.0),
        "narrow rim": tire_and_wheel(width_mm=300, tread_mm=220, rim_width_in=6.0),
        "dished": tire_and_wheel(offset_mm=-60.0),
    }[name]
    rng = np.random.default_rng(6)
    y, r = rng.uniform(-350, 300, 6000), rng.uniform(0, 450, 6000)
    exact = solid.chain.near(y, r).distance
    pieces = np.min([chain.near(y, r).distance for chain in solid.piece_chains], axis=0)
    assert np.all(pieces <= np.maximum(exact, 0.0) + 1e-6)
    assert np.mean(np.abs(pieces - exact)[exact > 0] < 1e-6) > 0.97


def test_the_mesh_is_watertight_and_holds_the_volume_of_pappus():
    """Volume of a solid of revolution: area of the section times the way of its centroid (Pappus)."""
    trimesh = pytest.importorskip("trimesh")
    solid = Solid(profile=DISC, pieces=(DISC,))
    vertices, faces = solid.mesh(0.01)
    mesh = trimesh.Trimesh(vertices, faces)
    section = shapely.Polygon(DISC.outline(1e-4))
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(section.area * 2 * math.pi * section.centroid.y, rel=5e-4)


def test_a_cover_that_is_not_convex_is_refused():
    with pytest.raises(ShapeError, match="not convex"):
        Solid(profile=SHAPES["notched"], pieces=(SHAPES["notched"],))
