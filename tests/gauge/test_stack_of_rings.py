"""A laminated tire: what is cut, stacked, holds the tire and rim, or says on which side by how much it does not."""

import dataclasses
import io
import itertools
import math

import ezdxf
import numpy as np
import pytest
from answers.mockups import between_walls, tire
from hypothesis import Phase, example, given, settings
from hypothesis import strategies as st
from shapely import Polygon, box, contains_xy
from share import examples

from clearance.errors import ShapeError
from clearance.export.dxf import dxf
from clearance.facts.gauge import laid_flat
from clearance.gauge.flat import Sheet, ring_stack
from clearance.gauge.layers import LEAST_PLANED_MM, LEAST_SAID_MM, NOTHING_MM, layers_of
from clearance.gauge.making import Making
from clearance.gauge.stack_sheet import stack_sheet
from clearance.geom.drawing import ENGRAVE, Text
from clearance.wheel.bolt_circle import BoltCircle
from clearance.wheel.wheel import Wheel


def corner(*, diameter=650.0, section=295.4, rim=17.0, width=9.5, offset=31.7):
    wheel = Wheel(diameter_in=rim, width_in=width, offset_mm=offset, bolt_circle=BoltCircle(studs=5, diameter_mm=114.3))
    base = between_walls(inboard=900.0, outboard=900.0)
    return dataclasses.replace(base, tire=tire(diameter=diameter, section=section, rim=rim), wheel=wheel)


def big(**more):
    return Sheet(width_mm=3000.0, height_mm=3000.0, **more)


def section_points(mockup):
    """(n, 2) of y and r: the outline of tire and rim, and a grid inside it, from the barrel outward."""
    outline = mockup.solid.profile.outline(0.005)
    y0, r0 = outline.min(axis=0)
    y1, r1 = outline.max(axis=0)
    ys, rs = (a.ravel() for a in np.meshgrid(np.linspace(y0, y1, 60), np.linspace(r0, r1, 60)))
    inside = contains_xy(Polygon(outline), ys, rs)
    points = np.vstack([outline, np.column_stack([ys[inside], rs[inside]])])
    return points[points[:, 1] >= mockup.wheel.barrel_mm / 2]


def measured(pattern):
    """Inside and outside radius of a whole ring as it is drawn; a hub plate has no inside."""
    radii = np.hypot(*np.asarray(pattern.shape.exterior.coords).T)
    holes = [np.asarray(ring.coords) for ring in pattern.shape.interiors]
    around = [np.hypot(*h.T).max() for h in holes if np.abs(h[:-1].mean(axis=0)).max() < 1e-3]
    return 0.0 if pattern.station_mm[0] == 0.0 else max(around), radii.min()


def not_held(mockup, found):
    """How far the tire reaches past both ends of the stack, inboard and outboard; asserts that the rings hold the rest,
    with their edges bevelled as far as is marked.
    """
    points = section_points(mockup)
    for part in found.patterns:
        low, high = part.station_mm
        inside, outside = measured(part)
        y, r = points[(points[:, 0] >= low) & (points[:, 0] <= high)].T
        assert (r <= outside + 1e-6).all()
        assert (r >= inside - 1e-6).all()
        if part.bevel_mm is not None:
            small, large = (low, high) if part.label[-1] == "IN SIDE UP" else (high, low)
            bevelled = outside + (part.bevel_mm - outside) * (y - large) / (small - large)
            assert (r <= bevelled + 1e-6).all()
    low, high = found.layers[0].low_mm, found.layers[-1].high_mm
    return max(0.0, low - points[:, 0].min()), max(0.0, points[:, 0].max() - high)


