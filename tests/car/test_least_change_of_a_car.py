"""The least change of an axle, between walls whose gaps are a subtraction."""

from __future__ import annotations

import json
from itertools import product
from pathlib import Path

import pytest
from clearance_cli.main import run
from two_walls import INNER_MM, OUTER_MM
from two_walls import car as car_text

import clearance
from clearance.answers.axle_change import axle_change, axle_off
from clearance.answers.axle_knobs import axle_knobs
from clearance.answers.changed import with_axle_moved, with_bump_stop, with_offset
from clearance.answers.checked import all_clear, gaps_of
from clearance.answers.combined import price_of
from clearance.terms import Cost

STEP_MM = 0.1
CARS_AT = Path(__file__).parents[2] / "fixtures" / "cars"
ALONE = "[limits]\nbackspace = false\nride_height = false\nbump_stop = false\ntire_size = false\n"
BARE = ALONE + "spacer = false\n"


def asked(left, right=None, more="[limits]\ntire_size = false\nride_height = false\n", **options):
    car = clearance.read_car(car_text(left, right, more))
    return car, axle_change(car.corners, "rear axle", **options)


def short_mm(walls, corner, out_mm=0.0):
    """What is missing at the inner and at the outer wall with the wheel so far further out, by hand."""
    half, offset_mm = corner.tire.section_width_mm / 2, corner.wheel.offset_mm - out_mm
    return INNER_MM - (walls[0] - half - offset_mm), OUTER_MM - (walls[1] - half + offset_mm)


def turned(car, changes):
    """The car changed by what is said, by functions that know nothing of knobs."""
    found = {}
    for name, corner in car.corners.items():
        for knob, amount in changes:
            what, _, where = knob.partition(", ")
            if where and where not in (name, "both sides"):
                continue
            if what in ("spacer", "less backspace"):
                corner = with_offset(corner, corner.wheel.offset_mm - amount)
            elif what == "more backspace":
                corner = with_offset(corner, corner.wheel.offset_mm + amount)
            elif what in ("bump stop", "ride height"):
                corner = with_bump_stop(corner, amount)
            else:
                way = what.removeprefix("axle to the ")
                assert way in ("left", "right"), knob
                corner = with_axle_moved(corner, outboard_mm=amount if name.endswith(way) else -amount)
        found[name] = corner
    return found


def clears(car, changes):
    return all(all_clear(gaps_of(corner)) for corner in turned(car, changes).values())


# the left too near inboard, the right too near outboard, and both of these at once, each with room elsewhere
CARS = [((133.0, 140.0), (150.0, 131.0)), ((150.0, 118.0), (138.0, 140.0)), ((134.0, 140.0), None)]


@pytest.mark.parametrize(
    ("walls", "each_side"),
    [(CARS[0], False), *(pytest.param(walls, True, marks=pytest.mark.slow) for walls in CARS)],
)
def test_what_is_given_clears_at_both_sides_and_a_step_less_of_one_change_does_not(walls, each_side):
    car, found = asked(*walls, each_side=each_side)
    assert not found.clear_as_is
    for change in found.changes:
        assert clears(car, [(change.knob, change.exact)])
        assert not clears(car, [(change.knob, change.exact - STEP_MM)])
        assert all_clear(change.gaps)
        assert sum(len(gaps) for gaps in found.by_corner(change.gaps).values()) == len(change.gaps) == 4
    for one in found.combinations:
        assert clears(car, [(change.knob, change.amount) for change in one.changes])
        assert all_clear(one.gaps)
    prices = [(one.hours, one.effort) for one in found.combinations]
    assert prices == sorted(prices)


@pytest.mark.parametrize("walls", [(134.0, 140.0), pytest.param((160.0, 118.0), marks=pytest.mark.slow)])
def test_of_two_sides_alike_the_answer_is_that_of_one_and_no_move_of_the_axle(walls):
    car, found = asked(walls)
    alone = clearance.least_change(car.at("rear-left")).value
    assert axle_off(car.corners) is None
    assert [(c.knob, c.exact, c.bought, c.cost, c.effort) for c in found.changes] == [
        (c.knob, c.exact, c.bought, c.cost, c.effort) for c in alone.changes
    ]
    assert [(one.hours, one.effort, one.changes) for one in found.combinations] == [
        (one.hours, one.effort, one.changes) for one in alone.combinations
    ]
    assert found.by_corner(found.changes[0].gaps)["rear-right"] == found.changes[0].gaps[2:]
    assert set(found.tried) == {*alone.tried, "axle to the left", "axle to the right"}


