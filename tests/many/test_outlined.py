"""A corner's outlines against the plain check, and against points of the parts put there by the suspension itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hostile.commands import CORNERS

from clearance.answers.changed import with_offset
from clearance.answers.checked import gaps_of
from clearance.answers.seen_at_once import outline_of
from clearance.door.corners import load
from clearance.door.study_work import window_for
from clearance.many.cover import Window
from clearance.many.room import Room
from clearance.mockup.paths import relative

ROUNDING_MM = 1e-3
"""What the path's own digits and the search's may add."""


def room_for(name: str, parts: tuple[str, ...]) -> Room:
    corner = load(CORNERS / f"{name}.toml")
    corner = replace(corner, parts=tuple(corner.part(part) for part in parts))
    low, high, _, far = corner.solid.profile.bounds
    return Room(corner, Window(low_mm=low - 80, high_mm=high + 80, far_mm=far + 60, margin_mm=60.0))


@pytest.fixture(scope="module")
def pickup() -> Room:
    return room_for("orchard-pickup-rear", ("lip", "leaf pack", "bed floor"))


def test_both_ends_hold_what_the_plain_check_finds(pickup: Room):
    """Seeded offsets: the check's bracket and the outline's are both true, so they meet; the outline's is narrow."""
    corner = pickup.mockup
    rng = np.random.default_rng(18)
    for shift in np.round(rng.uniform(-18.0, 18.0, 5), 2):
        moved = with_offset(corner, corner.wheel.offset_mm - float(shift))
        outline = outline_of(corner.solid)
        least = pickup.least(outline, float(shift))
        for number, gap in enumerate(gaps_of(moved)):
            ends = pickup.ends(outline, float(shift), number, float(least[number]))
            assert ends.at_least_mm <= gap.at_most_mm + ROUNDING_MM
            assert ends.at_most_mm >= gap.at_least_mm - ROUNDING_MM
        binds = int(np.argmin(least - pickup.required))
        ends = pickup.ends(outline, float(shift), binds, float(least[binds]))
        assert ends.at_most_mm - ends.at_least_mm < 2.0


def test_no_point_of_a_part_lies_outside_its_squares(pickup: Room):
    held_by_squares(pickup)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("tern-coupe-rear", ("lip", "lower link")),
        ("heron-roadster-front", ("lip", "sway bar")),
        ("sorrel-sedan-front", ("tie rod",)),
    ],
)
def test_so_it_is_where_an_axle_tilts_and_where_a_wheel_steers(name, parts):
    every = [part.name for part in load(CORNERS / f"{name}.toml").parts]
    held_by_squares(room_for(name, tuple(part for part in every if part in parts)))


def held_by_squares(room: Room) -> None:
    """Points drawn from the triangles, at positions and play drawn from the cycle, placed by the suspension and not by
    the path that was fitted to it."""
    corner, many = room.mockup, 4000
    cycle, rng = corner.suspension.cycle, np.random.default_rng(7)
    play = cycle.shift
    for one in room.parts:
        part, far = one.part, one.part.far_end
        rows = np.column_stack(
            [rng.uniform(*ends, many) for ends in (cycle.bump_mm, cycle.other_bump_mm, cycle.steer_deg)]
        )
        if cycle.articulation_mm is not None:
            rows = rows[np.abs(rows[:, 0] - rows[:, 1]) <= cycle.articulation_mm]
        count = len(rows)
        ahead, across = (-play.behind_mm, play.ahead_mm), (-play.inboard_mm, play.outboard_mm)
        push = np.column_stack([rng.uniform(*ahead, count), rng.uniform(*across, count)])
        end = (None, None) if far is None else (far.frame, tuple(far.point_mm))
        seen = relative(corner.suspension, part.rides_on, *end, rows, push)
        shares, chosen = rng.dirichlet((1.0, 1.0, 1.0), count), rng.integers(0, len(part.triangles_mm), count)
        place = np.einsum("ni,nij->nj", shares, part.triangles_mm[chosen])
        if far is not None:
            place = place + np.einsum("ni,ni->n", shares, far.share[chosen])[:, None] * seen[:, 6:]
        offset = place - seen[:, :3]
        along = np.einsum("ij,ij->i", offset, seen[:, 3:6])
        radial = np.linalg.norm(offset - along[:, None] * seen[:, 3:6], axis=1)
        window = room.window
        within = (along > window.low_mm) & (along < window.high_mm) & (radial < window.far_mm)
        assert one.cover.takes(np.column_stack([along, radial])[within]).all(), part.name


def test_real_places_are_real(pickup: Room):
    """Each place of an edge is where the suspension itself puts that point of the part at that setting."""
    corner = pickup.mockup
    for one in pickup.parts:
        setting = one.cover.setting
        rows, push = one.seen.positions(setting), setting[:, -2:] if one.seen.has_play else None
        seen = relative(corner.suspension, one.part.rides_on, None, None, rows, push)
        offset = one.cover.point_mm - seen[:, :3]
        along = np.einsum("ij,ij->i", offset, seen[:, 3:6])
        radial = np.linalg.norm(offset - along[:, None] * seen[:, 3:6], axis=1)
        assert np.abs(np.column_stack([along, radial]) - one.cover.edge_mm).max() < 1e-4


def test_a_window_holds_the_wheels_of_its_list():
    from clearance.answers.candidates import rows_from_csv

    rows, wrong = rows_from_csv("tire,width,offset\n235/75R15,7 in,-6.35 mm\n215/75R15,6 in,20 mm\n", name="x")
    assert not wrong
    window = window_for(rows)
    # a 733 mm tire; rims of 8 and 7 in over all, tires of 1.12 times their marking
    assert window.far_mm >= 733 / 2 + 60
    assert window.low_mm <= -20 - 215 / 2 - 60
    assert window.high_mm >= 6.35 + 235 / 2 + 60
