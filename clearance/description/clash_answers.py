"""The sections that only the answers read: numbers that contradict one another, or the corner that they are about."""

from __future__ import annotations

import re
from collections.abc import Iterator

from clearance.description.clash import Clash, hardly
from clearance.description.lines import Path
from clearance.description.whole import Description
from clearance.mockup.mockup import CORNERS
from clearance.units import both


def title_and_corner(read: Description) -> Iterator[Clash]:
    """The title names another wheel than corner does."""
    said = re.sub(r"[\s-]+", "-", read.heading.title.lower())
    named = [corner for corner in CORNERS if re.search(rf"\b{corner}\b", said)]
    if named and read.heading.corner not in named:
        yield hardly(("corner",), ("title",), f"the title says {named[0]}, and corner {read.heading.corner}.")


def uncertainty_of_itself(read: Description) -> Iterator[Clash]:
    """An uncertainty is as large as the number that it belongs to."""
    stated, travel, steering = read.terms.uncertainty.stated, read.motion.travel, read.motion.steering or {}
    travel_mm = travel.bump + travel.droop
    lock_deg = max(steering.get("left", 0.0), steering.get("right", 0.0))
    of: dict[str, tuple[float | None, Path]] = {
        "backspace": (read.wheel.backspace, ("wheel", "backspace")),
        "overall_diameter": (read.tire.overall_diameter, ("tire", "overall_diameter")),
        "section_width": (read.tire.section_width, ("tire", "section_width")),
        "bump_travel": (travel_mm, ("suspension", "bump")),
        "ride_height": (travel_mm, ("suspension", "bump")),
        "steer": (lock_deg, ("steering", "left")),
    }
    for key, (whole, against) in of.items():
        if whole and key in stated and stated[key] >= whole:
            unit = "deg" if key == "steer" else "mm"
            yield Clash(
                at=("uncertainty", key),
                against=against,
                words=f"an uncertainty of {stated[key]:g} {unit} says nothing of {whole:g} {unit}.",
            )


def more_than_there_is(read: Description) -> Iterator[Clash]:
    """[limits] offers to give up more travel, or more lock, than there is."""
    limits, written, steering = read.terms.limits, read.tables.get("limits", {}), read.motion.steering or {}
    bump_mm = read.motion.travel.bump
    if "bump_stop" in written and limits.bump_stop_mm is not None and limits.bump_stop_mm > bump_mm:
        yield hardly(
            ("limits", "bump_stop"),
            ("suspension", "bump"),
            f"{both(limits.bump_stop_mm)} of travel may be given up, and there are {both(bump_mm)} of bump.",
        )
    lock_deg = max(steering.get("left", 0.0), steering.get("right", 0.0))
    if "steering_stop" in written and limits.steering_stop_deg is not None and 0 < lock_deg < limits.steering_stop_deg:
        yield hardly(
            ("limits", "steering_stop"),
            ("steering", "left"),
            f"{limits.steering_stop_deg:g} deg of lock may be given up, and there are {lock_deg:g} deg.",
        )


def camber_and_limit(read: Description) -> Iterator[Clash]:
    """The camber that the corner has lies outside the range that [limits] accepts."""
    accepted, camber = read.terms.limits.camber_deg, read.motion.own.get("camber")
    if accepted is not None and camber is not None and not accepted[0] <= camber <= accepted[1]:
        yield hardly(
            ("limits", "camber"),
            ("suspension", "camber"),
            f"{accepted[0]:g} deg to {accepted[1]:g} deg is accepted, and the corner has {camber:g} deg. A minus"
            " sign leans the top inboard.",
        )


