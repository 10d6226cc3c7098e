"""Placing a scan on the hub: units, directions, picked circles and bolt holes, and how far all that is uncertain."""

from __future__ import annotations

import numpy as np
import pytest

from clearance.errors import MeshError
from clearance.well.scan_place import (
    LEFT,
    REACH_MM,
    RIGHT,
    BoltHoles,
    CornerAxes,
    FacePoints,
    HubPoint,
    Scale,
    axes,
    circle_through,
    direction,
    mm_per_unit,
    placement,
    sensible_units,
)

X, Y, Z = np.eye(3)


def random_turn(rng: np.random.Generator) -> np.ndarray:
    turn, upper = np.linalg.qr(rng.normal(size=(3, 3)))
    turn = turn * np.sign(np.diag(upper))
    return turn if np.linalg.det(turn) > 0 else turn[:, [1, 0, 2]]


def test_a_unit_is_never_guessed():
    """A box of 201 x 462 x 139 is a car in centimetres; as millimetres it may be a well: both are shown, none taken."""
    size = np.array([201.2, 461.8, 138.6])
    with pytest.raises(MeshError) as refused:
        mm_per_unit(None, None, size)
    message = str(refused.value)
    assert refused.value.key == "unit"
    for words in ("cm: 2.01 m x 4.62 m x 1.39 m", "whole car", "m: 201", 'unit = "mm"', "scale"):
        assert words in message
    assert sensible_units(size) == ("mm", "cm")


def test_the_units_are_the_exact_ones():
    """The inch of 1959 is 25.4 mm exactly, the foot twelve of them."""
    size = np.ones(3)
    assert [mm_per_unit(unit, None, size) for unit in ("mm", "cm", "m", "in", "ft")] == [1, 10, 1000, 25.4, 304.8]
    with pytest.raises(MeshError, match="'yd' is not a unit"):
        mm_per_unit("yd", None, size)


def test_a_measured_distance_gives_the_scale():
    """Two points 0.1143 apart that are 4 1/2 in apart in truth: one number is a metre."""
    scale = Scale(from_point=np.zeros(3), to_point=np.array([0.0, 0.1143, 0.0]), distance_mm=114.3)
    assert mm_per_unit(None, scale, np.ones(3)) == pytest.approx(1000.0)
    assert mm_per_unit("m", scale, np.ones(3)) == pytest.approx(1000.0)
    with pytest.raises(MeshError, match=r"makes it 25\.4 mm"):
        mm_per_unit("in", scale, np.ones(3))
    with pytest.raises(MeshError, match="two different points"):
        mm_per_unit(None, Scale(from_point=X, to_point=X, distance_mm=100.0), np.ones(3))


def test_a_short_scale_leaves_a_large_doubt():
    """Ends within 2 mm over 114.3 mm: 3.5 %, which at the tire's far edge is 450 mm x 3.5 % = 15.7 mm."""
    scale = Scale(from_point=np.zeros(3), to_point=114.3 * X, distance_mm=114.3)
    placed = placement(CornerAxes(), 1.0, scale=scale)
    assert placed.uncertainty_mm == pytest.approx(REACH_MM * 4.0 / 114.3)


@pytest.mark.parametrize(("side", "y"), [(LEFT, 1.0), (RIGHT, -1.0)])
def test_car_axes_with_a_hub_point(side, y):
    """x ahead, y to the car's left, z up, in metres: a point 10 mm outboard of the left hub has a larger y."""
    place = HubPoint(hub=np.array([1.388, y * 0.7979, 0.13]), ahead=X, up=Z)
    placed = placement(place, 1000.0, side=side)
    found = placed.carry(np.array([1.488, y * 0.8079, 0.33]))
    assert found == pytest.approx([100.0, 10.0, 200.0])
    assert placed.back(found) == pytest.approx([1.488, y * 0.8079, 0.33])


def test_any_two_directions_give_the_third():
    rng = np.random.default_rng(7)
    for _ in range(50):
        rows = random_turn(rng)
        for side in (LEFT, RIGHT):
            hand = rows * np.array([[1.0], [1.0 if side == LEFT else -1.0], [1.0]])
            ahead, outboard, up = hand
            for given in ((ahead, up, None), (None, up, outboard), (ahead, None, outboard), (ahead, up, outboard)):
                turn, _ = axes(*given, side)
                assert turn == pytest.approx(hand)


def test_three_directions_of_the_other_side_are_refused():
    """Ahead x, outboard y, up z is a left corner of a car; on the right, outboard is to the right."""
    axes(X, Z, Y, LEFT)
    with pytest.raises(MeshError, match="describe the left side"):
        axes(X, Z, Y, RIGHT)
    with pytest.raises(MeshError, match="describe the right side"):
        axes(X, Z, -Y, LEFT)


