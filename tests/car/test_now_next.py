"""What is on a car now against what is next, against sums by hand and worked examples of books.

The car of `cars`: now 615 over all, 201 wide on 6 in, offset 38 all round; next 627, 209, 6 1/2 in, offset 30 at the
front and 651, 223, 7 in, offset 20 at the rear; wheelbase 2400, hub faces 1400 and 1420 apart.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from car.cars import NOW, WALLS, in_order, mirrored, renamed
from clearance_cli.main import run

import clearance
from clearance.answers.scrub import scrub_of
from clearance.answers.stance import stance_of
from clearance.mockup.mockup import MockUp
from clearance.suspension.position import Cycle
from clearance.suspension.steering import kingpin_by_angles
from clearance.suspension.straight import Straight
from clearance.tire.mounted import Tape, tire_for
from clearance.wheel.rim import wheel_for

FIXTURES = Path(__file__).parents[2] / "fixtures"


@pytest.fixture(scope="module")
def car():
    return clearance.read_car(WALLS)


@pytest.fixture(scope="module")
def found(car):
    return stance_of(car)


def test_reach_by_hand(found):
    """Half the width and the offset: now 100.5 + 38 in, 100.5 - 38 out; front 104.5 + 30, 104.5 - 30; rear 111.5 +
    20, 111.5 - 20. The middle goes out by what the offset goes down."""
    front, rear = found.corners["front-left"], found.corners["rear-right"]
    assert front.swap.inboard_mm == pytest.approx(134.5 - 138.5)
    assert front.swap.outboard_mm == pytest.approx(74.5 - 62.5)
    assert rear.swap.inboard_mm == pytest.approx(131.5 - 138.5)
    assert rear.swap.outboard_mm == pytest.approx(91.5 - 62.5)
    assert (front.middle_mm, rear.middle_mm) == (pytest.approx(8.0), pytest.approx(18.0))


def test_height_and_rake_by_hand(found):
    """Hubs rise (627 - 615) / 2 = 6 and (651 - 615) / 2 = 18: the rear 12 more, atan(12 / 2400) = 0.28648 deg."""
    assert {axle: one.hub_mm for axle, one in found.axles.items()} == {"front": 6.0, "rear": 18.0}
    assert found.rake_mm == 12.0
    assert found.rake_deg == pytest.approx(0.28648, abs=1e-5)


def test_track_by_hand(found):
    """Hub faces less both offsets: 1400 - 60 = 1340, it was 1400 - 76 = 1324; 1420 - 40 = 1380 from 1344."""
    front, rear = found.axles["front"], found.axles["rear"]
    assert (front.track_now_mm, front.track_next_mm) == (pytest.approx(1324), pytest.approx(1340))
    assert (rear.track_now_mm, rear.track_next_mm) == (pytest.approx(1344), pytest.approx(1380))


def test_speedometer_and_odometer_by_hand(found):
    """It counts turns: at a true 60 mph it reads 60 x 615 / 627 = 58.852, after 10 000 it shows 9808.6."""
    swap = found.corners["front-right"].swap
    assert swap.shown(60.0) == pytest.approx(58.8517, abs=1e-4)
    assert swap.shown(10_000) == pytest.approx(9808.6, abs=0.05)
    assert swap.shown(swap.true_kmh(100.0)) == pytest.approx(100.0)


def test_load_and_speed_by_the_tables(car):
    """ISO 4000-1 (from memory): index 88 is 560 kg, 91 is 615, 96 is 710; H is 210 km/h, V 240."""
    facts = clearance.now_next(replace(car, corners={"front-left": car.at("front-left")})).to_dict()
    (corner,) = facts["corners"]
    assert (corner["now"]["load_kg"], corner["next"]["load_kg"], corner["must_carry_kg"]) == (560, 615, 500)
    assert (corner["now"]["speed_kmh"], corner["next"]["speed_kmh"], corner["must_go_kmh"]) == (210, 240, 200)


@pytest.mark.parametrize(
    ("inclination", "inboard", "radius", "scrub"),
    [(12.5, 50.0, 310.0, -18.725), (8.0, 80.0, 300.0, 37.838)],
)
def test_scrub_radius_of_the_books(inclination, inboard, radius, scrub):
    """Worked examples: 50 - 310 tan 12.5 deg = -18.725; 80 - 300 tan 8 deg = +37.838. An axis that leans back by 5 deg
    through the wheel's centre meets the road 310 tan 5 deg = 27.121 ahead."""
    found = scrub_of(steered(inboard, radius, kingpin_by_angles(np.array([0.0, -inboard, 0.0]), inclination, 5.0)))
    assert found.radius_mm == pytest.approx(scrub, abs=5e-4)
    assert found.trail_mm == pytest.approx(radius * math.tan(math.radians(5.0)))


