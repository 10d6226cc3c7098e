"""A contact that is a line or an arc is named as one, and by the same words in every answer."""

import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from answers.mockups import between_walls, under_ceiling

import clearance
from clearance.answers.checked import gaps_of
from clearance.description.load import load
from clearance.facts.gap import gap_json
from clearance.gap.contact import Contact, contact_text
from clearance.gap.rest import at_rest
from clearance.geom.profile import polygon
from clearance.geom.revolve import Solid
from clearance.suspension.position import Position
from clearance.suspension.straight import Straight
from clearance.words.text import place_words


def place(mockup, name):
    return at_rest(mockup, gaps_of(mockup, (name,))[0]).where


def test_an_endless_wall_is_met_all_round_the_sidewall():
    """Upright wheel, upright wall: the sidewall bulges most on one circle, half the section's height up, and the wall
    is 120 mm inboard everywhere. Of a 700 mm tire on 15 in that circle lies between 190 and 350 mm.
    """
    where = place(between_walls(inboard=170.0, outboard=150.0), "inner wall")
    head, across = where.split(" about the wheel's own middle, ")
    assert head.startswith("all round a circle of ")
    assert 190 < float(head.split()[-3]) < 350
    assert across == "170 mm inboard of the hub face"


def test_a_wall_that_ends_is_met_along_an_arc_as_far_as_it_goes():
    """The wall stands above the axle and 30 mm ahead of it alone: 9 o'clock is ahead, so from there to 12 at most."""
    mockup = between_walls(bump=(0.0, 0.0))
    wall = mockup.part("inner wall")
    kept = np.array([[30.0, -170.0, 0.0], [600.0, -170.0, 0.0], [600.0, -170.0, 600.0], [30.0, -170.0, 600.0]])
    part = replace(wall, triangles_mm=np.array([kept[[0, 1, 2]], kept[[0, 2, 3]]]), endless=())
    where = place(replace(mockup, parts=(part,)), "inner wall")
    assert where.startswith("an arc of ")
    ends = where.split("middle, ")[1].rsplit(", ", 1)[0]
    assert set(ends.replace("from ", "").split(" to ")) == {"9 o'clock", "12 o'clock"}


@pytest.mark.parametrize("right", [False, True])
def test_two_arcs_as_near_as_one_another_are_both_named_in_the_order_of_the_clock(right):
    """Two sheets, ahead and behind, from the axle's height up, each beginning 30 mm from the middle: of a clock's face
    a quarter each but for a bit before and after 12. Which one the search ended at does not show."""
    mockup = replace(between_walls(bump=(0.0, 0.0)), corner="front-right" if right else "front-left")
    wall = mockup.part("inner wall")
    sheets = [
        np.array([[side * 30.0, -170.0, 0.0], [side * 600.0, -170.0, 0.0], [side * 600.0, -170.0, 600.0]])
        for side in (1.0, -1.0)
    ]
    upper = [
        np.array([[side * 30.0, -170.0, 0.0], [side * 600.0, -170.0, 600.0], [side * 30.0, -170.0, 600.0]])
        for side in (1.0, -1.0)
    ]
    part = replace(wall, triangles_mm=np.array([*sheets, *upper]), endless=())
    where = place(replace(mockup, parts=(part,)), "inner wall")
    assert where.startswith("arcs of ")
    arcs = where.split("middle, ")[1].rsplit(", ", 1)[0]
    assert arcs == "from 12 o'clock to 3 o'clock and from 9 o'clock to 12 o'clock"


def test_a_wheel_that_leans_meets_a_wall_at_a_place():
    mockup = between_walls(bump=(0.0, 0.0))
    leaning = replace(mockup, suspension=Straight(cycle=mockup.suspension.cycle, camber_deg=3.0))
    assert place(leaning, "inner wall").startswith(("12 o'clock", "6 o'clock"))


def test_a_crowned_tread_meets_a_flat_ceiling_at_a_place():
    where = place(under_ceiling(bump=(0.0, 0.0)), "ceiling")
    assert where == "12 o'clock, in line with the axle, 430 mm above it, at the hub face"


