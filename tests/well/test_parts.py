"""Parts from tape numbers against geometry worked by hand. Lengths mm, points [ahead, outboard, above]."""

from __future__ import annotations

import math

import numpy as np
import pytest

from clearance.errors import PartError
from clearance.pose import Array
from clearance.well import lip, parts, tub
from clearance.well.part import Part

TAG = parts.Tag(name="it", required_mm=25.0)


def area(part: Part) -> float:
    t = part.triangles_mm
    return float(np.linalg.norm(np.cross(t[:, 1] - t[:, 0], t[:, 2] - t[:, 0]), axis=1).sum() / 2)


def bounds(part: Part) -> list[list[float]]:
    points = part.triangles_mm.reshape(-1, 3)
    return [[float(low), float(high)] for low, high in zip(points.min(axis=0), points.max(axis=0), strict=True)]


def distance(part: Part, point: tuple[float, float, float]) -> float:
    """The distance to the nearest triangle, slow and obvious: a foot inside, else the nearest edge."""
    p = np.array(point, dtype=float)
    return min(_to_triangle(t, p) for t in part.triangles_mm)


def _to_triangle(t: Array, p: Array) -> float:
    edges = min(_to_edge(t[i], t[(i + 1) % 3], p) for i in range(3))
    normal = np.cross(t[1] - t[0], t[2] - t[0])
    if np.linalg.norm(normal) < 1e-12:
        return edges
    normal = normal / np.linalg.norm(normal)
    foot = p - (normal @ (p - t[0])) * normal
    if all(normal @ np.cross(t[(i + 1) % 3] - t[i], foot - t[i]) >= 0 for i in range(3)):
        return abs(float(normal @ (p - t[0])))
    return edges


def _to_edge(a: Array, b: Array, p: Array) -> float:
    length2 = float((b - a) @ (b - a))
    along = 0.0 if length2 == 0 else min(1.0, max(0.0, float((p - a) @ (b - a)) / length2))
    return float(np.linalg.norm(a + along * (b - a) - p))


# ---- wall


def test_a_wall_without_bounds_is_a_square_of_twice_the_reach():
    wall = parts.wall(TAG, reach_mm=500, inboard_mm=165)
    assert bounds(wall) == [[-500, 500], [-165, -165], [-500, 500]]
    assert area(wall) == pytest.approx(1000**2, abs=1e-6)


def test_a_wall_outboard_stands_on_the_other_side_of_the_hub_face():
    wall = parts.wall(TAG, reach_mm=500, outboard_mm=90, ahead_mm=100, behind_mm=50, above_mm=300, below_mm=20)
    assert bounds(wall) == [[-50, 100], [90, 90], [-20, 300]]


@pytest.mark.parametrize("point", [(0, 0, 0), (310, -40, -377), (-400, 60, 399)])
def test_cutting_a_wall_to_the_reach_leaves_the_distance_of_every_point_inside_it(point):
    """The foot of a point inside the cube is inside the cube, so a cut at 400 mm answers as one at 40 m does."""
    near = parts.wall(TAG, reach_mm=400, inboard_mm=165)
    far = parts.wall(TAG, reach_mm=40_000, inboard_mm=165)
    assert distance(near, point) == pytest.approx(165 + point[1], abs=1e-9)
    assert distance(far, point) == pytest.approx(165 + point[1], abs=1e-9)


def test_a_bound_outside_the_reach_keeps_its_edge():
    """A wall that ends 700 mm behind the hub, seen from 400 mm behind it: its edge is 300 mm away."""
    wall = parts.wall(TAG, reach_mm=400, inboard_mm=0, ahead_mm=-700)
    assert bounds(wall)[0] == [-1500, -700]
    assert distance(wall, (-400, 0, 0)) == pytest.approx(300)


def test_a_wall_whose_bounds_leave_nothing_is_refused():
    with pytest.raises(PartError, match="nothing is left between below 50 mm and above -60 mm") as refused:
        parts.wall(TAG, reach_mm=400, inboard_mm=100, below_mm=50, above_mm=-60)
    assert refused.value.key == "above"


def test_a_wall_on_both_sides_is_refused():
    with pytest.raises(PartError, match="not both"):
        parts.wall(TAG, reach_mm=400, inboard_mm=100, outboard_mm=100)


# ---- plate


