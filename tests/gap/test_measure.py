"""Gaps of a whole mock-up against sums by hand. Lengths mm.

The tire is 640 high and 240 wide with rounded shoulders, its middle 40 inboard of the hub face: its top 320 above the
hub, its sides from -160 to 80. It goes straight up 60 and down 40.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from clearance.errors import PartError
from clearance.gap.cycle import over_cycle
from clearance.gap.found import CLEARS, HITS, TIGHT, Gap
from clearance.gap.map import over_vertices
from clearance.gap.measure import swallows
from clearance.gap.still import at_position
from clearance.geom.bracket import AtSettings, least_at_settings
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import seen_by
from clearance.suspension.position import Cycle, Position, Shift
from clearance.suspension.straight import Straight
from clearance.tire.tire import Tire
from clearance.well.part import Part
from clearance.well.parts import Tag, bar, box, plate, rectangle, wall
from clearance.wheel.wheel import Wheel

TIRE = Tire(overall_diameter_mm=640.0, section_width_mm=240.0, tread_width_mm=200.0, rim_diameter_in=17)
WHEEL = Wheel(diameter_in=17.0, width_in=8.0, offset_mm=40.0)
STRAIGHT = Straight(cycle=Cycle(bump_mm=(-40.0, 60.0)))


def roof(height: float, name: str = "roof", **more: float) -> Part:
    """A level plate well past the tire on all sides."""
    corners = [(-900.0, -500.0, height), (900.0, -500.0, height), (900.0, 500.0, height), (-900.0, 500.0, height)]
    return plate(Tag(name=name, **more), corners_mm=corners)


def mock_up(*parts: Part, suspension: Straight = STRAIGHT) -> MockUp:
    return MockUp(title="by hand", corner="rear-left", tire=TIRE, wheel=WHEEL, suspension=suspension, parts=parts)


def holds(gap: Gap, exact: float, wide: float = 0.05) -> None:
    assert gap.at_least_mm - 1e-6 <= exact <= gap.at_most_mm + 1e-6
    assert gap.at_most_mm - gap.at_least_mm <= wide + 1e-3


def test_a_roof_over_full_bump_and_all_that_is_said_of_it():
    (gap,) = over_cycle(mock_up(roof(400.0, required_mm=25.0, uncertainty_mm=2.0)))
    holds(gap, 400.0 - 320.0 - 60.0)
    assert gap.verdict == TIGHT
    assert gap.position.bump_mm == pytest.approx(60.0, abs=0.06)
    assert gap.toward_part == pytest.approx([0.0, 0.0, 1.0], abs=1e-3)
    assert gap.on_part_mm[2] == pytest.approx(400.0)
    assert gap.on_tire_mm[2] == pytest.approx(380.0, abs=0.06)
    assert gap.on_part_mm == pytest.approx(gap.on_tire_mm + gap.at_most_mm * gap.toward_part, abs=1e-6)
    assert gap.region == "tread"
    assert (gap.required_mm, gap.uncertainty_mm, gap.motion_checked, gap.swallowed) == (25.0, 2.0, 0, False)
    # half of a larger diameter, all of the bump, nothing of the width or of where the wheel sits across
    assert gap.per_mm["overall_diameter"] == pytest.approx(-0.5, abs=1e-3)
    assert gap.per_mm["bump"] == pytest.approx(-1.0, abs=1e-3)
    assert gap.per_mm["section_width"] == pytest.approx(0.0, abs=1e-3)
    assert gap.per_mm["offset"] == gap.per_mm["backspace"] == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize(("side", "away"), [("inboard_mm", 180.0), ("outboard_mm", 100.0)])
def test_a_wall_beside_the_tire(side, away):
    """20 mm off its side, which goes out by half of a larger width, and with the wheel."""
    (gap,) = over_cycle(mock_up(wall(Tag(name="w"), reach_mm=900.0, **{side: away})))
    holds(gap, 20.0)
    sign = -1.0 if side == "inboard_mm" else 1.0
    assert gap.toward_part == pytest.approx([0.0, sign, 0.0], abs=1e-3)
    assert gap.per_mm["section_width"] == pytest.approx(-0.5, abs=1e-3)
    assert gap.per_mm["offset"] == pytest.approx(sign, abs=1e-3)
    assert gap.per_mm["overall_diameter"] == pytest.approx(0.0, abs=1e-3)
    assert gap.per_mm["bump"] == pytest.approx(0.0, abs=1e-3)


def test_a_stud_that_points_at_the_hub_is_met_on_the_axis_itself():
    """Its tip 10 outboard of the wheel's outer end, on the spin axis: there no way is up, and a larger tire or a wider
    one does nothing to it."""
    outer = float(mock_up().solid.profile.outline(0.01)[:, 0].max())
    face = float(mock_up().solid.distance(np.array([[0.0, 500.0, 0.0]]))[0])
    stud = np.array([[(0.0, 510.0 - face, 0.0), (30.0, 700.0, 20.0), (-20.0, 700.0, 30.0)]])
    (gap,) = at_position(mock_up(Part(name="stud", kind="mesh", triangles_mm=stud)), Position())
    assert 510.0 - face < outer + 10.0
    holds(gap, 10.0)
    assert gap.toward_part == pytest.approx([0.0, 1.0, 0.0], abs=1e-9)
    assert not any(word in gap.region for word in ("tread", "shoulder", "sidewall"))
    assert (gap.per_mm["section_width"], gap.per_mm["overall_diameter"]) == (0.0, 0.0)
    assert gap.per_mm["offset"] == pytest.approx(1.0)


def test_what_does_nothing_to_a_gap_does_not_do_less_than_nothing():
    """No minus zero: it would be written "-0.00". A pin over the very middle of the tread is pushed neither way."""
    pin = np.array([[(0.0, -40.0, 420.0), (0.0, -40.0, 520.0), (9.0, -40.0, 520.0)]])
    (gap,) = at_position(mock_up(Part(name="pin", kind="mesh", triangles_mm=pin)), Position())
    assert [gap.per_mm[name] for name in ("backspace", "offset", "section_width")] == [0.0, 0.0, 0.0]
    assert all(math.copysign(1.0, value) == 1.0 for value in gap.per_mm.values() if value == 0.0)


def test_at_the_top_of_a_tire_a_millimetre_of_its_diameter_is_half_a_millimetre():
    """It goes up from the bead, all of it at the top: that is found to a hundredth of the 114 above the rim."""
    wide = Tire(overall_diameter_mm=700.0, section_width_mm=300.0, tread_width_mm=220.0, rim_diameter_in=17)
    mockup = replace(mock_up(roof(450.0)), tire=wide)
    (gap,) = at_position(mockup, Position())
    holds(gap, 100.0)
    assert gap.per_mm["overall_diameter"] == pytest.approx(-0.5, abs=1e-4)


LEANING = Straight(cycle=Cycle(bump_mm=(-40.0, 60.0)), camber_deg_per_mm=0.15, along_mm_per_mm=0.3)


@pytest.mark.parametrize(
    ("corners", "skin", "tolerance"),
    [
        ([(-400, -300, 300), (400, -300, 500), (400, 300, 500)], 0.0, 2.0),
        ([(-200, -300, 336.83), (300, 200, 476.83), (300, 210, 476.83)], 0.0, 0.5),
        ([(-200, -300, 336.83), (300, 200, 476.83), (300, 210, 476.83)], 0.0, 2.0),
        ([(-400, -300, 307), (400, -300, 507), (400, 300, 507)], 5.0, 2.0),
    ],
)
def test_whether_it_touches_is_worth_another_look(corners, skin, tolerance):
    """A wheel that leans as it goes up, half a millimetre or a twentieth short of a leaning sheet. A bracket as wide as
    was asked would leave open whether it touches: it is made narrower until it does not."""
    part = Part(name="sheet", kind="mesh", triangles_mm=np.array([corners], float), required_mm=9.0, skin_mm=skin)
    mockup = mock_up(part, suspension=LEANING)
    (gap,) = over_cycle(mockup, tolerance_mm=tolerance)
    assert gap.verdict == TIGHT
    # the sheet at one position, in squares of 3 mm or less: what is sampled is no nearer, and not half of that further
    share = np.linspace(0.0, 1.0, 301)
    one, two = (grid.ravel() for grid in np.meshgrid(share, share))
    mix = np.stack([1.0 - one, one * (1.0 - two), one * two], axis=-1)
    hub = LEANING.pose(np.array([[60.0, 0.0, 0.0]]), "hub")
    places = (mix @ np.array(corners, float) - hub.origin_mm[0]) @ hub.turn[0]
    shown = float(mockup.solid.distance(places).min()) - skin
    assert gap.at_least_mm <= shown
    assert gap.at_most_mm == pytest.approx(shown, abs=0.05)


def test_a_skin_is_taken_off_both_ends_and_chords_off_the_lower_alone():
    (bare,) = over_cycle(mock_up(roof(400.0)))
    thick = replace(roof(400.0), skin_mm=7.0)
    (gap,) = over_cycle(mock_up(thick))
    holds(gap, 13.0)
    # its surface is that much nearer to the tire, where it rests it is where it was given
    assert gap.on_part_mm[2] == pytest.approx(393.0)
    assert gap.at_rest_mm[2] == pytest.approx(400.0)
    (drawn,) = over_cycle(mock_up(replace(roof(400.0), drawn_mm=0.02)))
    holds(drawn, 20.0)
    assert drawn.at_least_mm <= 20.0 - 0.02 + 1e-6
    assert drawn.at_most_mm == pytest.approx(bare.at_most_mm, abs=0.05)


def test_a_rod_over_the_tread_is_as_near_as_its_own_radius_leaves():
    (gap,) = over_cycle(mock_up(bar(Tag(name="rod"), points_mm=[(0, -300, 420), (0, 300, 420)], diameter_mm=24.0)))
    holds(gap, 420.0 - 12.0 - 380.0)


def test_a_plate_that_the_tire_reaches_is_hit_by_so_much():
    (gap,) = over_cycle(mock_up(roof(370.0)))
    holds(gap, -10.0, wide=0.5)
    assert gap.verdict == HITS


@pytest.mark.parametrize("bump", [-40.0, 0.0, 35.0])
def test_at_one_position_the_wheel_stands_there(bump):
    mockup = mock_up(roof(400.0, "one"), roof(500.0, "other"))
    one, other = at_position(mockup, Position(bump_mm=bump))
    holds(one, 80.0 - bump)
    holds(other, 180.0 - bump)
    assert one.position.bump_mm == bump
    (named,) = at_position(mockup, Position(bump_mm=bump), parts=["other"])
    assert (named.part, named.at_most_mm) == ("other", other.at_most_mm)
    (rough,) = at_position(mockup, Position(bump_mm=bump), parts=["other"], tolerance_mm=2.0)
    assert rough.tolerance_mm == 2.0


def test_parts_are_measured_in_their_order_or_as_they_are_named_and_progress_counts_them():
    mockup = mock_up(roof(400.0, "a"), roof(450.0, "b"), roof(500.0, "c"))
    told: list[tuple[int, int, str]] = []
    found = over_cycle(mockup, progress=lambda done, of, what: told.append((done, of, what)))
    assert [gap.part for gap in found] == ["a", "b", "c"]
    assert {of for _, of, _ in told} <= {3}
    assert all(0 <= done < 3 and f"measuring {'abc'[done]}: between " in what for done, _, what in told)
    assert [gap.part for gap in over_cycle(mockup, parts=["c", "a"])] == ["c", "a"]
    for asked in (lambda: over_cycle(mockup, parts=["d"]), lambda: at_position(mockup, Position(), parts=["d"])):
        with pytest.raises(PartError):
            asked()


def test_a_search_that_is_cut_short_says_so_and_holds():
    tilted = plate(Tag(name="tilted"), corners_mm=[(-400, -300, 300), (400, -300, 500), (400, 300, 500)])
    steered = Straight(cycle=Cycle(bump_mm=(-40.0, 60.0)), camber_deg_per_mm=-0.02)
    mockup = mock_up(tilted, suspension=steered)
    (short,), (full,) = over_cycle(mockup, work=1), over_cycle(mockup)
    assert full.finished
    assert not short.finished
    assert short.at_least_mm <= full.at_most_mm
    assert short.at_most_mm >= full.at_least_mm


def test_play_is_taken_up_at_the_witness():
    shift = Shift(inboard_mm=3.0, outboard_mm=5.0)
    mockup = mock_up(
        wall(Tag(name="in"), reach_mm=900.0, inboard_mm=180.0),
        wall(Tag(name="out"), reach_mm=900.0, outboard_mm=100.0),
        suspension=Straight(cycle=Cycle(bump_mm=(-40.0, 60.0), shift=shift)),
    )
    inner, outer = over_cycle(mockup)
    holds(inner, 17.0)
    holds(outer, 15.0)
    assert inner.shift_mm == pytest.approx((0.0, -3.0), abs=0.06)
    assert outer.shift_mm == pytest.approx((0.0, 5.0), abs=0.06)


def test_a_crate_around_the_wheel_swallows_it_and_says_by_how_much_it_must_move():
    """Nothing is known from below; out of the crate the wheel must pass its side: at least its own least width more."""
    crate = box(Tag(name="crate"), min_mm=(-900.0, -900.0, -900.0), max_mm=(900.0, 900.0, 900.0))
    (gap,) = over_cycle(mock_up(crate))
    assert gap.swallowed
    assert gap.at_least_mm == -math.inf
    assert gap.verdict == HITS
    # up 900 - 380 = 520 to the lid, then all of the 240 that it is wide
    assert gap.at_most_mm == pytest.approx(-(520.0 + 240.0), abs=0.06)


def test_a_crate_that_all_but_touches_swallows_it_too():
    """Its lid half a millimetre over the tread at full bump: out of it the wheel must pass that and its own width."""
    crate = box(Tag(name="crate"), min_mm=(-900.0, -900.0, -900.0), max_mm=(900.0, 900.0, 380.5))
    (gap,) = over_cycle(mock_up(crate))
    assert gap.at_most_mm == pytest.approx(-(0.5 + 240.0), abs=0.06)


def test_a_roller_wider_than_its_radius_is_as_thin_as_it_is_wide():
    """390 high and 210 wide: less than its height, more than its radius."""
    crate = box(Tag(name="crate"), min_mm=(-900.0, -900.0, -900.0), max_mm=(900.0, 900.0, 900.0))
    low = Tire(overall_diameter_mm=390.0, section_width_mm=210.0, tread_width_mm=170.0, rim_diameter_in=10)
    small = Wheel(diameter_in=10.0, width_in=7.0, offset_mm=40.0)
    (gap,) = over_cycle(
        MockUp(title="t", corner="rear-left", tire=low, wheel=small, suspension=STRAIGHT, parts=(crate,))
    )
    assert gap.at_most_mm == pytest.approx(-(900.0 - 195.0 - 60.0 + 210.0), abs=0.06)


def test_a_crate_swallows_however_the_corners_of_its_triangles_are_counted():
    """A tetrahedron, the point in its tip: the tip is no triangle's first corner."""
    tip, a, b, c = np.array([[-1000.0, 0, 0], [100, -100, -100], [100, 300, -100], [100, -100, 300]])
    part = Part(name="t", kind="mesh", triangles_mm=np.array([[a, b, tip], [b, c, tip], [c, a, tip], [a, c, b]]))
    assert swallows(part, a, np.array([-200.0, 10.0, 10.0]))
    assert not swallows(part, a, np.array([-200.0, 100.0, 100.0]))
    other = replace(part, triangles_mm=-part.triangles_mm)
    assert swallows(other, -a, np.array([200.0, -10.0, -10.0]))
    assert not swallows(other, -a, np.array([200.0, -100.0, -100.0]))


