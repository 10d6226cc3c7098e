"""The middle of the gauge: bolt circle, bore, journal, cheek."""

import math

import numpy as np
import pytest
from shapes import is_sound

from clearance.errors import ShapeError, WheelError
from clearance.gauge.body import mesh_of
from clearance.gauge.hub import hub_fit, hub_pieces
from clearance.gauge.making import Making, bed_of
from clearance.wheel.bolt_circle import BoltCircle
from clearance.wheel.wheel import Wheel


def wheel(**kept):
    given = {"bolt_circle": BoltCircle(studs=5, diameter_mm=114.3), "center_bore_mm": 70.0, **kept}
    return Wheel(diameter_in=15, width_in=7, offset_mm=-6, **given)


def level_radii(body, w, around, within):
    """Distances from `around` of the body's corners at height w, those within a radius."""
    vertices, _ = mesh_of(body)
    there = vertices[np.abs(vertices[:, 2] - w) < 1e-4][:, :2]
    r = np.hypot(*(there - np.array(around)).T)
    return r[r < within]


def test_stud_holes_lie_on_the_bolt_circle_at_the_chord_of_a_five_lug_pattern():
    """Adjacent holes of 5 on 114.3 mm are 114.3 x sin 36 deg = 67.184 mm apart (CALC)."""
    fit, _ = hub_fit(wheel(), Making())
    a, b = (
        np.array([fit.circle_mm * math.sin(math.radians(d)), fit.circle_mm * math.cos(math.radians(d))])
        for d in fit.studs_deg[:2]
    )
    assert math.dist(a, b) == pytest.approx(67.184, abs=0.001)
    plate = hub_pieces(fit, 1, "t")[0].body
    for at in (a, b):
        radii = level_radii(plate, 0.0, at, 9.0)
        # 12.7 mm stud, 1 mm of play, 0.3 mm for the printer
        assert radii.min() == pytest.approx(7.0, abs=0.02)
        assert radii.max() == pytest.approx(7.0, abs=0.02)


def test_the_bore_is_the_wheels_center_bore_grown_for_the_printer():
    fit, warnings = hub_fit(wheel(), Making())
    assert fit.bore_mm == pytest.approx(70.3)
    assert warnings == ()
    plate = hub_pieces(fit, 1, "t")[0].body
    radii = level_radii(plate, 0.0, (0.0, 0.0), 40.0)
    assert radii.min() == pytest.approx(35.15, abs=0.02)


def test_the_plate_lies_on_the_hub_face_and_its_pieces_are_sound():
    fit, _ = hub_fit(wheel(), Making())
    pieces = hub_pieces(fit, 1, "Orchard half-ton")
    assert [p.name for p in pieces] == ["hub plate", "cap", "ring"]
    assert all(is_sound(p.body) for p in pieces)
    assert pieces[0].body.bounding_box()[2] == 0.0


@pytest.mark.parametrize("fit_mm", [0.1, 0.25, 0.4])
def test_the_ring_turns_with_the_stated_fit_on_journal_flange_and_cap(fit_mm):
    fit, _ = hub_fit(wheel(), Making(fit_mm=fit_mm))
    plate, cap, ring = (p.body for p in hub_pieces(fit, 1, "t"))
    # A circle of chords within 0.02 mm: the least gap is a chord's middle against a corner.
    assert plate.min_gap(ring, 3.0) == pytest.approx(fit_mm, abs=0.021)
    assert cap.min_gap(ring, 3.0) == pytest.approx(fit_mm, abs=1e-4)
    assert (plate ^ ring).volume() == pytest.approx(0.0, abs=1e-9)


def test_one_turn_of_the_ring_meets_nothing():
    fit, _ = hub_fit(wheel(), Making())
    plate, cap, ring = (p.body for p in hub_pieces(fit, 1, "t"))
    for turn in range(0, 360, 15):
        turned = ring.rotate((0.0, 0.0, float(turn)))
        assert (turned ^ plate).volume() < 1e-9
        assert (turned ^ cap).volume() < 1e-9


