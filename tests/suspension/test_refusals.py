"""What a linkage cannot do, and what hardpoints cannot be: said in words."""

from __future__ import annotations

import re

import numpy as np
import pytest

from clearance.errors import SuspensionError
from clearance.suspension.kinds import KINDS, build
from clearance.suspension.position import Cycle


def refused(kind, values, cycle=None, steering=None, title="Front left"):
    with pytest.raises(SuspensionError) as caught:
        build(kind, values, cycle or Cycle(bump_mm=(-40, 40)), steering, title=title)
    return str(caught.value)


def test_a_droop_out_of_reach_names_where_it_locks_which_links_and_which_points(hardpoints):
    """The open double wishbone folds at -183.425 mm, where the smallest singular value vanishes."""
    points = hardpoints("heavy-off-road-front")
    words = refused(points.kind, points.values, Cycle(bump_mm=(-200, 100)))
    assert words.startswith("Front left cannot reach -200.0 mm: the linkage locks at -183.4 mm")
    assert "upper arm, front leg" in words
    assert "lower arm, rear leg" in words
    assert "UF, UU, LB" in words
    assert words.endswith("or reduce droop.")


def test_the_lock_is_found_to_a_hundredth(hardpoints):
    points = hardpoints("heavy-off-road-front")
    suspension = build(points.kind, points.values, Cycle(bump_mm=(-100, 100)))
    part, _ = suspension.travel.lock(np.array([-250.0, 0.0, 0.0]))
    assert -250.0 * part == pytest.approx(-183.425, abs=0.001)


@pytest.mark.parametrize("droop", [184.0, 183.5, 300.0])
def test_past_the_fold_is_refused_and_before_it_is_not(hardpoints, droop):
    """A solver that jumps would find the other assembly below -184 mm and go on."""
    points = hardpoints("heavy-off-road-front")
    assert "locks at -183.4 mm" in refused(points.kind, points.values, Cycle(bump_mm=(-droop, 0)))
    build(points.kind, points.values, Cycle(bump_mm=(-183.0, 0)))


def test_a_position_past_the_fold_is_refused_when_asked_for_later(hardpoints):
    points = hardpoints("heavy-off-road-front")
    suspension = build(points.kind, points.values, Cycle(bump_mm=(-100, 100)), title="Front left")
    with pytest.raises(SuspensionError, match=r"locks at -183\.4 mm"):
        suspension.pose([[-190.0, 0.0, 0.0]])
    assert suspension.pose([[-150.0, 0.0, 0.0]]).origin_mm[0, 2] == pytest.approx(-150.0, abs=1e-9)


def test_a_lock_that_the_tie_rod_cannot_give_is_refused(hardpoints):
    """A tie rod of 90 mm is too short to follow a steering arm of 150 mm to 64 deg."""
    points = hardpoints("heavy-off-road-front")
    short = points.values | {"tie_inner": points.values["tie_inner"] + [0.0, 300.0, 0.0]}
    words = refused(points.kind, short, Cycle(), {"left": 64.0, "right": 64.0})
    assert words.startswith("Front left cannot steer to -64 deg: the steering linkage locks before it")


def test_the_angle_at_which_steering_locks_is_the_last_that_is_reached(hardpoints):
    """Just short of it the linkage is built; just beyond it is refused for the same reason."""
    points = hardpoints("heavy-off-road-front")
    short = points.values | {"tie_inner": points.values["tie_inner"] + [0.0, 300.0, 0.0]}
    words = refused(points.kind, short, Cycle(), {"left": 0.0, "right": 64.0})
    near = float(re.search(r"near (-?[\d.]+) deg", words)[1])
    assert -64.0 < near < -10.0
    beyond = refused(points.kind, short, Cycle(), {"left": 0.0, "right": -near + 0.2})
    assert "locks before it" in beyond
    build(points.kind, short, Cycle(), {"left": 0.0, "right": -near - 0.2})


def test_steering_over_centre_is_refused(hardpoints):
    """With the rack far behind, the rod comes in line with its arm before 64 deg: the rack would have to turn back."""
    points = hardpoints("heavy-off-road-front")
    behind = points.values | {"tie_inner": points.values["tie_inner"] + [-350.0, 0.0, 0.0]}
    assert "goes over centre near" in refused(points.kind, behind, Cycle(), {"left": 64.0, "right": 64.0})


def test_a_binding_combination_names_the_combination(hardpoints):
    """Alone, droop and lock are both within reach; together they are not."""
    points = hardpoints("heavy-off-road-front")
    build(points.kind, points.values, Cycle(bump_mm=(-181, 0)))
    build(points.kind, points.values, Cycle(), {"left": 50.0, "right": 0.0})
    words = refused(points.kind, points.values, Cycle(bump_mm=(-181, 0)), {"left": 50.0, "right": 0.0})
    assert "cannot reach bump -181.0 mm and steer 50.0 deg together: the linkage locks at bump" in words
    assert "tie rod" in words


PARALLEL = {
    "track": 1500.0,
    "lower_axle": [0.0, -200.0, -100.0],
    "lower_body": [500.0, -200.0, -100.0],
    "upper_axle": [0.0, -300.0, 150.0],
    "upper_body": [500.0, -300.0, 150.0],
}
LIVE = Cycle(bump_mm=(-60, 60), other_bump_mm=(-60, 60))