def steered(inboard: float, radius: float, kingpin: object) -> MockUp:
    """A wheel without offset, so that the tire's middle is at the hub's face."""
    tape = Tape(overall_diameter_mm=2 * radius, section_width_mm=200.0)
    return MockUp(
        title="steered",
        corner="front-left",
        tire=tire_for(None, rim_width_in=6, rim_diameter_in=15, tape=tape),
        wheel=wheel_for(15, 6, offset_mm=0.0),
        suspension=Straight(cycle=Cycle(), kingpin=kingpin),
        parts=(),
    )


def test_scrub_goes_out_as_the_offset_goes_down_and_in_with_a_larger_tire():
    """Heron: axis 70 inboard at hub height, 11 deg. Next offset 20, radius 289, camber -0.3 deg; now 30 and 292:
    10 less offset, and 3 tan 11 deg = 0.58 less height below the axis."""
    one = clearance.load_car(FIXTURES / "cars" / "heron-roadster.toml")
    found = stance_of(one).corners["front-left"]
    camber_mm = 3.0 * math.tan(math.radians(0.3))
    assert found.scrub_mm == pytest.approx(10.0 + 3.0 * math.tan(math.radians(11.0)) + camber_mm, abs=0.05)
    assert stance_of(one).corners["rear-left"].next_scrub is None


def test_now_and_next_alike_give_nothing(car):
    """What is on it written as what is next: no change of anything, and the same gaps."""
    written = {
        "front": (627, 209, "205/60R15 91V", "6 1/2 in", 30),
        "rear": (651, 223, "225/60R15 96H", "7 in", 20),
    }
    text = WALLS.replace(NOW, "")
    for axle, (overall, section, size, width, offset) in written.items():
        now = f'size = "{size}"\noverall_diameter = "{overall} mm"\nsection_width = "{section} mm"\n'
        head = f'[corner.{axle}-left.now]\n{now}width = "{width}"\noffset = "{offset} mm"\n'
        text = text.replace(f"[corner.{axle}-left.tire]\n", f"{head}[corner.{axle}-left.tire]\n")
    answer = clearance.now_next(clearance.read_car(text), processes=1)
    facts = answer.to_dict()
    for corner in facts["corners"]:
        changes = ("reach_inboard", "reach_outboard", "middle_outboard", "hub_height", "speedometer_percent")
        assert [corner[key] for key in changes] == [0.0] * len(changes)
        assert (corner["reads_at_60_mph"], corner["odometer_after_10000"]) == (60.0, 10_000.0)
        assert corner["tightest_now"] == corner["tightest_next"]
    assert [one["track_change"] for one in facts["axles"]] == [0.0, 0.0]
    assert (facts["rake"], facts["rake_deg"]) == (0.0, 0.0)
    assert "reads the same" in answer.words()


def test_the_gaps_of_both_are_subtractions(car):
    """170 - (104.5 + 30) = 35.5 next at the front, 170 - (100.5 + 38) = 31.5 now; rear 28.5 and 21.5."""
    gaps = clearance.now_next(car, processes=1).value.gaps
    for name, now, after in (("front-left", 31.5, 35.5), ("rear-right", 21.5, 28.5)):
        assert gaps[name][0].at_least_mm == pytest.approx(now, abs=0.06)
        assert gaps[name][1].at_least_mm == pytest.approx(after, abs=0.06)


