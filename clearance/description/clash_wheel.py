"""Tire and wheel: numbers that contradict one another."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from clearance.description.clash import Clash, first_of, hardly
from clearance.description.schema import Growth, Traced, WheelTable
from clearance.description.whole import Description
from clearance.errors import TireError
from clearance.tire.dimensions import Dimensions, dimensions_of
from clearance.tire.size import Marking
from clearance.units import MM_PER_INCH, SAME_RIM_IN, both
from clearance.wheel.contour import bead_seat_diameter_mm, well_floor_mm
from clearance.wheel.rim import AGREE_MM, offset_from_backspace_mm
from clearance.wheel.wheel import BARREL_WALL_MM, TRADE_FLANGE_MM, Wheel

TRUCK_CIRCLE_MM = 160.0
"""Wheels for duals, whose face stands outboard of the whole rim, have circles from here on (trade tables)."""
NUT_MM = 20.0
"""A nut stands out of the bolt circle by half its width, 9 to 11 mm (common practice)."""
METAL_MM = 12.0
"""Between bore and bolt circle there is half a hole, 6 to 8 mm, and metal (common practice)."""
STRETCHED, BALLOON = 0.75, 2.3
"""Section over rim width: the narrowest tires that are stretched on, and the widest that stand on a narrow rim."""
FAR_OFF = 0.25
"""A measure this far from what the marking stands for is another tire's."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mounted:
    """The file, the wheel that it makes, and what the tire's marking says, where it has one."""

    read: Description
    wheel: Wheel
    marking: Marking | None

    @property
    def known(self) -> Dimensions | None:
        """What the marking stands for, where that is known."""
        try:
            return None if self.marking is None else dimensions_of(self.marking)
        except TireError:
            return None


def overall_width_mm(wheel: WheelTable) -> float:
    """Over both flanges, by the file's flange or the trade's."""
    return wheel.width * MM_PER_INCH + 2 * (wheel.flange_thickness or TRADE_FLANGE_MM)


def backspace_mm(wheel: WheelTable) -> float | None:
    """As written, or from the offset."""
    if wheel.backspace is not None or wheel.offset is None:
        return wheel.backspace
    return overall_width_mm(wheel) / 2 + wheel.offset


def barrel_mm(wheel: WheelTable) -> float:
    """Inside the barrel: as written, or the well less two walls."""
    return wheel.barrel_inner_diameter or well_floor_mm(wheel.diameter) - 2 * BARREL_WALL_MM


# ---- before anything is built


def backspace_and_offset(read: Description) -> Iterator[Clash]:
    """Backspace and offset are both given and disagree by more than a millimetre."""
    wheel, overall_mm = read.wheel, overall_width_mm(read.wheel)
    if wheel.backspace is None or wheel.offset is None:
        return
    found = offset_from_backspace_mm(wheel.backspace, overall_mm)
    if abs(found - wheel.offset) > AGREE_MM:
        yield Clash(
            at=("wheel", "offset"),
            against=("wheel", "backspace"),
            words=f"backspace and offset disagree: a backspace of {both(wheel.backspace)} on a rim {both(overall_mm)}"
            f" wide over all is an offset of {found:.1f} mm; found {wheel.offset:g} mm. Leave one out.",
        )


def face_outside_the_rim(read: Description) -> Iterator[Clash]:
    """The mounting face lies outside the rim: a backspace, or an offset, beyond the rim's own width."""
    wheel, overall_mm = read.wheel, overall_width_mm(read.wheel)
    back_mm = backspace_mm(wheel)
    if back_mm is None or 0 <= back_mm <= overall_mm:
        return
    at = ("wheel", first_of(wheel, "backspace", "offset"))
    if back_mm < 0:
        words = f"an offset of {wheel.offset:g} mm puts the mounting face {both(-back_mm)} inboard of the whole rim"
        yield Clash(
            at=at, against=("wheel", "width"), words=f"{words}, {both(overall_mm)} over its flanges. Check both."
        )
        return
    words = f"a backspace of {both(back_mm)} is more than the whole rim, {both(overall_mm)} over its flanges"
    truck = wheel.bolt_circle is not None and wheel.bolt_circle[1] >= TRUCK_CIRCLE_MM
    if truck or read.terms.duals is not None:
        yield hardly(at, ("wheel", "width"), f"{words}: only wheels for duals are like that.")
        return
    yield Clash(
        at=at,
        against=("wheel", "width"),
        words=f"{words}. Is it in another unit, an offset, or measured to the spokes? Only wheels for duals are like"
        f" that: where it is one, write its bolt_circle, of {TRUCK_CIRCLE_MM:g} mm or more.",
    )


def circle_and_rim(read: Description) -> Iterator[Clash]:
    """The bolt circle does not fit into the rim."""
    wheel = read.wheel
    if wheel.bolt_circle is not None and wheel.bolt_circle[1] + NUT_MM > barrel_mm(wheel):
        yield Clash(
            at=("wheel", "bolt_circle"),
            against=("wheel", first_of(wheel, "barrel_inner_diameter", "diameter")),
            words=f"a bolt circle of {both(wheel.bolt_circle[1])} does not fit into a {wheel.diameter:g} in rim,"
            f" which is about {both(barrel_mm(wheel))} inside. Check both, and their units.",
        )