@pytest.mark.slow
def test_mirroring_a_car_changes_nothing_but_names():
    text = car_text((133.0, 140.0), (150.0, 131.0), "[limits]\ntire_size = false\n")
    both = [text, text.replace("left", "X").replace("right", "left").replace("X", "right")]
    here, there = (
        clearance.least_change_car(clearance.read_car(one), each_side=True, processes=1).value["rear"] for one in both
    )

    def mirrored(name):
        return name.replace("left", "X").replace("right", "left").replace("X", "right")

    assert [(mirrored(c.knob), c.exact, c.bought) for c in here.changes] == [
        (c.knob, c.exact, c.bought) for c in there.changes
    ]
    assert [(one.hours, one.effort, sorted(mirrored(c.knob) for c in one.changes)) for one in here.combinations] == [
        (one.hours, one.effort, sorted(c.knob for c in one.changes)) for one in there.combinations
    ]
    assert here.off.to_left_mm == -there.off.to_left_mm
    assert here.centring == there.centring


def test_an_axle_that_stands_off_is_centred_where_nothing_else_is_to_be_had():
    """The left is short of 3.x mm inboard and the right has 14 more there: the axle goes left by what is missing."""
    walls = (133.0, 140.0), (150.0, 131.0)
    car, found = asked(*walls, more=BARE)
    missing = short_mm(walls[0], car.at("rear-left"))[0]
    assert 0 < missing < 12
    (change,) = found.changes
    assert change.knob == "axle to the left"
    assert missing <= change.exact <= missing + STEP_MM + 0.06
    assert found.centring == "least"
    assert found.combinations[0].work_hours == 3.0


@pytest.mark.slow
def test_how_far_an_axle_stands_off_and_what_centring_it_gives():
    """17 mm more room inboard at the right and 9 mm less outboard: the middles of both windows are 26 / 2 apart.

    The axle stands half of that off.
    """
    car = clearance.read_car(car_text((133.0, 140.0), (150.0, 131.0), BARE))
    off = axle_off(car.corners)
    assert off.to_left_mm == pytest.approx(-6.5, abs=0.11)
    assert off.beam
    assert {name: all_clear(gaps) for name, gaps in off.centred.items()} == {
        name: all_clear(gaps_of(corner)) for name, corner in turned(car, [("axle to the left", 6.5)]).items()
    }


def test_a_spacer_costs_less_than_a_move_of_the_axle_where_it_does_it_too():
    _, found = asked((133.0, 140.0), (150.0, 138.0), more=ALONE)
    assert found.combinations[0].changes[0].knob == "spacer"
    assert found.centring == "costs more"


def test_where_both_sides_are_short_the_same_way_no_move_of_the_axle_is_enough():
    _, found = asked((133.0, 150.0), (134.0, 150.0), more=ALONE)
    assert found.centring == "not alone"
    assert not any(change.knob.startswith("axle") for change in found.changes)


def test_with_each_side_a_spacer_is_under_one_wheel_alone_at_half_the_work():
    """The right has no room for a spacer at all, and the left wants one."""
    corner = clearance.read_car(car_text()).at("rear-left")
    outer_mm = round(OUTER_MM + corner.tire.section_width_mm / 2 - corner.wheel.offset_mm + 1.0, 1)
    walls = (133.0, 140.0), (150.0, outer_mm)
    car, found = asked(*walls, more=ALONE + "axle_across = false\n")
    room = -short_mm(walls[1], car.at("rear-right"))[1]
    missing = short_mm(walls[0], car.at("rear-left"))[0]
    assert 0 < room < missing
    assert found.changes == ()
    _, found = asked(*walls, more=ALONE + "axle_across = false\n", each_side=True)
    (change,) = found.changes
    assert change.knob == "spacer, rear-left"
    assert found.combinations[0].work_hours == 0.5
    assert "on one side" in change.cost


LIP = (
    '[[corner.rear-left.part]]\nname = "lip"\nkind = "lip"\noutboard = "104 mm"\ncentre = ["0 mm", "30 mm"]\n'
    'radius = "345 mm"\nreturn_depth = "18 mm"\nrequired = "6 mm"\n'
)


def test_what_one_side_has_for_itself_is_turned_there_or_at_both_and_what_both_share_at_both():
    car = clearance.read_car(car_text((160.0, None)).replace("[corner.rear-right]", LIP + "[corner.rear-right]"))
    names = list(car.corners)
    knobs = {knob.name: knob for knob in axle_knobs(car.corners, dict.fromkeys(names, ("lip",)))}
    alone, whole = knobs["lip rolled, rear-left"], knobs["lip rolled, both sides"]
    # 2 h for both sides, and 2 h that it cannot be put back, whichever
    assert price_of(((alone, 5.0),), Cost())[0] == 1.0 + 2.0
    assert price_of(((whole, 5.0),), Cost())[0] == 2.0 + 2.0
    assert set(whole.also) == {"lip rolled, rear-left", "lip rolled, rear-right"}
    assert not alone.takes & knobs["lip rolled, rear-right"].takes
    assert alone.takes < whole.takes == knobs["lip trimmed up, both sides"].takes
    for name, corner in car.corners.items():
        moved = alone.apply(corner, 5.0).part("lip").triangles_mm - corner.part("lip").triangles_mm
        assert bool(abs(moved).max() > 1.0) == (name == "rear-left")
        assert abs(knobs["spacer"].apply(corner, 6.0).wheel.offset_mm - corner.wheel.offset_mm + 6.0) < 1e-9
    # with one lip alone there is nothing to do at both
    one = axle_knobs(car.corners, {"rear-left": ("lip",), "rear-right": ()})
    assert [knob.name for knob in one if "lip" in knob.name] == ["lip rolled, rear-left", "lip trimmed up, rear-left"]


