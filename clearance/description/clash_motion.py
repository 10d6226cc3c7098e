"""Suspension and steering: numbers that contradict one another."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from clearance.description.clash import Clash, first_of, hardly
from clearance.description.clash_wheel import backspace_mm, overall_width_mm
from clearance.description.lines import Path
from clearance.description.whole import Description
from clearance.pose import Array
from clearance.units import MM_PER_INCH, both

UPRIGHT = (("upper_ball", "lower_ball"), ("kingpin_upper", "kingpin_lower"), ("strut_top", "strut_bottom"))
"""The first of each stands above the second."""
ALONG = (
    ("upper_front", "upper_rear"),
    ("lower_front", "lower_rear"),
    ("front_eye", "front_clamp"),
    ("front_clamp", "rear_clamp"),
    ("rear_clamp", "rear_eye"),
)
"""The first of each stands ahead of the second."""
ACROSS = (
    ("upper_ball", "upper_front"),
    ("upper_ball", "upper_rear"),
    ("lower_ball", "lower_front"),
    ("lower_ball", "lower_rear"),
)
"""The first of each stands outboard of the second: an arm's pivots are on the car."""
THIS_SIDE = ("lower_axle", "lower_body", "front_eye", "front_clamp", "rear_clamp", "rear_eye", "shackle_hanger")
"""Points of this side that the other side mirrors: past the middle of the car the two would cross."""

SLIP_MM, SLIP_DEG = 10.0, 2.5
"""A reading this far from what the rows beside it say is a slip of the pen; tape and angle finder err by a tenth."""
ODD_MM, ODD_DEG = 5.0, 1.2
"""This far is odd."""
MOST_SCRUB_MM = 200.0
"""Steering axis to tire, at the ground: -20 to 60 mm on most cars (memory)."""


# ---- travel


def no_travel(read: Description) -> Iterator[Clash]:
    """Bump and droop are both zero."""
    if read.motion.kind.moves and read.motion.travel.bump == 0 and read.motion.travel.droop == 0:
        yield hardly(
            ("suspension", "droop"), ("suspension", "bump"), "there is no travel: the wheel was measured standing only."
        )


def axle_that_does_not_tilt(read: Description) -> Iterator[Clash]:
    """Something rides on the axle of a rear corner that goes straight up and down."""
    straight = read.motion.kind.name == "straight" and not read.heading.front
    riding = [i for i, part in enumerate(read.parts) if part.rides_on == "axle"]
    if straight and riding and read.motion.travel.bump + read.motion.travel.droop > 0:
        yield hardly(
            ("suspension", "kind"),
            ("part", riding[0], "rides_on"),
            "the corner is taken straight up and down, and an axle from wheel to wheel tilts besides, which takes room"
            ' that is not in these gaps. If it is one, write kind = "axle-by-travel", carried_by and track.',
        )


def articulation_and_travel(read: Description) -> Iterator[Clash]:
    """The articulation is more than the two wheels' travel can make, so it limits nothing."""
    travel = read.motion.travel
    if travel.articulation is None:
        return
    other_bump = travel.bump if travel.other_bump is None else travel.other_bump
    other_droop = travel.droop if travel.other_droop is None else travel.other_droop
    most_mm = max(travel.bump + other_droop, other_bump + travel.droop)
    if travel.articulation > most_mm:
        yield hardly(
            ("suspension", "articulation"),
            ("suspension", "bump"),
            f"an articulation of {both(travel.articulation)} limits nothing: bump and droop differ by at most"
            f" {both(most_mm)}.",
        )


def other_wheel(read: Description) -> Iterator[Clash]:
    """The other wheel of the axle travels three times as far as this one, or a third."""
    for key in ("bump", "droop"):
        here, there = getattr(read.motion.travel, key), getattr(read.motion.travel, f"other_{key}")
        if there is not None and here > 0 and not 1 / 3 <= there / here <= 3:
            yield hardly(
                ("suspension", f"other_{key}"),
                ("suspension", key),
                f"the other wheel has {both(there)} of {key} and this one {both(here)}: both are measured at the"
                " wheel.",
            )


# ---- a measured table


def rows_and_travel(read: Description) -> Iterator[Clash]:
    """The measured rows do not reach as far as bump and droop."""
    rows, travel = read.motion.own.get("rows"), read.motion.travel
    if rows is None:
        return
    least, most = float(rows[:, 0].min()), float(rows[:, 0].max())
    for key, at in (("bump", travel.bump), ("droop", -travel.droop)):
        if not least - 1e-6 <= at <= most + 1e-6:
            yield Clash(
                at=("suspension", "rows"),
                against=("suspension", key),
                words=f"bump {at:g} mm is outside the measured table, which runs from {least:g} mm to {most:g} mm;"
                " a table is never extrapolated. Reduce the travel, or measure another row.",
            )