def test_on_the_border_of_a_crate_is_not_inside_it():
    crate = box(Tag(name="b"), min_mm=(-100.0,) * 3, max_mm=(100.0,) * 3)
    for axis, side in [(0, -100.0), (1, 100.0), (2, -100.0)]:
        assert not swallows(crate, crate.triangles_mm[0, 0], np.eye(3)[axis] * side)


@pytest.mark.parametrize("at", [(0.0, 0.0, 0.0), (30.0, -60.0, 90.0)])
def test_only_a_closed_surface_around_a_point_swallows_it(at):
    """The solid angle of a box from inside is 4 pi, of a box without a side 4 pi less that side's: 2 pi / 3 from the
    middle of a cube."""
    corners = np.array(box(Tag(name="b"), min_mm=(-100.0,) * 3, max_mm=(100.0,) * 3).triangles_mm)
    whole = Part(name="b", kind="box", triangles_mm=corners)
    assert swallows(whole, corners[0, 0], np.array(at))
    assert swallows(replace(whole, triangles_mm=corners[:, ::-1]), corners[0, 0], np.array(at))
    for outside in ((101.0, 0.0, 0.0), (0.0, -101.0, 0.0), (0.0, 0.0, 300.0)):
        assert not swallows(whole, corners[0, 0], np.array(outside))
    for lacking in range(len(corners)):
        assert not swallows(
            replace(whole, triangles_mm=np.delete(corners, lacking, axis=0)), corners[0, 0], np.array(at)
        )
    away = np.array([1000.0, 2000.0, -500.0])
    moved = replace(whole, triangles_mm=corners + away)
    assert swallows(moved, moved.triangles_mm[0, 0], np.array(at) + away)


