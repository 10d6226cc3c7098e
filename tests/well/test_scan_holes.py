"""A hole is not a clearance: scans with pieces missing, and brackets in them that only the car knows of."""

from __future__ import annotations

import numpy as np
import pytest

from clearance.errors import MeshError
from clearance.gap.cycle import over_cycle
from clearance.gap.found import CLEARS, HITS, UNDECIDED
from clearance.mockup.mockup import MockUp
from clearance.suspension.position import Cycle
from clearance.suspension.straight import Straight
from clearance.tire.tire import Tire
from clearance.well.part import Part
from clearance.well.scan import scan_parts
from clearance.well.scan_holes import holes_of
from clearance.well.scan_read import RawMesh
from clearance.wheel.wheel import Wheel

CROWN_MM, INBOARD_MM, OUTBOARD_MM = 420.0, 210.0, 80.0
REQUIRED_MM = 20.0


def crown(pitch_mm: float = 15.0):
    """Half a cylinder over the wheel and a flat half disc inboard of it, as one sheet (vertices, faces)."""
    round_it = np.linspace(0.0, np.pi, int(np.pi * CROWN_MM / pitch_mm) + 1)
    across = np.linspace(-INBOARD_MM, OUTBOARD_MM, int((INBOARD_MM + OUTBOARD_MM) / pitch_mm) + 1)
    inward = np.linspace(CROWN_MM, 80.0, int((CROWN_MM - 80.0) / pitch_mm) + 1)[1:]
    rows = [
        np.stack([CROWN_MM * np.cos(round_it), 0 * round_it + y, CROWN_MM * np.sin(round_it)], 1) for y in across[::-1]
    ]
    rows += [np.stack([r * np.cos(round_it), 0 * round_it - INBOARD_MM, r * np.sin(round_it)], 1) for r in inward]
    count = len(round_it)
    index = np.arange(len(rows) * count).reshape(len(rows), count)
    a, b, c, d = index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:]
    faces = np.concatenate([np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)])
    return np.concatenate(rows), faces


def without(vertices, faces, middle, width_mm, length_mm):
    """The sheet with what lies near a place missing: a stretched ball."""
    centres = vertices[faces].mean(axis=1) - middle
    off = np.hypot(centres[:, 1] / (width_mm / 2), np.hypot(centres[:, 0], centres[:, 2]) / (length_mm / 2))
    return faces[off > 1.0]


def scan(vertices, faces, **more) -> Part:
    raw = RawMesh(name="s", file_format="OBJ", vertices=vertices, faces=faces)
    (part,) = scan_parts(raw, name="scan", unit="mm", uncertainty_mm=0.0, required_mm=REQUIRED_MM, **more)
    return part


def checked(*parts: Part, bump_mm: float = 60.0, diameter_mm: float = 640.0):
    tire = Tire(overall_diameter_mm=diameter_mm, section_width_mm=215.0, tread_width_mm=170.0, rim_diameter_in=16.0)
    wheel = Wheel(diameter_in=16.0, width_in=7.0, offset_mm=30.0)
    suspension = Straight(cycle=Cycle(bump_mm=(-60.0, bump_mm)))
    mockup = MockUp(title="t", corner="front-left", tire=tire, wheel=wheel, suspension=suspension, parts=parts)
    return over_cycle(mockup)


def test_a_hole_of_400_mm_over_the_crown_is_undecided_and_says_where_and_how_much():
    vertices, faces = crown()
    whole = checked(scan(vertices, faces))[0]
    assert whole.verdict == CLEARS
    for middle_mm, wide_mm in ((-65.0, 240.0), (-30.0, 240.0), (-65.0, 400.0)):
        # closed all round; open to the outside; open to the outside and down the inner wall
        holed = without(vertices, faces, np.array([0.0, middle_mm, CROWN_MM]), wide_mm, 400.0)
        gap = checked(scan(vertices, holed))[0]
        assert gap.verdict == UNDECIDED
        hidden = gap.hidden[0]
        assert hidden.across_mm[0] == pytest.approx(400.0, abs=45.0)  # cut along triangles of 15 mm
        assert hidden.where.startswith("12 o'clock")
        if wide_mm < 400.0:
            assert hidden.across_mm[1] == pytest.approx(240.0, abs=45.0)
            # an ellipse of 400 x 240 mm, a little of it past the edge
            assert hidden.area_mm2 == pytest.approx(np.pi * 200.0 * 120.0, rel=0.25)


def test_who_looked_and_says_so_is_believed():
    vertices, faces = crown()
    place = np.array([0.0, -60.0, CROWN_MM])
    holed = without(vertices, faces, place, 60.0, 60.0)
    assert checked(scan(vertices, holed), bump_mm=70.0)[0].verdict == UNDECIDED
    for said in ({"holes_open": [place]}, {"holes_open": "all"}, {"holes_closed": [place]}):
        assert checked(scan(vertices, holed, **said), bump_mm=70.0)[0].verdict == CLEARS, said


