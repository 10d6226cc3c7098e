"""A car file read: what lies over what, where each key was written, and what cannot be."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

import clearance

ROOT = Path(__file__).parents[2]
CARS = ROOT / "fixtures" / "cars"
CORNERS = ROOT / "fixtures" / "corners"
PICKUP = "orchard-pickup-rear.toml"


@pytest.fixture
def garage(tmp_path):
    """A folder with the pickup's corner file, and a way to write a car beside it."""
    shutil.copy(CORNERS / PICKUP, tmp_path / PICKUP)

    def car(text: str) -> Path:
        file = tmp_path / "car.toml"
        file.write_text(text, encoding="utf-8")
        return file

    return car


LIKE = f"""
[corner.rear-left]
file = "{PICKUP}"
[corner.rear-right]
like = "rear-left"
"""


def same(first: clearance.MockUp, second: clearance.MockUp) -> None:
    """Everything that a question can ask of them is the same to the last bit."""
    for value in ("wheel", "tire", "terms"):
        assert repr(getattr(first, value)) == repr(getattr(second, value))
    assert first.solid.profile == second.solid.profile
    cycle = first.suspension.cycle
    assert cycle == second.suspension.cycle
    rows = np.array([[b, o, s] for b in cycle.bump_mm for o in cycle.other_bump_mm for s in cycle.steer_deg])
    for frame in first.suspension.frames:
        here, there = first.suspension.pose(rows, frame), second.suspension.pose(rows, frame)
        assert np.array_equal(here.origin_mm, there.origin_mm)
        assert np.array_equal(here.turn, there.turn)
    assert [part.name for part in first.parts] == [part.name for part in second.parts]
    for one, other in zip(first.parts, second.parts, strict=True):
        assert np.array_equal(one.triangles_mm, other.triangles_mm)
        for value in ("required_mm", "rides_on", "thickness_mm", "uncertainty_mm"):
            assert getattr(one, value) == getattr(other, value)


@pytest.mark.parametrize("file", sorted(CARS.glob("*.toml")), ids=lambda path: path.stem)
def test_the_shipped_cars_are_read(file):
    car = clearance.load_car(file)
    assert all(corner.corner == name for name, corner in car.corners.items())
    assert len(car.corners) >= 2


def test_a_corner_by_its_file_is_that_corner(garage):
    car = clearance.load_car(garage(LIKE))
    same(car.at("rear-left"), clearance.load(CORNERS / PICKUP))


def test_a_corner_file_is_a_car_with_that_corner():
    car = clearance.load_car(CORNERS / PICKUP)
    assert list(car.corners) == ["rear-left"]
    same(car.at("rear-left"), clearance.load(CORNERS / PICKUP))


@pytest.mark.parametrize(
    "name", [PICKUP, "tern-coupe-rear.toml", "heron-roadster-front.toml", "sorrel-sedan-front.toml"]
)
def test_like_the_other_side_equals_writing_it_out(name, tmp_path):
    """Measures are outboard and inboard, so all that a right corner says otherwise than its left is its locks.

    The files are written out by hand's rule: the corner's word and the two locks changed, nothing else.
    """
    text = (CORNERS / name).read_text(encoding="utf-8")
    here = clearance.load(CORNERS / name).corner
    end, side = here.split("-")
    there = f"{end}-{'right' if side == 'left' else 'left'}"
    shutil.copy(CORNERS / name, tmp_path / name)
    (tmp_path / "car.toml").write_text(
        f'[corner.{here}]\nfile = "{name}"\n[corner.{there}]\nlike = "{here}"\n', encoding="utf-8"
    )
    for old, new in (
        (f'"{here}"', f'"{there}"'),
        ("\nleft = ", "\nX = "),
        ("\nright = ", "\nleft = "),
        ("\nX = ", "\nright = "),
    ):
        text = text.replace(old, new)
    (tmp_path / "out.toml").write_text(text, encoding="utf-8")
    same(clearance.load(tmp_path / "car.toml", corner=there), clearance.load(tmp_path / "out.toml"))