def test_across_the_car_nothing_changes_but_names():
    one = clearance.load_car(FIXTURES / "cars" / "heron-roadster.toml")
    sided = replace(one, corners={**one.corners, "front-left": clearance.read_car(WALLS).at("front-left")})
    from clearance.facts.stance import facts

    here, there = (facts(car, stance_of(car), {}) for car in (sided, mirrored(sided)))
    assert renamed(here) == in_order(there)


def test_what_is_not_said_is_named_and_left_out():
    text = WALLS.replace('wheelbase = "2400 mm"\ntrack_front = "1400 mm"\n', "")
    text = text.replace('width = "6 in"\noffset = "38 mm"\n', "").replace("195/60R15 88H", "195/60R15")
    text = text.replace('corner = "500 kg"\n', "")
    answer = clearance.now_next(clearance.read_car(text), processes=1)
    stance = answer.value.stance
    front, one = stance.axles["front"], stance.corners["front-left"]
    assert (front.track_next_mm, front.track_change_mm) == (None, None)
    assert "track_front" in front.not_said
    assert (stance.rake_mm, stance.rake_deg, stance.not_said) == (12.0, None, ("wheelbase",))
    assert one.swap.inboard_mm is None
    assert {"width in [now]", "backspace or offset in [now]", "load index in [now] size", "corner in [load]"} <= {
        *one.not_said
    }
    assert answer.value.gaps["front-left"][0] is None
    page = answer.words()
    for words in ("track_front", "wheelbase", "load index in [now] size", "corner in [load]", "steering axis"):
        assert words in page


def test_one_side_alone_says_nothing_of_the_track():
    """Left and right are never taken to be alike."""
    text = WALLS.replace('[corner.front-right]\nlike = "front-left"\n', "")
    front = stance_of(clearance.read_car(text)).axles["front"]
    assert (front.track_change_mm, front.track_next_mm) == (None, None)
    assert front.not_said == ("front-right",)
    assert front.hub_mm == 6.0


def test_without_now_the_page_says_what_is_missing():
    answer = clearance.now_next(clearance.read_car(WALLS.replace(NOW, "")), processes=1)
    assert not answer.value.stance.anything
    assert "nothing to compare with" in answer.words()
    assert answer.to_dict()["corners"][0]["now"] is None


def test_less_load_and_a_tire_too_slow_are_said_loudly():
    text = WALLS.replace("205/60R15 91V", "205/60R15 85Q").replace('"500 kg"', '"520 kg"')
    page = clearance.now_next(clearance.read_car(text), processes=1).words()
    assert "LESS THAN NOW; 520 kg (1146 lb) stands on it: NOT ENOUGH" in page
    assert "Q to 160 km/h (99 mph), H now to 210 km/h (130 mph): LESS THAN NOW" in page


def test_what_is_on_it_now_and_hits_puts_the_file_in_doubt():
    text = WALLS.replace('inboard = "160 mm"', 'inboard = "130 mm"')
    assert (
        "what is on the car now hits by this file" in clearance.now_next(clearance.read_car(text), processes=1).words()
    )


# ---- the command


def written(tmp_path: Path, text: str = WALLS) -> str:
    file = tmp_path / "car.toml"
    file.write_text(text, encoding="utf-8")
    return str(file)


def test_compare_of_one_file(tmp_path, capsys):
    file = written(tmp_path)
    assert run(["compare", file]) == 0
    page = capsys.readouterr().out
    assert "0.29 deg more nose down: the rear 12.0 mm (1/2 in) higher over the wheelbase of 2400 mm" in page
    assert run(["compare", file, "--units", "in", "--corner", "rear-left"]) == 0
    page = capsys.readouterr().out
    assert "11/16 in (18.0 mm) higher" in page
    assert "front-left" not in page.split("Not said")[0]
    assert run(["compare", file, "--json", "--corner", "rear-left"]) == 0
    assert json.loads(capsys.readouterr().out)["axles"][0]["ride_height"] == 18.0