def test_an_axle_goes_out_at_one_side_by_what_it_goes_in_at_the_other():
    car = clearance.read_car(car_text())
    knobs = {knob.name: knob for knob in axle_knobs(car.corners, dict.fromkeys(car.corners, ()))}
    for way in ("left", "right"):
        for name, corner in car.corners.items():
            hub = knobs[f"axle to the {way}"].apply(corner, 4.0).suspension.pose([[0.0, 0.0, 0.0]]).origin_mm[0]
            assert hub[1] == pytest.approx(4.0 if name.endswith(way) else -4.0)
    fixed = clearance.read_car(car_text(more=BARE + "axle_across = false\n"))
    still = axle_knobs(fixed.corners, dict.fromkeys(car.corners, ()))
    assert not any("axle" in knob.name for knob in still)


def test_wheels_that_move_by_themselves_have_stops_of_their_own_and_no_axle():
    car = clearance.load_car(CARS_AT / "heron-roadster.toml")
    sides = {corner.corner: corner for corner in car.sides("front")}
    knobs = {knob.name: knob for knob in axle_knobs(sides, dict.fromkeys(sides, ()))}
    assert {"bump stop, front-left", "bump stop, front-right", "bump stop, both sides"} <= set(knobs)
    assert not any(name.startswith("axle") for name in knobs)
    # a steering stop is the car's: both wheels lose at least so much, each of its own lock
    stop = knobs["steering stop, left"]
    for corner in sides.values():
        right, left = corner.suspension.cycle.steer_deg
        less = stop.apply(corner, 3.0).suspension.cycle.steer_deg
        assert less == ((right, left - 3.0) if corner.corner.endswith("left") else (right + 3.0, left))


@pytest.mark.slow
def test_brute_force_of_everything_sold_in_coarse_steps_finds_nothing_cheaper():
    """Spacers, stops and moves of the axle in coarse steps, every one to three of them, each checked whole."""
    more = (
        '[limits]\nbackspace = false\nride_height = false\ntire_size = false\nspacer = "9 mm"\nbump_stop = "24 mm"\n'
        'axle_across = "6 mm"\n[sold]\nspacer = "3 mm"\nbump_stop = "12 mm"\naxle_across = "2 mm"\n'
    )
    car, found = asked((130.0, 140.0), (150.0, 128.0), more=more)
    hours = {"spacer": 1.0, "bump stop": 1.0, "axle to the left": 3.0, "axle to the right": 3.0}
    amounts = {"spacer": (3, 6, 9), "bump stop": (12, 24), **dict.fromkeys(list(hours)[2:], (2, 4, 6))}
    best = None
    rows = [[(), *((name, amount) for amount in amounts[name])] for name in hours]
    for chosen in product(*rows):
        changes = [one for one in chosen if one]
        if not changes or len([1 for name, _ in changes if name.startswith("axle")]) > 1:
            continue
        price = sum(hours[name] + (10 * amount / 60 if name == "bump stop" else 0) for name, amount in changes)
        if (best is None or price < best) and clears(car, changes):
            best = price
    assert best is not None
    assert found.combinations[0].hours == pytest.approx(best)


# ---- as a user asks


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "car.toml"
    path.write_text(car_text((133.0, 140.0), (150.0, 131.0), BARE), encoding="utf-8")
    return path


def test_as_a_user_asks(file, capsys):
    assert run(["least-change", str(file)]) == 1
    page = capsys.readouterr().out
    assert "Moving the axle is the least change." in page
    assert "the axle stands 6.5 mm" in page
    assert run(["least-change", str(file), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    (axle,) = told["axles"]
    assert axle["centring"] == "least"
    assert [row["corner"] for row in axle["changes"][0]["after"]] == ["rear-left", "rear-right"]
    assert told["all_corners"]["work_hours"] == 3.0
    assert run(["least-change", str(file), "--corner", "rear-right", "--json"]) == 0


def test_where_nothing_has_to_change_it_says_so(tmp_path, capsys):
    path = tmp_path / "car.toml"
    path.write_text(car_text(), encoding="utf-8")
    assert run(["least-change", str(path)]) == 0
    assert "nothing has to change" in capsys.readouterr().out


@pytest.mark.slow
def test_one_process_and_two_give_the_same(file):
    car = clearance.load_car(file)
    one, two = (clearance.least_change_car(car, processes=count).words() for count in (1, 2))
    assert one == two
