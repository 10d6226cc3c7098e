"""A gap is said to be the same at every position where that is proven, and there alone."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import clearance
from clearance.description.load import load
from clearance.gap.cycle import over_cycle
from clearance.gap.found import AT_EVERY, AT_ONE, AT_OTHERS, ROUNDING_MM
from clearance.gap.held import at_position_held
from clearance.gap.rest import at_rest
from clearance.gap.still import at_position
from clearance.suspension.position import Position

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"
CORNER = """
title = "Alder wagon, {corner}"
corner = "{corner}"
[tire]
size = "205/70R15"
growth = "none"
[wheel]
diameter = "15 in"
width = "6 in"
backspace = "110 mm"
[suspension]
{suspension}
[[part]]
name = "wall"
kind = "plate"
corners = [{corners}]
thickness = "1 mm"
"""
STRAIGHT = 'kind = "straight"\nbump = "90 mm"\ndroop = "75 mm"'
PLAY = STRAIGHT + '\nshift = { inboard = "6 mm", outboard = "4 mm", ahead = "3 mm", behind = "3 mm" }'
TRAILING = 'kind = "trailing-arm"\nbump = "80 mm"\ndroop = "70 mm"\npivot = ["420 mm", "-300 mm", "30 mm"]'
ENDLESS = (-900.0, 900.0)


def corner(tmp_path, *, suspension=STRAIGHT, leans_deg=0.0, height=ENDLESS, side="rear-left", turned_deg=0.0):
    """A wheel beside a sheet 170 mm inboard of its hub face at the axle's height, that leans inboard above."""
    slope, turned = math.tan(math.radians(leans_deg)), math.tan(math.radians(turned_deg))
    spots = [(700, height[0]), (700, height[1]), (-700, height[1]), (-700, height[0])]
    places = [(x, -170.0 - z * slope - x * turned, z) for x, z in spots]
    corners = ", ".join(f'["{x!r} mm", "{y!r} mm", "{z!r} mm"]' for x, y, z in places)
    path = tmp_path / "corner.toml"
    path.write_text(CORNER.format(corner=side, suspension=suspension, corners=corners), encoding="utf-8")
    return load(path)


def held(mockup):
    (gap,) = over_cycle(mockup)
    return gap


def greatest_mm(mockup, many=5):
    """The gap at the position where the part is furthest, of so many each way."""
    ways = [np.linspace(low, high, many if high > low else 1) for low, high in mockup.suspension.cycle.box]
    rows = np.array(np.meshgrid(*ways)).reshape(3, -1).T
    at = [Position(bump_mm=bump, other_bump_mm=other, steer_deg=steer) for bump, other, steer in rows.tolist()]
    return max(at_position(mockup, position)[0].at_least_mm for position in at)


@pytest.mark.parametrize("side", ["rear-left", "rear-right"])
@pytest.mark.parametrize("suspension", [STRAIGHT, PLAY, TRAILING])
def test_a_plumb_wall_beside_a_wheel_that_only_goes_up_down_and_along_it_is_as_near_all_the_way(
    tmp_path, side, suspension
):
    """A straight travel, and an arm about a line square to the wall: the wheel never comes nearer to its plane."""
    mockup = corner(tmp_path, suspension=suspension, side=side)
    gap = held(mockup)
    assert gap.held == AT_EVERY
    told = at_rest(mockup, gap)
    assert told.position == Position()
    assert told.shift_mm == gap.shift_mm
    # the witness is two places so far apart, across, and the part's is on its sheet
    assert np.linalg.norm(told.on_part_mm - told.on_tire_mm) == pytest.approx(told.at_most_mm, abs=1e-6)
    assert told.on_part_mm[1] == pytest.approx(-170.0, abs=1e-6)
    assert gap.at_least_mm <= told.at_most_mm <= gap.at_least_mm + gap.tolerance_mm + ROUNDING_MM


def test_a_wall_a_tenth_of_a_degree_out_of_plumb_is_nearest_at_one_end(tmp_path):
    """165 mm of travel by tan 0.1 deg is 0.288 mm, six times the tolerance; a quarter of it 0.072, more than it too.
    The wall leans inboard above, so the wheel is nearest at full droop."""
    mockup = corner(tmp_path, leans_deg=0.1)
    gap = held(mockup)
    assert gap.held == AT_ONE
    assert gap.position.bump_mm == pytest.approx(-75.0)
    assert greatest_mm(mockup) - gap.at_least_mm == pytest.approx(165.0 * math.tan(math.radians(0.1)), abs=0.06)


@pytest.mark.parametrize("leans_deg", [0.005, 0.01, 0.016, 0.02])
def test_what_is_within_the_tolerance_may_be_called_the_same_and_nothing_more(tmp_path, leans_deg):
    """165 mm by tan 0.016 deg is 0.046 mm, within 0.05; by 0.02 deg it is 0.058. What the bracket takes of the
    tolerance is not there for the wall's lean, so that no more than "may" is claimed below."""
    mockup = corner(tmp_path, leans_deg=leans_deg)
    gap = held(mockup)
    assert gap.held != AT_EVERY or greatest_mm(mockup, 2) <= gap.at_least_mm + gap.tolerance_mm + ROUNDING_MM
    assert gap.held != AT_EVERY or leans_deg < 0.02


