"""What nobody measured widens a gap by so much and no more: sums by hand. Lengths mm.

The tire is 640 high and 240 wide, its middle 40 inboard of the hub face. It goes straight up 60 and down 40, so that
its top comes to 380 and its outer side is at 80.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from clearance.gap.cycle import over_cycle
from clearance.gap.found import HITS, TIGHT, UNDECIDED, Gap
from clearance.gap.still import at_position
from clearance.mockup.mockup import MockUp
from clearance.suspension.by_travel import WheelByTravel
from clearance.suspension.position import Cycle, Position
from clearance.suspension.straight import Straight
from clearance.suspension.unmeasured import Unmeasured
from clearance.tire.tire import Tire
from clearance.well.part import Hole, Part
from clearance.well.parts import Tag, plate, wall
from clearance.wheel.wheel import Wheel

TIRE = Tire(overall_diameter_mm=640.0, section_width_mm=240.0, tread_width_mm=200.0, rim_diameter_in=17)
WHEEL = Wheel(diameter_in=17.0, width_in=8.0, offset_mm=40.0)
CYCLE = Cycle(bump_mm=(-40.0, 60.0))


def mock_up(*parts: Part, suspension: object = None) -> MockUp:
    suspension = suspension or Straight(cycle=CYCLE)
    return MockUp(title="t", corner="rear-left", tire=TIRE, wheel=WHEEL, suspension=suspension, parts=parts)  # type: ignore[arg-type]


def roof(height: float, **more: object) -> Part:
    """A level plate well past the tire on all sides."""
    corners = [(-900.0, -500.0, height), (900.0, -500.0, height), (900.0, 500.0, height), (-900.0, 500.0, height)]
    return replace(plate(Tag(name="roof", required_mm=25.0), corners_mm=corners), **more)


def holds(low: float, high: float, exact: float, wide: float = 0.05, off: float = 1e-6) -> None:
    assert low - off <= exact <= high + off
    assert high - low <= wide + 1e-3


# ---- holes of a scan


def hole(height: float, stands_out: float, *, triangles: int = 2) -> Hole:
    """A level cap over the middle of the tread, from 4 mm ahead of its highest line to 4 mm behind: in strips."""
    x = np.linspace(-4.0, 4.0, triangles + 1)
    strips = [[(a, -44.0, height), (b, -44.0, height), (b, -36.0, height)] for a, b in pairwise(x)]
    return Hole(
        triangles_mm=np.array([*strips, [(-4.0, -40.0, height), (4.0, -40.0, height), (0.0, -36.0, height)]]),
        across_mm=(8.0, 8.0), area_mm2=64.0, middle_mm=np.array([0.0, -40.0, height]), stands_out_mm=stands_out,
    )  # fmt: skip


def test_holes_bring_the_lower_end_down_to_what_the_nearest_could_hide():
    """The roof is 20 over the tread. Caps 25, 27.8, 18 and 40 over it hide things that stand out 8, 8, 4 and 8: 17,
    19.8, 14 and 32 off the tread; the last is no nearer than the roof."""
    holes = (hole(405.0, 8.0), hole(407.8, 8.0, triangles=5), hole(398.0, 4.0, triangles=1), hole(420.0, 8.0))
    (gap,) = over_cycle(mock_up(roof(400.0, holes=holes)))
    assert [one.middle_mm[2] for one in gap.hidden] == [398.0, 405.0, 407.8]
    for one, exact in zip(gap.hidden, (14.0, 17.0, 19.8), strict=True):
        # what a hole could hide is asked for to half a millimetre
        assert exact - 0.5 - 1e-3 <= one.at_least_mm <= exact + 1e-6
    assert gap.at_least_mm == gap.hidden[0].at_least_mm
    assert gap.at_most_mm == pytest.approx(20.0, abs=0.05)
    assert gap.verdict == TIGHT
    assert replace(gap, required_mm=18.0).verdict == UNDECIDED


def test_holes_that_could_hide_nothing_nearer_are_not_spoken_of():
    (gap,) = over_cycle(mock_up(roof(400.0, holes=(hole(420.0, 8.0), hole(412.0, 5.0)))))
    assert gap.hidden == ()
    holds(gap.at_least_mm, gap.at_most_mm, 20.0)


@pytest.mark.parametrize("height", [400.0, 380.5])
def test_of_a_cloud_that_may_have_holes_nothing_is_known_from_below(height):
    (gap,) = over_cycle(mock_up(roof(height, unseen=True)))
    assert gap.unseen
    assert gap.at_least_mm == -math.inf
    assert gap.at_most_mm == pytest.approx(height - 380.0, abs=0.05)


def test_what_hits_needs_no_hole_to_hit():
    for part in (roof(370.0, unseen=True), roof(370.0, holes=(hole(365.0, 8.0),))):
        (gap,) = over_cycle(mock_up(part))
        assert gap.verdict == HITS
        assert (gap.hidden, gap.unseen) == ((), False)
        holds(gap.at_least_mm, gap.at_most_mm, -10.0, wide=0.5)


# ---- links


LOOSE = Unmeasured(
    ahead_mm=2.0, behind_mm=1.0, inboard_mm=3.0, outboard_mm=5.0, turn_deg=1.0, words=("The links were not measured.",)
)


def loosely(*parts: Part, unmeasured: Unmeasured = LOOSE) -> MockUp:
    return mock_up(*parts, suspension=WheelByTravel(measured=CYCLE, unmeasured=unmeasured))


def beside(**more: object) -> Part:
    """A wall 20 off the tire's outer side."""
    return replace(wall(Tag(name="beside"), reach_mm=900.0, outboard_mm=100.0), **more)