def test_directions_that_cannot_be_are_refused():
    with pytest.raises(MeshError, match="two of the directions"):
        axes(X, None, None, LEFT)
    with pytest.raises(MeshError, match="not square"):
        axes(X, X + 0.1 * Z, None, LEFT)
    with pytest.raises(MeshError, match="not a direction"):
        direction("north")
    with pytest.raises(MeshError, match="not a direction"):
        direction([0, 0, 0])
    with pytest.raises(MeshError, match="is not a direction"):
        direction([0, 0, float("nan")])
    assert direction([0, 0, 5]).tolist() == [0, 0, 1]


def test_a_circle_through_three_corners_of_an_equilateral_triangle():
    """Its circumradius is the side over the root of three (Euclid IV.5)."""
    points = np.array([[0, 0, 7], [30, 0, 7], [15, 15 * np.sqrt(3), 7]])
    circle = circle_through(points)
    assert circle.radius == pytest.approx(30 / np.sqrt(3))
    assert circle.centre == pytest.approx([15, 15 / np.sqrt(3), 7])
    assert abs(circle.axis @ Z) == pytest.approx(1.0)
    assert circle.residual == pytest.approx(0.0, abs=1e-12)


def test_the_residual_of_a_circle_is_the_furthest_point_off_it():
    """Four points at right angles on a circle of 100; two opposite ones moved out by 3: the fit takes half of it."""
    points = np.array([[103, 0, 0], [0, 100, 0], [-103, 0, 0], [0, -100, 0]], dtype=float)
    circle = circle_through(points)
    assert circle.radius == pytest.approx(101.5)
    assert circle.residual == pytest.approx(1.5)


def test_points_on_a_line_make_no_circle():
    with pytest.raises(MeshError, match="one line"):
        circle_through(np.array([[0, 0, 0], [1, 0, 0], [2, 0, 0.0]]))
    with pytest.raises(MeshError, match="three picked points"):
        circle_through(np.array([[0, 0, 0], [1, 0, 0.0]]))


def ring(radius: float, count: int, *, outboard: float = 0.0, start: float = 0.3) -> np.ndarray:
    angle = start + np.arange(count) * 2 * np.pi / count
    return np.stack([radius * np.cos(angle), np.full(count, outboard), radius * np.sin(angle)], axis=-1)


def test_picked_points_give_back_the_hub_in_any_axes():
    rng = np.random.default_rng(7)
    for _ in range(30):
        rows, away = random_turn(rng), rng.normal(size=3) * 1000
        for side in (LEFT, RIGHT):
            hand = rows * np.array([[1.0], [1.0 if side == LEFT else -1.0], [1.0]])
            place = FacePoints(
                points=(ring(120, 4, outboard=-12) @ hand + away) / 25.4,
                up=hand[2],
                ahead=hand[0],
                face_outboard_mm=12.0,
            )
            placed = placement(place, 25.4, side=side)
            spots = rng.normal(size=(10, 3)) * 300
            assert placed.carry((spots @ hand + away) / 25.4) == pytest.approx(spots, abs=1e-6)


def test_the_face_says_camber_and_toe():
    """A face leaning 2 deg with its top out, and toed in by 1 deg: told in the notes, to the tenth."""
    from clearance.pose import spin_axis, turn_onto

    turn = turn_onto(spin_axis(2.0, 1.0))
    placed = placement(FacePoints(points=ring(100, 5) @ turn.T, up=Z, ahead=X), 1.0)
    assert any("camber +2.0 deg, toe +1.0 deg" in note for note in placed.notes)


def test_without_ahead_the_face_is_taken_as_straight():
    placed = placement(FacePoints(points=ring(100, 3), up=Z, outboard=Y + 0.2 * X), 1.0)
    assert placed.turn == pytest.approx(np.eye(3), abs=1e-9)


def test_a_face_that_looks_ahead_is_refused():
    points = ring(100, 4)[:, [1, 0, 2]]
    with pytest.raises(MeshError, match="away from outboard"):
        placement(FacePoints(points=points, up=Z, ahead=X), 1.0)


def test_a_stated_diameter_checks_the_unit():
    """A rotor of 280 mm, in a file in inches that is read as centimetres."""
    place = FacePoints(points=ring(140, 4) / 25.4, up=Z, ahead=X, diameter_mm=280.0)
    placement(place, 25.4)
    with pytest.raises(MeshError, match="is stated"):
        placement(place, 10.0)


