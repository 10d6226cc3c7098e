"""Good corner files: what they become, and that left, right and other ways to say the same thing agree."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import numpy as np
import pytest

from clearance.description.load import load, reach_mm
from clearance.errors import CornerFileError
from clearance.gap.cycle import over_cycle
from clearance.mockup.mockup import MockUp
from clearance.suspension.kinds import KINDS

HERE = Path(__file__).parent
CORNERS = HERE.parent.parent / "fixtures" / "corners"

BASE = """
corner = "front-left"
[tire]
{tire}
[wheel]
{wheel}
[suspension]
{suspension}
{more}
[[part]]
name = "wall"
kind = "wall"
inboard = "260 mm"
"""
TIRE = 'size = "205/55R16"'
WHEEL = 'diameter = "16 in"\nwidth = "6.5 in"\noffset = "45 mm"'
STRAIGHT = 'kind = "straight"\nbump = "60 mm"\ndroop = "50 mm"'
STEERING = """[steering]
left = "{left} deg"
right = "{right} deg"
axis = {{ through = ["4 mm", "-95 mm", "0 mm"], inclination = "8 deg", caster = "3 deg" }}"""


def loaded(
    folder: Path,
    *,
    tire: str = TIRE,
    wheel: str = WHEEL,
    suspension: str = STRAIGHT,
    more: str = "",
    corner: str = "front-left",
) -> MockUp:
    path = folder / "corner.toml"
    text = BASE.format(tire=tire, wheel=wheel, suspension=suspension, more=more).replace("front-left", corner)
    path.write_text(text, encoding="utf-8")
    return load(path)


# ---- the shipped corners


@pytest.mark.parametrize(
    ("name", "verdict"),
    [
        ("orchard-pickup-rear", "clears"),
        ("scanned-well-rear", "tight"),
        ("heron-roadster-front", "hits"),
    ],
)
def test_the_shipped_corners_end_in_three_different_answers(name, verdict):
    verdicts = {gap.verdict for gap in over_cycle(load(CORNERS / f"{name}.toml"))}
    worst = next(word for word in ("undecided", "hits", "tight", "clears") if word in verdicts)
    assert worst == verdict


def test_the_pickup_is_what_its_file_says():
    mockup = load(CORNERS / "orchard-pickup-rear.toml")
    assert mockup.title == "Orchard half-ton, rear left"
    assert (mockup.corner, mockup.right_hand) == ("rear-left", False)
    assert mockup.tire.overall_diameter_mm == pytest.approx(28.875 * 25.4)
    assert mockup.tire.section_width_mm == 239
    assert mockup.wheel.backspace_mm == pytest.approx(95.25)
    assert mockup.suspension.cycle.bump_mm == pytest.approx((-76.2, 88.9))
    assert mockup.suspension.cycle.shift.behind_mm == 3
    pack = mockup.part("leaf pack")
    assert (pack.rides_on, pack.required_mm) == ("axle", 6)
    assert pack.required_from == "default for what rides on the axle, common practice"
    assert mockup.part("tailpipe").required_from == "corner file"
    assert mockup.terms.load_states_mm == {"driver": 0.0, "laden": -35.0}


def test_loading_twice_gives_the_same_numbers():
    one, other = (load(CORNERS / "scanned-well-rear.toml") for _ in range(2))
    for a, b in zip(one.parts, other.parts, strict=True):
        assert np.array_equal(a.triangles_mm, b.triangles_mm)


def test_every_part_kind_of_the_good_file_carries_its_defaults():
    required = {part.name: part.required_mm for part in load(HERE / "good.toml").parts}
    assert required == {
        "inner wall": 25,
        "rail": 25,
        "shock": 13,
        "plate": 25,
        "well inner wall": 25,
        "well crown": 25,
        "lip": 13,
        "scan": 25,
    }


# ---- what rolls


def test_backspace_and_the_offset_that_goes_with_it_are_one_wheel(tmp_path):
    """6.5 in is 165.1 mm, and 190.5 mm over all: an offset of 45 mm is a backspace of 95.25 + 45 mm."""
    by_offset = loaded(tmp_path)
    by_backspace = loaded(tmp_path, wheel='diameter = "16 in"\nwidth = "6.5 in"\nbackspace = "140.25 mm"')
    assert by_backspace.wheel.offset_mm == pytest.approx(by_offset.wheel.offset_mm, abs=1e-9)


def test_backspace_and_offset_may_both_be_given_where_they_agree_to_a_millimetre(tmp_path):
    mockup = loaded(tmp_path, wheel=WHEEL + '\nbackspace = "140.9 mm"')
    assert mockup.wheel.backspace_mm == pytest.approx(140.9)


THIRTEEN = 'diameter = "13 in"\nwidth = "5 in"\noffset = "20 mm"'


def test_a_rim_has_the_flange_and_the_well_of_its_own_contour_and_they_are_said(tmp_path):
    """JIS D 4218:2021 table 3: B contours (13 in) 14.5 mm high over a well of 15 mm, J ones 17.5 and 17.3, from 22 in
    22; the bead seat of a 13 in rim is 329.4 mm.
    """
    small = loaded(tmp_path, wheel=THIRTEEN, tire='size = "175/70R13"')
    assert small.wheel.flange_diameter_mm == pytest.approx(329.4 + 2 * 14.5)
    assert small.wheel.barrel_mm == pytest.approx(329.4 - 2 * 15 - 2 * 6)
    said = "\n".join(small.assumptions)
    for words in ("14.5 mm (9/16 in) high by its B contour", "well 15 mm deep (B contour)"):
        assert words in said
    assert "17." not in said.split("barrel")[0]
    usual = "\n".join(loaded(tmp_path).assumptions)
    for words in ("17.5 mm (11/16 in) high by its J contour", "well 17.3 mm deep (J contour)"):
        assert words in usual
    large = loaded(tmp_path, wheel=WHEEL.replace("16 in", "22 in"), tire='size = "205/35R22"')
    assert any("well 22 mm deep (J contour)" in line for line in large.assumptions)


def test_what_the_file_says_of_the_rim_beats_its_contour(tmp_path):
    given = '\nflange_height = "16 mm"\nbarrel_inner_diameter = "290 mm"'
    mockup = loaded(tmp_path, wheel=THIRTEEN + given, tire='size = "175/70R13"')
    assert (mockup.wheel.flange_height_mm, mockup.wheel.barrel_mm) == (16, 290)
    assert not any("contour" in line for line in mockup.assumptions)
    sources = mockup.wheel.sources
    assert [sources[key] for key in ("diameter_in", "offset", "flange_height", "barrel_inner_diameter")] == [
        "corner file"
    ] * 4
    assert sources["flange_thickness"] == "half an inch each side (common practice)"


def test_a_bolt_circle_that_looks_like_another_is_warned_of(tmp_path):
    """Trade tables: 5 x 114.3 (4.5 in) and 5 x 115 look alike and do not interchange; 5 x 130 has no neighbour."""
    near = loaded(tmp_path, wheel=WHEEL + '\nbolt_circle = "5 x 4.5 in"')
    assert any("5 x 114.3 mm is easily taken for 5 x 115 mm" in line for line in near.warnings)
    alone = loaded(tmp_path, wheel=WHEEL + '\nbolt_circle = "5 x 130 mm"')
    assert not any("bolt circle" in line for line in alone.warnings)


def test_measured_beats_marked_and_the_tire_says_so(tmp_path):
    mockup = loaded(tmp_path, tire=TIRE + '\nsection_width = "219 mm"')
    assert mockup.tire.section_width_mm == 219
    assert mockup.tire.sources["section_width"] == "stated"
    assert mockup.tire.overall_diameter_mm == 632  # 406 + 2 x 113, UN R30 6.1.2
    assert any("overall diameter" in line and "not measured" in line for line in mockup.assumptions)
    assert not any("the section width is" in line for line in mockup.assumptions)


def test_a_width_measured_on_another_rim_is_carried_over(tmp_path):
    """Half an inch more rim is 0.4 x 12.7 mm more section (UN R30 6.1.1.1)."""
    mockup = loaded(tmp_path, tire=TIRE + '\nsection_width = "210 mm"\nmeasured_on = "6 in"')
    assert mockup.tire.section_width_mm == pytest.approx(210 + 0.4 * 12.7)


def test_growth_and_chains_are_added_room(tmp_path):
    mockup = loaded(tmp_path, tire=TIRE + '\ngrowth = { width = "4 mm", diameter = "8 mm" }\nchains = "s"')
    assert mockup.tire.full_diameter_mm == pytest.approx(632 + 8 + 2 * 37)
    assert mockup.tire.full_width_mm == pytest.approx(mockup.tire.section_width_mm + 4 + 2 * 15)


def test_a_tire_of_dimensions_alone_takes_the_wheel_s_rim_and_says_so(tmp_path):
    mockup = loaded(tmp_path, tire='overall_diameter = "630 mm"\nsection_width = "210 mm"\ntread_width = "170 mm"')
    assert (mockup.tire.marking, mockup.tire.rim_diameter_in) == (None, 16)
    assert any("taken to fit the wheel" in line for line in mockup.assumptions)


def test_a_traced_section_is_read_from_its_csv(tmp_path):
    """Half a section in inches, with a heading: 8 in wide, 25 in over all."""
    rows = ["across,radius", "3.1,8.3", "4.0,10.2", "3.9,11.5", "3.2,12.3", "0,12.5"]
    (tmp_path / "half.csv").write_text("\n".join(rows))
    mockup = loaded(tmp_path, tire='shape = { file = "half.csv", unit = "in" }')
    assert mockup.tire.shape == "traced"
    assert mockup.tire.overall_diameter_mm == pytest.approx(25 * 25.4)
    assert mockup.tire.section_width_mm == pytest.approx(8 * 25.4)


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        (["across,radius", "1,2"], "has 1 points"),
        (["1,2", "3,4,5"], "half.csv, line 2"),
        (["1,2", "3,nan"], "half.csv, line 2"),
        (["1,2", "heading,again"], "half.csv, line 2"),
    ],
)
def test_a_traced_section_that_cannot_be_read_is_refused_with_its_row(tmp_path, rows, words):
    (tmp_path / "half.csv").write_text("\n".join(rows))
    with pytest.raises(CornerFileError, match=words) as refused:
        loaded(tmp_path, tire='shape = { file = "half.csv", unit = "in" }')
    assert refused.value.key == "tire.shape.file"


def test_everything_that_was_not_measured_is_said(tmp_path):
    said = "\n".join(loaded(tmp_path).assumptions)
    for word in ("flange is taken as 12.7 mm", "17.5 mm", "barrel", "face", "center_bore", "tread", "growth"):
        assert word in said


def test_an_inch_and_its_millimetres_are_the_same_corner(tmp_path):
    one = loaded(tmp_path)
    other = loaded(tmp_path, wheel='diameter = "406.4 mm"\nwidth = "165.1 mm"\noffset = "4.5 cm"')
    assert (one.wheel.diameter_in, one.wheel.width_in) == (other.wheel.diameter_in, other.wheel.width_in)
    assert one.wheel.offset_mm == pytest.approx(other.wheel.offset_mm, abs=1e-12)


# ---- motion and the mirror


def test_a_front_corner_without_steering_is_warned_about(tmp_path):
    assert any("straight ahead only" in line for line in loaded(tmp_path).warnings)
    steered = loaded(tmp_path, more=STEERING.format(left=30, right=25))
    assert not any("straight ahead only" in line for line in steered.warnings)


def test_the_locks_of_a_right_corner_change_places(tmp_path):
    left = loaded(tmp_path, more=STEERING.format(left=33, right=28))
    right = loaded(tmp_path, more=STEERING.format(left=33, right=28), corner="front-right")
    assert left.suspension.cycle.steer_deg == (-28, 33)
    assert right.suspension.cycle.steer_deg == (-33, 28)
    assert (left.right_hand, right.right_hand) == (False, True)


def test_a_right_corner_has_the_gaps_of_the_left_one_that_it_mirrors(tmp_path):
    """The left wheel's left lock is the right wheel's right lock in the mirror; everything else reads the same."""
    left = over_cycle(loaded(tmp_path, more=STEERING.format(left=33, right=28)))
    right = over_cycle(loaded(tmp_path, more=STEERING.format(left=28, right=33), corner="front-right"))
    for a, b in zip(left, right, strict=True):
        assert (a.at_least_mm, a.at_most_mm, a.position) == (b.at_least_mm, b.at_most_mm, b.position)


ROWS = """kind = "table"
bump = "50 mm"
droop = "50 mm"
rows = [
    ["-50 mm", "-3 mm", "1 mm", "0.5 deg", "0.1 deg"],
    ["-25 mm", "-1 mm", "0.5 mm", "0.2 deg", "0 deg"],
    ["0 mm", "0 mm", "0 mm", "-0.3 deg", "0 deg"],
    ["25 mm", "0 mm", "-0.5 mm", "-0.7 deg", "0 deg"],
    { bump = "50 mm", across = "0 mm", along = "-1 mm", camber = "-1.2 deg", toe = "-0.1 deg" },
]
"""
STEER_ROWS = """steer_rows = [
    ["-50 mm", "30 deg", "-6 mm", "-20 mm", "-1 deg"],
    ["-50 mm", "0 deg", "-3 mm", "1 mm", "0.5 deg"],
    ["-50 mm", "-25 deg", "-5 mm", "16 mm", "3 deg"],
    ["0 mm", "30 deg", "-3 mm", "-21 mm", "-2 deg"],
    ["0 mm", "0 deg", "0 mm", "0 mm", "-0.3 deg"],
    ["0 mm", "-25 deg", "-2 mm", "15 mm", "2 deg"],
    ["50 mm", "30 deg", "-3 mm", "-22 mm", "-3 deg"],
    ["50 mm", "0 deg", "0 mm", "-1 mm", "-1.2 deg"],
    ["50 mm", "-25 deg", "-2 mm", "14 mm", "1 deg"],
]
"""


def test_measured_steer_rows_of_a_right_corner_change_their_sign(tmp_path):
    """The same car measured on its right side: every steer angle with the other sign, every other number the same."""
    locks = '[steering]\nleft = "{} deg"\nright = "{} deg"'
    left = loaded(tmp_path, suspension=ROWS + STEER_ROWS, more=locks.format(30, 25))
    other = STEER_ROWS.replace('"30 deg"', '"-x deg"').replace('"-25 deg"', '"25 deg"').replace("-x", "-30")
    right = loaded(tmp_path, suspension=ROWS + other, more=locks.format(25, 30), corner="front-right")
    positions = np.array([[10.0, 0.0, 20.0], [-30.0, 0.0, -25.0], [50.0, 0.0, 0.0]])
    one, two = left.suspension.pose(positions), right.suspension.pose(positions)
    assert one.origin_mm == pytest.approx(two.origin_mm, abs=1e-9)
    assert one.axis == pytest.approx(two.axis, abs=1e-12)


def test_a_live_axle_takes_the_other_wheel_s_travel_from_this_one_and_says_so(tmp_path):
    dimensions = {"length": '"800 mm"', "angle": '"0 deg"', "number": "1", "point": '["0 mm", "-200 mm", "0 mm"]'}
    given = {key.name: dimensions[key.dimension] for key in KINDS["track-bar"].keys if key.required}
    given["track"] = '"1450 mm"'
    text = 'kind = "track-bar"\nbump = "60 mm"\ndroop = "50 mm"\n' + "\n".join(f"{k} = {v}" for k, v in given.items())
    mockup = loaded(tmp_path, suspension=text)
    assert mockup.suspension.cycle.other_bump_mm == (-50, 60)
    assert any("other wheel" in line for line in mockup.assumptions)


def test_the_reach_holds_the_tire_at_every_position():
    mockup = load(HERE / "good.toml")
    cycle = mockup.suspension.cycle
    rows = np.random.default_rng(7).uniform(cycle.box[:, 0], cycle.box[:, 1], (300, 3))
    hub = mockup.suspension.pose(rows).origin_mm
    play = max(cycle.shift.inboard_mm, cycle.shift.outboard_mm)
    furthest = np.linalg.norm(hub, axis=1).max() + mockup.solid.reach_mm + play
    assert reach_mm(mockup.solid, mockup.suspension) >= furthest


def test_a_scan_that_stands_on_the_wrong_side_is_warned_about(tmp_path):
    """The shipped well, turned half a turn about the vertical: the wall that was inboard stands outboard."""
    text = (CORNERS / "scanned-well-rear.toml").read_text(encoding="utf-8")
    stands = set(load(CORNERS / "scanned-well-rear.toml").warnings)
    assert not any("scan" in line for line in stands)
    path = tmp_path / "turned.toml"
    far = json.dumps(str(CORNERS / "scanned-well.ply"))
    text = text.replace('"scanned-well.ply"', far).replace('ahead = "+x"', 'ahead = "-x"')
    text = text.replace('face_outboard = "12 mm"', 'face_outboard = "-12 mm"')
    text = re.sub(r"holes_closed = \[.*?\n\]", "", text, flags=re.DOTALL)
    path.write_text(text.replace('from = "-20 mm", to = "-4 mm"', 'from = "4 mm", to = "20 mm"'), encoding="utf-8")
    assert set(load(path).warnings) > stands


# ---- nothing that is written makes a traceback


@pytest.mark.parametrize("copies", [50, pytest.param(1000, marks=pytest.mark.slow)])
def test_a_file_with_anything_changed_loads_or_is_refused(tmp_path, copies):
    """Copies of two good files, each with a letter, a line or a value put in, taken out or changed for another."""
    rng = np.random.default_rng(7)
    path = tmp_path / "changed.toml"
    refused = 0
    for name in ("orchard-pickup-rear", "heron-roadster-front"):
        text = (CORNERS / f"{name}.toml").read_text(encoding="utf-8")
        for _ in range(copies):
            path.write_text(_changed(text, rng), encoding="utf-8")
            said = _refusal(path)
            refused += said is not None
            assert said is None or (said.message and said.line and said.line <= text.count("\n") + 2)
    assert refused > copies / 2


def _refusal(path: Path) -> CornerFileError | None:
    try:
        load(path)
    except CornerFileError as said:
        return said
    return None


def _changed(text: str, rng: np.random.Generator) -> str:
    rows = text.split("\n")
    at, other = rng.integers(len(rows), size=2)
    way = rng.integers(5)
    if way == 0:
        del rows[at]
    elif way == 1:
        rows[at] = rows[other]
    elif way == 2 and "=" in rows[at]:
        strange = [
            "-1",
            '"-90 mm"',
            "nan",
            "true",
            "[]",
            "{}",
            '""',
            '"1e400 mm"',
            "1979-05-27",
            '"5 deg"',
            '[["1 mm"]]',
        ]
        rows[at] = rows[at].split("=")[0] + "= " + strange[rng.integers(len(strange))]
    elif way == 3 and rows[at]:
        cut = int(rng.integers(len(rows[at])))
        rows[at] = rows[at][:cut] + rows[at][cut + 1 :]
    elif rows[at]:
        cut = int(rng.integers(len(rows[at])))
        rows[at] = rows[at][:cut] + "\"'[]{}=.,#-9z\\"[rng.integers(13)] + rows[at][cut:]
    return "\n".join(rows)


def test_the_angle_of_a_full_turn_is_the_most(tmp_path):
    """A radian is a unit, so that 6 rad is 343.8 deg and taken as written; a box turned so far is turned back 16.2."""
    more = '[[part]]\nname = "b"\nkind = "box"\nmin = ["0 mm", "0 mm", "0 mm"]\nmax = ["9 mm", "9 mm", "9 mm"]\n'
    mockup = loaded(tmp_path, more=more + 'turn = { about = "above", angle = "6 rad" }')
    edge = mockup.part("b").triangles_mm[0, 2] - mockup.part("b").triangles_mm[0, 1]
    direction = math.degrees(math.atan2(edge[1], edge[0])) % 90
    assert direction == pytest.approx((math.degrees(6) - 360) % 90, abs=1e-9)


# ---- a tire of which no table has the size


def test_an_upper_bound_is_used_in_the_gap_and_said_to_be_one(tmp_path: Path) -> None:
    """9.00-16 by its marking alone: 915 mm and 261 mm on 6.5 in err large; 890 mm and 257 mm are a handbook's."""
    wheel = 'diameter = "16 in"\nwidth = "6.5 in"\noffset = "45 mm"'
    by_marking = loaded(tmp_path, tire='size = "9.00-16"', wheel=wheel)
    assert any(
        "the overall diameter is not known: 915.0 mm (36 in) is used, which errs large" in text
        for text in by_marking.assumptions
    )
    assert any("in no table that was read" in text for text in by_marking.warnings)
    stated = 'size = "9.00-16"\noverall_diameter = "890 mm"\nsection_width = "257 mm"'
    measured = loaded(tmp_path, tire=stated, wheel=wheel)
    assert not any("errs large" in text for text in measured.assumptions)
    (larger,), (smaller,) = over_cycle(by_marking), over_cycle(measured)
    assert larger.at_least_mm < smaller.at_least_mm


def test_the_largest_published_tire_is_said_to_be_the_largest(tmp_path: Path) -> None:
    wheel = 'diameter = "20 in"\nwidth = "8.5 in"\noffset = "45 mm"'
    mockup = loaded(tmp_path, tire='size = "12.00R20"', wheel=wheel)
    assert mockup.tire.overall_diameter_mm == 1140.0
    assert any(
        "the overall diameter is 1140.0 mm (44 7/8 in), the largest published" in text for text in mockup.assumptions
    )


def test_a_stated_size_that_the_marking_forbids_is_among_the_warnings_of_the_answer(tmp_path: Path) -> None:
    tire = 'size = "245/45R17"\noverall_diameter = "26.7 in"'
    mockup = loaded(tmp_path, tire=tire, wheel='diameter = "17 in"\nwidth = "8 in"\noffset = "45 mm"')
    (said,) = [text for text in mockup.warnings if "stated overall diameter" in text]
    assert "660.8 mm (26 in)" in said
    assert "245/50R17 (678 mm)" in said