def test_a_plate_of_three_corners_is_one_triangle():
    plate = parts.plate(TAG, corners_mm=[(0, 0, 0), (300, 0, 0), (0, 400, 0)])
    assert len(plate.triangles_mm) == 1
    assert area(plate) == pytest.approx(60_000)


def test_a_leaning_plate_of_four_corners_has_the_area_of_its_edges():
    """Edges (300, 0, 0) and (0, 30, 40): 300 x 50."""
    plate = parts.plate(TAG, corners_mm=[(0, 0, 0), (300, 0, 0), (300, 30, 40), (0, 30, 40)])
    assert area(plate) == pytest.approx(300 * 50)


@pytest.mark.parametrize("start", range(4))
def test_a_dented_plate_is_split_through_its_dent(start):
    """Corners (0,0) (200,0) (50,50) (0,200): two triangles of 5000 each, and the point (90, 90) stays outside."""
    ring = [(0, 0, 0), (200, 0, 0), (50, 0, 50), (0, 0, 200)]
    plate = parts.plate(TAG, corners_mm=ring[start:] + ring[:start])
    assert area(plate) == pytest.approx(10_000)
    assert distance(plate, (90, 0, 90)) > 10


def test_a_plate_with_crossing_edges_is_refused():
    with pytest.raises(PartError, match="cross"):
        parts.plate(TAG, corners_mm=[(0, 0, 0), (100, 0, 100), (100, 0, 0), (0, 0, 130)])


def test_a_bent_plate_is_refused_with_how_far_it_is_bent():
    """The diagonals of this one pass each other at half the lifted corner's height."""
    with pytest.raises(PartError, match=r"stands \d+\.\d mm off the plane"):
        parts.plate(TAG, corners_mm=[(0, 0, 0), (100, 0, 0), (100, 100, 40), (0, 100, 0)])


@pytest.mark.parametrize("corners", [[(0, 0, 0), (50, 0, 0), (100, 0, 0)], [(0, 0, 0), (0, 0, 0), (100, 0, 0)]])
def test_a_plate_without_area_is_refused(corners):
    with pytest.raises(PartError, match="no area"):
        parts.plate(TAG, corners_mm=corners)


def test_a_plate_of_five_corners_is_refused():
    with pytest.raises(PartError, match="found 5"):
        parts.plate(TAG, corners_mm=[(i, i * i, 0) for i in range(5)])


# ---- box


def test_a_box_is_closed_and_has_its_surface():
    """2 (100 x 200 + 200 x 300 + 300 x 100) = 220000; two triangles share every edge, turned against each other."""
    box = parts.box(TAG, min_mm=(0, 0, 0), max_mm=(100, 200, 300))
    assert area(box) == pytest.approx(220_000)
    edges: dict[tuple[tuple[float, ...], tuple[float, ...]], int] = {}
    for triangle in box.triangles_mm:
        for i in range(3):
            one, other = tuple(triangle[i]), tuple(triangle[(i + 1) % 3])
            edges[one, other] = edges.get((one, other), 0) + 1
    assert all(count == 1 and edges.get((b, a)) == 1 for (a, b), count in edges.items())


def test_a_box_faces_outward():
    """The flux of the position through the faces is three times the volume, positive where the faces look out."""
    box = parts.box(TAG, min_mm=(-10, 20, 30), max_mm=(100, 200, 300))
    t = box.triangles_mm
    flux = np.einsum("ij,ij->i", t[:, 0], np.cross(t[:, 1], t[:, 2])).sum() / 6
    assert flux == pytest.approx(110 * 180 * 270)


@pytest.mark.parametrize(
    ("about", "corner", "goes_to"),
    [
        ("ahead", (0, 10, 0), (0, 0, 10)),  # the outboard side is lifted
        ("outboard", (10, 0, 0), (0, 0, -10)),  # the front dips
        ("above", (10, 0, 0), (0, 10, 0)),  # the front swings outboard
    ],
)
def test_a_box_turned_a_quarter_goes_the_way_that_is_written(about, corner, goes_to):
    low, high = np.array([-1.0, -1.0, -1.0]), np.array([1.0, 1.0, 1.0])
    centre = np.array(corner, dtype=float)
    box = parts.box(
        TAG,
        min_mm=tuple(centre + low),
        max_mm=tuple(centre + high),
        turn_about=about,
        turn_deg=90.0,
        turn_through_mm=(0, 0, 0),
    )
    middle = [sum(side) / 2 for side in bounds(box)]
    assert middle == pytest.approx(goes_to, abs=1e-9)


