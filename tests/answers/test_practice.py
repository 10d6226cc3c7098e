"""Worked cases of people doing this job, retold with what is known of each (common practice, no published source)."""

from dataclasses import replace

import pytest

from clearance.answers.changed import with_tire
from clearance.answers.checked import all_clear, gaps_of, spare_mm
from clearance.answers.compare import compare, left_right, sides_of
from clearance.answers.least_change import least_change
from clearance.answers.relief import relief
from clearance.answers.window import window
from clearance.mockup.mockup import MockUp
from clearance.suspension.position import Cycle
from clearance.suspension.straight import Straight
from clearance.terms import Limits, Tape, Terms
from clearance.tire.mounted import tire_for
from clearance.well.lip import lip
from clearance.well.parts import Tag, wall
from clearance.well.tub import Crown, Taper, tub
from clearance.wheel.wheel import Wheel

IN = 25.4
REACH_MM = 800.0


def leaf_compact(required_in=0.5):
    """Rear of a leaf-sprung compact: 275/60R15 on 15 x 8 with 4 1/2 in backspace.

    Hub face to spring and to inner well 5 7/8 in, to lip 6 1/8 in; the well is 12 in wide at the bottom and 11 1/2 in
    four inches higher: half of that is taken to be the inner wall's, which leans toward the tire.
    """
    keep = required_in * IN
    well = tub(
        Tag(name="well", required_mm=keep),
        reach_mm=REACH_MM,
        inner_mm=5.875 * IN,
        taper=Taper(low_mm=0.0, high_mm=4 * IN, high_inner_mm=5.625 * IN),
        crown=Crown(height_mm=560.0),
        outer_mm=6.125 * IN,
    )
    spring = wall(
        Tag(name="leaf spring", required_mm=keep, rides_on="axle"),
        reach_mm=REACH_MM,
        inboard_mm=5.875 * IN,
        above_mm=20.0,
        below_mm=70.0,
    )
    edge = lip(
        Tag(name="lip", required_mm=keep),
        outboard_mm=6.125 * IN,
        centre_mm=(0.0, 60.0),
        radius_mm=300.0,
        return_depth_mm=0.5 * IN,
    )
    return MockUp(
        title="leaf-sprung compact",
        corner="rear-left",
        tire=tire_for("275/60R15", rim_width_in=8.0),
        wheel=Wheel(diameter_in=15, width_in=8, offset_mm=0.0),
        suspension=Straight(cycle=Cycle(bump_mm=(-50.0, 60.0))),
        parts=(*well, spring, edge),
    )


def by_name(mockup):
    return {gap.part: gap for gap in gaps_of(mockup)}


def test_the_leaf_compacts_section_is_what_the_story_says():
    """275/60R15 is 279 mm wide on 8 in; 4 1/2 in backspace on 15 x 8 is offset 0 (the trade's plus one inch)."""
    mockup = leaf_compact()
    assert mockup.tire.section_width_mm == pytest.approx(279.0, abs=0.5)
    assert mockup.wheel.backspace_mm == pytest.approx(4.5 * IN)


def test_the_leaf_compact_has_about_half_an_inch_to_the_spring_at_rest():
    """5 7/8 in less half of 279 mm is 9.7 mm, 3/8 in: the story's "about half an inch" as a tape reads it."""
    gap = by_name(leaf_compact())["leaf spring"]
    assert gap.at_least_mm == pytest.approx(5.875 * IN - 279 / 2, abs=0.3)
    assert 0.3 * IN <= gap.at_least_mm <= 0.6 * IN


def test_at_best_the_leaf_compact_has_half_an_inch_on_each_side():
    """12 in from spring to lip less 279 mm is 25.8 mm, 12.9 each side: the half inch of the story, at offset -3.2 mm.

    Asked to keep half an inch, the window is what is left over, 0.4 mm of offset about that middle.
    """
    mockup = leaf_compact()
    sides = (
        mockup.part("leaf spring"),
        wall(Tag(name="lip plumb line", required_mm=0.5 * IN), reach_mm=REACH_MM, outboard_mm=6.125 * IN),
    )
    (stretch,) = window(replace(mockup, parts=sides), Limits(), widths_in=[8.0]).widths[0].stretches
    middle = (5.875 - 6.125) * IN / 2
    assert stretch.least.offset_mm <= middle <= stretch.most.offset_mm + 0.05
    # exactly 0.43 wide; both ends rounded inward to a tenth and by the bracket's 0.05
    assert 0.1 <= stretch.width_mm <= 0.43
    assert {stretch.least.binds.part, stretch.most.binds.part} == {"leaf spring", "lip plumb line"}


def test_the_leaf_gap_does_not_change_with_travel_and_the_body_gaps_do():
    """The spring rides on the axle; the well stays with the body."""
    mockup = leaf_compact()
    still = replace(mockup, suspension=Straight(cycle=Cycle()))
    moving, resting = by_name(mockup), by_name(still)
    # each bracket is 0.05 wide
    assert moving["leaf spring"].at_least_mm == pytest.approx(resting["leaf spring"].at_least_mm, abs=0.06)
    # the crown comes down by the whole 60 mm of bump
    assert resting["well crown"].at_least_mm - moving["well crown"].at_least_mm == pytest.approx(60.0, abs=0.1)
    assert moving["lip"].at_least_mm < resting["lip"].at_least_mm - 0.2