# a stack takes a second: a failing one is not made smaller
@settings(max_examples=examples(15, 4), deadline=None, derandomize=True, phases=[Phase.explicit, Phase.generate])
@given(
    diameter=st.floats(560.0, 950.0),
    section=st.floats(160.0, 340.0),
    offset=st.floats(-150.0, 150.0),
    thick=st.floats(9.0, 40.0),
    also=st.lists(st.floats(1.0, 30.0), max_size=3),
    ends=st.sampled_from(["planed", "whole", "short"]),
)
def test_what_is_cut_and_stacked_holds_the_tire_or_says_by_how_much_not(diameter, section, offset, thick, also, ends):
    mockup = corner(diameter=diameter, section=section, rim=15.0, width=section / 25.4 * 0.8, offset=offset)
    found = ring_stack(mockup, big(thickness_mm=thick, also_mm=tuple(also), ends=ends), Making())
    for end, missed in zip(found.ends, not_held(mockup, found), strict=True):
        said = max(0.0, end.short_mm)
        # the outline is sampled in chords of 0.005 mm
        assert missed == pytest.approx(said, abs=0.01)
        if ends != "short":
            assert said < NOTHING_MM
        if said >= LEAST_SAID_MM:
            assert f"{said:.1f} mm" in str(end)
            assert "SHORT" in str(end)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(
    low=st.floats(-400.0, 50.0),
    wide=st.floats(100.0, 400.0),
    thick=st.floats(0.5, 60.0),
    also=st.lists(st.floats(0.5, 60.0), max_size=4),
    ends=st.sampled_from(["planed", "whole", "short"]),
)
@example(low=0.15625, wide=212.0, thick=26.546875, also=[], ends="planed")
@example(low=-165.875, wide=100.0, thick=11.0, also=[], ends="planed")
def test_layers_stand_on_one_another_and_are_sheet_that_is_there(low, wide, thick, also, ends):
    """Without a hole from end to end, one of them beginning on the hub face; nothing is planed but thinner."""
    sheet = big(thickness_mm=thick, also_mm=tuple(also), ends=ends)
    layers, (inboard, outboard) = layers_of(low, low + wide, sheet)
    assert all(a.high_mm == pytest.approx(b.low_mm, abs=1e-5) for a, b in itertools.pairwise(layers))
    assert any(x.low_mm == 0.0 for x in layers)
    assert layers[0].low_mm == pytest.approx(min(inboard.stack_mm, 0.0))
    assert layers[-1].high_mm == outboard.stack_mm
    for layer in layers:
        assert layer.stock_mm in {thick, *also}
        assert layer.thick_mm <= layer.stock_mm + 1e-5
        if layer.planed:
            assert ends == "planed"
            assert layer.thick_mm >= min(LEAST_PLANED_MM, layer.stock_mm - NOTHING_MM) - 1e-5
    if ends == "planed":
        # both ends within a tenth beyond the tire (two for a shared rest), or by what is not worth planing, where there
        # was sheet thick enough to plane
        for end, span in ((inboard, -low), (outboard, low + wide)):
            if span > 2 * thick and thick > 2 * LEAST_PLANED_MM and not also:
                assert -NOTHING_MM < end.short_mm < NOTHING_MM


def test_a_wide_tire_of_sheets_of_25_mm():
    """295.4 mm at offset +31.7: -179.4 to +116.0, which whole sheets within the tire leave 4.4 and 16.0 mm short."""
    mockup = corner()
    planed = ring_stack(mockup, big(thickness_mm=25.0), Making())
    assert [e.tire_mm for e in planed.ends] == pytest.approx([-(295.4 / 2 + 31.7), 295.4 / 2 - 31.7], abs=0.05)
    assert [(x.low_mm, x.high_mm) for x in (planed.layers[0], planed.layers[-1])] == [(-179.4, -164.7), (100.0, 116.0)]
    assert "PLANE TO 16.0" in planed.patterns[-1].label
    short = ring_stack(mockup, big(thickness_mm=25.0, ends="short"), Making())
    assert [round(e.short_mm, 1) for e in short.ends] == [4.4, 16.0]
    assert "INBOARD 4.4 SHORT" in short.patterns[0].label
    assert "OUTBOARD 16.0 SHORT" in short.patterns[-1].label
    said = laid_flat(short)
    assert len([w for w in said["warnings"] if "SHORT" in w]) == 2
    assert [e["short_mm"] for e in said["ends"]] == pytest.approx([4.4, 16.0], abs=0.05)
    drawn = [m.text for m in stack_sheet(short, mockup).plain.marks if isinstance(m, Text)]
    assert any("inboard" in w and "4.4 SHORT" in w for w in drawn)
    assert any("outboard" in w and "16.0 SHORT" in w for w in drawn)
    assert not laid_flat(planed)["warnings"]