def test_compare_refuses_what_is_for_two_files_or_for_one(tmp_path, capsys):
    file, pickup = written(tmp_path), str(FIXTURES / "corners" / "orchard-pickup-rear.toml")
    assert run(["compare", file, "--picture", "a.svg"]) == 2
    assert run(["compare", pickup, pickup, "--corner", "rear-left"]) == 2
    said = capsys.readouterr().err
    assert "clearance draw" in said
    assert "Leave it out" in said


def test_a_car_that_does_not_clear_has_exit_code_1(tmp_path):
    assert run(["compare", written(tmp_path, WALLS.replace('inboard = "170 mm"', 'inboard = "140 mm"'))]) == 1


def test_every_row_of_a_list_has_it_beside(tmp_path, car):
    """225/60R15 on the rear alone, offset 18: the front stays as described, so it is 6 up, and the rear (D 381 + 2 x
    135 = 651) 18; the track 1420 - 36 = 1384."""
    file = tmp_path / "list.csv"
    file.write_text("tire,width,offset,axle\n225/60R15 96H,7 in,18 mm,rear\n", encoding="utf-8")
    answer = clearance.candidates(car, file)
    (row,) = answer.to_dict()["rows"]
    assert row["against_now"]["rake"] == 12.0
    assert [one["track_next"] for one in row["against_now"]["axles"]] == [1340.0, 1384.0]
    assert "Against what is on the car now:" in answer.words()
    assert "index 96 carries 710 kg" in answer.words()


# ---- which axle drives


def _said(line: str):
    """The car with one more line in its [car]."""
    return clearance.read_car(WALLS.replace("[car]\n", f"[car]\n{line}\n"))


def _row(car, name: str) -> str:
    words = clearance.now_next(car).words().split("The car\n")[1]
    return next(line.split(name, 1)[1].strip() for line in words.splitlines() if line.strip().startswith(name))


def test_the_speedometer_goes_by_the_axle_that_is_said():
    """615 now; 627 in front and 651 behind next: 60 becomes 60 x 615/627 = 58.9 by the front and 56.7 by the rear."""
    by = {
        line: _row(_said(line), "speedometer")
        for line in (
            'driven = "rear"',
            'driven = "front"',
            'driven = "both"',
            'speedometer = "front"',
            'driven = "both"\nspeedometer = "rear"',
            'driven = "front"\nspeedometer = "rear"',
        )
    }
    assert [float(words.split("reads ")[1].split(",")[0]) if "reads" in words else None for words in by.values()] == [
        56.7,
        58.9,
        None,
        58.9,
        56.7,
        56.7,
    ]
    assert by['driven = "both"'] == _row(_said(""), "speedometer"), "of two driven axles neither is said to be counted"


def test_two_driven_axles_that_roll_apart_are_told_so():
    """651 against 627: 3.83 % further behind; 615 all round now."""
    words = _row(_said('driven = "both"'), "both axles driven")
    assert words.startswith("the rear rolls 3.83 % further a turn than the front; now front and rear roll alike: MORE")
    assert "both axles driven" not in clearance.now_next(_said('driven = "rear"')).words()
    told = clearance.now_next(_said('driven = "both"')).to_dict()
    assert told["rear_rolls_further_percent"] == pytest.approx(100 * (651 / 627 - 1), abs=1e-3)
    assert told["driven"] == ["front", "rear"]
    assert told["speedometer_by"] is None


@pytest.mark.parametrize("line", ['driven = "left"', 'speedometer = "both"', "driven = 2"])
def test_an_axle_that_no_car_has_is_refused(line):
    with pytest.raises(clearance.CornerFileError, match=r"driven|speedometer"):
        _said(line)
