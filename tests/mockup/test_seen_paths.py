"""What a part sees of the wheel: where it never moves, the gap is one at every position."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from clearance.description.load import load
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import stands_still

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"


def still_ones(mockup: MockUp) -> set[str]:
    return {part.name for part in mockup.parts if stands_still(mockup, part)}


@pytest.mark.parametrize(
    ("name", "still"),
    [
        ("heron-roadster-front", {"caliper"}),  # on the knuckle, with play and steering
        ("orchard-pickup-rear", {"leaf pack"}),  # on an axle that does not steer; its shock has an end on the body
        ("sorrel-sedan-front", set()),  # an arm and a tie rod move with the wheel, but not as it does
    ],
)
def test_only_what_moves_as_the_wheel_does_stands_still(name, still):
    assert still_ones(load(CORNERS / f"{name}.toml")) == still


def test_on_the_knuckle_of_a_linkage_too():
    """Every number is solved for by iteration there: what is left of it must not count as movement."""
    mockup = load(CORNERS / "sorrel-sedan-front.toml")
    caliper = replace(mockup.part("apron"), name="caliper", rides_on="knuckle")
    assert stands_still(replace(mockup, parts=(caliper,)), caliper)


def test_a_corner_with_one_position_has_no_every_position():
    mockup = load(CORNERS / "orchard-pickup-rear.toml")
    cycle = replace(mockup.suspension.cycle, bump_mm=(0.0, 0.0))
    assert not still_ones(replace(mockup, suspension=replace(mockup.suspension, cycle=cycle)))
