"""Where the hull of a wheel bridges a hollow, what reaches into it is measured as closely as anything else."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hostile.commands import CORNERS
from share import share

from clearance.answers.changed import with_offset
from clearance.answers.checked import gaps_of
from clearance.description.load import load


@pytest.mark.parametrize("further_in_mm", share([20.0, 10.0, 15.0], 3))
def test_a_coil_over_beside_the_lower_sidewall_is_measured_to_its_tolerance(further_in_mm):
    """A bar leans over the bulge of the sidewall and comes nearest below it, where the hull is flat and no tire is."""
    whole = load(CORNERS / "sorrel-sedan-front.toml")
    corner = replace(whole, parts=tuple(part for part in whole.parts if part.name == "coil-over"))
    (gap,) = gaps_of(with_offset(corner, corner.wheel.offset_mm + further_in_mm))
    assert gap.at_least_mm > 0.0
    assert gap.at_most_mm - gap.at_least_mm <= gap.tolerance_mm
    # a search that splits what is settled already looks at millions, and gives up
    assert gap.boxes < 100_000