def steer_rows_and_locks(read: Description) -> Iterator[Clash]:
    """The measured steer rows do not reach as far as the locks."""
    rows, steering = read.motion.own.get("steer_rows"), read.motion.steering
    if rows is None or steering is None:
        return
    least, most = float(rows[:, 1].min()), float(rows[:, 1].max())
    for key, at in (("left", steering.get("left", 0.0)), ("right", -steering.get("right", 0.0))):
        if not least - 1e-6 <= at <= most + 1e-6:
            yield Clash(
                at=("suspension", "steer_rows"),
                against=("steering", key),
                words=f"steer {at:g} deg is outside the measured table, which runs from {least:g} deg to {most:g} deg;"
                " a table is never extrapolated. Reduce the lock, or measure steer rows at the locks.",
            )


def row_out_of_line(read: Description) -> Iterator[Clash]:
    """One row of the measured table does not lie in line with its neighbours: a slip of the pen or of the point."""
    rows = read.motion.own.get("rows")
    if rows is None or len(rows) < 6 or len(np.unique(rows[:, 0])) != len(rows):
        return
    columns = {1: ("across", SLIP_MM, ODD_MM, "mm"), 2: ("along", SLIP_MM, ODD_MM, "mm")}
    columns |= {3: ("camber", SLIP_DEG, ODD_DEG, "deg"), 4: ("toe", SLIP_DEG, ODD_DEG, "deg")}
    for column, (name, slip, odd, unit) in columns.items():
        k, expected, rest = _out_of_line(rows[:, 0], rows[:, column])
        off = abs(rows[k, column] - expected)
        if off <= max(odd, 4.0 * rest):
            continue
        beside = k - 1 if k else k + 1
        words = (
            f"at bump {rows[k, 0]:g} mm {name} is {rows[k, column]:g} {unit}, where the other rows, in line to"
            f" {rest:.1f} {unit}, put it near {expected:.1f} {unit}. Read it again, its sign and its point."
        )
        at, against = _cell(read, k, column, name), _cell(read, beside, column, name)
        yield Clash(at=at, against=against, words=words, stops=off > slip)


def _cell(read: Description, row: int, column: int, name: str) -> Path:
    written = read.tables["suspension"]["rows"][row]
    return ("suspension", "rows", row, name if isinstance(written, dict) else column)


def _out_of_line(bump_mm: Array, column: Array) -> tuple[int, float, float]:
    """The row that the others agree best without; where they put it; and how far they then lie from one curve."""
    scale = np.abs(bump_mm).max()
    degree = 2 if len(bump_mm) < 8 else 3
    found = []
    for k in range(len(bump_mm)):
        rest = np.arange(len(bump_mm)) != k
        curve = np.polynomial.Polynomial.fit(bump_mm[rest] / scale, column[rest], degree)
        left_over = float(np.abs(curve(bump_mm[rest] / scale) - column[rest]).max())
        found.append((left_over, k, float(curve(bump_mm[k] / scale))))
    left_over, k, expected = min(found)
    return k, expected, left_over


# ---- hardpoints


def upside_down(read: Description) -> Iterator[Clash]:
    """A point that belongs above another stands below it: upper and lower ball joint, kingpin, strut."""
    for upper, lower, high, low in _pairs(read, UPRIGHT):
        if high[2] <= low[2]:
            yield Clash(
                at=("suspension", upper),
                against=("suspension", lower),
                words=f"{upper} stands {both(float(low[2] - high[2]))} below {lower}: are the two swapped? The third"
                " number of each is its height.",
            )


def back_to_front(read: Description) -> Iterator[Clash]:
    """A point that is called front stands behind the one that is called rear."""
    for front, rear, ahead, behind in _pairs(read, ALONG):
        if ahead[0] < behind[0]:
            yield hardly(
                ("suspension", front),
                ("suspension", rear),
                f"{front} stands {both(float(behind[0] - ahead[0]))} behind {rear}: the first number of each is"
                " ahead of the hub, and a minus sign is behind it.",
            )


def inside_out(read: Description) -> Iterator[Clash]:
    """An arm's pivot on the car stands outboard of its ball joint."""
    for ball, pivot, outer, inner in _pairs(read, ACROSS):
        if inner[1] >= outer[1]:
            yield Clash(
                at=("suspension", pivot),
                against=("suspension", ball),
                words=f"{pivot} stands {both(float(inner[1] - outer[1]))} outboard of {ball}, which the arm carries:"
                " the second number of each is outboard of the hub's face, and a minus sign is inboard.",
            )