def test_thinner_sheet_ends_the_stack_and_lies_on_sheets_of_its_own():
    """4.4 mm from one sheet of 6, its neighbour planed by the 1.6 over; 16.0 from 6 and 12 planed to 10."""
    found = ring_stack(corner(), big(thickness_mm=25.0, also_mm=(6.0, 12.0)), Making())
    assert [(x.stock_mm, round(x.thick_mm, 1)) for x in found.layers[:2]] == [(6.0, 6.0), (25.0, 23.4)]
    assert [(x.stock_mm, round(x.thick_mm, 1)) for x in found.layers[-2:]] == [(12.0, 10.0), (6.0, 6.0)]
    assert set(found.stock_mm) == {25.0, 12.0, 6.0}
    for drawing, thick in zip(found.sheets, found.stock_mm, strict=True):
        words = " ".join(m.text for m in drawing.marks if isinstance(m, Text))
        assert ("MM SHEET" in words) == (thick != 25.0)


def test_the_dxf_of_a_ring_has_the_radii_that_hold_the_tire():
    """Read back by ezdxf: every ring's outermost circle is as large as the tire is in its layer, to 0.05 mm."""
    mockup = corner()
    found = ring_stack(mockup, big(thickness_mm=25.0), Making())
    radii = []
    for drawing in found.sheets:
        document = ezdxf.read(io.StringIO(dxf(drawing).decode()))
        radii += [e.dxf.radius for e in document.modelspace() if e.dxftype() == "CIRCLE"]
    section = Polygon(mockup.solid.profile.outline(0.005))
    for part in found.patterns:
        low, high = part.station_mm
        top = section.intersection(box(low, 0.0, high, 900.0)).bounds[3]
        assert any(top <= r <= top + 0.05 for r in radii), part.name


@pytest.mark.parametrize("offset", [-190.0, 190.0])
def test_a_tire_wholly_on_one_side_of_the_hub_face_still_has_its_hub_plate(offset):
    mockup = corner(section=240.0, width=7.5, offset=offset)
    found = ring_stack(mockup, big(thickness_mm=30.0), Making())
    plate = next(p for p in found.patterns if p.station_mm[0] == 0.0)
    bores = [np.asarray(ring.coords)[:-1].mean(axis=0) for ring in plate.shape.interiors]
    assert sum(math.hypot(*b) == pytest.approx(114.3 / 2, abs=0.1) for b in bores) == 5
    assert not_held(mockup, found) == pytest.approx((0.0, 0.0), abs=NOTHING_MM)


def test_every_part_of_a_split_stack_says_what_is_done_to_it():
    """In sectors too: the number and the thickness to plane to are engraved on every part, the bevel as an arc."""
    found = ring_stack(corner(), Sheet(thickness_mm=25.0, width_mm=1220.0, height_mm=610.0), Making())
    assert len(found.patterns) > len(found.layers)
    words = [m.text for s in found.sheets for m in s.marks if isinstance(m, Text)]
    planed = [p for p in found.patterns if p.layer.planed]
    assert len([w for w in words if "PLANE TO" in w]) == len(planed)
    arcs = [m for s in found.sheets for m in s.marks if m.layer == ENGRAVE and not isinstance(m, Text)]
    assert len(arcs) >= len([p for p in found.patterns if p.bevel_mm is not None]) > 0


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"ends": "glued"}, '"planed", "whole" or "short"'),
        ({"also_mm": (0.1,)}, "thick"),
        ({"also_mm": (3.0,) * 13}, "13 other"),
    ],
)
def test_what_cannot_be_is_refused(given, message):
    with pytest.raises(ShapeError, match=message):
        Sheet(**given)
