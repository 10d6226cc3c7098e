"""The tire and wheel as one solid: its stated dimensions exact, its outline closed, its cover complete.

Any tire on any rim of its code, narrow, stretched, low, tall, grown, chained, with the mounting face anywhere.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clearance.errors import TireError
from clearance.geom.chain import Chain
from clearance.geom.profile import Arc, Profile
from clearance.geom.revolve import Solid, is_convex
from clearance.mockup.solid import solid_of
from clearance.tire.mounted import Tape, tire_for
from clearance.tire.section import DEFAULT_TREAD
from clearance.tire.tire import Tire
from clearance.wheel.rim import wheel_for
from clearance.wheel.wheel import Wheel

TIRE_LABELS = {
    "tread",
    *(f"{side} {part}" for side in ("outer", "inner") for part in ("shoulder", "sidewall", "lower sidewall")),
}
LABELS = TIRE_LABELS | {"outer rim flange", "inner rim flange", "barrel", "wheel face", "wheel back"}
EXACT_MM = 0.01
"""The promise: widest point and diameter equal what is stated to a hundredth of a millimetre."""


@st.composite
def mounted(draw: st.DrawFn) -> tuple[Tire, Wheel]:
    code = draw(st.integers(10, 24))
    wheel = wheel_for(
        code,
        draw(st.floats(3, 14)),
        offset_mm=draw(st.floats(-160, 160)),
        flange_thickness_mm=draw(st.floats(8, 20)),
        face_mm=draw(st.none() | st.floats(8, 200)),
        center_bore_mm=draw(st.none() | st.floats(50, 110)),
    )
    section = draw(st.floats(80, 420))
    shape = draw(st.sampled_from(sorted(DEFAULT_TREAD)))
    tire = Tire(
        rim_diameter_in=code,
        overall_diameter_mm=wheel.flange_diameter_mm + draw(st.floats(8, 600)),
        section_width_mm=section,
        tread_width_mm=section * draw(st.floats(0.3, 0.97)),
        shape=shape,
        growth_width_mm=draw(st.floats(0, 20)),
        growth_diameter_mm=draw(st.floats(0, 40)),
        chain_tread_mm=draw(st.sampled_from([0.0, 37.0, 64.0])),
        chain_side_mm=draw(st.sampled_from([0.0, 15.0, 38.0])),
    )
    return tire, wheel


def _tire_bounds(solid: Solid, labels: set[str]) -> tuple[float, float, float, float]:
    bounds = [Profile(elements=_closed(e)).bounds for e in solid.profile.surfaces if e.label in labels]
    low, high = np.array(bounds).min(axis=0), np.array(bounds).max(axis=0)
    return float(low[0]), float(high[1]), float(low[2]), float(high[3])


def _closed(element):  # type: ignore[no-untyped-def]
    """One element with a way back through its middle ring, only to ask for its exact bounds."""
    from clearance.geom.profile import Line

    middle = (element.start[0] / 2 + element.end[0] / 2, element.start[1] / 2 + element.end[1] / 2)
    # a triangle back through the chord keeps the bounds; it needs an area, so it leans a nanometre inward
    across, up = element.end[0] - element.start[0], element.end[1] - element.start[1]
    length = math.hypot(across, up)
    knee = (middle[0] - 1e-7 * up / length, middle[1] + 1e-7 * across / length)
    return (element, Line(start=element.end, end=knee), Line(start=knee, end=element.start))


@settings(max_examples=80, deadline=None)
@given(mounted())
def test_widest_point_and_diameter_are_the_stated_ones(pair: tuple[Tire, Wheel]) -> None:
    tire, wheel = pair
    low, high, _, top = _tire_bounds(
        solid_of(tire, wheel), TIRE_LABELS - {"outer lower sidewall", "inner lower sidewall"}
    )
    assert high - low == pytest.approx(tire.full_width_mm, abs=EXACT_MM)
    assert (high + low) / 2 == pytest.approx(-wheel.offset_mm, abs=EXACT_MM)
    assert 2 * top == pytest.approx(tire.full_diameter_mm, abs=EXACT_MM)


@settings(max_examples=80, deadline=None)
@given(mounted())
def test_a_tire_no_narrower_than_its_rim_is_nowhere_wider_than_stated(pair: tuple[Tire, Wheel]) -> None:
    tire, wheel = pair
    low, high, _, _ = _tire_bounds(solid_of(tire, wheel), TIRE_LABELS)
    assert high - low <= max(tire.full_width_mm, wheel.width_mm) + EXACT_MM


@settings(max_examples=80, deadline=None)
@given(mounted())
def test_the_rim_is_where_offset_and_backspace_put_it(pair: tuple[Tire, Wheel]) -> None:
    _, wheel = pair
    solid = solid_of(*pair)
    flange = [e for e in solid.profile.surfaces if e.label == "inner rim flange"]
    assert min(min(e.start[0], e.end[0]) for e in flange) == pytest.approx(-wheel.backspace_mm)
    assert max(max(e.start[1], e.end[1]) for e in flange) == pytest.approx(wheel.flange_diameter_mm / 2)


@settings(max_examples=80, deadline=None)
@given(mounted())
def test_the_outline_is_closed_labelled_and_does_not_cross_itself(pair: tuple[Tire, Wheel]) -> None:
    from shapely.geometry import Polygon

    solid = solid_of(*pair)
    assert {e.label for e in solid.profile.surfaces} <= LABELS
    assert len(solid.profile.surfaces) <= 24
    for element in solid.profile.elements:
        if isinstance(element, Arc):
            assert math.dist(element.end, element.centre) == pytest.approx(element.radius_mm, rel=1e-9, abs=1e-9)
    ring = Polygon(solid.profile.outline(0.02))
    # a balloon tire may lie on its flange's top: touching along a line is closed by a hair
    assert ring.buffer(-1e-6).area == pytest.approx(ring.buffer(0).area, rel=1e-4)
    assert ring.buffer(0).geom_type == "Polygon"


@settings(max_examples=60, deadline=None)
@given(mounted(), st.integers(0, 2**32 - 1))
def test_every_point_of_the_solid_lies_in_a_piece_and_no_piece_sticks_out(
    pair: tuple[Tire, Wheel], number: int
) -> None:
    """Parametric tires: the union of the pieces is the solid, seen at 400 points of its bounding box."""
    solid = solid_of(*pair)
    assert all(is_convex(piece) for piece in solid.pieces)
    low, high, least, most = solid.profile.bounds
    rng = np.random.default_rng(number)
    across, radius = rng.uniform(low - 5, high + 5, 400), rng.uniform(least, most + 5, 400)
    distance = solid.chain.near(across, radius).distance
    covered = np.min([chain.near(across, radius).distance for chain in solid.piece_chains], axis=0)
    assert np.all(covered[distance <= 0] <= 1e-6)
    assert np.all(covered[distance > 1e-6] > 0)


@settings(max_examples=60, deadline=None)
@given(mounted(), st.floats(0.5, 60), st.integers(0, 2**32 - 1))
def test_a_larger_tire_holds_the_smaller_one(pair: tuple[Tire, Wheel], more_mm: float, number: int) -> None:
    """Growth may only add: no point of the smaller tire's tread, shoulder or sidewall lies outside the larger tire."""
    from dataclasses import replace

    tire, wheel = pair
    larger = replace(
        tire, growth_width_mm=tire.growth_width_mm + more_mm, growth_diameter_mm=tire.growth_diameter_mm + more_mm
    )
    solid, around = solid_of(tire, wheel), solid_of(larger, wheel)
    for element in solid.profile.surfaces:
        if element.label in TIRE_LABELS:
            points = element.points(0.5)
            # 2 % of the growth is allowed for the shoulder, whose arcs are fitted anew
            assert around.chain.near(points[:, 0], points[:, 1]).distance.max() <= 0.02 * more_mm + 1e-6