def test_parallel_links_without_a_bar_locate_nothing_sideways():
    words = refused("four-link", PARALLEL, LIVE)
    assert words.startswith("nothing locates the axle sideways: add a track bar")


def test_two_links_and_a_bar_let_the_axle_wind_up():
    values = {name: value for name, value in PARALLEL.items() if not name.startswith("upper")}
    values |= {"bar_axle": [-100.0, -1150.0, 20.0], "bar_body": [-100.0, -330.0, 30.0]}
    words = refused("de-dion", values, LIVE)
    assert "nothing locates the axle against winding up" in words


def test_an_upright_on_four_links_steers_by_itself(hardpoints):
    points = hardpoints("generic-five-link")
    words = refused("multi-link", {"links": points.values["links"][:4]})
    assert "an upright needs five rods in all" in words


def test_links_that_fight_each_other_bind():
    """A short bar high on one side, against splayed links whose roll centre is elsewhere."""
    values = {
        "track": 1500.0,
        "lower_axle": [0.0, -200.0, -100.0],
        "lower_body": [450.0, -450.0, -60.0],
        "upper_axle": [0.0, -650.0, 200.0],
        "upper_body": [280.0, -300.0, 190.0],
        "bar_axle": [-120.0, -500.0, -150.0],
        "bar_body": [-120.0, -250.0, -20.0],
    }
    cycle = Cycle(bump_mm=(-90, 90), other_bump_mm=(-90, 90))
    words = refused("four-link", values | {"bushing_limit": 4.0}, cycle)
    assert "Front left binds: with this wheel at" in words
    assert "over the 4 mm allowed" in words


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"lower_front": [150000.0, -400.0, -112.0]}, r'"lower_front" is 150\.0 m from the hub. Check its unit'),
        ({"tie_inner": [-122.0, -78.0, -70.0]}, r"tie rod"),
        ({"lower_rear": [150.0, -400.0, -112.0]}, "run between the same two points"),
        ({"upper_ball": [6.0, -62.0, -328.0]}, "the steering axis does not stand up: its upper end is"),
    ],
)
def test_hardpoints_that_cannot_be_are_refused(change, message):
    good = {
        "upper_front": [55.0, -300.0, 145.0],
        "upper_rear": [-145.0, -305.0, 132.0],
        "upper_ball": [-18.0, -118.0, 148.0],
        "lower_front": [150.0, -400.0, -112.0],
        "lower_rear": [-160.0, -395.0, -118.0],
        "lower_ball": [6.0, -62.0, -128.0],
        "tie_inner": [-128.0, -352.0, -63.0],
        "tie_outer": [-122.0, -78.0, -70.0],
    }
    assert re.search(message, refused("double-wishbone", good | change))


def test_metres_written_as_millimetres_are_noticed(hardpoints):
    points = hardpoints("heavy-off-road-front")
    tiny = {name: value / 1000.0 for name, value in points.values.items()}
    assert "all hardpoints lie within 0.6" in refused("double-wishbone", tiny)


def test_a_tie_rod_with_one_end_is_refused(hardpoints):
    points = hardpoints("heavy-off-road-front")
    values = {name: value for name, value in points.values.items() if name != "tie_outer"}
    assert '"tie_outer" is missing' in refused("double-wishbone", values)


def test_a_spring_that_is_pulled_straight_is_refused():
    """A half of 250 mm cannot follow 250 mm of travel."""
    values = {"track": 1500.0, "half_length": 250.0, "spring_inboard": 220.0}
    words = refused("leaf-arc", values, Cycle(bump_mm=(-60, 250), other_bump_mm=(-60, 250)))
    assert "pulled straight" in words


def test_leaf_points_in_the_wrong_order_are_refused():
    values = {
        "track": 1500.0,
        "front_eye": [-610.0, -230.0, -20.0],
        "front_clamp": [60.0, -230.0, -75.0],
        "rear_clamp": [-60.0, -230.0, -75.0],
        "rear_eye": [690.0, -230.0, -25.0],
        "shackle_hanger": [650.0, -230.0, 75.0],
    }
    assert "front to rear the spring's points are" in refused("leaf-spring", values, LIVE)


def test_unknown_words_get_the_nearest_one():
    assert 'Did you mean "leaf-spring"?' in refused("leafspring", {})
    assert 'Did you mean "lower_ball"?' in refused("strut", {"lower_bal": [0.0, 0.0, 0.0]})
    assert '"double-wishbone" needs "upper_front": UF' in refused("double-wishbone", {})


def test_a_frame_that_is_not_there_names_those_that_are():
    suspension = build("trailing-arm", {"pivot": [450.0, 0.0, 0.0]}, Cycle())
    with pytest.raises(SuspensionError, match='A part can ride on "body", "axle", "knuckle"'):
        suspension.pose([[0.0, 0.0, 0.0]], "lower arm")


@pytest.mark.parametrize("kind", KINDS)
def test_every_key_says_what_to_measure(kind):
    for key in KINDS[kind].keys:
        assert key.help
        assert key.help[0].islower() or key.help[:2].isupper(), key
        assert (key.dimension == "rows") == bool(key.columns)