def tie_rod_inside_out(read: Description) -> Iterator[Clash]:
    """The tie rod's inner end stands outboard of its outer end."""
    for inner, outer, near, far in _pairs(read, (("tie_inner", "tie_outer"),)):
        if near[1] >= far[1]:
            yield hardly(
                ("suspension", inner),
                ("suspension", outer),
                f"{inner} stands {both(float(near[1] - far[1]))} outboard of {outer}: are the two swapped?",
            )


def past_the_middle(read: Description) -> Iterator[Clash]:
    """A link or a spring of this side stands past the middle of the car, where it would cross its mirror image."""
    own = read.motion.own
    track = own.get("track")
    for name in THIS_SIDE:
        if track is not None and name in own and own[name][1] < -track / 2 - 20.0:
            yield Clash(
                at=("suspension", name),
                against=("suspension", "track"),
                words=f"{name} stands {both(float(-own[name][1]))} inboard of the hub's face, past the middle of the"
                f" car at {both(track / 2)}: the other side is its mirror image, and the two would cross.",
            )


def in_the_wheel(read: Description) -> Iterator[Clash]:
    """A link's or a spring's end stands outboard of the hub's face, where the wheel is."""
    own, wheel = read.motion.own, read.wheel
    for name in THIS_SIDE:
        if name in own and own[name][1] > 0.0:
            yield Clash(
                at=("suspension", name),
                against=("wheel", first_of(wheel, "backspace", "offset")),
                words=f"{name} stands {both(float(own[name][1]))} outboard of the hub's face, where the wheel is: the"
                " second number of a point is outboard, and a minus sign is inboard.",
            )


def _pairs(read: Description, names: tuple[tuple[str, str], ...]) -> Iterator[tuple[str, str, Array, Array]]:
    own = read.motion.own
    for one, other in names:
        if one in own and other in own:
            yield one, other, own[one], own[other]


# ---- an axle, an arm and a spring by tape


def spring_past_the_middle(read: Description) -> Iterator[Clash]:
    """A leaf spring stands past the middle of its axle."""
    own = read.motion.own
    if "spring_inboard" in own and "track" in own and own["spring_inboard"] >= own["track"] / 2:
        yield Clash(
            at=("suspension", "spring_inboard"),
            against=("suspension", "track"),
            words=f"a spring {both(own['spring_inboard'])} inboard of the hub's face stands past the middle of an"
            f" axle whose track is {both(own['track'])}.",
        )


def bar_and_track(read: Description) -> Iterator[Clash]:
    """A track bar is longer than the axle."""
    own = read.motion.own
    if "bar_length" in own and "track" in own and own["bar_length"] > own["track"]:
        yield Clash(
            at=("suspension", "bar_length"),
            against=("suspension", "track"),
            words=f"a track bar of {both(own['bar_length'])} does not go between hubs {both(own['track'])} apart.",
        )


def bar_and_drop(read: Description) -> Iterator[Clash]:
    """A track bar's ends are as far apart in height as it is long."""
    own = read.motion.own
    if "axle_end_below" in own and "bar_length" in own and abs(own["axle_end_below"]) >= own["bar_length"]:
        yield Clash(
            at=("suspension", "axle_end_below"),
            against=("suspension", "bar_length"),
            words=f"a track bar of {own['bar_length']:g} mm cannot have ends {abs(own['axle_end_below']):g} mm apart in"
            " height. Measure again.",
        )


def arch_and_half(read: Description) -> Iterator[Clash]:
    """A leaf spring is arched more than half as high as its half is long."""
    own = read.motion.own
    if "arch" in own and "half_length" in own and abs(own["arch"]) > own["half_length"] / 2:
        yield Clash(
            at=("suspension", "arch"),
            against=("suspension", "half_length"),
            words=f"an arch of {both(own['arch'])} is more than half of the spring's half, {both(own['half_length'])}.",
        )


def clamp_and_half(read: Description) -> Iterator[Clash]:
    """The U-bolts hold a leaf spring over more than the half of it that is free."""
    own = read.motion.own
    if "clamp_length" in own and "half_length" in own and own["clamp_length"] > own["half_length"]:
        yield Clash(
            at=("suspension", "clamp_length"),
            against=("suspension", "half_length"),
            words=f"a clamp of {both(own['clamp_length'])} is longer than the half of the spring that it leaves free,"
            f" {both(own['half_length'])}.",
        )


def unlike_halves(read: Description) -> Iterator[Clash]:
    """One half of a leaf spring is more than twice as long as the other."""
    own = read.motion.own
    if "rear_half_length" in own and "half_length" in own:
        ratio = own["rear_half_length"] / own["half_length"]
        if not 0.5 <= ratio <= 2.0:
            yield hardly(
                ("suspension", "rear_half_length"),
                ("suspension", "half_length"),
                f"the spring's rear half is {both(own['rear_half_length'])}, its front half"
                f" {both(own['half_length'])}.",
            )


