"""Templates and tub cut from solids whose sections are known by hand."""

import math

import numpy as np
import pytest
from shapely import Point as ShapelyPoint
from shapes import covers

from clearance.errors import ShapeError
from clearance.export.nested import Laid, nested_pages
from clearance.export.papers import A4, LETTER
from clearance.export.pdf import LEAST_LETTER_MM, mark_bounds, pdf, tiled
from clearance.export.templates import template_pages
from clearance.gauge.flatwork import oblong
from clearance.gauge.templates import index_of, label_in, templates_of, tub_of
from clearance.gauge.tub_solid import TubMaking, tub_solid
from clearance.geom.drawing import CUT, ENGRAVE, Circle, Drawing, Path, Text, drawing_of
from clearance.geom.profile import polygon
from clearance.geom.revolve import Solid

R, LOW, HIGH = 350.0, -150.0, 90.0
ROUND = polygon([(LOW, 0.0), (HIGH, 0.0), (HIGH, R), (LOW, R)])


@pytest.fixture(scope="module")
def drum():
    """A plain drum about the y axis: the envelope of a wheel that neither travels nor steers."""
    return Solid(profile=ROUND, pieces=(ROUND,)).mesh(0.02)


def words(template):
    return [m.text for m in template.drawing.marks if isinstance(m, Text)]


def test_a_station_of_a_drum_is_a_rectangle_as_high_as_its_chord(drum):
    """At 210 mm ahead of the axis of a 350 mm drum the half height is sqrt(350^2 - 210^2) = 280 mm."""
    found = templates_of(*drum, "station", 70.0, right_hand=False, title="drum")
    template = next(t for t in found if t.at_mm == 210.0)
    assert template.shape.bounds == pytest.approx((LOW, -280.0, HIGH, 280.0), abs=0.03)
    assert template.shape.area == pytest.approx(560.0 * (HIGH - LOW), rel=2e-4)


def test_a_level_and_an_upright_cut(drum):
    level = next(t for t in templates_of(*drum, "level", 70.0, right_hand=False, title="d") if t.at_mm == -280.0)
    assert level.shape.bounds == pytest.approx((LOW, -210.0, HIGH, 210.0), abs=0.03)
    upright = next(t for t in templates_of(*drum, "upright", 50.0, right_hand=False, title="d") if t.at_mm == 50.0)
    assert upright.shape.area == pytest.approx(math.pi * R**2, rel=2e-4)


def test_a_hole_stays_a_hole():
    ring = polygon([(0.0, 100.0), (40.0, 100.0), (40.0, 200.0), (0.0, 200.0)])
    found = templates_of(*Solid(profile=ring, pieces=(ring,)).mesh(0.02), "upright", 20.0, right_hand=False, title="r")
    assert next(t for t in found if t.at_mm == 20.0).shape.area == pytest.approx(math.pi * (200**2 - 100**2), rel=2e-4)


def test_datum_lines_stand_at_hub_face_and_axle_or_say_how_far_from_them(drum):
    found = templates_of(*drum, "station", 70.0, right_hand=False, title="drum")
    middle = next(t for t in found if t.at_mm == 0.0)
    assert {"HUB FACE", "AXLE"} <= set(words(middle))
    lines = [m for m in middle.drawing.marks if m.layer == ENGRAVE and not isinstance(m, Text)]
    assert any(all(p[0] == 0.0 for p in (m.elements[0].start, m.elements[0].end)) for m in lines)
    assert any(all(p[1] == 0.0 for p in (m.elements[0].start, m.elements[0].end)) for m in lines)
    # a drum that lies wholly inboard of the hub face cannot carry that line: the next round one is drawn and named
    vertices, faces = drum
    moved = templates_of(vertices - [0.0, 200.0, 0.0], faces, "station", 70.0, right_hand=False, title="drum")
    assert any(w.startswith("HUB FACE -") for w in words(next(t for t in moved if t.at_mm == 0.0)))


@pytest.mark.parametrize(("right_hand", "said"), [(False, "SEEN FROM AHEAD"), (True, "SEEN FROM BEHIND")])
def test_a_template_says_from_where_it_is_seen(drum, right_hand, said):
    """y outboard to the right with z up is the left side of the car seen from ahead, the right side from behind."""
    assert said in words(templates_of(*drum, "station", 350.0, right_hand=right_hand, title="d")[0])


def test_the_crown_of_a_drum_unrolls_to_half_its_circumference(drum):
    """From axle height over a 350 mm drum: pi x 350 = 1099.56 mm long, as wide as the drum."""
    tub = tub_of(*drum, 0.0)
    assert tub.length_mm == pytest.approx(math.pi * R, abs=0.3)
    assert tub.outboard_mm - tub.inboard_mm == pytest.approx(HIGH - LOW, abs=1e-6)
    crown = tub_solid(tub, 0.0, TubMaking()).pieces[1]
    x0, y0, x1, y1 = crown.flat.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((HIGH - LOW, math.pi * R), abs=0.3)
    assert crown.flat.area == pytest.approx(
        (x1 - x0) * (y1 - y0), rel=2e-5
    )  # hairs between strips are closed by 0.002 mm


def test_the_crown_starts_at_the_rear_foot_and_ends_at_the_front_one(drum):
    tub = tub_of(*drum, 100.0)
    foot = math.sqrt(R**2 - 100.0**2)
    assert tub.crown_mm[0] == pytest.approx((-foot, 100.0), abs=0.05)
    assert tub.crown_mm[-1] == pytest.approx((foot, 100.0), abs=0.05)
    assert tub.crown_mm[:, 1].max() == pytest.approx(R, abs=0.05)