def test_a_wall_that_ends_within_the_travel_is_as_near_at_others_and_not_at_every_one(tmp_path):
    """The sidewall bulges most some 280 mm from the axle. The sheet's top is 250 mm below the axle at ride height: at
    full droop that circle dips 100 mm below it, at full bump it is 60 mm clear of it and the gap has opened."""
    mockup = corner(tmp_path, height=(-900.0, -250.0))
    gap = held(mockup)
    assert gap.held == AT_OTHERS
    (up,) = at_position(mockup, Position(bump_mm=90.0))
    assert up.at_least_mm > gap.at_most_mm + 1.0
    assert at_rest(mockup, gap).position == gap.position


def test_a_wall_that_ends_with_the_travel_is_as_near_to_its_end(tmp_path):
    """The same sheet where the circle never leaves it: it ends 150 mm below the axle, and the wheel goes up by 90."""
    assert held(corner(tmp_path, height=(-900.0, -150.0))).held == AT_EVERY


def test_a_wall_that_is_turned_is_as_near_where_the_wheel_goes_straight_up_and_not_where_it_swings(tmp_path):
    """Half a degree of toe changes what is nearest, not that it is the same all the way; an arm takes the wheel along
    by millimetres, and half a degree of 10 mm is 0.09 mm."""
    assert held(corner(tmp_path, turned_deg=0.5)).held == AT_EVERY
    assert held(corner(tmp_path, turned_deg=0.5, suspension=TRAILING)).held != AT_EVERY


def test_a_gap_at_one_position_says_nothing_of_others(tmp_path):
    (gap,) = at_position(corner(tmp_path), Position(bump_mm=30.0))
    assert gap.held == AT_ONE


def test_a_small_place_that_the_wheel_passes_is_near_at_one_height_alone(tmp_path):
    """Of the sheet no more is left than a sliver, 20 mm high, across the top of the circle that bulges most."""
    mockup = corner(tmp_path)
    gap = held(mockup)
    radius = float(np.hypot(*np.delete(gap.on_tire_mm, 1) - [0.0, gap.position.bump_mm]))
    sliver = [[-5.0, -170.0, radius - 10.0], [5.0, -170.0, radius - 10.0], [0.0, -170.0, radius + 10.0]]
    part = replace(mockup.parts[0], triangles_mm=np.array([sliver]), endless=())
    small = held(replace(mockup, parts=(part,)))
    assert small.at_least_mm >= gap.at_least_mm
    assert small.held == AT_ONE


@pytest.mark.parametrize("name", ["orchard-pickup-rear", "heron-roadster-front"])
def test_no_position_of_a_shipped_corner_is_further_than_what_is_said_to_be_the_same(name):
    """At positions that the proof did not look at, measured one by one."""
    mockup = load(CORNERS / f"{name}.toml")
    same = [gap for gap in over_cycle(mockup) if gap.held == AT_EVERY]
    assert same
    for gap in same:
        for share_of in (0.07, 0.31, 0.52, 0.77, 0.96):
            row = [low + share_of * (high - low) for low, high in mockup.suspension.cycle.box]
            position = Position(bump_mm=row[0], other_bump_mm=row[1], steer_deg=row[2])
            (there,) = at_position(mockup, position, parts=(gap.part,))
            # of one position without play: what play would take off it only makes it less
            push = abs(gap.toward_part[:2] @ np.array(gap.shift_mm))
            assert there.at_least_mm - push <= gap.at_least_mm + gap.allowed_mm + ROUNDING_MM, (gap.part, row)


def test_its_witness_is_where_it_was_where_another_would_be_another_gap(tmp_path):
    """Asked for a position at which the wall has ended, the gap keeps its place."""
    mockup = corner(tmp_path, height=(-900.0, -250.0))
    gap = held(mockup)
    assert at_position_held(mockup, mockup.parts[0], gap, Position(bump_mm=90.0)) is gap


def test_terminal_json_table_and_page_say_the_same_of_the_pickup(tmp_path):
    """Its inner wall is plumb, its axle goes straight up: 28.5 mm at every height."""
    pickup = clearance.load(CORNERS / "orchard-pickup-rear.toml")
    answer = clearance.check(pickup)
    row = next(part for part in answer.value.findings["parts"] if part["name"] == "inner wall")
    assert row["every_position"]
    assert not row["other_positions"]
    assert row["position"] == {"bump": 0.0, "other_bump": 0.0, "steer": 0.0}
    assert next(line for line in answer.words().splitlines() if " inner wall " in line).endswith("every position")
    assert "at every position." in answer.words()


def test_along_an_arc_no_position_is_further_than_was_said(tmp_path):
    """An arm's wheel goes along an arc: no position of it, measured alone, is further from the sheet."""
    mockup = corner(tmp_path, suspension=TRAILING)
    gap = held(mockup)
    assert gap.held == AT_EVERY
    assert greatest_mm(mockup, many=9) <= gap.at_least_mm + gap.allowed_mm + ROUNDING_MM
