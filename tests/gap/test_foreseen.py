"""What is foreseen of a gap holds the certified one between its ends: for other wheels, and on the way to one."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from clearance.answers.changed import with_offset, with_part, with_tire
from clearance.answers.checked import binding, gaps_of, part_spare, spare_mm, spare_of, tightest
from clearance.description.load import load
from clearance.gap.cycle import over_cycle
from clearance.gap.foreseen import foreseen_gap
from clearance.gap.memory import Memory
from clearance.mockup.mockup import MockUp
from clearance.well.parts import Tag, box

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"


@pytest.fixture(scope="module")
def pickup() -> MockUp:
    return load(CORNERS / "orchard-pickup-rear.toml")


@pytest.fixture(scope="module")
def memory(pickup: MockUp) -> Memory:
    memory = Memory()
    over_cycle(pickup, memory=memory, tolerance_mm=0.4)
    return memory


def others(mockup: MockUp) -> list[MockUp]:
    now, tire = mockup.wheel.offset_mm, mockup.tire
    narrow = replace(
        tire, section_width_mm=tire.section_width_mm - 9.0, overall_diameter_mm=tire.overall_diameter_mm - 14
    )
    return [mockup, with_offset(mockup, now - 17.0), with_offset(mockup, now + 11.0), with_tire(mockup, narrow)]


def test_both_ends_hold_what_a_check_finds(pickup: MockUp, memory: Memory) -> None:
    for one in others(pickup):
        for gap in over_cycle(one):
            found = foreseen_gap(one, one.part(gap.part), memory)
            assert found.at_least_mm <= gap.at_most_mm + 1e-6
            assert found.at_most_mm() >= gap.at_least_mm - 1e-6
            # the kept planes are of this corner: for its own wheel they tell nearly all
            assert one is not pickup or found.at_most_mm() - found.at_least_mm < 21.5


def test_nothing_is_foreseen_of_what_was_not_looked_at_nor_from_below_of_what_has_holes(pickup: MockUp) -> None:
    lip = pickup.part("lip")
    unknown = foreseen_gap(pickup, lip, Memory())
    assert (unknown.at_least_mm, unknown.at_most_mm()) == (-math.inf, math.inf)
    cloud = with_part(pickup, replace(lip, unseen=True))
    kept = Memory()
    over_cycle(cloud, parts=["lip"], memory=kept)
    found = foreseen_gap(cloud, cloud.part("lip"), kept)
    assert found.at_least_mm == -math.inf
    assert math.isfinite(found.at_most_mm())


def test_a_closed_part_that_holds_the_wheel_is_not_taken_for_room(pickup: MockUp) -> None:
    """A box of 4 m about everything: no surface is near, and the wheel is inside."""
    around = box(Tag(name="crate", required_mm=5.0), min_mm=(-2e3, -2e3, -2e3), max_mm=(2e3, 2e3, 2e3))
    inside = replace(pickup, parts=(around,))
    kept = Memory()
    (gap,) = over_cycle(inside, memory=kept)
    assert gap.swallowed
    assert foreseen_gap(inside, around, kept).at_least_mm == -math.inf
    assert not part_spare(inside, "crate", kept).clears


@pytest.mark.parametrize("way_mm", [-40.0, 25.0])
def test_what_the_planes_of_both_ends_prove_holds_on_the_whole_way(
    pickup: MockUp, memory: Memory, way_mm: float
) -> None:
    """Between two offsets the gap keeps a line, but for the shares at either end that are said to be open."""
    begins, ends = pickup, with_offset(pickup, pickup.wheel.offset_mm + way_mm)
    proven = 0
    for part in pickup.parts:
        here, there = foreseen_gap(begins, part, memory), foreseen_gap(ends, part, memory)
        least = [gaps_of(one, (part.name,))[0].at_most_mm for one in (begins, ends)]
        line = min(least) - 4.0
        open_here, open_there = here.open_ends(there, line)
        for share in (0.0, 0.3, 0.7, 1.0):
            if open_here <= share <= 1.0 - open_there:
                proven += 1
                one = with_offset(pickup, pickup.wheel.offset_mm + share * way_mm)
                assert gaps_of(one, (part.name,))[0].at_most_mm >= line - 1e-6, (part.name, share)
    assert proven > 6


def test_a_wheel_of_another_offset_reaches_no_further_than_in_proportion(pickup: MockUp) -> None:
    """What `open_ends` rests on, where the face is clamped and the hub's face stands inboard of the whole rim too."""
    angle = np.linspace(0.0, np.pi, 181)
    across, away = np.cos(angle), np.sin(angle)
    half = pickup.wheel.overall_width_mm / 2
    for low, high in ((-60.0, 20.0), (-half - 30.0, -20.0), (20.0, half + 40.0), (-half - 40.0, half + 60.0)):
        begins, ends = (with_offset(pickup, offset).solid.chain.support(across, away) for offset in (low, high))
        for share in (0.1, 0.35, 0.5, 0.8):
            between = with_offset(pickup, low + share * (high - low)).solid.chain.support(across, away)
            assert np.all(between <= (1.0 - share) * begins + share * ends + 1e-9), (low, high, share)


def test_the_least_spare_and_the_tightest_part_are_those_of_a_check(pickup: MockUp) -> None:
    kept = Memory()
    for one in others(pickup):
        gaps = gaps_of(one)
        found = spare_of(one, memory=kept)
        assert found.clears == all(spare_mm(gap) >= 0.0 for gap in gaps)
        assert found.low <= min(gap.at_most_mm - gap.required_mm for gap in gaps) + 1e-6
        assert found.high >= min(map(spare_mm, gaps)) - 1e-6
        assert tightest(one, kept).part == binding(gaps).part
