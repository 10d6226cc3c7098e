"""Wheels that change places and the spare, on a car between walls: every gap is a subtraction."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from car.cars import SPARE, WALLS, in_order, mirrored, renamed
from clearance_cli.main import run

import clearance
from clearance.answers.rotated import kinds_of, partner
from clearance.mockup.mockup import CORNERS

FIXTURES = Path(__file__).parents[2] / "fixtures"
ONE_SIZE = (
    WALLS.replace('"225/60R15 96H"', '"205/60R15 91V"')
    .replace('"651 mm"', '"627 mm"')
    .replace('"223 mm"', '"209 mm"')
    .replace('width = "7 in"', 'width = "6 1/2 in"')
    .replace('offset = "20 mm"', 'offset = "30 mm"')
)


@pytest.fixture(scope="module")
def staggered():
    return clearance.rotate(clearance.read_car(WALLS + SPARE), processes=1)


def test_a_staggered_car_has_two_kinds_of_wheel(staggered):
    assert [kind.home for kind in staggered.value.kinds] == [("front-left", "front-right"), ("rear-left", "rear-right")]


def test_every_gap_is_a_subtraction(staggered):
    """Inner wall less half the width less the offset: front wheel 134.5, rear wheel 131.5, walls at 170 and 160."""
    for home, corner, gap in (
        ("front-left", "front-left", 170 - 134.5),
        ("front-left", "rear-left", 160 - 134.5),
        ("rear-left", "front-right", 170 - 131.5),
        ("rear-right", "rear-right", 160 - 131.5),
    ):
        assert staggered.value.at(home, corner).worst.at_least_mm == pytest.approx(gap, abs=0.06)


@pytest.mark.slow
def test_a_wheel_at_home_has_the_gaps_of_the_check():
    """Of the coupe on its live axle, whose two wells are not alike."""
    car = clearance.load_car(FIXTURES / "cars" / "tern-coupe.toml")
    found, checked = clearance.rotate(car).value, clearance.check_car(car).value
    for name in car.corners:
        here, there = found.at(name, name).gaps, checked.corners[name].value.gaps
        assert {gap.part: (gap.at_least_mm, gap.at_most_mm) for gap in here} == {
            gap.part: (gap.at_least_mm, gap.at_most_mm) for gap in there
        }


def test_equal_wheels_swapped_have_the_gaps_of_the_check_and_are_measured_once():
    car = clearance.read_car(ONE_SIZE)
    answer = clearance.rotate(car, processes=1)
    assert len(answer.value.kinds) == 1
    assert len(answer.value.goings) == len(car.corners)
    checked = clearance.check_car(car, processes=1).value
    for way in ("side to side", "front to rear", "crosswise"):
        assert answer.value.alike(way)
        for home, corner in answer.value.way(way):
            gap, own = answer.value.at(home, corner).worst, checked.corners[corner].value.worst
            assert (gap.at_least_mm, gap.at_most_mm) == (own.at_least_mm, own.at_most_mm)
    assert "The wheels are alike: any goes for any other" in answer.words()


def test_front_to_rear_and_back_is_where_it_was():
    for way in ("side to side", "front to rear", "crosswise"):
        assert all(partner(partner(name, way), way) == name for name in CORNERS)
        assert sorted(partner(name, way) for name in CORNERS) == sorted(CORNERS)


def test_the_ways_say_what_the_moves_do(staggered):
    found = staggered.value
    assert found.alike("side to side")
    assert not found.alike("crosswise")
    assert found.verdict_of("front to rear") == "clears"
    tight = clearance.rotate(clearance.read_car(WALLS.replace('"160 mm"', '"153 mm"')), processes=1)
    assert tight.value.verdict_of("front to rear") == "tight"
    assert "tight: front-left to rear-left, front-right to rear-right; clears: rear-left" in tight.words()


def test_across_the_car_nothing_changes_but_names():
    text = (
        WALLS.replace(
            'like = "rear-left"',
            'like = "rear-left"\n[[corner.rear-right.part]]\nname = "inner wall"\ninboard = "163 mm"',
        )
        + SPARE
    )
    car = clearance.read_car(text)
    here, there = (clearance.rotate(one, processes=1).to_dict() for one in (car, mirrored(car)))
    assert renamed(here) == in_order(there)


def test_another_bolt_circle_does_not_bolt_on():
    car = clearance.read_car(WALLS.replace('bolt_circle = "5 x 108 mm"', 'bolt_circle = "5 x 112 mm"', 1))
    answer = clearance.rotate(car, processes=1)
    going = answer.value.at("front-left", "rear-left")
    assert (going.verdict, going.gaps) == ("refused", ())
    assert "does not bolt on: front-left to rear-left" in answer.words()


def test_the_spare_by_hand(staggered):
    """T125/70R15: D = 381 + 2 x 88 = 557, 88 being 87.5 rounded up; it rolls 557 / 627 - 1 = -11.16 % at the front,
    557 / 651 - 1 = -14.44 % at the rear; hubs (557 - 627) / 2 = -35 and -47."""
    carried = staggered.value.carried
    at = {one.corner: one for one in carried.stands}
    assert carried.temporary
    assert (at["front-left"].hub_mm, at["rear-right"].hub_mm) == (-35.0, -47.0)
    assert at["front-left"].against_other == pytest.approx(557 / 627 - 1)
    assert at["rear-right"].rolls == pytest.approx(557 / 651 - 1)
    assert len(staggered.value.spare) == 4
    assert all(one.verdict == "clears" for one in staggered.value.spare)
    page = staggered.words()
    for words in ("35.0 mm (1 3/8 in) lower", "11.2 % less far", "differential", "Its speed is not said"):
        assert words in page


def test_the_spare_carries_its_limit_and_its_load():
    """Index 95 is 690 kg (ISO 4000-1, from memory)."""
    text = WALLS.replace('corner = "500 kg"', 'corner = "700 kg"').replace("91V", "98V").replace("96H", "98H")
    answer = clearance.rotate(clearance.read_car(text + SPARE + 'speed = "50 mph"\n'), processes=1)
    assert "no faster than 80 km/h (50 mph)" in answer.words()
    assert answer.value.carried.too_heavy == CORNERS
    assert "more stands there by [load] than the spare carries" in answer.words()


def test_a_spare_that_is_a_fifth_wheel_of_the_same_kind_changes_nothing():
    same = '[spare]\nsize = "205/60R15 91V"\noverall_diameter = "627 mm"\nsection_width = "209 mm"\n'
    answer = clearance.rotate(
        clearance.read_car(ONE_SIZE + same + 'width = "6 1/2 in"\noffset = "30 mm"\n'), processes=1
    )
    for one in answer.value.spare:
        assert one.worst.at_least_mm == answer.value.at(one.corner, one.corner).worst.at_least_mm
    assert all((one.hub_mm, one.rolls) == (0.0, 0.0) for one in answer.value.carried.stands)
    assert "differential" not in answer.words()


def test_a_spare_half_said_names_what_is_missing_and_none_says_so():
    half = clearance.rotate(clearance.read_car(WALLS + '[spare]\nsize = "T125/70R15"\n'), processes=1)
    assert half.value.spare == ()
    assert "not said: width, backspace or offset in [spare]" in " ".join(half.words().split())
    assert "The spare is not said" in clearance.rotate(clearance.read_car(WALLS), processes=1).words()


def test_two_spares_are_refused():
    text = WALLS + SPARE + '[corner.rear-left.spare]\nsize = "T135/70R15"\n'
    with pytest.raises(clearance.InputError, match="a car carries one"):
        clearance.rotate(clearance.read_car(text), processes=1)


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ('width = "4 in"', "the spare is not known"),
        ('size = "T125/70R15"\nbackspace = "3 in"', "needs the rim's width"),
    ],
)
def test_a_spare_that_cannot_be_is_refused_where_it_stands(keys, words):
    with pytest.raises(clearance.CornerFileError, match=words):
        clearance.read_car(f"{WALLS}[spare]\n{keys}\n")


def test_what_lies_in_the_spares_well_is_the_spare():
    """A well of 600: 300 less 557 / 2 = 21.5 left at its rim; without [spare] the road wheel's 627 / 2 is too much."""
    well = '[spare_well]\ndiameter = "600 mm"\ndepth = "250 mm"\n'
    for text, gap in ((WALLS + well + SPARE, 21.5), (WALLS + well, -13.5)):
        rooms = clearance.other(clearance.read_car(text).at("front-left")).value.rooms
        assert rooms[0].gap_mm == pytest.approx(gap, abs=0.01)


def test_a_corner_of_its_own_can_be_asked(tmp_path, capsys):
    file = tmp_path / "car.toml"
    file.write_text(WALLS + SPARE, encoding="utf-8")
    assert run(["rotate", str(file), "--corner", "rear-left", "--json"]) == 0
    facts = json.loads(capsys.readouterr().out)
    assert [one["corner"] for one in facts["goings"]] == ["rear-left"]
    assert facts["spare"]["stands"][0]["against_other_percent"] is None
    file.write_text(WALLS.replace('"160 mm"', '"140 mm"'), encoding="utf-8")
    assert run(["rotate", str(file)]) == 1


def test_wheels_that_differ_by_less_than_a_tape_reads_are_alike():
    car = clearance.read_car(ONE_SIZE)
    nearly = replace(car.at("rear-left"), wheel=car.at("rear-left").wheel.with_offset(30.01))
    assert len(kinds_of(replace(car, corners={**car.corners, "rear-left": nearly}))) == 1
    other = replace(nearly, wheel=nearly.wheel.with_offset(31.0))
    assert len(kinds_of(replace(car, corners={**car.corners, "rear-left": other}))) == 2