def bore_and_circle(read: Description) -> Iterator[Clash]:
    """The center bore reaches the holes of the bolt circle."""
    bore_mm, circle = read.wheel.center_bore, read.wheel.bolt_circle
    if bore_mm is not None and circle is not None and bore_mm > circle[1] - METAL_MM:
        yield Clash(
            at=("wheel", "center_bore"),
            against=("wheel", "bolt_circle"),
            words=f"a center bore of {both(bore_mm)} would cut into the holes on a bolt circle of {both(circle[1])}."
            " Check both, and their units.",
        )


def bore_and_barrel(read: Description) -> Iterator[Clash]:
    """The center bore is wider than the rim's inside."""
    wheel = read.wheel
    if wheel.center_bore is not None and wheel.center_bore >= barrel_mm(wheel):
        yield Clash(
            at=("wheel", "center_bore"),
            against=("wheel", first_of(wheel, "barrel_inner_diameter", "diameter")),
            words=f"a center bore of {both(wheel.center_bore)} does not fit into a rim {both(barrel_mm(wheel))}"
            " inside.",
        )


def barrel_and_rim(read: Description) -> Iterator[Clash]:
    """The barrel is wider than the bead seats that stand around it."""
    wheel = read.wheel
    seat_mm = bead_seat_diameter_mm(wheel.diameter)
    if wheel.barrel_inner_diameter is not None and wheel.barrel_inner_diameter >= seat_mm:
        yield Clash(
            at=("wheel", "barrel_inner_diameter"),
            against=("wheel", "diameter"),
            words=f"a barrel {wheel.barrel_inner_diameter:g} mm inside does not fit in a rim whose bead seats are"
            f" {seat_mm:g} mm. Measure the smallest inside diameter behind the wheel face.",
        )


def width_and_diameter(read: Description) -> Iterator[Clash]:
    """The rim is far wider than its diameter: the two are swapped."""
    wheel = read.wheel
    if wheel.width > 1.2 * wheel.diameter:
        yield Clash(
            at=("wheel", "width"),
            against=("wheel", "diameter"),
            words=f"a rim {wheel.width:g} in wide and {wheel.diameter:g} in in diameter: are the two swapped?",
        )


def flange_and_width(read: Description) -> Iterator[Clash]:
    """The rim's two flanges are together as thick as the rim is wide."""
    wheel = read.wheel
    if wheel.flange_thickness is not None and 2 * wheel.flange_thickness >= wheel.width * MM_PER_INCH:
        yield Clash(
            at=("wheel", "flange_thickness"),
            against=("wheel", "width"),
            words=f"two flanges of {both(wheel.flange_thickness)} leave nothing of a rim {wheel.width:g} in wide.",
        )


def proud_face(read: Description) -> Iterator[Clash]:
    """The wheel's face stands far out of the rim."""
    wheel, back_mm = read.wheel, backspace_mm(read.wheel)
    if wheel.face is None or back_mm is None:
        return
    proud_mm = wheel.face - (overall_width_mm(wheel) - back_mm)
    if proud_mm > 60.0:
        yield hardly(
            ("wheel", "face"),
            ("wheel", first_of(wheel, "backspace", "offset")),
            f"the wheel's face would stand {both(proud_mm)} out of the rim's outer flange. It is measured from the"
            " mounting face, outboard.",
        )


def tread_and_section(read: Description) -> Iterator[Clash]:
    """The tread is not narrower than the section."""
    tire = read.tire
    if tire.tread_width is not None and tire.section_width is not None and tire.tread_width >= tire.section_width:
        yield Clash(
            at=("tire", "tread_width"),
            against=("tire", "section_width"),
            words=f"the tread, {both(tire.tread_width)}, is not narrower than the section, {both(tire.section_width)}."
            " Measure the tread to where the shoulders begin to fall away.",
        )


def section_and_rim(read: Description) -> Iterator[Clash]:
    """The tire is much narrower, or much wider, than the rim that it stands on."""
    tire, wheel = read.tire, read.wheel
    rim_in, rim = (
        (wheel.width, ("wheel", "width")) if tire.measured_on is None else (tire.measured_on, ("tire", "measured_on"))
    )
    if tire.section_width is not None and not STRETCHED <= tire.section_width / (rim_in * MM_PER_INCH) <= BALLOON:
        yield Clash(
            at=("tire", "section_width"),
            against=rim,
            words=f"a tire {both(tire.section_width)} wide does not stand on a rim of {rim_in:g} in: it is"
            f" {STRETCHED:.0%} to {BALLOON:.0%} of the rim's width. Check both, and their units.",
        )


def chains_twice(read: Description) -> Iterator[Clash]:
    """Chains stand in [tire] and in [chains], and differ."""
    here, there = read.tire.chains, read.terms.chains
    if isinstance(here, str) and there is not None and there.name != here:
        yield hardly(
            ("chains",), ("tire", "chains"), f'room for chains is "{here}" in [tire] and "{there.name}" in [chains].'
        )