def test_a_box_turned_about_its_middle_stays_around_it():
    box = parts.box(TAG, min_mm=(0, 0, 0), max_mm=(100, 100, 20), turn_about="above", turn_deg=45.0)
    half = 50 * math.sqrt(2)
    assert bounds(box)[0] == pytest.approx([50 - half, 50 + half])
    assert bounds(box)[2] == pytest.approx([0, 20])


def test_a_box_inside_out_is_refused_at_the_axis():
    with pytest.raises(PartError, match="min is 30 mm outboard and max is 20 mm"):
        parts.box(TAG, min_mm=(0, 30, 0), max_mm=(10, 20, 10))


# ---- bar


def test_a_bar_is_its_centre_line_with_a_skin_of_its_radius():
    bar = parts.bar(TAG, points_mm=[(0, 0, 0), (300, 0, 0), (300, 400, 0)], diameter_mm=50)
    assert bar.skin_mm == 25
    assert area(bar) == 0
    lengths = np.linalg.norm(bar.triangles_mm[:, 1] - bar.triangles_mm[:, 0], axis=1)
    assert lengths.sum() == pytest.approx(700)
    assert lengths.max() <= parts.BAR_PIECE_MM + 1e-9
    assert distance(bar, (150, -80, 60)) - bar.skin_mm == pytest.approx(75)


def test_a_shock_is_carried_by_both_ends_in_proportion():
    """Lower eye on the axle, upper on the body, 300 mm apart: a third of the way up, a third rides on the body."""
    shock = parts.bar(
        parts.Tag(name="shock", rides_on="axle"),
        points_mm=[(0, -150, 0), (0, -150, 300)],
        diameter_mm=60,
        far_frame="body",
    )
    assert shock.rides_on == "axle"
    assert shock.far_end is not None
    assert shock.far_end.frame == "body"
    assert shock.far_end.point_mm.tolist() == [0, -150, 300]
    assert shock.far_end.share == pytest.approx(shock.triangles_mm[:, :, 2] / 300)


def test_a_bar_between_one_frame_and_itself_is_a_plain_bar():
    bar = parts.bar(TAG, points_mm=[(0, 0, 0), (0, 0, 300)], diameter_mm=60, far_frame="body")
    assert bar.far_end is None


@pytest.mark.parametrize(
    ("points", "diameter", "words"),
    [
        ([(0, 0, 0)], 20.0, "two points"),
        ([(0, 0, 0), (0, 0, 0)], 20.0, "points 1 and 2"),
        ([(0, 0, 0), (0, 0, 9)], 0.0, "more than zero"),
    ],
)
def test_a_bar_that_cannot_be_is_refused(points, diameter, words):
    with pytest.raises(PartError, match=words):
        parts.bar(TAG, points_mm=points, diameter_mm=diameter)


# ---- tub


def flat_tub(**more: object) -> dict[str, Part]:
    given = {
        "inner_mm": 150.0,
        "crown": tub.Crown(height_mm=400.0),
        "outer_mm": 60.0,
        "front_mm": 350.0,
        "rear_mm": 380.0,
        "bottom_mm": 100.0,
    } | more
    return {part.name: part for part in tub.tub(TAG, reach_mm=900, **given)}  # type: ignore[arg-type]


def test_a_tub_names_its_faces_one_by_one():
    assert list(flat_tub(outer_panel_mm=100.0)) == [
        "it inner wall",
        "it crown",
        "it front",
        "it rear",
        "it outer panel",
    ]


def test_the_faces_of_a_flat_tub_are_rectangles_where_the_tape_says():
    faces = flat_tub(outer_panel_mm=250.0)
    assert bounds(faces["it inner wall"]) == [[-380, 350], [-150, -150], [-100, 400]]
    assert bounds(faces["it crown"]) == [[-380, 350], [-150, 60], [400, 400]]
    assert bounds(faces["it front"]) == [[350, 350], [-150, 60], [-100, 400]]
    assert bounds(faces["it rear"]) == [[-380, -380], [-150, 60], [-100, 400]]
    assert bounds(faces["it outer panel"]) == [[-380, 350], [60, 60], [250, 400]]
    assert area(faces["it inner wall"]) == pytest.approx(730 * 500)
    assert area(faces["it outer panel"]) == pytest.approx(730 * 150)