def test_own_keys_lie_over_those_of_the_other_corner_and_the_cars_below_them(garage):
    car = clearance.load_car(
        garage(
            """
            [tire]
            size = "205/60R15"
            [uncertainty]
            parts = "4 mm"
            """.replace("            ", "")
            + LIKE
            + """
            without = ["tailpipe", "tire.section_width"]
            [corner.rear-right.tire]
            size = "225/75R15"
            overall_diameter = "720 mm"
            [[corner.rear-right.part]]
            name = "inner wall"
            inboard = "170 mm"
            [[corner.rear-right.part]]
            name = "filler"
            kind = "bar"
            points = [["-300 mm", "-200 mm", "300 mm"], ["-400 mm", "-50 mm", "450 mm"]]
            diameter = "50 mm"
            """.replace("            ", "")
        )
    )
    left, right = car.at("rear-left"), car.at("rear-right")
    assert left.tire.marking == "235/75R15"  # the file's, not the car's
    assert right.tire.marking == "225/75R15"
    assert right.tire.overall_diameter_mm == 720.0
    assert right.tire.section_width_mm != left.tire.section_width_mm
    assert [part.name for part in right.parts] == [
        *(part.name for part in left.parts if part.name != "tailpipe"),
        "filler",
    ]
    assert right.part("inner wall").triangles_mm[..., 1].max() == -170.0
    assert right.part("inner wall").thickness_mm == left.part("inner wall").thickness_mm
    # the car's section is below the file's own: the file says 2 mm of its parts
    assert left.terms.uncertainty.parts_mm == right.terms.uncertainty.parts_mm == 2.0


def test_what_the_car_has_once_serves_a_corner_that_does_not_say_it(garage):
    text = (CORNERS / PICKUP).read_text(encoding="utf-8")
    tire = text[text.index("[tire]") : text.index("[wheel]")]
    rest = text[text.index("[wheel]") :]
    for section in ("wheel", "suspension", "load_states", "limits", "uncertainty"):
        rest = rest.replace(f"[{section}]", f"[corner.rear-left.{section}]")
    rest = rest.replace("[[part]]", "[[corner.rear-left.part]]")
    car = clearance.load_car(garage(tire + "[corner.rear-left]\n" + rest))
    same(car.at("rear-left"), clearance.load(CORNERS / PICKUP))


def test_a_scan_of_the_left_well_stands_mirrored_on_the_right(tmp_path):
    for name in ("scanned-well-rear.toml", "scanned-well.ply"):
        shutil.copy(CORNERS / name, tmp_path / name)
    here = clearance.load(CORNERS / "scanned-well-rear.toml")
    there = here.corner.replace("left", "X").replace("right", "left").replace("X", "right")
    file = tmp_path / "car.toml"
    file.write_text(
        f'[corner.{here.corner}]\nfile = "scanned-well-rear.toml"\n[corner.{there}]\nlike = "{here.corner}"\n',
        encoding="utf-8",
    )
    same(clearance.load(file, corner=there), here)


def test_files_that_a_corner_file_names_are_beside_it_and_not_beside_the_car(tmp_path):
    (tmp_path / "measured").mkdir()
    for name in ("scanned-well-rear.toml", "scanned-well.ply"):
        shutil.copy(CORNERS / name, tmp_path / "measured" / name)
    here = clearance.load(CORNERS / "scanned-well-rear.toml")
    file = tmp_path / "car.toml"
    file.write_text(f'[corner.{here.corner}]\nfile = "measured/scanned-well-rear.toml"\n', encoding="utf-8")
    same(clearance.load(file), here)


# ---- an axle seen from its other hub

THREE_LINK = """
[tire]
size = "225/60R15"
[wheel]
diameter = "15 in"
width = "7 in"
backspace = "4 in"
[corner.rear-left.suspension]
kind = "three-link"
bump = "80 mm"
droop = "70 mm"
other_bump = "75 mm"
other_droop = "65 mm"
track = "1450 mm"
lower_axle = ["-10 mm", "-240 mm", "-70 mm"]
lower_body = ["460 mm", "-255 mm", "-50 mm"]
upper_axle = ["-20 mm", "-640 mm", "130 mm"]
upper_body = ["380 mm", "-650 mm", "150 mm"]
bar_axle = ["-90 mm", "-1200 mm", "20 mm"]
bar_body = ["-95 mm", "-260 mm", "60 mm"]
[[corner.rear-left.part]]
name = "wall"
kind = "wall"
inboard = "200 mm"
[corner.rear-right]
like = "rear-left"
"""


def test_a_track_bar_is_seen_from_the_other_hub_as_it_is(garage):
    """One axle, told from both of its hubs: each puts the other's hub where the other puts it itself.

    The bar makes the axle unlike its mirror image: it draws it to one side in bump. From the left corner the right hub
    stands one track inboard of the hub's face and goes with the axle; seen in the right corner's own axes, outboard the
    other way, it must be where the right corner says that its own hub is. The links are symmetrical but for the bar and
    the one upper link, which `like` must carry across and not mirror.
    """
    car = clearance.load_car(garage(THREE_LINK))
    left, right = car.at("rear-left").suspension, car.at("rear-right").suspension
    assert right.cycle.bump_mm == (-65.0, 75.0)
    assert right.cycle.other_bump_mm == (-70.0, 80.0)
    moved = 0.0
    for up_left, up_right in ((60.0, 60.0), (-50.0, 40.0), (70.0, -30.0), (-60.0, -60.0)):
        seen = left.pose(np.array([[up_left, up_right, 0.0]]), "axle")
        far_hub = np.array([0.0, -1450.0, 0.0])
        there = (seen.origin_mm + (seen.turn @ far_hub))[0] - far_hub
        own = right.pose(np.array([[up_right, up_left, 0.0]]), "hub").origin_mm[0]
        assert own == pytest.approx([there[0], -there[1], there[2]], abs=0.02)
        moved = max(moved, abs(there[1]))
    assert moved > 1.0  # the bar does draw it across, so that a mirrored bar would have been found