def test_bolt_holes_are_checked_against_their_circle():
    """5 x 4.5 in: 114.3 mm across, neighbours 114.3 sin 36 deg = 67.2 mm apart."""
    holes = ring(57.15, 5)
    assert np.linalg.norm(holes[0] - holes[1]) == pytest.approx(114.3 * np.sin(np.radians(36)))
    place = BoltHoles(points=holes, count=5, bolt_circle_mm=114.3, up=Z, ahead=X, within_mm=1.0)
    placed = placement(place, 1.0)
    assert placed.hub == pytest.approx([0, 0, 0], abs=1e-9)
    assert any("5 of 5 bolt holes" in note and "114.3 mm (4 1/2 in)" in note for note in placed.notes)
    three = BoltHoles(points=holes[[0, 1, 3]], count=5, bolt_circle_mm=114.3, up=Z, ahead=X, within_mm=1.0)
    assert placement(three, 1.0).hub == pytest.approx([0, 0, 0], abs=1e-9)


@pytest.mark.parametrize(
    ("count", "across", "words"),
    [(5, 120.65, "other holes"), (4, 114.3, "5 holes were picked"), (6, 114.3, "evenly spaced")],
)
def test_holes_of_another_pattern_are_refused(count, across, words):
    place = BoltHoles(points=ring(57.15, 5), count=count, bolt_circle_mm=across, up=Z, ahead=X, within_mm=1.0)
    with pytest.raises(MeshError, match=words):
        placement(place, 1.0)


def test_ground_points_put_up_right():
    """Up was said to be z, but the ground slopes by 3 deg along the car: two points along it, or three on it, tell."""
    from clearance.pose import rotation

    slope = rotation(Y, -3.0)
    two = np.array([[-1000, 0, -300], [1000, 0, -300]]) @ slope.T
    three = np.array([[-1000, 0, -300], [1000, 0, -300], [0, 700, -300.0]]) @ slope.T
    for ground in (two, three):
        placed = placement(FacePoints(points=ring(100, 4) @ slope.T, up=Z, ahead=slope @ X, ground=ground), 1.0)
        assert placed.turn == pytest.approx(slope.T, abs=1e-9)
    with pytest.raises(MeshError, match="two points along it"):
        placement(FacePoints(points=ring(100, 4), up=Z, ahead=X, ground=two[:1]), 1.0)
    with pytest.raises(MeshError, match="which side of it"):
        placement(FacePoints(points=ring(100, 4), ahead=X, ground=three), 1.0)
    with pytest.raises(MeshError, match="lie on one line"):
        placement(
            FacePoints(points=ring(100, 4), up=Z, ahead=X, ground=np.array([[0, 0, 0], [1, 0, 0], [2, 0, 0.0]])), 1.0
        )


@pytest.mark.parametrize("by_axis", [False, True])
def test_picks_that_are_off_stay_within_the_stated_uncertainty(by_axis):
    """150 rings, each point off by up to 2 mm: nothing within 450 mm of the hub moves further than stated.

    Every third ring is off in the least lucky way for one direction: each point along its own radius, all to one side.
    """
    rng = np.random.default_rng(7)
    used = []
    for number in range(150):
        count, radius = int(rng.integers(3, 7)), rng.uniform(60, 150)
        points = ring(radius, count, start=rng.random() * 6)
        off = rng.normal(size=(count, 3))
        off *= 2.0 * rng.random((count, 1)) / np.linalg.norm(off, axis=1)[:, None]
        if number % 3 == 0:
            off = 2.0 * points / radius * np.sign(points[:, :1])
        place = FacePoints(
            points=points + off,
            up=Z,
            ahead=None if by_axis else X,
            outboard=Y if by_axis else None,
            within_mm=2.0,
            level_within_deg=0.0,
        )
        placed = placement(place, 1.0)
        spots = rng.normal(size=(200, 3))
        spots *= REACH_MM / np.linalg.norm(spots, axis=1)[:, None]
        moved = np.linalg.norm(placed.carry(spots) - spots, axis=1).max()
        assert moved <= placed.uncertainty_mm
        used.append(moved / placed.uncertainty_mm)
    # a bound that is never nearly reached would say nothing; turned by the face, radial errors are not the worst
    assert max(used) > (0.3 if by_axis else 0.8)


def test_a_placing_names_what_it_was_taken_from():
    placed = placement(FacePoints(points=ring(127, 4), up=Z, ahead=X), 1.0)
    words = " ".join(placed.notes)
    assert "4 picked points: a circle 254.0 mm (10 in) across, 0.0 mm off it" in words
    assert "level within 0.5 deg" in words


def test_words_that_are_not_points_are_refused():
    with pytest.raises(MeshError, match="three numbers") as refused:
        placement(HubPoint(hub=np.array([1.0, 2.0]), up=Z, ahead=X), 1.0)
    assert refused.value.key == "place"
    with pytest.raises(MeshError, match="scanned side"):
        placement(CornerAxes(), 1.0, side="front")