def test_a_face_that_was_not_measured_is_flush_with_the_outer_flange() -> None:
    wheel = wheel_for(15, 7, backspace_mm=95)
    solid = solid_of(tire_for("235/75R15", rim_width_in=7), wheel)
    face = [e for e in solid.profile.surfaces if e.label == "wheel face"]
    assert [(e.start[0], e.end[0]) for e in face] == [(wheel.frontspace_mm, wheel.frontspace_mm)]


def test_a_caliper_inside_the_barrel_is_measured_to_the_barrel() -> None:
    """150 mm from the axis and 60 mm inboard of the mounting face, in a barrel 340 mm inside: 20 mm to the barrel."""
    wheel = wheel_for(15, 7, backspace_mm=95, barrel_inner_diameter_mm=340.0)
    solid = solid_of(tire_for("235/75R15", rim_width_in=7), wheel)
    distance, foot, _, element = solid.nearest(np.array([[0.0, -60.0, 150.0]]))
    assert distance[0] == pytest.approx(20.0)
    np.testing.assert_allclose(foot[0], [0.0, -60.0, 170.0], atol=1e-9)
    assert solid.profile.surfaces[element[0]].label == "barrel"


def test_a_ball_joint_behind_the_wheel_is_measured_to_the_wheel_back() -> None:
    solid = solid_of(tire_for("235/75R15", rim_width_in=7), wheel_for(15, 7, backspace_mm=95))
    distance, _, _, element = solid.nearest(np.array([[0.0, -12.0, 100.0]]))
    assert distance[0] == pytest.approx(12.0)
    assert solid.profile.surfaces[element[0]].label == "wheel back"