def swung_mm(mockup: MockUp) -> float:
    """The chord of one degree as far from the hub as any point of the outline is."""
    outline = mockup.solid.profile.outline(0.001)
    return 2.0 * math.sin(math.radians(0.5)) * float(np.hypot(outline[:, 0], outline[:, 1]).max())


def test_at_worst_unmeasured_links_take_off_both_ends_all_that_they_may_do():
    """Over the tread only the turn counts; beside the tire the 5 outboard too. Both are near 6."""
    mockup = loosely(roof(400.0), beside())
    off = swung_mm(mockup)
    assert 5.0 < off < 7.0
    over, at_side = over_cycle(mockup, at_worst=True)
    # by the chords of the outline its reach is known to a thousandth
    holds(over.at_least_mm, over.at_most_mm, 20.0 - off, off=1e-3)
    holds(at_side.at_least_mm, at_side.at_most_mm, 20.0 - 5.0 - off, off=1e-3)
    assert over.unmeasured == at_side.unmeasured == LOOSE.words


def test_as_known_the_upper_end_holds_whatever_the_links_do():
    """No higher than the nominal motion's 20 and all that the links may move it; nor than it is at ride height, where
    they do nothing: there the wall is at 20."""
    mockup = loosely(roof(400.0), beside())
    off = swung_mm(mockup)
    over, at_side = over_cycle(mockup)
    assert over.at_least_mm == pytest.approx(20.0 - off, abs=0.06)
    assert over.at_most_mm == pytest.approx(20.0 + off + math.hypot(2.0, 5.0), abs=0.06)
    assert at_side.at_least_mm == pytest.approx(15.0 - off, abs=0.06)
    assert at_side.at_most_mm == pytest.approx(20.0, abs=0.06)


@pytest.mark.parametrize("rides_on", ["axle", "knuckle"])
def test_what_goes_along_with_the_wheel_is_as_near_as_it_is(rides_on):
    (gap,) = over_cycle(loosely(roof(400.0, rides_on=rides_on)))
    holds(gap.at_least_mm, gap.at_most_mm, 80.0)
    assert gap.unmeasured == ()


def test_at_one_position_links_may_be_off_by_all_of_it_but_not_at_ride_height():
    mockup = loosely(roof(400.0))
    (there,) = at_position(mockup, Position(bump_mm=30.0))
    holds(there.at_least_mm, there.at_most_mm, 50.0 - swung_mm(mockup) - math.hypot(2.0, 5.0), off=1e-3)
    assert there.unmeasured == LOOSE.words
    (here,) = at_position(mockup, Position())
    holds(here.at_least_mm, here.at_most_mm, 80.0)
    assert here.unmeasured == ()


def test_of_a_travel_that_was_not_measured_nothing_is_known_from_below_but_for_what_goes_along():
    unknown = Unmeasured(travel=True, words=("Neither travel nor locks were measured.",))
    for at_worst in (True, False):
        on_body, on_axle, on_knuckle = over_cycle(
            loosely(
                roof(400.0),
                roof(400.0, name="on axle", rides_on="axle"),
                roof(400.0, name="on knuckle", rides_on="knuckle"),
                unmeasured=unknown,
            ),
            at_worst=at_worst,
        )
        for gap in (on_body, on_axle):
            assert (gap.at_least_mm, gap.unmeasured) == (-math.inf, unknown.words)
        assert on_body.at_most_mm == pytest.approx(20.0, abs=0.05)
        holds(on_knuckle.at_least_mm, on_knuckle.at_most_mm, 80.0)
        assert on_knuckle.unmeasured == ()


# ---- how far part and path may be from where they are given


class Fitted(Straight):
    """A motion that was fitted to readings, to 0.7."""

    @property
    def uncertainty_mm(self) -> float:
        return 0.7


def uncertain(**more: object) -> Gap:
    (gap,) = over_cycle(mock_up(roof(400.0, uncertainty_mm=2.0, **more), suspension=Fitted(cycle=CYCLE)))
    return gap


def test_what_rides_on_the_body_is_as_uncertain_as_it_is_and_the_motion_with_it():
    assert uncertain().uncertainty_mm == pytest.approx(2.7)
    for frame in ("axle", "knuckle"):
        assert uncertain(rides_on=frame).uncertainty_mm == 2.0
