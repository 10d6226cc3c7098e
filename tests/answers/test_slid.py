"""A wheel drawn once and slid along the axis against the wheel drawn for each offset."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hostile.commands import CORNERS

from clearance.answers.candidates import rows_from_csv
from clearance.answers.seen import seen_by_wheel
from clearance.answers.seen_at_once import least_of_each, rings_of
from clearance.answers.slid import Mounts, rim_of_its_own, spares_at
from clearance.door.read import load
from clearance.geom.chain import Chain
from clearance.mockup.solid import profile_of

CASES = {
    "as it is": {},
    "with a center bore": {"center_bore_mm": 71.0},
    "a dish": {"face_mm": 30.0},
    "a face before the lip": {"face_mm": 170.0},
}


@pytest.mark.parametrize("given", CASES.values(), ids=CASES)
@pytest.mark.parametrize("offset_mm", [-90.0, -31.5, 0.0, 20.0, 62.0, 94.0, 120.0])
def test_slid_it_is_the_wheel_of_that_offset(given, offset_mm):
    """Outside of the wheel the distance is the same; inside both say so, and how deep differs by no more than the ring
    that was put back is long."""
    corner = load(CORNERS / "orchard-pickup-rear.toml")
    corner = replace(corner, wheel=replace(corner.wheel, **given))
    (row,), _ = rows_from_csv("tire,width,offset\n235/75R15,7 in,0 mm\n", name="x")
    rim = Mounts().rim(corner, row.tire, row.width_in)
    mount = rim.at(offset_mm)
    assert mount.slides_to(offset_mm)
    true = Chain(profile_of(mount.tire, rim.wheel.with_offset(offset_mm)))
    rng = np.random.default_rng(18)
    y, r = rng.uniform(-260.0, 260.0, 6000), rng.uniform(0.0, 450.0, 6000)
    shifted = mount.outline.offset_mm - offset_mm
    found, wanted = mount.outline.distance(y, r, shifted), true.near(y, r).distance
    outside = wanted > 0.0
    assert outside.sum() > 2000
    # sums of a few hundred millimetres in another order
    assert np.abs(found - wanted)[outside].max() < 1e-9
    assert (found[~outside] <= 1e-9).all()
    assert (found[~outside] - wanted[~outside] >= -1e-9).all()
    assert (found[~outside] - wanted[~outside] <= max(shifted, 0.0) + 1e-9).all()


def test_one_mount_for_corners_that_would_mount_it_alike():
    corner = load(CORNERS / "orchard-pickup-rear.toml")
    (row,), _ = rows_from_csv("tire,width,offset\n235/75R15,7 in,0 mm\n", name="x")
    mounts = Mounts()
    one = mounts.rim(corner, row.tire, row.width_in)
    assert mounts.rim(replace(corner, title="another"), row.tire, row.width_in) is one
    for changed in (
        replace(corner, wheel=replace(corner.wheel, center_bore_mm=60.0)),
        replace(corner, tire=replace(corner.tire, growth_width_mm=3.0)),
    ):
        assert mounts.rim(changed, row.tire, row.width_in) is not one


def test_many_offsets_and_all_parts_at_once_are_what_one_and_one_are():
    """To the last digit, and against every ring of a part, none of them left out."""
    corner = load(CORNERS / "orchard-pickup-rear.toml")
    seen = seen_by_wheel(corner, within_mm=corner.solid.reach_mm + 60.0)
    rings, rim = rings_of(seen), rim_of_its_own(corner)
    offsets = np.linspace(-120.0, 140.0, 23)
    spares = spares_at(rings, rim, offsets)
    for offset, spare in zip(offsets, spares, strict=True):
        outline = rim.at(offset).outline
        shifted = outline.offset_mm - offset
        each = [outline.distance(one.along_mm, one.radius_mm, shifted) - one.skin_mm - one.required_mm for one in seen]
        assert spare == min(float(one.min()) for one in each if len(one))
        gaps = least_of_each(seen, corner.solid, shifted)
        assert gaps == {one.part: one.gap_mm(corner.solid.chain, shifted) for one in seen}
    assert np.ptp(spares) > 20.0