def steep_swing_arm(read: Description) -> Iterator[Clash]:
    """A swing arm's centre stands higher, or lower, than the arm is long."""
    own = read.motion.own
    if "swing_arm" in own and abs(own.get("centre_above", 0.0)) >= own["swing_arm"]:
        yield Clash(
            at=("suspension", "centre_above"),
            against=("suspension", "swing_arm"),
            words=f"an instant centre {both(own['centre_above'])} above the hub does not go with a swing arm of"
            f" {both(own['swing_arm'])}.",
        )


# ---- steering


def locks_and_rack(read: Description) -> Iterator[Clash]:
    """Steering is given by lock angles and by rack travel at once."""
    given = read.motion.steering or {}
    for lock in ("left", "right"):
        for rack in ("rack_left", "rack_right"):
            if lock in given and rack in given:
                yield Clash(
                    at=("steering", lock),
                    against=("steering", rack),
                    words="steering is given by lock angles and by rack travel at once. Keep the one that was"
                    " measured.",
                )


def unlike_locks(read: Description) -> Iterator[Clash]:
    """The two locks of a wheel differ by far more than an inner and an outer wheel do."""
    given = read.motion.steering or {}
    for one, other, most, unit in (("left", "right", 20.0, "deg"), ("rack_left", "rack_right", 30.0, "mm")):
        if one in given and other in given and abs(given[one] - given[other]) > most:
            yield hardly(
                ("steering", one),
                ("steering", other),
                f"{one} is {given[one]:g} {unit} and {other} {given[other]:g} {unit}: they differ by up to"
                f" {most / 2:g} {unit} on most cars.",
            )


def rear_wheel_that_steers(read: Description) -> Iterator[Clash]:
    """A rear wheel steers as far as a front wheel does."""
    given = read.motion.steering or {}
    for lock in ("left", "right"):
        if not read.heading.front and given.get(lock, 0.0) > 12.0:
            yield hardly(
                ("steering", lock), ("corner",), f"a rear wheel that steers {given[lock]:g} deg: is it a front corner?"
            )
            return


def scrub(read: Description) -> Iterator[Clash]:
    """The steering axis meets the ground far from the tire."""
    axis, wheel = (read.motion.steering or {}).get("axis"), read.wheel
    back_mm = backspace_mm(wheel)
    if axis is None or back_mm is None:
        return
    down_mm = wheel.diameter * MM_PER_INCH / 2 + 100.0 + float(axis["through"][2])
    at_ground_mm = float(axis["through"][1]) + down_mm * math.tan(math.radians(axis["inclination"]))
    scrub_mm = overall_width_mm(wheel) / 2 - back_mm - at_ground_mm
    if abs(scrub_mm) > MOST_SCRUB_MM:
        yield hardly(
            ("steering", "axis", "through"),
            ("wheel", "backspace" if wheel.backspace is not None else "offset"),
            f"the steering axis meets the ground about {both(abs(scrub_mm))}"
            f" {'inboard' if scrub_mm > 0 else 'outboard'} of"
            " the tire's middle; 0 to 60 mm is usual. The second number of a point is outboard of the hub's face.",
        )


def camber_in_bump(read: Description) -> Iterator[Clash]:
    """Camber that changes in bump would lean the wheel past 15 degrees within its travel."""
    own, travel = read.motion.own, read.motion.travel
    rate = own.get("camber_per_100mm", 0.0)
    worst = max((own.get("camber", 0.0) + rate * at / 100.0 for at in (travel.bump, -travel.droop)), key=abs)
    if rate and abs(worst) > 15.0:
        yield hardly(
            ("suspension", "camber_per_100mm"),
            ("suspension", "bump" if worst * rate > 0 else "droop"),
            f"the wheel would lean {worst:.1f} deg at the end of its travel.",
        )


RULES = (
    no_travel,
    axle_that_does_not_tilt,
    articulation_and_travel,
    other_wheel,
    rows_and_travel,
    row_out_of_line,
    steer_rows_and_locks,
    upside_down,
    inside_out,
    back_to_front,
    tie_rod_inside_out,
    in_the_wheel,
    past_the_middle,
    spring_past_the_middle,
    bar_and_track,
    bar_and_drop,
    arch_and_half,
    clamp_and_half,
    unlike_halves,
    steep_swing_arm,
    locks_and_rack,
    unlike_locks,
    rear_wheel_that_steers,
    scrub,
    camber_in_bump,
)
