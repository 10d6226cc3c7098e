"""What the wheel sees chooses what is measured, and refuses; so it may never be nearer than the certified gap."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hostile.commands import CORNERS
from share import share

from clearance.answers.changed import with_offset
from clearance.answers.checked import gaps_of
from clearance.answers.seen import seen_by_wheel
from clearance.answers.window import estimate
from clearance.door.read import load

RIDES_ALONG = [
    ("heron-roadster-front", "caliper"),
    ("sorrel-sedan-front", "coil-over"),
    ("sorrel-sedan-front", "upper arm"),
    ("orchard-pickup-rear", "shock"),
]


@pytest.mark.parametrize(("corner", "part"), RIDES_ALONG)
def test_a_part_that_goes_with_the_wheel_is_seen_no_nearer_than_it_is(corner, part):
    """It takes the wheel's play along, a bar stays straight between its ends, and of a wheel drilled for another offset
    the disc stays at the hub's face.
    """
    whole = load(CORNERS / f"{corner}.toml")
    mockup = replace(whole, parts=tuple(one for one in whole.parts if one.name == part))
    assert mockup.parts
    seen = seen_by_wheel(mockup, within_mm=mockup.solid.reach_mm + 60.0)
    offsets = mockup.wheel.offset_mm + np.array([-30.0, 0.0, 20.0])
    for offset, spare in zip(offsets, estimate(mockup, seen, offsets), strict=True):
        (gap,) = gaps_of(with_offset(mockup, float(offset)))
        assert spare >= gap.at_least_mm - gap.required_mm - 1e-6, offset


@pytest.mark.parametrize("corner", share(sorted(path.stem for path in CORNERS.glob("*.toml")), 3))
def test_every_part_of_a_shipped_corner_is_seen_no_nearer_than_it_is_and_not_much_further(corner):
    mockup = load(CORNERS / f"{corner}.toml")
    seen = {one.part: one for one in seen_by_wheel(mockup, within_mm=mockup.solid.reach_mm + 60.0)}
    for gap in gaps_of(mockup):
        spare = seen[gap.part].gap_mm(mockup.solid.chain)
        # the grid of positions may step over the closest one
        assert gap.at_least_mm - 1e-6 <= spare <= gap.at_most_mm + 3.0, gap.part


def test_a_caliper_keeps_its_gap_to_the_disc_at_every_offset():
    """Both stay where they are on the hub, wherever the rim goes."""
    whole = load(CORNERS / "heron-roadster-front.toml")
    mockup = replace(whole, parts=tuple(one for one in whole.parts if one.name == "caliper"))
    seen = seen_by_wheel(mockup, within_mm=mockup.solid.reach_mm + 60.0)
    spares = estimate(mockup, seen, mockup.wheel.offset_mm + np.array([-40.0, -20.0, 0.0, 10.0, 20.0]))
    (gap,) = gaps_of(mockup)
    assert spares == pytest.approx(gap.at_most_mm - gap.required_mm, abs=0.01)