def test_a_mirrored_bar_would_be_found(garage):
    """The same with the bar's points left as they were: the two hubs disagree by twice what the bar draws."""
    mirrored = THREE_LINK + '[corner.rear-right.suspension]\nbar_axle = ["-90 mm", "-1200 mm", "20 mm"]\n'
    mirrored += 'bar_body = ["-95 mm", "-260 mm", "60 mm"]\n'
    car = clearance.load_car(garage(mirrored))
    left, right = car.at("rear-left").suspension, car.at("rear-right").suspension
    across = left.pose(np.array([[60.0, 60.0, 0.0]]), "axle").origin_mm[0, 1]
    assert abs(across + right.pose(np.array([[60.0, 60.0, 0.0]]), "hub").origin_mm[0, 1]) > abs(across)


# ---- what cannot be


FROM = f'[corner.rear-left]\nfile = "{PICKUP}"\n'
AND_LIKE = '[corner.rear-right]\nlike = "rear-left"\n'
CIRCLE = '[corner.rear-left]\nlike = "rear-right"\n[corner.rear-right]\nlike = "rear-left"\n'


@pytest.mark.parametrize(
    ("text", "line", "key", "words"),
    [
        (CIRCLE, None, "like", "goes in a circle"),
        ('[corner.rear-left]\nlike = "rear-left"\n', 2, "corner.rear-left.like", "goes in a circle"),
        ('[corner.rear-left]\nlike = "front-left"\n', 2, "corner.rear-left.like", "there is no corner"),
        ('[corner.rear-left]\nfile = "nowhere.toml"\n', 2, "corner.rear-left.file", "there is no such file"),
        ('[corner.rear-left]\nfile = "~nobody-of-that-name/x.toml"\n', 2, "corner.rear-left.file", "home folder"),
        ('[corner.rear-left]\nfile = "a\\u0000b"\n', 2, "corner.rear-left.file", "no file"),
        ('[corner.rear-left]\nfile = "/dev/zero"\n', 2, "corner.rear-left.file", "a device"),
        (FROM + "suspension = 3\n" + AND_LIKE, 3, "corner.rear-left.suspension", "not a table"),
        (FROM + "suspension.kind = []\n" + AND_LIKE, 3, "corner.rear-left.suspension.kind", "not a kind"),
        (FROM + "steering = []\n" + AND_LIKE, 3, "corner.rear-left.steering", "not a table"),
        (FROM + "part = [{ name = [] }]\n" + AND_LIKE, 3, "corner.rear-left.part[1].kind", "missing"),
        (FROM.replace("-left", "-right"), 2, "corner.rear-right.file", 'like = "rear-left"'),
        (FROM + 'like = "rear-right"\n', 3, "corner.rear-left.like", "Keep one"),
        ("[corner.rear-lefft]\n", 1, "corner.rear-lefft", 'Did you mean "rear-left"'),
        ("[corner]\n", 1, "corner", "no corner"),
        (FROM + 'without = ["tail pipe"]\n', 3, "corner.rear-left.without[1]", "tailpipe"),
        (FROM + 'fiel = "x"\n', 3, "corner.rear-left.fiel", 'Did you mean "file"'),
        (LIKE + '[corner.rear-right.wheel]\nwidth = "7 ft"\n', 7, "corner.rear-right.wheel.width", "7 ft"),
        (LIKE + '[[corner.rear-right.part]]\nname = "lip"\nradius = "x"\n', 8, "corner.rear-right.part[1].radius", "x"),
        (FROM + 'corner = "rear-left"\n', 3, "corner.rear-left.corner", "says which corner it is"),
        ("part = 1\n" + LIKE, 1, "part", "[[corner.rear-left.part]]"),
        ("[car]\nwheelbase = 3\n" + LIKE, 2, "car.wheelbase", "no unit"),
        ('[car]\nwheelbase = "700 mm"\n' + LIKE, 2, "car.wheelbase", "1000 mm to 9000 mm"),
        ('units = "ft"\n' + LIKE, 1, "units", '"mm" or "in"'),
        ("[corner.rear-left]\n", 1, "corner.rear-left.tire", "is missing"),
    ],
)
def test_what_cannot_be_is_said_with_its_place(text, line, key, words, garage):
    with pytest.raises(clearance.CornerFileError) as refused:
        clearance.load_car(garage(text))
    assert words in str(refused.value)
    assert refused.value.key.endswith(key)
    if line is not None:
        assert refused.value.line == line
    assert refused.value.file.endswith("car.toml")


