"""What is impossible cannot be made: every value looks at itself, whoever makes it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from clearance.description.load import load
from clearance.errors import ClearanceError, InputError, PartError, SuspensionError, TireError
from clearance.gap.cycle import over_cycle
from clearance.mockup.mockup import CORNERS, MockUp
from clearance.pose import Pose, spin_axis, turn_onto
from clearance.suspension.position import Cycle, Position, Shift
from clearance.suspension.steering import Kingpin
from clearance.suspension.straight import Straight
from clearance.tire.tire import Tire
from clearance.well.lip import lip
from clearance.well.part import FarEnd, Part
from clearance.well.parts import Tag, wall
from clearance.wheel.bolt_circle import BoltCircle
from clearance.wheel.wheel import Wheel

FIXTURES = Path(__file__).parents[1] / "fixtures" / "corners"
TRIANGLES = np.array([[[0.0, 0.0, 500.0], [100.0, 0.0, 500.0], [0.0, 100.0, 500.0]]] * 2)
TIRE = {"overall_diameter_mm": 700.0, "section_width_mm": 230.0, "tread_width_mm": 180.0, "rim_diameter_in": 15.0}
WHEEL = {"diameter_in": 15.0, "width_in": 7.0, "offset_mm": 0.0}
PART: dict[str, Any] = {"name": "rail", "kind": "box", "triangles_mm": TRIANGLES}
FAR: dict[str, Any] = {"frame": "axle", "point_mm": np.zeros(3), "share": np.full((2, 3), 0.5)}
MOCKUP: dict[str, Any] = {
    "title": "made up",
    "corner": "rear-left",
    "tire": Tire(**TIRE),
    "wheel": Wheel(**WHEEL),
    "suspension": Straight(cycle=Cycle(bump_mm=(-50.0, 60.0))),
    "parts": (Part(**PART),),
}
VALUES: dict[str, tuple[Callable[..., object], dict[str, Any]]] = {
    "Tire": (
        Tire,
        TIRE
        | {
            "shape": "road",
            "growth_width_mm": 4.0,
            "growth_diameter_mm": 8.0,
            "chain_tread_mm": 0.0,
            "chain_side_mm": 0.0,
        }
        | {"traced": None, "marking": None},
    ),
    "Wheel": (
        Wheel,
        WHEEL
        | {"flange_thickness_mm": 12.7, "flange_height_mm": 17.5, "barrel_inner_diameter_mm": 330.0, "face_mm": 100.0}
        | {"center_bore_mm": 83.0, "bolt_circle": BoltCircle(studs=5, diameter_mm=114.3)},
    ),
    "BoltCircle": (BoltCircle, {"studs": 5, "diameter_mm": 114.3}),
    "Part": (
        Part,
        PART
        | {"required_mm": 25.0, "rides_on": "body", "skin_mm": 0.0, "thickness_mm": 1.0, "uncertainty_mm": 2.0}
        | {"far_end": FarEnd(**FAR), "endless": ("ahead",)},
    ),
    "FarEnd": (FarEnd, FAR),
    "MockUp": (MockUp, MOCKUP),
    "Position": (Position, {"bump_mm": 1.0, "other_bump_mm": 2.0, "steer_deg": 3.0}),
    "Shift": (Shift, {"inboard_mm": 1.0, "outboard_mm": 2.0, "ahead_mm": 3.0, "behind_mm": 4.0}),
    "Cycle": (
        Cycle,
        {"bump_mm": (-50.0, 60.0), "other_bump_mm": (-50.0, 60.0), "steer_deg": (-28.0, 33.0)}
        | {"articulation_mm": 90.0, "shift": Shift()},
    ),
    "Kingpin": (Kingpin, {"through_mm": np.zeros(3), "axis": np.array([0.0, 0.0, 1.0])}),
    "Pose": (Pose, {"origin_mm": np.zeros(3), "turn": np.eye(3)}),
}
"""Each value, and every field that it looks at, with a good one."""

MAY_BE_NONE = {
    ("Tire", "traced"),
    ("Tire", "marking"),
    ("Wheel", "barrel_inner_diameter_mm"),
    ("Wheel", "face_mm"),
    ("Wheel", "center_bore_mm"),
    ("Wheel", "bolt_circle"),
    ("Part", "far_end"),
    ("Cycle", "articulation_mm"),
}
MAY_BE_A_WORD = {("Tire", "marking"), ("MockUp", "title"), ("FarEnd", "frame"), ("Part", "name"), ("Part", "rides_on")}
MAY_BE_EMPTY = {("Part", "endless"), ("MockUp", "parts")}


class Odd:
    """Something of another kind altogether."""


NONSENSE: tuple[Any, ...] = (
    float("nan"),
    float("inf"),
    -float("inf"),
    -1e9,
    1e300,
    True,
    None,
    "",
    " ",
    "a wall",
    "two\nrows",
    b"bytes",
    (),
    [],
    {},
    (1.0,),
    (3.0, 1.0),
    (float("nan"), 1.0),
    ("a", "b"),
    Odd(),
    Odd,
    np.zeros(0),
    np.zeros((0, 3, 3)),
    np.zeros((2, 2)),
    np.full((1, 3, 3), np.nan),
    np.full((2, 3), np.inf),
    np.full(3, np.nan),
    np.array(["x", "y", "z"]),
    np.array([None, None, None]),
    np.float64("nan"),
)


def is_none(value: object) -> bool:
    return value is None


def allowed(kind: str, field: str, value: object) -> bool:
    """Whether the field may well hold this: it is no nonsense there."""
    place = (kind, field)
    if is_none(value):
        return place in MAY_BE_NONE
    if isinstance(value, str):
        fine = value == "a wall" or (place in {("MockUp", "title"), ("Tire", "marking")})
        return place in MAY_BE_A_WORD and fine
    return value == () and place in MAY_BE_EMPTY if isinstance(value, tuple) else False


FIELDS = [(kind, field) for kind, (_, good) in VALUES.items() for field in good]


@pytest.mark.parametrize("kind", VALUES)
def test_the_good_ones_are_made(kind):
    make, good = VALUES[kind]
    assert make(**good) is not None


# a pose is made by the thousand, so the numbers in it are not looked at one by one: only its shapes are
NUMBERS_UNSEEN = {("Pose", "origin_mm"), ("Pose", "turn")}


@pytest.mark.parametrize(("kind", "field"), FIELDS, ids=lambda word: str(word))
def test_nonsense_in_one_field_is_refused_and_never_a_value_or_another_error(kind, field):
    make, good = VALUES[kind]
    for value in NONSENSE:
        if allowed(kind, field, value):
            continue
        if (kind, field) in NUMBERS_UNSEEN and isinstance(value, np.ndarray) and value.shape[-1:] == (3,):
            continue
        try:
            made = make(**{**good, field: value})
        except ClearanceError as refused:
            words = str(refused)
        else:
            words = ""
            pytest.fail(f"{kind}.{field} = {value!r} was made: {made}")
        assert words


@pytest.mark.parametrize("seed", range(20))
def test_nonsense_in_any_fields_is_refused(seed):
    rng = np.random.default_rng(seed)
    for kind, (make, good) in VALUES.items():
        if kind == "Pose":
            continue
        chosen = rng.choice(list(good), size=rng.integers(1, len(good) + 1), replace=False)
        bad = {field: NONSENSE[rng.integers(len(NONSENSE))] for field in chosen}
        if all(allowed(kind, field, value) for field, value in bad.items()):
            continue
        with pytest.raises(ClearanceError):
            make(**{**good, **bad})


# ---- the ones that were accepted


def test_one_triangle_that_is_nowhere_among_many_is_refused():
    """It once gave a certified "clears, 93.4" of a wall that stands 28.5 mm away."""
    mockup = load(FIXTURES / "orchard-pickup-rear.toml")
    part = mockup.part("inner wall")
    broken = np.array(part.triangles_mm)
    broken[0, 1, 2] = np.nan
    with pytest.raises(
        PartError, match=r'part "inner wall", its triangles: some of its numbers are no numbers \(nan\)'
    ):
        replace(part, triangles_mm=broken)


def test_a_corner_that_no_car_has_is_refused():
    with pytest.raises(InputError, match=r"'rear-lft' is not a corner\. Write one of front-left, front-right"):
        MockUp(**{**MOCKUP, "corner": "rear-lft"})


@pytest.mark.parametrize("corner", CORNERS)
def test_a_corner_says_itself_which_hand_it_is(corner):
    """There is no second word that could say otherwise."""
    assert MockUp(**{**MOCKUP, "corner": corner}).right_hand == ("right" in corner)
    with pytest.raises(TypeError):
        MockUp(**{**MOCKUP, "corner": corner}, right_hand=True)


def test_two_parts_of_one_name_are_refused():
    with pytest.raises(PartError, match='the name "rail" is taken twice'):
        MockUp(**{**MOCKUP, "parts": (Part(**PART), Part(**PART))})


@pytest.mark.parametrize("frame", ["knucle", "upper arm"])
def test_a_part_that_rides_on_what_is_not_there_is_refused(frame):
    with pytest.raises(PartError, match=f'nothing here is called "{frame}"'):
        MockUp(**{**MOCKUP, "parts": (replace(Part(**PART), rides_on=frame),)})
    far = FarEnd(frame=frame, point_mm=np.zeros(3), share=np.zeros((2, 3)))
    with pytest.raises(PartError, match=f'nothing here is called "{frame}"'):
        MockUp(**{**MOCKUP, "parts": (replace(Part(**PART), far_end=far),)})


def test_a_tire_for_another_rim_is_refused():
    with pytest.raises(TireError, match="a tire for a 16 in rim does not go on a 15 in wheel"):
        MockUp(**{**MOCKUP, "tire": Tire(**{**TIRE, "rim_diameter_in": 16.0})})


def test_an_empty_part_is_refused():
    with pytest.raises(PartError, match="nothing is there; at least one belongs there"):
        replace(Part(**PART), triangles_mm=np.zeros((0, 3, 3)))


@pytest.mark.parametrize("share", [-0.01, 1.01])
def test_a_far_end_shares_between_nothing_and_all(share):
    with pytest.raises(PartError, match="outside 0 to 1"):
        FarEnd(frame="axle", point_mm=np.zeros(3), share=np.full((2, 3), share))


def test_a_far_end_of_another_number_of_triangles_is_refused():
    with pytest.raises(PartError, match="not one of its 2 triangles"):
        replace(Part(**PART), far_end=FarEnd(**{**FAR, "share": np.zeros((3, 3))}))


def test_a_range_back_to_front_is_refused():
    with pytest.raises(SuspensionError, match="the range of bump goes from 60 to -50; the least comes first"):
        Cycle(bump_mm=(60.0, -50.0))


def test_a_range_that_does_not_hold_zero_may_be_asked_about():
    """Load states stand a wheel at one height away from ride height."""
    assert Cycle(bump_mm=(10.0, 10.0)).bump_mm == (10.0, 10.0)


@pytest.mark.parametrize("axis", [[0, 0, 2.0], [0, 0, -1.0], [1.0, 0, 0]])
def test_a_steering_axis_stands_up_and_has_length_one(axis):
    with pytest.raises(SuspensionError, match="no direction that stands up"):
        Kingpin(through_mm=np.zeros(3), axis=np.array(axis))


@pytest.mark.parametrize("off", [0.0, 1e-12, 2e-5])
def test_no_least_turn_reaches_the_opposite_axis(off):
    """Half a turn any way round would do, and the formula divides by nothing."""
    axis = np.array([np.sin(off), -np.cos(off), 0.0])
    with pytest.raises(SuspensionError, match="points straight inboard"):
        turn_onto(axis)
    with pytest.raises(SuspensionError):
        turn_onto(np.array([[0.0, 1.0, 0.0], axis]))


@pytest.mark.parametrize("off_deg", [0.1, 1.0, 90.0])
def test_the_least_turn_is_a_turn_close_to_the_opposite_axis(off_deg):
    off = np.radians(off_deg)
    turn = turn_onto(np.array([np.sin(off), -np.cos(off), 0.0]))
    # 1e-9 of the axis' cosine is lost at 0.1 degrees, where 1 + y is 1.5e-6
    assert turn @ turn.T == pytest.approx(np.eye(3), abs=1e-8)
    assert turn @ [0.0, 1.0, 0.0] == pytest.approx([np.sin(off), -np.cos(off), 0.0], abs=1e-8)


@pytest.mark.parametrize("camber", [90.0, -90.0, 180.0, float("nan")])
def test_a_wheel_that_lies_on_its_side_has_no_camber(camber):
    """ISO 8855: camber is asin(-s_z), so 180 degrees would be the same axis as 0."""
    with pytest.raises(SuspensionError, match="lies on its side"):
        spin_axis(camber, 0.0)
    with pytest.raises(SuspensionError):
        spin_axis(np.array([0.0, camber]), 0.0)
    assert spin_axis(89.0, 0.0)[2] == pytest.approx(-np.sin(np.radians(89.0)))


OUTLINE = [(-300.0, 0.0), (-250.0, 250.0), (0.0, 350.0), (250.0, 250.0), (300.0, 0.0)]


def test_an_arch_that_crosses_itself_is_refused():
    """Its third and fourth points swapped, the outline goes out to 250 and back over itself."""
    crossed = [OUTLINE[0], OUTLINE[1], OUTLINE[3], OUTLINE[2], (-280.0, 200.0)]
    with pytest.raises(PartError, match="crosses itself") as refused:
        lip(Tag(name="lip"), outboard_mm=100.0, outline_mm=crossed)
    assert refused.value.key == "outline"
    with pytest.raises(PartError, match="crosses itself"):
        lip(Tag(name="lip"), outboard_mm=100.0, outline_mm=[*OUTLINE, (0.0, 400.0), (0.0, 300.0)])


def test_an_arch_in_order_and_a_whole_ring_are_taken():
    assert lip(Tag(name="lip"), outboard_mm=100.0, outline_mm=OUTLINE).triangles_mm.shape == (4, 3, 3)
    assert lip(Tag(name="lip"), outboard_mm=100.0, outline_mm=[*OUTLINE, OUTLINE[0]]).triangles_mm.shape == (5, 3, 3)


# ---- what must go on working


def test_replacing_and_subclassing_go_on():
    class Marked(Part):
        """A part with nothing new."""

    part = Marked(**PART)
    assert replace(part, required_mm=12.0).required_mm == 12.0
    assert isinstance(replace(part, name="other"), Marked)
    mockup = MockUp(**MOCKUP)
    assert replace(mockup, corner="front-right").right_hand


def test_the_gap_is_as_it_was():
    """The check costs nothing of the answer: the pickup's inner wall, 28.5 mm."""
    mockup = load(FIXTURES / "orchard-pickup-rear.toml")
    (gap,) = over_cycle(replace(mockup, parts=(mockup.part("inner wall"),)))
    assert gap.at_least_mm == pytest.approx(28.5, abs=0.1)


def test_a_wall_is_told_by_its_own_name():
    with pytest.raises(PartError, match='part "wall", its required is -5; it cannot be below zero'):
        wall(Tag(name="wall", required_mm=-5.0), reach_mm=500.0, inboard_mm=100.0)