def test_trimming_the_lip_gains_about_its_return():
    """The story: trimming gives about half an inch, the return's own depth."""
    mockup = leaf_compact()
    trimmed = lip(
        Tag(name="lip", required_mm=0.5 * IN),
        outboard_mm=6.125 * IN,
        centre_mm=(0.0, 60.0),
        radius_mm=300.0,
        return_depth_mm=0.0,
    )
    after = replace(mockup, parts=tuple(trimmed if p.name == "lip" else p for p in mockup.parts))
    gain = by_name(after)["lip"].at_least_mm - by_name(mockup)["lip"].at_least_mm
    assert 0.3 * IN <= gain <= 0.5 * IN + 0.6


def coupe(marking, width, backspace_in=None, offset=0.0, rim=None, required=10.0, lip_radius=395.0, lip_out=120.0):
    """Rear of a coupe with a lip over the tire; only the lip and the inner wall matter."""
    tire = tire_for(marking, rim_width_in=width)
    wheel = Wheel(diameter_in=tire.rim_diameter_in, width_in=width, offset_mm=offset)
    if backspace_in is not None:
        wheel = wheel.with_backspace(backspace_in * IN)
    return MockUp(
        title="coupe",
        corner="rear-left",
        tire=tire,
        wheel=wheel,
        suspension=Straight(cycle=Cycle(bump_mm=(-50.0, 60.0))),
        parts=(
            wall(Tag(name="inner wall", required_mm=required), reach_mm=REACH_MM, inboard_mm=165.0),
            lip(
                Tag(name="lip", required_mm=required),
                outboard_mm=lip_out,
                radius_mm=lip_radius,
                return_depth_mm=12.0,
                from_deg=-60.0,
                to_deg=60.0,
            ),
        ),
    )


def test_the_negative_control_fits_with_no_lip_work():
    """A mid-60s coupe, 235/45R17 on 17 x 8 with 4 3/4 in backspace: fits, with nothing to move or to change."""
    mockup = coupe("235/45R17", 8.0, backspace_in=4.75, lip_radius=400.0, lip_out=125.0)
    assert all_clear(gaps_of(mockup))
    assert relief(mockup) == ()
    assert least_change(mockup, Terms(limits=Limits(tire_size=False))).changes == ()
    past = window(mockup, Limits(), widths_in=[8.0]).given_past_mm()
    assert past is not None
    assert past < 0


def test_the_a_b_pair_differs_by_half_an_inch_of_radius_and_that_is_the_trim():
    """225/50R15 on 15 x 7 ET0 needs no trimming, 225/50R16 on 16 x 7 ET0 a slight one.

    12.7 mm of radius by the inches, 12.5 by UN R30's rounded rim diameters (381 and 406).
    """
    small = coupe("225/50R15", 7.0, lip_radius=378.0, lip_out=115.0)
    large = coupe("225/50R16", 7.0, lip_radius=378.0, lip_out=115.0)
    assert (large.tire.overall_diameter_mm - small.tire.overall_diameter_mm) / 2 == pytest.approx(12.7, abs=0.25)
    assert all_clear(gaps_of(small))
    (one,) = relief(large)
    assert one.before.part == "lip"
    # a slight trim: less than the whole difference of radius
    assert 0.0 < min(m.distance_mm for m in one.moves) <= 13.0
    rows = {row.part: row for row in compare(*(sides_of(gaps_of(one), one.suspension.cycle) for one in (small, large)))}
    assert -13.0 <= rows["lip"].change_mm <= -8.0
    # the rim's centre plane and the section are the same, so the inner wall hardly notices
    assert abs(rows["inner wall"].change_mm) < 1.0


def test_an_axle_that_stands_to_one_side_is_told_from_a_panel_that_is_out():
    """Left hub 6 mm further out: spring 6 more and lip 6 less than on a centred car, and the other way on the right."""
    shifted = left_right(Tape(hub_to_spring_mm=155, hub_to_lip_mm=149), Tape(hub_to_spring_mm=143, hub_to_lip_mm=161))
    assert shifted.axle_to_left_mm == pytest.approx(6.0)
    assert shifted.panel_mm == pytest.approx(0.0)
    bent = left_right(Tape(hub_to_spring_mm=149, hub_to_lip_mm=163), Tape(hub_to_spring_mm=149, hub_to_lip_mm=155))
    assert bent.axle_to_left_mm == pytest.approx(0.0)
    assert bent.panel_mm == pytest.approx(4.0)
    assert "left panel" in bent.verdict
    both_out = left_right(Tape(hub_to_spring_mm=155, hub_to_lip_mm=157), Tape(hub_to_spring_mm=143, hub_to_lip_mm=161))
    assert "axle" in both_out.verdict
    assert "panel" in both_out.verdict
    fine = left_right(Tape(hub_to_spring_mm=149, hub_to_lip_mm=156), Tape(hub_to_spring_mm=150, hub_to_lip_mm=155))
    assert fine.verdict.startswith("neither")


def test_a_wider_tire_never_gains_gap():
    mockup = coupe("225/50R15", 7.0)
    wider = with_tire(mockup, replace(mockup.tire, section_width_mm=mockup.tire.section_width_mm + 10.0))
    before = {g.part: spare_mm(g) for g in gaps_of(mockup)}
    for gap in gaps_of(wider):
        assert spare_mm(gap) <= before[gap.part] + 0.06