# ---- maps


@pytest.mark.parametrize("edge", [None, 40.0])
def test_a_map_of_a_wall_says_at_every_vertex_what_many_heights_say(edge):
    """A wall 20 mm off the tire's side: at a vertex, the least of the distances to the wheel at 401 heights."""
    sheet = rectangle((-450.0, -180.0, -100.0), (900.0, 0.0, 0.0), (0.0, 0.0, 600.0))
    part = Part(name="w", kind="wall", triangles_mm=sheet)
    told: list[tuple[int, int]] = []
    vertices, faces, least = over_vertices(
        mock_up(part), part, edge_mm=edge, progress=lambda done, of: told.append((done, of))
    )
    solid = mock_up(part).solid
    shown = np.min([solid.distance(vertices - [0.0, 0.0, up]) for up in np.linspace(-40.0, 60.0, 401)], axis=0)
    # a quarter of a millimetre between heights; docs/how-gaps-are-measured.md: a few hundredths, at most a millimetre
    assert np.all(least >= shown - 0.13)
    assert np.all(least <= shown + 1.0)
    assert np.median(least - shown) <= 0.05
    assert least.min() == pytest.approx(20.0, abs=0.1) or edge is None
    assert told
    assert told[-1][0] <= told[-1][1]
    corners = vertices[faces]
    sides = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2)
    assert sides.max() <= (edge or math.hypot(900.0, 600.0)) + 1e-9
    a, b, c = np.moveaxis(corners, 1, 0)
    assert np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2 == pytest.approx(900.0 * 600.0)
    # a place is one vertex, however many triangles meet there, and no more are cut than asked for
    assert len(np.unique(vertices, axis=0)) == len(vertices)
    assert len(faces) == 2 if edge is None else sides.max(axis=1).min() > edge / 4