def test_a_place_that_is_near_no_hole_is_refused_with_the_nearest():
    vertices, faces = crown()
    holed = without(vertices, faces, np.array([0.0, -30.0, CROWN_MM]), 60.0, 60.0)
    with pytest.raises(MeshError, match=r"no hole of the scan is near \[300, 0, 0\]; the nearest is at \["):
        scan(vertices, holed, holes_open=[np.array([300.0, 0.0, 0.0])])


def test_what_is_cut_out_on_purpose_leaves_no_hole():
    from clearance.well.scan import AxleRegion, BoxRegion, Removal, Split

    vertices, faces = crown()
    region = BoxRegion(low_mm=np.array([-80.0, -90.0, 380.0]), high_mm=np.array([80.0, 40.0, 440.0]))
    raw = RawMesh(name="s", file_format="OBJ", vertices=vertices, faces=faces)
    for more in ({"remove": [Removal(name="clip", region=region)]}, {"split": [Split(name="clip", region=region)]}):
        for part in scan_parts(raw, name="scan", unit="mm", required_mm=REQUIRED_MM, **more):
            assert not part.holes
    assert AxleRegion  # the other kind of region is held in test_scan_parts


def test_the_opening_that_the_wheel_goes_on_through_is_no_hole():
    """A body side with a round arch cut out of it, in a larger sheet: its rim is not the longest of the piece."""
    angle = np.linspace(0.0, 2.0 * np.pi, 73)[:-1]
    rings = [
        np.stack([r * np.cos(angle), 0 * angle + OUTBOARD_MM, r * np.sin(angle)], 1) for r in (360.0, 500.0, 900.0)
    ]
    index = np.arange(3 * 72).reshape(3, 72)
    a, b, c, d = index[:-1], index[1:], np.roll(index[1:], -1, 1), np.roll(index[:-1], -1, 1)
    faces = np.concatenate([np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)])
    assert not holes_of(np.concatenate(rings), faces)
    inboard = np.concatenate(rings) * [1.0, -1.0, 1.0]
    assert len(holes_of(inboard, faces)) == 1  # towards the middle of the car anything may be in it


def test_a_crack_is_as_narrow_as_it_is_however_long():
    vertices, faces = crown(10.0)
    strip = np.abs(vertices[faces].mean(axis=1)[:, 1] + 30.0) < 11.0
    up = np.abs(np.arctan2(vertices[faces].mean(axis=1)[:, 0], vertices[faces].mean(axis=1)[:, 2])) < 0.6
    found = holes_of(vertices, faces[~(strip & up)])
    assert max(hole.across_mm[0] for hole in found) > 400.0
    assert max(hole.across_mm[1] for hole in found) < 40.0


def test_a_cloud_says_nothing_from_below_until_somebody_looked():
    vertices, _ = crown(8.0)
    raw = RawMesh(name="s", file_format="XYZ", vertices=vertices, faces=np.zeros((0, 3), dtype=np.int64))
    for more, verdict in (({}, UNDECIDED), ({"holes_closed": "all"}, CLEARS)):
        (part,) = scan_parts(raw, name="scan", unit="mm", point_radius_mm=6.0, required_mm=REQUIRED_MM, **more)
        gap = checked(part)[0]
        assert gap.verdict == verdict
        assert np.isfinite(gap.at_least_mm) == (verdict == CLEARS)


@pytest.mark.parametrize("number", [*range(12), *(pytest.param(n, marks=pytest.mark.slow) for n in range(12, 120))])
def test_no_scan_with_holes_clears_where_the_car_does_not(number):
    """A car with brackets on its well, scanned with holes where they are: the tool sees the scan alone.

    Each bracket stands out of its hole by no more than half the hole's width, which is what a hole is taken to hide.
    """
    rng = np.random.default_rng(number)
    vertices, faces = crown(float(rng.uniform(10.0, 18.0)))
    holed = faces
    for _ in range(rng.integers(1, 4)):
        angle, y = rng.uniform(0.3, np.pi - 0.3), rng.uniform(-120.0, 0.0)
        way = np.array([np.cos(angle), 0.0, np.sin(angle)])
        width = rng.uniform(50.0, 160.0)
        holed = without(vertices, holed, CROWN_MM * way + [0.0, y, 0.0], width, width * rng.uniform(1.0, 2.0))
    brackets = []
    for hole in holes_of(vertices, holed):
        up = np.array([hole.middle_mm[0], 0.0, hole.middle_mm[2]]) / np.hypot(hole.middle_mm[0], hole.middle_mm[2])
        foot = CROWN_MM * up + [0.0, hole.middle_mm[1], 0.0]  # on the sheet that was there
        end = foot - up * hole.stands_out_mm * rng.uniform(0.3, 0.99)
        brackets.append(np.array([[foot, end, end]]))
    bump = float(rng.uniform(10.0, 75.0))
    told = checked(scan(vertices, holed), bump_mm=bump)[0]
    car = np.concatenate([vertices[faces], *brackets])
    real = checked(Part(name="car", kind="mesh", triangles_mm=car, required_mm=REQUIRED_MM), bump_mm=bump)[0]
    assert told.at_least_mm <= real.at_most_mm + 0.05
    if real.verdict != CLEARS:
        assert told.verdict != CLEARS
    if told.verdict == HITS:
        assert real.verdict == HITS
