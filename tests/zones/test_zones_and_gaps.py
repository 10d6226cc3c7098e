"""Zones of shipped corners against what is certified about its parts, and against trimesh."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import trimesh
from answers.mockups import between_walls
from zones.test_zones import plate_above

from clearance.description.load import load
from clearance.gap.cycle import over_cycle
from clearance.gap.found import Gap
from clearance.gap.rest import at_rest
from clearance.report.findings import findings_of
from clearance.suspension.position import Position
from clearance.words.check import page
from clearance.words.sentence import deepest_words, gap_words, when_words, zone_sentence
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


@pytest.mark.parametrize("name", ["scanned-well-rear", pytest.param("heron-roadster-front", marks=pytest.mark.slow)])
def test_the_zone_that_a_parts_gap_lies_on_names_the_same_place_and_position(name):
    """One contact has one place: row and zone of the findings, and the words of terminal and page."""
    mockup = load(CORNERS / f"{name}.toml")
    gaps = over_cycle(mockup)
    findings = findings_of(mockup, gaps, zones=zones_of(mockup, gaps=gaps))
    rows = {part["name"]: part for part in findings["parts"]}
    own = [zone for zone in findings["zones"] if zone["deepest"]["of_gap"]]
    assert {zone["part"] for zone in own} == {zone["part"] for zone in findings["zones"]}
    for zone in own:
        row, deepest = rows[zone["part"]], zone["deepest"]
        assert deepest["on_part"] == row["on_part"]
        assert deepest["position"] == row["position"]
        assert deepest["where"] == row["where"]
        assert deepest["gap"] == pytest.approx(row["gap"]["at_most"], abs=1e-4)
        told = deepest_words(zone, findings)
        assert gap_words(row, findings["tolerance"]) in told
        assert when_words(row, findings["cycle"]) in told
        assert told in page(findings, None)


def test_a_zone_of_a_wall_that_is_met_along_a_circle_names_the_circle():
    """Upright wheel, upright endless wall 15 mm from its sidewall, 25 mm to keep: deepest and first alike all round."""
    mockup = between_walls(inboard=150.0, bump=(0.0, 0.0))
    mockup = replace(mockup, parts=(replace(mockup.part("inner wall"), required_mm=200.0),))
    gaps = over_cycle(mockup)
    (zone,) = zones_of(mockup, gaps=gaps)
    assert zone.of_gap
    for where in (zone.where, zone.first.where, zones_of(mockup)[0].where):
        assert where.startswith("all round a circle of "), where
    assert zone.where == at_rest(mockup, gaps[0]).where


def test_a_place_of_a_part_that_moves_along_is_told_where_it_is_then():
    """A block on the axle, 12 mm over the tread: it is near at every position, and its place is the parked car's."""
    mockup = plate_above(342.0, 25.0)
    riding = replace(mockup, parts=(replace(mockup.parts[0], rides_on="axle"),))
    gaps = over_cycle(riding)
    (zone,) = zones_of(riding, gaps=gaps)
    assert zone.position == Position()
    assert zone.place.on_part_mm[2] == pytest.approx(342.0, abs=1e-6)
    findings = findings_of(riding, gaps, zones=(zone,))
    assert "away, at every position: " in zone_sentence(findings["zones"][0], findings)