def test_two_corners_of_one_name_are_refused(garage):
    with pytest.raises(clearance.CornerFileError) as refused:
        clearance.load_car(garage(LIKE + "[corner.rear-left]\n"))
    assert refused.value.line == 6


def test_what_is_wrong_in_a_corner_file_is_said_of_that_file(garage, tmp_path):
    file = garage(LIKE)
    text = (tmp_path / PICKUP).read_text(encoding="utf-8").replace('inboard = "6 in"', 'inbord = "6 in"')
    (tmp_path / PICKUP).write_text(text, encoding="utf-8")
    with pytest.raises(clearance.CornerFileError) as refused:
        clearance.load_car(file)
    assert refused.value.file.endswith(PICKUP)
    assert refused.value.key == "part[1].inbord"


def test_a_track_that_is_not_the_axles_is_refused_with_both_lines(garage):
    with pytest.raises(clearance.CornerFileError) as refused:
        clearance.load_car(garage('[car]\ntrack_rear = "1480 mm"\n' + THREE_LINK))
    assert "1450.0 mm" in str(refused.value)
    assert "corner.rear-left, line" in str(refused.value)
    clearance.load_car(garage('[car]\ntrack_rear = "1454 mm"\n' + THREE_LINK))


def test_two_sides_of_an_axle_that_say_two_tracks_are_refused_with_both_lines(garage):
    with pytest.raises(clearance.CornerFileError) as refused:
        clearance.load_car(garage(THREE_LINK + '[corner.rear-right.suspension]\ntrack = "1440 mm"\n'))
    assert "1440.0 mm" in str(refused.value)
    assert "1450.0 mm" in str(refused.value)
    assert "corner.rear-right, line" in str(refused.value)
    clearance.load_car(garage(THREE_LINK + '[corner.rear-right.suspension]\ntrack = "1446 mm"\n'))


def test_what_one_side_says_of_the_other_wheels_travel_must_be_what_that_wheel_says(garage):
    with pytest.raises(clearance.CornerFileError) as refused:
        clearance.load_car(garage(THREE_LINK + '[corner.rear-right.suspension]\nbump = "110 mm"\n'))
    assert "110.0 mm" in str(refused.value)
    assert refused.value.key == "corner.rear-left"


def test_one_corner_is_asked_for_by_name_and_a_car_of_one_needs_none(garage):
    file = garage(LIKE)
    with pytest.raises(clearance.CornerFileError, match="--corner rear-left"):
        clearance.load(file)
    with pytest.raises(clearance.CornerFileError, match="front-left"):
        clearance.load(file, corner="front-left")
    assert clearance.load(file, corner="rear-right").corner == "rear-right"
    alone = garage(f'[corner.rear-left]\nfile = "{PICKUP}"\n')
    assert clearance.load(alone).corner == "rear-left"


# ---- numbers of the car that are unusual


@pytest.mark.parametrize(
    ("line", "said", "corners"),
    [
        ('wheelbase = "1250 mm"', "a wheelbase of 1250 mm is unusual: 1700 mm to 4500 mm is usual", {"left", "right"}),
        ('wheelbase = "2997 mm"', None, set()),
        ('track_rear = "2400 mm"', "a track of 2400 mm is unusual: 1000 mm to 2150 mm is usual", {"left", "right"}),
        ('track_rear = "1470 mm"', None, set()),
        ('track_front = "2400 mm"', None, set()),  # no front corner is described
    ],
)
def test_an_unusual_number_of_the_car_is_doubted_in_its_corners_answers(line, said, corners, garage):
    car = clearance.load_car(garage(f"[car]\n{line}\n{LIKE}"))
    told = {
        name.removeprefix("rear-")
        for name, corner in car.corners.items()
        if any(words.startswith(f"line 2, car.{line.split()[0]}: {said}") for words in corner.warnings)
    }
    assert told == corners
    if said is None:
        assert not any(".car." in words or ", car." in words for c in car.corners.values() for words in c.warnings)


@pytest.mark.parametrize(
    ("line", "ends"),
    [
        ('wheelbase = "9100 mm"', "1000 mm to 9000 mm"),
        ('track_rear = "590 mm"', "600 mm to 2600 mm"),
        ('track_front = "2700 mm"', "600 mm to 2600 mm"),
    ],
)
def test_a_number_that_no_car_has_is_refused_whether_its_axle_is_described_or_not(line, ends, garage):
    with pytest.raises(clearance.CornerFileError) as refused:
        clearance.load_car(garage(f"[car]\n{line}\n{LIKE}"))
    assert ends in str(refused.value)
    assert refused.value.line == 2