def test_a_tub_holds_all_of_a_lopsided_shape(drum):
    vertices, faces = drum
    shear = vertices + np.outer(np.sin(vertices[:, 2] / 90.0), [25.0, 10.0, 0.0])
    tub = tub_of(shear, faces, -50.0)
    assert covers(tub, shear, -50.0) < 1e-6


def test_what_cannot_be_cut_is_refused(drum):
    with pytest.raises(ShapeError, match="holds nothing"):
        tub_of(*drum, 345.0)
    with pytest.raises(ShapeError, match="not usable"):
        templates_of(*drum, "station", 0.0, right_hand=False, title="d")
    with pytest.raises(ShapeError, match='"station", "level" or "upright"'):
        templates_of(*drum, "slantwise", 50.0, right_hand=False, title="d")
    vertices, faces = drum
    with pytest.raises(ShapeError, match="closed"):
        templates_of(vertices, faces[:-9], "station", 50.0, right_hand=False, title="d")


@pytest.mark.parametrize(("kind", "count"), [("station", 9), ("level", 3), ("upright", 4)])
def test_only_what_lies_above_the_floor_is_cut_and_numbered_in_the_order_of_use(drum, kind, count):
    """A drum of 350 mm, a floor 100 mm above its axis: stations 70 mm apart reach from -280 to +280 (at 350 there is
    nothing), levels from 100 up are 140, 210, 280; nothing reaches below the floor.
    """
    found = templates_of(*drum, kind, 70.0, right_hand=False, title="d", from_mm=100.0)
    assert [t.number for t in found] == list(range(1, count + 1))
    assert [t.at_mm for t in found] == sorted(t.at_mm for t in found)
    for t in found:
        assert f"{t.number} OF {count}  {kind.upper()} {t.at_mm:+.0f}" in words(t)
        if kind == "level":
            assert t.at_mm >= 100.0
        else:
            assert t.shape.bounds[1] == pytest.approx(100.0)
            assert t.shape.bounds[3] <= R + 0.1


@pytest.mark.parametrize("paper", [A4, LETTER])
def test_templates_come_nested_behind_an_index_with_no_label_split(drum, paper):
    cuts = templates_of(*drum, "station", 35.0, right_hand=False, title="drum of a long name", from_mm=60.0)

    class Titled:
        title = "drum"

    pages = template_pages(Titled(), cuts, index_of(*drum, cuts, 60.0), paper)
    alone = sum(len(tiled(t.drawing, paper=paper)) for t in cuts)
    assert len(pages) - 1 <= alone
    index = [m.text for m in pages[0].drawing.marks if isinstance(m, Text)]
    assert {str(t.number) for t in cuts} | {"AHEAD", "UP", "floor +60"} <= set(index)
    printed = []
    for page in pages[1:]:
        x0, y0, x1, y1 = page.window
        for mark in page.inside.marks:
            if isinstance(mark, Text):
                left, low, right, high = mark_bounds(mark)
                assert left >= x0 - 1e-6
                assert low >= y0 - 1e-6
                assert right <= x1 + 1e-6
                assert high <= y1 + 1e-6
                printed.append(mark.text)
        said = [m.text for m in page.drawing.plain.marks if isinstance(m, Text)]
        assert any("must measure 100 mm" in w for w in said)
        crosses = [m.centre for m in page.drawing.marks if isinstance(m, Circle)]
        across = max(c[0] for c in crosses) - min(c[0] for c in crosses)
        up = max(c[1] for c in crosses) - min(c[1] for c in crosses)
        assert {f"{across:.1f}", f"{up:.1f}"} <= set(said)
    for t in cuts:
        assert set(words(t)) <= set(printed)
    assert b"/FontFile2" in pdf(pages)


def test_a_label_of_several_lines_stays_together():
    """Three lines about one middle, across a seam: one page holds all of them."""
    lines = [Text(at=(0.0, -10.0 * k), text="LABEL", height_mm=8.0, align="centre") for k in range(3)]
    corners = [Circle(centre=(x, y), radius_mm=1.0, layer=CUT) for x in (-150.0, 150.0) for y in (-210.0, 200.0)]
    pages = tiled(drawing_of([*corners, *lines]), paper=A4)
    held = [sum(isinstance(m, Text) for m in p.inside.marks) for p in pages]
    assert max(held) == 3


def test_a_label_that_finds_no_room_stands_beside_its_part_on_a_leader():
    """A strip 6 mm high takes no letter of 3.5 mm with room around: it was left without a name. The nest keeps room."""
    strip = oblong(0.0, 0.0, 60.0, 6.0)
    marks = label_in(strip, ["STATION 7", "a car"], ())
    (said,) = (m for m in marks if isinstance(m, Text))
    assert said.text == "STATION 7"
    assert said.at[0] > 60.0
    assert said.height_mm >= LEAST_LETTER_MM
    leader = next(m for m in marks if isinstance(m, Path))
    assert strip.contains(ShapelyPoint(leader.elements[0].start))
    assert leader.elements[-1].end[0] == pytest.approx(said.at[0] - 1.0)
    laid = [Laid(name=str(k), shape=strip, drawing=Drawing(marks=tuple(marks))) for k in range(12)]
    boxes = [
        oblong(*mark_bounds(m))
        for page in nested_pages(laid, A4, of="t")
        for m in page.inside.marks
        if isinstance(m, Text)
    ]
    assert len(boxes) == 12
    assert not any(one.intersects(other) for k, one in enumerate(boxes) for other in boxes[:k])
