"""Flat patterns: rings inside the tire, parts to size whatever the kerf, nothing on top of anything else."""

import itertools
import math
from pathlib import Path

import numpy as np
import pytest

from clearance.description.load import load
from clearance.errors import ShapeError
from clearance.gauge.flat import Sheet, blade_flat, blade_section, ring_stack
from clearance.gauge.flatwork import arcs_found, disc, marks_of, oblong
from clearance.gauge.hub import hub_fit
from clearance.gauge.making import Making
from clearance.gauge.nest import nested
from clearance.geom.drawing import CUT, ENGRAVE, FOLD, Circle
from clearance.geom.profile import Arc

ORCHARD = Path(__file__).parents[2] / "fixtures" / "corners" / "orchard-pickup-rear.toml"


@pytest.fixture(scope="module")
def mockup():
    return load(ORCHARD)


@pytest.fixture(scope="module")
def stack(mockup):
    return ring_stack(mockup, Sheet(width_mm=1220, height_mm=1220, thickness_mm=30.0), Making())


def test_one_layer_lies_on_the_hub_face_and_carries_the_bolt_circle(mockup, stack):
    plate = next(p for p in stack.patterns if p.station_mm[0] == 0.0)
    fit, _ = hub_fit(mockup.wheel, Making())
    holes = [m for m in marks_of(plate.shape) if isinstance(m, Circle)]
    on_circle = [m for m in holes if math.hypot(*m.centre) == pytest.approx(114.3 / 2, abs=0.01)]
    assert len(on_circle) == 5
    assert any(m.radius_mm == pytest.approx(fit.bore_mm / 2, abs=0.01) for m in holes)


def test_patterns_do_not_touch_and_stay_on_their_sheet(stack):
    from shapely import Polygon

    for sheet in stack.sheets:
        outlines = [
            Polygon(m.points(0.1)) if not isinstance(m, Circle) else disc(m.radius_mm, m.centre)
            for m in sheet.marks
            if m.layer == CUT
        ]
        outer = [s for s in outlines if not any(o is not s and o.contains(s) for o in outlines)]
        for a, b in itertools.combinations(outer, 2):
            assert a.distance(b) >= stack.sheet.gap_mm - 0.01
        for shape in outer:
            x0, y0, x1, y1 = shape.bounds
            assert min(x0, y0) >= stack.sheet.gap_mm - 0.01
            assert x1 <= stack.sheet.width_mm - stack.sheet.gap_mm + 0.01
            assert y1 <= stack.sheet.height_mm - stack.sheet.gap_mm + 0.01


def test_kerf_is_added_half_on_each_side(mockup):
    """A beam of 0.4 mm takes 0.2 mm of the part: outlines grow by it, holes shrink by it."""

    def bore_and_rim(kerf):
        flat = blade_flat(mockup, Sheet(kerf_mm=kerf), Making())
        circles = sorted(m.radius_mm for s in flat.sheets for m in s.marks if isinstance(m, Circle))
        return circles[0], circles[-1]

    (hole, rim), (small, large) = bore_and_rim(0.0), bore_and_rim(0.4)
    assert hole - small == pytest.approx(0.2, abs=0.02)
    assert large - rim == pytest.approx(0.2, abs=0.02)


def test_a_thick_blade_keeps_its_corners_inside_the_tire(mockup):
    """The corner of a blade of thickness t at radius r lies hypot(r, t/2) off the axis."""
    fit, _ = hub_fit(mockup.wheel, Making())
    section = blade_section(mockup.solid, fit, 18.0)
    ring = np.asarray(section.exterior.coords)
    corner = np.column_stack([np.full(len(ring), 9.0), ring[:, 0], ring[:, 1]])
    assert mockup.solid.distance(corner).max() < 0.05


def test_the_blade_kit_has_its_layers(mockup):
    flat = blade_flat(mockup, Sheet(), Making())
    assert {m.layer for s in flat.sheets for m in s.marks} >= {CUT, ENGRAVE, FOLD}
    assert {p.name for p in flat.patterns} == {"flange", "journal", "cap", "ring", "blade", "angle"}


def test_arcs_come_back_from_their_chords():
    """A quarter-round corner of 20 mm on a 100 x 60 plate: four lines and four arcs, each at its radius and centre."""
    plate = oblong(20, 20, 80, 40).buffer(20.0, quad_segs=40)
    elements = arcs_found(np.asarray(plate.exterior.coords)[:-1])
    arcs = [e for e in elements if isinstance(e, Arc)]
    assert len(arcs) == 4
    assert len(elements) == 8
    assert [a.radius_mm for a in arcs] == pytest.approx([20.0] * 4, abs=0.001)
    assert {(round(a.centre[0]), round(a.centre[1])) for a in arcs} == {(20, 20), (80, 20), (80, 40), (20, 40)}


def test_an_oblong_is_not_taken_for_an_arc():
    assert not [e for e in arcs_found(np.array([(0, 0), (9, 0), (9, 5), (0, 5)])) if isinstance(e, Arc)]


def test_a_small_pattern_goes_inside_a_ring():
    ring = disc(200.0).difference(disc(150.0))
    placed = nested([ring, disc(60.0)], ["ring", "plate"], (420.0, 420.0), 5.0, 5.0)
    assert [p.sheet for p in placed] == [0, 0]


@pytest.mark.parametrize(
    ("given", "message"),
    [({"thickness_mm": 0.1}, "thick"), ({"kerf_mm": 9.0}, "kerf"), ({"width_mm": 20.0}, "sheet of")],
)
def test_a_sheet_that_cannot_be_is_refused(given, message):
    with pytest.raises(ShapeError, match=message):
        Sheet(**given)


def test_a_part_larger_than_the_sheet_is_refused():
    with pytest.raises(ShapeError, match="larger than a sheet"):
        nested([oblong(0, 0, 500, 500)], ["plate"], (400.0, 400.0), 5.0, 5.0)
