"""Zones of shipped corners against what is certified about its parts, and against trimesh."""

from __future__ import annotations

from pathlib import Path

import pytest
import trimesh

from clearance.description.load import load
from clearance.gap.cycle import over_cycle
from clearance.gap.found import Gap
from clearance.zones.body import body_of
from clearance.zones.zone import zones_of

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"


def deepest_of(name: str) -> tuple[dict[str, float], dict[str, Gap]]:
    """The least gap told by the zones of each part, and the certified gap of every part."""
    mockup = load(CORNERS / f"{name}.toml")
    deepest: dict[str, float] = {}
    for zone in zones_of(mockup):
        deepest[zone.part] = min(zone.least_mm, deepest.get(zone.part, zone.least_mm))
    return deepest, {gap.part: gap for gap in over_cycle(mockup)}


@pytest.fixture(scope="module")
def heron():
    return deepest_of("heron-roadster-front")


@pytest.mark.slow
@pytest.mark.parametrize("part", ["well inner wall", "well front", "well rear", "lip", "splash plate"])
def test_the_deepest_zone_of_a_steered_corners_part_is_its_certified_gap(heron, part):
    """Never less than proven, and within 0.5 mm of the gap's witness."""
    deepest, gaps = heron
    assert gaps[part].at_least_mm - 1e-6 <= deepest[part]
    assert deepest[part] == pytest.approx(gaps[part].at_most_mm, abs=0.5)


@pytest.mark.slow
def test_parts_with_a_surface_have_zones_where_they_are_too_close_and_nowhere_else(heron):
    """The sway bar is a line with a skin: it has no area, so its gap alone tells that it is too close."""
    deepest, gaps = heron
    short = {name for name, gap in gaps.items() if gap.at_most_mm < gap.required_mm}
    assert "sway bar" in short
    assert set(deepest) == short - {"sway bar"}


def test_a_corner_that_clears_all_round_has_no_zones():
    deepest, gaps = deepest_of("orchard-pickup-rear")
    assert all(gap.at_least_mm >= gap.required_mm for gap in gaps.values())
    assert deepest == {}


def test_a_part_that_is_certified_to_clear_has_no_zones():
    """The coupe's inner wall clears by 2 mm more than required wherever its axle can tilt to."""
    deepest, gaps = deepest_of("tern-coupe-rear")
    assert set(deepest) == {name for name, gap in gaps.items() if gap.at_most_mm < gap.required_mm}


def test_every_zone_says_its_place_by_the_clock_and_has_a_watertight_body():
    zones = zones_of(load(CORNERS / "scanned-well-rear.toml"))
    assert zones
    for zone in zones:
        assert "o'clock" in zone.where
        assert "o'clock" in zone.text
        mesh = trimesh.Trimesh(*body_of(zone), process=True)
        assert mesh.is_watertight
        assert mesh.volume > 0
