"""A second question of the same mock-up: the verdicts of the first way, brackets within the tolerance, safe to drop."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from clearance.answers.changed import with_offset, with_part, with_tire
from clearance.answers.checked import gaps_of, part_spare
from clearance.defaults import TOLERANCE_MM
from clearance.description.load import load
from clearance.gap.cycle import over_cycle
from clearance.gap.memory import Memory
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import seen_by

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"


@pytest.fixture(scope="module")
def pickup() -> MockUp:
    return load(CORNERS / "orchard-pickup-rear.toml")


@pytest.fixture(scope="module")
def at_most_mm(pickup: MockUp) -> dict[str, float]:
    """The upper ends that a check of the pickup finds."""
    return {name: over_cycle(pickup, parts=[name])[0].at_most_mm for name in ("leaf pack", "lip", "shock")}


def larger(mockup: MockUp, by_mm: float) -> MockUp:
    return with_tire(mockup, replace(mockup.tire, overall_diameter_mm=mockup.tire.overall_diameter_mm + by_mm))


def test_brackets_are_as_narrow_and_verdicts_the_same(pickup: MockUp) -> None:
    memory = Memory()
    now = pickup.wheel.offset_mm
    for one in (pickup, with_offset(pickup, now + 4.0), larger(pickup, 9.0), with_offset(larger(pickup, -12.0), now)):
        for kept, anew in zip(over_cycle(one, memory=memory), over_cycle(one), strict=True):
            assert kept.verdict == anew.verdict
            assert kept.finished
            assert kept.at_least_mm <= anew.at_most_mm + 1e-6
            assert anew.at_least_mm <= kept.at_most_mm + 1e-6


@pytest.mark.parametrize("over_mm", [-0.02, 0.0, 0.02, 0.044, 0.06, 0.075, 0.09])
def test_where_a_bracket_straddles_what_is_required_it_is_the_one_of_a_check(
    pickup: MockUp, over_mm: float, at_most_mm: dict[str, float]
) -> None:
    """A required gap laid right beside the true one: there another bracket could be another verdict."""
    memory = Memory()
    over_cycle(with_offset(pickup, pickup.wheel.offset_mm + 2.0), parts=["leaf pack", "lip"], memory=memory)
    for name in ("leaf pack", "lip"):
        part = replace(pickup.part(name), required_mm=at_most_mm[name] - over_mm)
        one = with_part(pickup, part)
        kept, anew = over_cycle(one, parts=[name], memory=memory)[0], over_cycle(one, parts=[name])[0]
        assert kept.verdict == anew.verdict
        assert part_spare(one, name, memory).clears == part_spare(one, name).clears
        assert gaps_of(one, [name], memory=memory)[0].verdict == anew.verdict


def test_a_file_that_is_read_again_is_known_and_a_part_that_moved_is_not(pickup: MockUp) -> None:
    memory = Memory()
    first = over_cycle(pickup, memory=memory)
    read_again = replace(load(CORNERS / "orchard-pickup-rear.toml"), suspension=pickup.suspension)
    again = over_cycle(read_again, memory=memory)
    assert sum(gap.boxes for gap in again) < sum(gap.boxes for gap in first) / 2
    moved = with_part(pickup, pickup.part("lip").moved((0.0, 0.0, 3.0)))
    kept, anew = over_cycle(moved, parts=["lip"], memory=memory)[0], over_cycle(moved, parts=["lip"])[0]
    assert (kept.at_least_mm, kept.at_most_mm, kept.boxes) == (anew.at_least_mm, anew.at_most_mm, anew.boxes)


def test_what_was_stopped_in_the_middle_is_forgotten(pickup: MockUp) -> None:
    """Half of a search covers half of the places: to begin with it would leave the others out."""
    memory, part = Memory(), pickup.part("shock")
    over_cycle(pickup, parts=["shock"], memory=memory)

    def stopped() -> None:
        with memory.lent(pickup, part) as entry:
            assert entry.kept
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stopped()
    with memory.lent(pickup, part) as entry:
        assert not entry.kept


def test_where_an_upper_end_leaves_room_a_closer_look_at_what_is_kept_tells(
    pickup: MockUp, at_most_mm: dict[str, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    """0.07 mm beyond what is required any bracket of 0.05 mm clears, so nothing is searched from the beginning."""
    memory = Memory()
    over_cycle(with_offset(pickup, pickup.wheel.offset_mm + 2.0), parts=list(at_most_mm), memory=memory)
    required = {name: most_mm - 0.07 for name, most_mm in at_most_mm.items()}
    anew: list[str] = []
    monkeypatch.setattr(
        "clearance.gap.cycle.seen_by", lambda mockup, part: anew.append(part.name) or seen_by(mockup, part)
    )
    for name, most_mm in required.items():
        one = with_part(pickup, replace(pickup.part(name), required_mm=most_mm))
        (kept,) = over_cycle(one, parts=[name], memory=memory)
        assert kept.verdict == "clears"
        assert kept.tolerance_mm == TOLERANCE_MM
        assert kept.at_most_mm - kept.at_least_mm <= TOLERANCE_MM
    assert not anew
    one = with_part(pickup, replace(pickup.part("lip"), required_mm=required["lip"] + 0.05))
    over_cycle(one, parts=["lip"], memory=memory)
    assert anew == ["lip"]


def test_no_more_boxes_are_kept_than_it_may_have_and_the_brackets_stay(pickup: MockUp) -> None:
    """The pickup's parts leave some 5,000 boxes; of a memory for 1,500 the parts that were asked last are in it."""
    whole, small = Memory(), Memory(most_boxes=1500)
    free = over_cycle(pickup, memory=whole)
    held = over_cycle(pickup, memory=small)
    assert whole.boxes > 3000
    assert 0 < small.boxes <= 1500
    assert [(gap.at_least_mm, gap.at_most_mm) for gap in held] == [(gap.at_least_mm, gap.at_most_mm) for gap in free]
    assert small.knows(pickup, pickup.parts[-1])
    assert not small.knows(pickup, pickup.parts[0])