# ---- once the wheel is built


def tire_and_rim(mounted: Mounted) -> Iterator[Clash]:
    """The tire is for another rim: its marking, its rim_diameter and the wheel's diameter disagree."""
    tire, wheel, marked = mounted.read.tire, mounted.read.wheel, mounted.marking
    if marked is not None and tire.rim_diameter is not None and abs(marked.rim_in - tire.rim_diameter) > SAME_RIM_IN:
        yield Clash(
            at=("tire", "rim_diameter"),
            against=("tire", "size"),
            words=f"{marked.text} is for a {marked.rim_in:g} in rim; found {tire.rim_diameter:g} in. Leave this out.",
        )
    rim_in = marked.rim_in if marked is not None else tire.rim_diameter or wheel.diameter
    if abs(rim_in - wheel.diameter) > SAME_RIM_IN:
        yield Clash(
            at=("tire", "size" if marked is not None else "rim_diameter"),
            against=("wheel", "diameter"),
            words=f"a tire for a {rim_in:g} in rim does not go on a {wheel.diameter:g} in wheel. Correct this,"
            " or diameter in [wheel].",
        )


def tire_inside_rim(mounted: Mounted) -> Iterator[Clash]:
    """The tire would lie inside its rim: its overall diameter is less than the flanges'."""
    given_mm, flange_mm = mounted.read.tire.overall_diameter, mounted.wheel.flange_diameter_mm
    if given_mm is not None and given_mm <= flange_mm:
        yield Clash(
            at=("tire", "overall_diameter"),
            against=("wheel", "diameter"),
            words=f"a tire {both(given_mm)} over all would lie inside its rim, whose flanges are {both(flange_mm)}."
            " Check the number and its unit.",
        )


def measured_and_marked(mounted: Mounted) -> Iterator[Clash]:
    """What was measured on the tire is a quarter or more from what its marking stands for."""
    known, tire = mounted.known, mounted.read.tire
    if known is None or isinstance(tire.shape, Traced):
        return
    marked = {"overall_diameter": known.overall_diameter_mm, "section_width": known.section_width_mm}
    for key, marked_mm in marked.items():
        found_mm = getattr(tire, key)
        if found_mm is not None and abs(found_mm / marked_mm - 1) > FAR_OFF:
            yield Clash(
                at=("tire", key),
                against=("tire", "size"),
                words=f"{key} is {both(found_mm)}, but {known.marking.text} stands for {both(marked_mm)}: it is"
                " another tire, or another unit.",
            )


def growth_and_tire(mounted: Mounted) -> Iterator[Clash]:
    """The tire would grow by more than a sixth of its width, or of its section's height."""
    tire, known = mounted.read.tire, mounted.known
    if not isinstance(tire.growth, Growth):
        return
    section_mm = tire.section_width or (known and known.section_width_mm)
    overall_mm = tire.overall_diameter or (known and known.overall_diameter_mm)
    rim_mm = mounted.wheel.bead_seat_diameter_mm
    sides = (("width", "section_width", section_mm, 0.0), ("diameter", "overall_diameter", overall_mm, rim_mm))
    for key, of, whole_mm, within_mm in sides:
        grown_mm = getattr(tire.growth, key)
        if whole_mm and grown_mm > (whole_mm - within_mm) / 6:
            yield Clash(
                at=("tire", "growth", key),
                against=("tire", first_of(tire, of, "size")),
                words=f"a growth of {both(grown_mm)} is more than a sixth of the tire's"
                f" {both(whole_mm - within_mm)}; in service a tire grows by 4 to 8 % (ISO 4000-1).",
            )


def load_and_marking(mounted: Mounted) -> Iterator[Clash]:
    """The corner is heavier, or faster, than the tire's marking carries."""
    load, marked = mounted.read.terms.load, mounted.marking
    if marked is None:
        return
    if load.corner_kg is not None and marked.load_kg is not None and load.corner_kg > marked.load_kg:
        yield hardly(
            ("load", "corner"),
            ("tire", "size"),
            f"{load.corner_kg:.0f} kg on this corner is more than the {marked.load_kg:.0f} kg that the tire carries."
            " Is it"
            " an axle's, or the whole car's?",
        )
    if load.speed_kmh is not None and marked.speed_kmh is not None and load.speed_kmh > marked.speed_kmh:
        yield hardly(
            ("load", "speed"),
            ("tire", "size"),
            f"{load.speed_kmh:.0f} km/h is more than the {marked.speed_kmh:.0f} km/h of the tire's symbol.",
        )


BEFORE = (
    backspace_and_offset,
    face_outside_the_rim,
    circle_and_rim,
    bore_and_circle,
    barrel_and_rim,
    bore_and_barrel,
    width_and_diameter,
    flange_and_width,
    proud_face,
    tread_and_section,
    section_and_rim,
    chains_twice,
)
AFTER = (tire_and_rim, tire_inside_rim, measured_and_marked, growth_and_tire, load_and_marking)