def test_a_center_bore_lets_the_hub_through() -> None:
    tire = tire_for("235/75R15", rim_width_in=7)
    nose = np.array([[0.0, 20.0, 0.0]])
    closed = solid_of(tire, wheel_for(15, 7, backspace_mm=95))
    bored = solid_of(tire, wheel_for(15, 7, backspace_mm=95, center_bore_mm=70.0))
    assert closed.distance(nose)[0] < 0
    assert bored.distance(nose)[0] == pytest.approx(35.0)


def test_the_mesh_is_watertight_and_as_large_as_the_solid() -> None:
    import trimesh

    solid = solid_of(tire_for("245/45R17", rim_width_in=8), wheel_for(17, 8, offset_mm=30))
    mesh = trimesh.Trimesh(*solid.mesh(0.1), process=False)
    assert mesh.is_watertight
    # a chord along the outline and one around the axis, 0.1 mm each, at both ends
    assert mesh.extents[1] == pytest.approx(243.0, abs=0.4)
    assert mesh.extents[2] == pytest.approx(652.0, abs=0.4)


def test_a_tire_and_a_wheel_of_different_rims_are_refused() -> None:
    with pytest.raises(TireError, match="16 in rim does not go on a 15 in wheel"):
        solid_of(tire_for("235/75R16"), wheel_for(15, 7, backspace_mm=95))


def test_a_tire_inside_its_rim_is_refused() -> None:
    small = tire_for(rim_diameter_in=15, tape=Tape(overall_diameter_mm=410, section_width_mm=200))
    with pytest.raises(TireError, match="does not stand out of a rim"):
        solid_of(small, wheel_for(15, 7, backspace_mm=95))


# ---- traced

HALF = np.array([(0, 335), (60, 333), (85, 325), (100, 300), (112, 265), (108, 235), (96, 205), (90, 192)], dtype=float)


def test_a_traced_section_is_kept_point_for_point() -> None:
    wheel = wheel_for(15, 7, backspace_mm=95)
    solid = solid_of(tire_for("235/75R15", rim_width_in=7, tape=Tape(traced=HALF)), wheel)
    for across, radius in HALF[:6]:
        for side in (-1, 1):
            points = np.array([[0.0, side * across - wheel.offset_mm, radius]])
            assert solid.distance(points)[0] == pytest.approx(0.0, abs=1e-9)
    low, high, _, top = _tire_bounds(solid, TIRE_LABELS)
    assert (high - low, 2 * top) == (pytest.approx(224.0), pytest.approx(670.0))


def test_a_grown_and_chained_trace_has_the_grown_dimensions() -> None:
    wheel = wheel_for(15, 7, backspace_mm=95)
    tire = tire_for("235/75R15", rim_width_in=7, tape=Tape(traced=HALF), growth="in-service", chains="S")
    low, high, _, top = _tire_bounds(solid_of(tire, wheel), TIRE_LABELS)
    assert high - low == pytest.approx(tire.full_width_mm, abs=EXACT_MM)
    assert 2 * top == pytest.approx(tire.full_diameter_mm, abs=EXACT_MM)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_a_rough_trace_is_covered_by_its_pieces(number: int) -> None:
    """A section with a wavy, hollowed side wall: the cover may exceed it, never fall short."""
    rng = np.random.default_rng(number)
    angle = np.radians(np.linspace(90, -60, 24))
    # rays from one centre: the outline waves in and out but never crosses itself
    wave = 1 + 0.2 * rng.uniform(-1, 1, 24)
    wave[0] = 1
    half = np.column_stack([110 * np.cos(angle) * wave, 265 + 70 * np.sin(angle) * wave])
    half[0, 0] = 0
    wheel = wheel_for(15, 7, backspace_mm=95)
    solid = solid_of(tire_for(rim_diameter_in=15, tape=Tape(traced=half)), wheel)
    low, high, least, most = solid.profile.bounds
    across, radius = rng.uniform(low, high, 400), rng.uniform(least, most, 400)
    inside = solid.chain.near(across, radius).distance <= 0
    covered = np.min([Chain(piece).near(across, radius).distance for piece in solid.pieces], axis=0)
    assert np.all(covered[inside] <= 1e-6)