def test_a_map_takes_the_skin_off():
    part = replace(roof(400.0), skin_mm=7.0)
    _, _, least = over_vertices(mock_up(part), part, edge_mm=60.0)
    assert least.min() == pytest.approx(13.0, abs=0.5)
    assert least.min() >= 13.0 - 1e-4


def test_a_map_of_what_two_ends_carry_cuts_the_shares_with_the_triangles():
    """A strut from the body to the knuckle: where it is cut, each piece's corners move by their own share. Its far end
    follows the wheel, so over the cycle it keeps its gap, and the near end does not."""
    rod = bar(
        Tag(name="strut", rides_on="body"),
        points_mm=[(0, -230, 500), (0, -230, 0)],
        diameter_mm=20.0,
        far_frame="knuckle",
    )
    whole, _, plain = over_vertices(mock_up(rod), rod)
    finer, _, cut = over_vertices(mock_up(rod), rod, edge_mm=13.0)
    assert len(finer) > 3 * len(whole)
    order = np.argsort(finer[:, 2])
    there = np.interp(whole[:, 2], finer[order, 2], cut[order])
    assert there == pytest.approx(plain, abs=0.3)
    assert over_cycle(mock_up(rod))[0].verdict == CLEARS


@pytest.mark.parametrize("near", [22.0, 30.0, 60.0])
def test_a_map_of_what_is_near_leaves_out_nothing_that_is(near):
    """A slanting roof: with the far triangles left out, every nearer vertex stands where it stood."""
    low, high = (-700.0, 335.0), (700.0, 465.0)
    corners = [(low[0], -500.0, low[1]), (high[0], -500.0, high[1]), (high[0], 500.0, high[1]), (low[0], 500.0, low[1])]
    part = plate(Tag(name="slant"), corners_mm=corners)
    vertices, _, whole = over_vertices(mock_up(part), part, edge_mm=25.0)
    some, faces, least = over_vertices(mock_up(part), part, edge_mm=25.0, nearer_than_mm=near)
    row = {tuple(np.round(place, 6)): gap for place, gap in zip(some, least, strict=True)}
    close = whole < near
    assert close.any()
    assert all(
        row[tuple(np.round(place, 6))] == pytest.approx(gap, abs=0.05)
        for place, gap in zip(vertices[close], whole[close], strict=True)
    )
    assert len(faces) < 0.7 * 2 * len(vertices)


def test_the_least_of_several_settings_is_the_least_of_each_alone():
    """What is asked together (three plays of one stop, say) is what is asked one by one, to the tolerance."""
    mockup = mock_up(roof(400.0))
    seen = seen_by(mockup, mockup.parts[0])
    heights = np.linspace(-40.0, 60.0, 7)
    settings = seen.settings(np.column_stack([heights, 0 * heights, 0 * heights]))
    pairs = np.stack([settings, settings[::-1]], axis=1)
    triangles = mockup.parts[0].triangles_mm
    (alone,) = least_at_settings([AtSettings(triangles=triangles, path=seen.path, settings=settings)], mockup.solid)
    assert alone == pytest.approx(400.0 - 320.0 - heights, abs=0.11)
    (both,) = least_at_settings([AtSettings(triangles=triangles, path=seen.path, settings=pairs)], mockup.solid)
    assert both == pytest.approx(np.minimum(alone, alone[::-1]), abs=0.11)