def step_and_limit(read: Description) -> Iterator[Clash]:
    """What is sold comes in steps larger than all that may be changed."""
    limits, sold = read.terms.limits, read.terms.sold
    of = {
        "spacer": (limits.spacer_mm, sold.spacer_mm),
        "bump_stop": (limits.bump_stop_mm, sold.bump_stop_mm),
        "ride_height": (limits.ride_height_mm, sold.ride_height_mm),
        "steering_stop": (limits.steering_stop_deg, sold.steering_stop_deg),
        "lip_roll": (limits.lip_roll_mm, sold.lip_roll_mm),
        "axle_across": (limits.axle_across_mm, sold.axle_across_mm),
    }
    for key, (most, steps) in of.items():
        least = min(steps.sizes, default=steps.step)
        if (
            key in read.tables.get("sold", {})
            and key in read.tables.get("limits", {})
            and most is not None
            and least > most
        ):
            yield hardly(
                ("sold", key),
                ("limits", key),
                f"the smallest step, {least:g}, is more than all that may be changed, {most:g}.",
            )


def seat_and_stud(read: Description) -> Iterator[Clash]:
    """The wheel is thicker under the nut than the stud stands out."""
    order = read.terms.order
    if (
        order.seat_depth_mm is not None
        and order.stud_length_mm is not None
        and order.seat_depth_mm >= order.stud_length_mm
    ):
        yield Clash(
            at=("order", "seat_depth"),
            against=("order", "stud_length"),
            words=f"under the nut the wheel is {both(order.seat_depth_mm)} thick, and the stud stands out"
            f" {both(order.stud_length_mm)}: no thread is left.",
        )


def spare_and_well(read: Description) -> Iterator[Clash]:
    """The spare's stand, or the gap that it must keep, takes the whole depth of its well."""
    well = read.terms.spare_well
    if well is None:
        return
    for key, value in (("stand", well.stand_mm), ("required", well.required_mm)):
        if value is not None and value >= well.depth_mm:
            yield Clash(
                at=("spare_well", key),
                against=("spare_well", "depth"),
                words=f"{both(value)} leaves nothing of a well {both(well.depth_mm)} deep.",
            )
    if well.off_centre_mm >= well.diameter_mm / 2:
        yield Clash(
            at=("spare_well", "off_centre"),
            against=("spare_well", "diameter"),
            words=f"a hold-down {both(well.off_centre_mm)} off the middle stands outside a well"
            f" {both(well.diameter_mm)} across.",
        )


def duals_and_gap(read: Description) -> Iterator[Clash]:
    """The gap that two tires must keep is as large as their spacing."""
    duals = read.terms.duals
    if duals is not None and duals.spacing_mm is not None and duals.required_mm >= duals.spacing_mm:
        yield Clash(
            at=("duals", "required"),
            against=("duals", "spacing"),
            words=f"a gap of {both(duals.required_mm)} leaves no room for tires whose middles are"
            f" {both(duals.spacing_mm)} apart.",
        )


def sides_apart(read: Description) -> Iterator[Clash]:
    """The same tape number differs by 50 mm and more from one side of the car to the other."""
    here, there = read.terms.tape, read.terms.opposite
    if here is None or there is None:
        return
    for key in ("hub_to_spring", "hub_to_lip"):
        one, other = getattr(here, f"{key}_mm"), getattr(there, f"{key}_mm")
        if one is not None and other is not None and abs(one - other) >= 50.0:
            yield hardly(
                ("opposite", key),
                ("tape", key),
                f"{both(other)} on the other side and {both(one)} on this: sides differ by up to 25 mm (seen in"
                " practice).",
            )


def past_the_travel(read: Description) -> Iterator[Clash]:
    """A load state lets the body down, or up, past all of the wheel's travel."""
    travel = read.motion.travel
    for name, height_mm in read.terms.load_states_mm.items():
        key, most_mm = ("bump", travel.bump) if height_mm < 0 else ("droop", travel.droop)
        if abs(height_mm) > most_mm:
            yield hardly(
                ("load_states", name),
                ("suspension", key),
                f'"{name}" moves the body by {both(height_mm)}, and there are {both(most_mm)} of {key}.',
            )


RULES = (
    title_and_corner,
    uncertainty_of_itself,
    more_than_there_is,
    camber_and_limit,
    step_and_limit,
    seat_and_stud,
    spare_and_well,
    duals_and_gap,
    sides_apart,
    past_the_travel,
)