def test_the_stop_hole_falls_into_a_notch_at_twelve_directions_only():
    import manifold3d as m3

    from clearance.gauge.flatwork import on_circle
    from clearance.gauge.hub import STOP_DEG

    fit, _ = hub_fit(wheel(), Making())
    plate, cap, ring = (p.body for p in hub_pieces(fit, 1, "t"))
    fixed = plate + cap

    def bolt(turn):
        u, v = on_circle(fit.flange_mm, STOP_DEG + turn)
        return m3.Manifold.cylinder(fit.stack_mm - 2.0, 2.5, 2.5, 32).translate((u, v, 2.0))

    assert (bolt(0) ^ ring).volume() < 1e-6
    free = [turn for turn in range(0, 360, 10) if (bolt(turn) ^ fixed).volume() < 1e-6]
    assert free == list(range(0, 360, 30))


@pytest.mark.parametrize(
    ("studs", "circle", "bore", "bed"),
    [(4, 98.0, 58.1, "220x220x250"), (5, 139.7, 108.0, "180x180x180"), (8, 170.0, 125.0, "200x200x180")],
)
def test_hubs_too_large_for_the_bed_are_made_in_lapped_parts(studs, circle, bore, bed):
    making = Making(bed=bed_of(bed))
    given = wheel(bolt_circle=BoltCircle(studs=studs, diameter_mm=circle), center_bore_mm=bore)
    fit, _ = hub_fit(given, making)
    pieces = hub_pieces(fit, 1, "t")
    assert [p.number for p in pieces] == list(range(1, len(pieces) + 1))
    for piece in pieces:
        assert is_sound(piece.body), piece.name
        assert making.bed.takes(*piece.extent_mm), piece.name
    bodies = [p.body for p in pieces]
    for k, one in enumerate(bodies):
        for other in bodies[:k]:
            assert (one ^ other).volume() < 1e-6


def test_without_a_center_bore_the_plate_is_bored_by_guess_and_says_so():
    fit, warnings = hub_fit(wheel(center_bore_mm=None), Making())
    assert 60 < fit.bore_mm < 80
    assert "centre it by eye" in warnings[0]


def test_a_shallow_wheel_face_is_said_to_be_passed():
    fit, warnings = hub_fit(wheel(face_mm=10.0), Making())
    assert fit.proud_mm == pytest.approx(fit.stack_mm - 10.0)
    assert "stands" in warnings[0]


@pytest.mark.parametrize(
    ("given", "making", "message"),
    [
        ({"bolt_circle": None}, {}, "write the bolt circle"),
        ({"center_bore_mm": 106.0}, {}, "leaves no wall"),
        ({"bolt_circle": BoltCircle(studs=10, diameter_mm=114.3)}, {"nut_mm": 40.0}, "smaller --nut"),
    ],
)
def test_a_hub_that_cannot_be_is_refused(given, making, message):
    with pytest.raises(WheelError, match=message):
        hub_fit(wheel(**given), Making(**making))


@pytest.mark.parametrize("text", ["220", "220x220", "a x b x c", "50x50x50", "9000x220x250"])
def test_a_bed_that_cannot_be_is_refused(text):
    with pytest.raises(ShapeError, match=r"220x220x250|too small|not believable"):
        bed_of(text)


def test_a_bed_in_inches():
    """10 in is 254 mm (exactly, by the international inch)."""
    bed = bed_of("10 x 10 x 12 in")
    assert (bed.x_mm, bed.y_mm, bed.z_mm) == pytest.approx((254.0, 254.0, 304.8))
    other = bed_of("254 mm x 254 mm x 304.8 mm")
    assert (other.x_mm, other.y_mm, other.z_mm) == pytest.approx((254.0, 254.0, 304.8))


@pytest.mark.parametrize("given", [{"fit_mm": 2.0}, {"wall_mm": 0.8}, {"plate_mm": 1.0}, {"stud_mm": 80.0}])
def test_a_making_that_cannot_be_is_refused(given):
    with pytest.raises(ShapeError):
        Making(**given)