def test_a_tapered_inner_wall_stands_where_both_tapes_say():
    """12 in wide at the bottom, 11 1/2 in four inches higher: the wall leans half an inch over four."""
    taper = tub.Taper(low_mm=0.0, high_mm=101.6, high_inner_mm=150.0 - 12.7)
    wall = flat_tub(taper=taper)["it inner wall"]
    normal_share = 101.6 / math.hypot(101.6, 12.7)
    assert distance(wall, (0, -150 + 12.7 / 2, 50.8)) == pytest.approx(0, abs=1e-9)
    assert distance(wall, (0, -150 + 6.35 + 10, 50.8)) == pytest.approx(10 * normal_share, abs=1e-9)
    assert distance(wall, (0, -120, 250)) == pytest.approx(150 - 12.7 - 120)
    assert distance(wall, (0, -120, -50)) == pytest.approx(30)
    assert area(wall) == pytest.approx(730 * (100 + math.hypot(101.6, 12.7) + 400 - 101.6))


def test_the_front_of_a_tapered_tub_meets_its_inner_wall():
    taper = tub.Taper(low_mm=0.0, high_mm=100.0, high_inner_mm=130.0)
    front = flat_tub(taper=taper)["it front"]
    assert area(front) == pytest.approx(210 * 100 + 200 * 100 + 190 * 300)


def test_a_rolled_crown_lies_on_its_arch_and_never_outside_it():
    """About the line through (20 ahead, 30 above) every point of the crown is 400 mm away, less a chord's rise."""
    crown = flat_tub(crown=tub.Crown(radius_mm=400.0, centre_mm=(20.0, 30.0)), front_mm=None, rear_mm=None)["it crown"]
    corners = crown.triangles_mm.reshape(-1, 3)[:, [0, 2]] - [20, 30]
    assert np.hypot(*corners.T) == pytest.approx(400, abs=1e-9)
    middles = (crown.triangles_mm[:, 0] + crown.triangles_mm[:, 1])[:, [0, 2]] / 2 - [20, 30]
    sagitta = 400 - np.hypot(*middles.T)
    assert sagitta.min() + 1e-9 >= 0
    assert sagitta.max() <= tub.CHORD_MM
    assert area(crown) == pytest.approx(math.pi * 400 * 210, rel=1e-4)  # chords are shorter than the arc by under 1e-4


def test_a_front_sheet_under_a_rolled_crown_reaches_up_to_the_arch():
    """A 3-4-5 triangle: 300 ahead of the centre of a 500 mm arch the arch is 400 mm high."""
    faces = flat_tub(crown=tub.Crown(radius_mm=500.0), front_mm=300.0, rear_mm=400.0)
    assert bounds(faces["it front"])[2] == pytest.approx([-100, 400])
    assert bounds(faces["it rear"])[2] == pytest.approx([-100, 300])
    assert bounds(faces["it inner wall"])[0] == [-400, 300]


def test_an_outer_panel_under_a_rolled_crown_is_a_segment_of_the_circle():
    """Radius 500, cut 400 above the centre: area r^2 acos(h/r) - h sqrt(r^2 - h^2) = 40875.3 (Euclid's segment)."""
    panel = flat_tub(crown=tub.Crown(radius_mm=500.0), front_mm=None, rear_mm=None, outer_panel_mm=400.0)[
        "it outer panel"
    ]
    assert area(panel) == pytest.approx(500**2 * math.acos(0.8) - 400 * 300, rel=2e-4)
    assert bounds(panel)[0] == pytest.approx([-300, 300], abs=0.02)  # a chord of 0.01 mm, cut at a slope of 3 in 4


@pytest.mark.parametrize(
    ("more", "key"),
    [
        ({"crown": tub.Crown()}, "crown"),
        ({"crown": tub.Crown(radius_mm=300.0)}, "rear"),
        ({"crown": tub.Crown(height_mm=-200.0)}, "bottom"),
        ({"outer_mm": -150.0}, "outer"),
        ({"front_mm": -400.0}, "front"),
        ({"outer_panel_mm": 400.0}, "outer_panel"),
        ({"taper": tub.Taper(low_mm=100.0, high_mm=100.0, high_inner_mm=140.0)}, "taper.high"),
    ],
)
def test_a_tub_that_cannot_be_is_refused_by_its_key(more, key):
    with pytest.raises(PartError) as refused:
        flat_tub(**more)
    assert refused.value.key == key