def test_a_flat_tread_meets_a_flat_ceiling_along_a_line():
    """A drum from 100 mm inboard to 60 mm outboard, 300 mm in radius, under a block 340 mm up: 40 mm all across."""
    mockup = under_ceiling(height=340.0, bump=(0.0, 0.0))
    drum = polygon([(-100.0, 0.0), (60.0, 0.0), (60.0, 300.0), (-100.0, 300.0)])
    standing = SimpleNamespace(
        solid=Solid(profile=drum, pieces=(drum,)), suspension=mockup.suspension, right_hand=False
    )
    said = contact_text(
        Contact(
            mockup=standing,
            part=mockup.part("ceiling"),
            position=Position(),
            shift_mm=(0.0, 0.0),
            on_part_mm=np.array([0.0, 10.0, 340.0]),
            gap_mm=40.0,
            tolerance_mm=0.05,
        )
    )
    head, line = said.rsplit(", ", 1)
    assert head == "12 o'clock, in line with the axle, 340 mm above it"
    found = re.fullmatch(r"all along a line from (\d+) mm inboard to (\d+) mm outboard of the hub face", line)
    # looked at each 2 mm, and 2 mm beyond its edges the drum is still within 0.05 mm of 40 mm
    assert (int(found[1]), int(found[2])) == (pytest.approx(100, abs=2), pytest.approx(60, abs=2))


def test_a_flat_side_meets_a_flat_wall_over_a_ring():
    """The same drum, its flat inner end 30 mm from an endless wall: as near all over it, out to its edge at 300 mm."""
    mockup = between_walls(inboard=130.0, bump=(0.0, 0.0))
    drum = polygon([(-100.0, 20.0), (60.0, 20.0), (60.0, 300.0), (-100.0, 300.0)])
    standing = SimpleNamespace(
        solid=Solid(profile=drum, pieces=(drum,)), suspension=mockup.suspension, right_hand=False
    )
    said = contact_text(
        Contact(
            mockup=standing,
            part=mockup.part("inner wall"),
            position=Position(),
            shift_mm=(0.0, 0.0),
            on_part_mm=np.array([150.0, -130.0, 0.0]),
            gap_mm=30.0,
            tolerance_mm=0.05,
        )
    )
    found = re.fullmatch(r"all over a ring of (\d+) to (\d+) mm radius about the wheel's own middle, (.*)", said)
    assert (int(found[1]), int(found[2])) == (pytest.approx(20, abs=2), pytest.approx(300, abs=2))
    assert found[3] == "130 mm inboard of the hub face"


@pytest.mark.parametrize("name", ["inner wall", "outer wall"])
def test_terminal_json_and_findings_name_one_place(name):
    mockup = between_walls()
    gap = gaps_of(mockup, (name,))[0]
    said = place_words(mockup, gap)
    assert "all round a circle" in said
    assert gap_json(mockup, gap)["where"] == said
    checked = clearance.check(mockup)
    assert next(p for p in checked.to_dict()["parts"] if p["name"] == name)["where"] == said
    assert said in checked.words()


def test_what_is_named_is_there_at_the_gap(tmp_path):
    """A shipped wall: every place of the arc, measured anew at the witness's position, is as near to 0.05 mm."""
    mockup = load(clearance.__file__.rsplit("/", 2)[0] + "/fixtures/corners/orchard-pickup-rear.toml")
    gap = at_rest(mockup, gaps_of(mockup, ("inner wall",))[0])
    assert gap.where.startswith("an arc of 282 mm")
    hub = mockup.suspension.pose(gap.position.row()[None], "hub")
    centre = hub.origin_mm[0] + np.array([*gap.shift_mm, 0.0])
    for hour in (11, 12, 1, 2):
        turn = np.radians(30.0 * hour)
        # standing beside a left wheel, ahead is to the left
        spot = centre + 282.0 * np.array([-np.sin(turn), 0.0, np.cos(turn)])
        spot[1] = gap.on_part_mm[1]
        local = spot - centre
        assert float(mockup.solid.distance(local[None])[0]) == pytest.approx(gap.at_most_mm, abs=0.1)
