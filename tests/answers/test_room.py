"""What a corner could take before it touches: by hand where it goes straight, and never more than it really could."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path

import pytest

import clearance
from clearance.answers.room import room
from clearance.errors import InputError

PICKUP = Path(__file__).parents[2] / "fixtures" / "corners" / "orchard-pickup-rear.toml"
CORNER = """
corner = "{corner}"
[tire]
overall_diameter = "700 mm"
section_width = "235 mm"
shape = "square"
[wheel]
diameter = "15 in"
width = "7 in"
offset = "0 mm"
[suspension]
kind = "standing"
carried_by = "{carried_by}"
{part}
"""
ROOF = '[[part]]\nname = "roof"\nkind = "plate"\nrequired = "20 mm"\ncorners = {corners}\n'
ABOVE = json.dumps([[f"{x} mm", f"{y} mm", "430 mm"] for x, y in ((-900, -900), (900, -900), (900, 600), (-900, 600))])


def corner(part: str, carried_by: str = "leaf springs", where: str = "rear-left"):
    return clearance.read(CORNER.format(corner=where, carried_by=carried_by, part=part))


def ways(found):
    return {way.name: way for way in found.ways}


def test_the_way_up_to_a_flat_roof_by_hand():
    """The tread is 350 mm above the hub and the roof 430: 80 mm of bump touch it, 60 mm keep 20 mm. Level goes level.

    An axle whose links are not known may be turned, and its tread comes nearer to the roof by what its edge gains.
    """
    found = ways(room(corner(ROOF.format(corners=ABOVE))))
    bump = found["bump"]
    assert bump.straight.amount == pytest.approx(80.0, abs=1.0)
    assert bump.touches.meets is not None
    assert bump.touches.meets.part == "roof"
    assert 50.0 < bump.touches.amount <= bump.straight.amount
    assert bump.keeps.amount <= bump.touches.amount
    assert found["droop"].touches.meets is None


@pytest.mark.slow
def test_an_axle_tilts_and_a_wheel_of_its_own_does_not():
    part = ROOF.format(corners=ABOVE)
    assert "one wheel above the other" in ways(room(corner(part)))
    assert "one wheel above the other" not in ways(room(corner(part, "trailing arm")))
    assert "left lock" in ways(room(corner(part, "strut", "front-left")))
    assert "left lock" not in ways(room(corner(part, "strut", "rear-left")))


def test_nothing_is_said_to_clear_of_a_corner_that_only_stands():
    found = clearance.check(corner(ROOF.format(corners=ABOVE)))
    assert found.verdict == "undecided"
    assert found.worst.at_most_mm == pytest.approx(80.0, abs=0.1)
    for question in (clearance.window, clearance.least_change, clearance.relief, clearance.budget):
        with pytest.raises(InputError, match="ride height only"):
            question(corner(ROOF.format(corners=ABOVE)))


def test_what_already_touches_has_no_room():
    near = ABOVE.replace("430", "340")
    bump = ways(room(corner(ROOF.format(corners=near))))["bump"]
    assert bump.touches.amount == 0.0
    assert bump.touches.meets is not None


def test_a_corner_whose_motion_is_given_is_sent_to_check():
    with pytest.raises(InputError, match="clearance check"):
        room(clearance.load(PICKUP))


def test_what_room_says_a_check_by_travel_confirms():
    """An axle taken as far as `room` says keeps every gap by `check` of the same axle by travel, at the worst."""
    found = room(corner(ROOF.format(corners=ABOVE)))
    amount = ways(found)["bump"].keeps.amount
    travel = f'bump = "{amount} mm"\ndroop = "0 mm"\ntrack = "1500 mm"\narticulation = "0 mm"'
    text = CORNER.replace('kind = "standing"', 'kind = "axle-by-travel"\n' + travel)
    part = ROOF.format(corners=ABOVE)
    checked = clearance.check(clearance.read(text.format(corner="rear-left", carried_by="leaf springs", part=part)))
    assert checked.verdict == "clears"


@pytest.mark.slow
def test_the_right_side_names_its_own_locks():
    part = ROOF.format(corners=ABOVE)
    left, right = (ways(room(corner(part, "strut", f"front-{side}"))) for side in ("left", "right"))
    assert dataclasses.astuple(left["left lock"].straight)[0] == dataclasses.astuple(right["right lock"].straight)[0]


BY_TRAVEL = """bump = "10 mm"
droop = "10 mm"
{more}"""


@pytest.mark.slow
def test_what_the_corner_file_says_of_the_links_counts():
    """A wheel that may go further across has less room, and so has one whose steering axis is less well known."""
    wall = '[[part]]\nname = "wall"\nkind = "wall"\nrequired = "5 mm"\ninboard = "190 mm"\n'
    steering = '[steering]\nleft = "1 deg"\nright = "1 deg"\naxis = { through = ["0 mm", "-95 mm", "0 mm"],'
    steering += ' inclination = "9 deg", caster = "4 deg" }\n'

    def found(more):
        text = CORNER.replace('kind = "standing"', 'kind = "wheel-by-travel"\n' + BY_TRAVEL.format(more=more))
        return ways(room(clearance.read(text.format(corner="front-left", carried_by="strut", part=steering + wall))))

    usual, wide = found(""), found('across_per_100mm = "60 mm"\naxis_within = "60 mm"\naxis_turned_within = "6 deg"')
    assert wide["bump"].touches.amount < usual["bump"].touches.amount
    assert wide["right lock"].touches.amount < usual["right lock"].touches.amount
    assert wide["bump"].straight.amount == usual["bump"].straight.amount