# ---- lip


def test_a_flange_straight_inboard_is_a_strip_of_a_cylinder():
    """Half a turn of radius 360, 20 deep: 20 x pi x 360; its inner edge is 20 mm inboard of the outer one."""
    arch = lip.lip(TAG, outboard_mm=80, radius_mm=360, centre_mm=(10, 40), return_depth_mm=20)
    assert area(arch) == pytest.approx(20 * math.pi * 360, rel=1e-4)
    assert bounds(arch)[1] == pytest.approx([60, 80])
    assert bounds(arch)[0] == pytest.approx([-350, 370])
    assert bounds(arch)[2] == pytest.approx([40, 400])
    assert distance(arch, (10, 70, 40 + 340)) == pytest.approx(20, abs=lip.CHORD_MM)


def test_a_flange_rolled_up_lies_against_the_panel():
    arch = lip.lip(TAG, outboard_mm=80, radius_mm=360, return_depth_mm=20, return_angle_deg=90)
    assert bounds(arch)[1] == pytest.approx([80, 80])
    assert bounds(arch)[2][1] == pytest.approx(380)


def test_a_hanging_flange_comes_nearer_to_the_axle():
    """20 mm at 30 deg down: the inner edge is at 360 - 10, and 17.32 mm inboard."""
    arch = lip.lip(TAG, outboard_mm=80, radius_mm=360, return_depth_mm=20, return_angle_deg=-30)
    radii = np.hypot(arch.triangles_mm[..., 0], arch.triangles_mm[..., 2])
    assert radii.min() == pytest.approx(350)
    assert bounds(arch)[1][0] == pytest.approx(80 - 20 * math.cos(math.radians(30)))


def test_angles_of_an_arch_are_from_straight_up_positive_ahead():
    arch = lip.lip(TAG, outboard_mm=0, radius_mm=100, from_deg=0, to_deg=90, return_depth_mm=5)
    assert bounds(arch)[0] == pytest.approx([0, 100])
    assert bounds(arch)[2] == pytest.approx([0, 100], abs=1e-9)


def test_a_lip_without_a_return_is_its_edge_with_the_trim_as_its_skin():
    arch = lip.lip(TAG, outboard_mm=80, radius_mm=360, trim_thickness_mm=4)
    assert area(arch) == 0
    assert arch.skin_mm == 4


@pytest.mark.parametrize("reverse", [False, True])
def test_a_flange_along_an_outline_rolls_away_from_the_axle_whichever_way_it_was_measured(reverse):
    """A square opening: at its mitred corner the flange leans 45 deg, so up and ahead by 10 / sqrt 2 each."""
    outline = [(-300.0, 0.0), (-300.0, 300.0), (300.0, 300.0), (300.0, 0.0)]
    arch = lip.lip(
        TAG,
        outboard_mm=80,
        outline_mm=outline[::-1] if reverse else outline,
        return_depth_mm=10,
        return_angle_deg=90,
    )
    assert bounds(arch)[2][1] == pytest.approx(300 + 10 / math.sqrt(2))
    assert bounds(arch)[0] == pytest.approx([-310, 310])


@pytest.mark.parametrize(
    ("given", "key"),
    [
        ({}, "radius"),
        ({"radius_mm": 300.0, "outline_mm": [(0, 0), (1, 1)]}, "radius"),
        ({"radius_mm": -300.0}, "radius"),
        ({"radius_mm": 300.0, "from_deg": 20.0, "to_deg": 20.0}, "to"),
        ({"radius_mm": 300.0, "return_depth_mm": -1.0}, "return_depth"),
        ({"radius_mm": 300.0, "return_angle_deg": 200.0}, "return_angle"),
        ({"outline_mm": [(0.0, 0.0)]}, "outline"),
        ({"outline_mm": [(0.0, 9.0), (0.0, 9.0)]}, "outline"),
    ],
)
def test_a_lip_that_cannot_be_is_refused_by_its_key(given, key):
    with pytest.raises(PartError) as refused:
        lip.lip(TAG, outboard_mm=80, **given)
    assert refused.value.key == key


def test_triangles_of_a_part_refuse_to_be_written_to():
    with pytest.raises(ValueError, match="read-only"):
        parts.wall(TAG, reach_mm=10, inboard_mm=1).triangles_mm[0, 0, 0] = 1.0
