"""A corner's outlines against the plain check, and against points of the parts put there by the suspension itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hostile.commands import CORNERS

from clearance.answers.candidates import rows_from_csv
from clearance.answers.changed import with_offset
from clearance.answers.checked import gaps_of
from clearance.answers.slid import Mounts
from clearance.door.read import load
from clearance.door.study_work import window_for
from clearance.many.room import Ends, Room
from clearance.many.spots import Laid, field_of
from clearance.many.squares import Window
from clearance.mockup.paths import relative
from clearance.well.part import Part

ROUNDING_MM = 1e-3
"""What the path's own digits and the search's may add."""


def room_for(name: str, parts: tuple[str | Part, ...]) -> Room:
    corner = load(CORNERS / f"{name}.toml")
    own = tuple(corner.part(part) if isinstance(part, str) else part for part in parts)
    corner = replace(corner, parts=own)
    low, high, _, far = corner.solid.profile.bounds
    return Room(corner, Window(low_mm=low - 80, high_mm=high + 80, far_mm=far + 60, margin_mm=60.0))


@pytest.fixture(scope="module")
def pickup() -> Room:
    return room_for("orchard-pickup-rear", ("lip", "leaf pack", "bed floor"))


def laid_on(room: Room, shifts, *, field: bool) -> Laid:
    """The room's own wheel and tire, slid; from an outline that serves every offset."""
    rim = Mounts().rim(room.mockup, listed(room.mockup), room.mockup.wheel.width_in)
    outline = rim.sliding.outline
    base = outline.offset_mm - room.mockup.wheel.offset_mm
    return Laid(outline=outline, shifts=base + np.array(shifts), field=field_of(outline) if field else None)


def listed(corner):
    (row,), _ = rows_from_csv(f"tire,width,offset\n{corner.tire.marking},{corner.wheel.width_in} in,0 mm\n", name="x")
    return row.tire


def as_listed(corner):
    """The corner with the tire that a list would mount."""
    return replace(corner, tire=Mounts().rim(corner, listed(corner), corner.wheel.width_in).tire)


def ends_of(room: Room, laid: Laid, least) -> Ends:
    """Both ends of every part's gap."""
    return room.ends(laid, np.ones(least.shape, dtype=bool), least)


def hold(room: Room, shifts) -> None:
    """Seeded offsets: the check's bracket and the outline's are both true, so they meet."""
    corner = as_listed(room.mockup)
    laid = laid_on(room, shifts, field=False)
    ends = ends_of(room, laid, room.least(laid))
    for number, one in enumerate(room.parts):
        for row, shift in enumerate(shifts):
            (gap,) = gaps_of(with_offset(corner, corner.wheel.offset_mm - shift), (one.part.name,))
            assert ends.at_least_mm[row, number] <= gap.at_most_mm + ROUNDING_MM, (one.part.name, shift)
            assert ends.at_most_mm[row, number] >= gap.at_least_mm - ROUNDING_MM, (one.part.name, shift)


def test_both_ends_hold_what_the_plain_check_finds(pickup: Room):
    shifts = np.round(np.random.default_rng(18).uniform(-18.0, 18.0, 2), 2)
    hold(pickup, shifts.tolist())
    laid = laid_on(pickup, shifts, field=False)
    least = pickup.least(laid)
    binds = (least - pickup.required).argmin(axis=1)
    ends = ends_of(pickup, laid, least)
    for row, part in enumerate(binds):
        assert ends.at_most_mm[row, part] - ends.at_least_mm[row, part] < 2.0


def test_a_caliper_meets_the_disc_whatever_the_offset_is():
    """What stands on the knuckle inside the barrel: a wheel of another offset has its disc at the hub's face still."""
    caliper = load(CORNERS / "heron-roadster-front.toml").part("caliper")
    room = room_for("orchard-pickup-rear", (replace(caliper, rides_on="axle"),))
    hold(room, [-15.0, 15.0])
    laid = laid_on(room, [-15.0, -5.0, 5.0, 15.0], field=False)
    assert np.ptp(ends_of(room, laid, room.least(laid)).at_most_mm[:, 0]) < 0.1


def test_a_field_changes_no_answer(pickup: Room):
    """It chooses what is measured; what is said is measured exactly, to the last bit."""
    shifts = np.random.default_rng(9).uniform(-60.0, 60.0, 40)
    with_, without = (laid_on(pickup, shifts, field=field) for field in (True, False))
    least = [pickup.least(laid) for laid in (with_, without)]
    spare = [(one - pickup.required).min(axis=1) for one in least]
    assert (spare[0] == spare[1]).all()
    wanted = least[1] < pickup.required
    assert wanted.any()
    ends = [pickup.ends(laid, wanted, least[1]) for laid in (with_, without)]
    assert (ends[0].at_least_mm == ends[1].at_least_mm).all()
    assert (ends[0].place == ends[1].place).all()
    assert ((ends[0].place >= 0) == wanted).all()


def test_no_knot_hides_a_nearer_place(pickup: Room):
    """Points everywhere, beyond the field too: both ends that it gives are true."""
    laid = laid_on(pickup, [0.0], field=True)
    rng = np.random.default_rng(3)
    along, radius = rng.uniform(-700.0, 700.0, 4000), rng.uniform(0.0, 800.0, 4000)
    low, high = laid.ends(laid.shifts, along, radius)
    true = laid.outline.distance(along, radius, laid.shifts[0])
    assert (low <= true).all()
    assert (true <= high).all()


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
    rows, wrong = rows_from_csv("tire,width,offset\n235/75R15,7 in,-6.35 mm\n215/75R15,6 in,20 mm\n", name="x")
    assert not wrong
    window = window_for(rows)
    # a 733 mm tire; rims of 8 and 7 in over all, tires of 1.12 times their marking
    assert window.far_mm >= 733 / 2 + 60
    assert window.low_mm <= -20 - 215 / 2 - 60
    assert window.high_mm >= 6.35 + 235 / 2 + 60
