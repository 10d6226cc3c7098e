"""The sections that say what is agreed about a corner beside its shape, each with its keys: see `clearance.terms`.

All are optional. A table here is read like every other of the file, and `terms` makes values of them all.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import wraps
from typing import Annotated, Any, Literal, TypeVar

from pydantic import BeforeValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from clearance import terms
from clearance.description import values
from clearance.description.lines import Path
from clearance.description.refusal import Refusal, as_written
from clearance.description.schema import Table, one_of
from clearance.description.values import Distance, Flag, Length, RimDiameter, RimWidth, Size, Turn, Word, refused
from clearance.ends import families as ends
from clearance.errors import InputError
from clearance.terms import Bounds, Steps
from clearance.tire.room import CHAIN_ROOM_MM
from clearance.tire.size import read as read_marking
from clearance.wheel.fasteners import Thread

Read = TypeVar("Read")


# ---- values that only these sections have


def or_false(reader: Callable[[object], Any]) -> BeforeValidator:
    """What the reader reads, or false, which takes the change off the table."""

    @wraps(reader)
    def read(value: object) -> Any:
        return False if value is False else reader(value)

    return BeforeValidator(read)


def length_range(value: object) -> Bounds:
    """{ least, most } of a length, in mm."""
    return _range(value, values.length)


def either_way(value: object) -> Bounds:
    """{ least, most } of an angle, or one angle that holds both ways."""
    if isinstance(value, str):
        most = abs(values.angle(value))
        return -most, most
    return _range(value, values.angle)


def _range(value: object, reader: Callable[[object], float]) -> Bounds:
    if not isinstance(value, Mapping) or set(value) != {"least", "most"}:
        raise refused(f"{as_written(value)} is not a range. Write {{ least = ..., most = ... }}.")
    least, most = reader(value["least"]), reader(value["most"])
    if least > most:
        raise refused(f"least ({as_written(value['least'])}) is more than most ({as_written(value['most'])}).")
    return least, most


def length_steps(value: object) -> Steps:
    """A step in mm, or the list of what is sold."""
    return _steps(value, values.positive)


def angle_steps(value: object) -> Steps:
    """A step in degrees, or the list of what is sold."""
    return _steps(value, values.positive_angle)


def _steps(value: object, reader: Callable[[object], float]) -> Steps:
    if not isinstance(value, list):
        return Steps(step=reader(value))
    if not value:
        raise refused("the list is empty. Write the sizes that are sold.")
    return Steps(sizes=tuple(sorted(map(reader, value))))


def widths(value: object) -> tuple[float, ...]:
    """The rim widths that can be had, in inches, narrowest first."""
    if not isinstance(value, list) or not value:
        raise refused(f'{as_written(value)} is not a list of rim widths. Write ["7 in", "7.5 in"].')
    return tuple(sorted(map(values.rim_width, value)))


def names(value: object) -> tuple[str, ...]:
    """One name, or a list of them."""
    if isinstance(value, str):
        return (values.word(value),)
    if not isinstance(value, list):
        raise refused(f'{as_written(value)} is not a list of names. Write ["front lip", "rear lip"].')
    return tuple(map(values.word, value))


def stud_thread(value: object) -> str:
    """A stud's thread, as "M12x1.5"."""
    text = values.word(value)
    try:
        Thread.parse(text)
    except InputError as wrong:
        raise refused(str(wrong)) from None
    return text


def chain_class(value: object) -> str:
    """A class of SAE J1232."""
    text = values.word(value).upper()
    if text not in CHAIN_ROOM_MM:
        raise refused(f"{as_written(value)} is not a class of SAE J1232. Write S, U or W, or tread and side.")
    return text


def heights(value: object) -> Mapping[str, float]:
    """Heights of the body by names that the file chooses."""
    return _named(value, values.length, ("load_states",), 'laden = "-35 mm" below [load_states]')


def parts_within(value: object) -> Mapping[str, float]:
    """Plus or minus by the names of parts."""
    return _named(value, values.not_negative, ("uncertainty", "part"), 'part = { "inner wall" = "1.5 mm" }')


def _named(value: object, reader: Callable[[object], float], path: Path, example: str) -> Mapping[str, float]:
    """Numbers by name, in the table at `path`."""
    if not isinstance(value, Mapping):
        raise refused(f"{as_written(value)} is not a table. Write {example}.")
    found = {}
    for name, item in value.items():
        try:
            found[name] = reader(item)
        except PydanticCustomError as wrong:
            raise Refusal((*path, name), wrong.message()) from None
    return found


Range = Annotated[Bounds | Literal[False], or_false(length_range)]
CamberRange = Annotated[Bounds | Literal[False], or_false(either_way)]
Most = Annotated[float | Literal[False], or_false(values.not_negative)]
MostTurn = Annotated[float | Literal[False], or_false(values.not_negative_angle)]
LengthSteps = Annotated[Steps, BeforeValidator(length_steps)]
AngleSteps = Annotated[Steps, BeforeValidator(angle_steps)]
Wheels = Annotated[int, BeforeValidator(values.wheels)]
Mass = Annotated[float, BeforeValidator(values.mass)]
Speed = Annotated[float, BeforeValidator(values.speed)]
Share = Annotated[float, BeforeValidator(values.share)]
Heights = Annotated[dict[str, float], BeforeValidator(heights)]
PartsWithin = Annotated[dict[str, float], BeforeValidator(parts_within)]


# ---- the sections

_LIMITS, _SOLD, _COST = terms.Limits(), terms.Sold(), terms.Cost()
_DUALS, _COVERAGE, _ORDER = terms.Duals(), terms.Coverage(), terms.OrderTerms()


def _most(value: float | None) -> float | Literal[False]:
    return False if value is None else value


class LimitsTable(Table):
    """[limits]: the most that each change may be; a change set to false is not offered."""

    spacer: Annotated[Most, ends.SPACER] = Field(_most(_LIMITS.spacer_mm), description="the thickest spacer")
    backspace: Annotated[Range, ends.BACKSPACE] | None = Field(
        None, description="{ least, most } that can be had; 50 mm each way where not given"
    )
    bump_stop: Annotated[Most, ends.GIVEN_UP] = Field(
        _most(_LIMITS.bump_stop_mm), description="travel that may be given up, at the wheel"
    )
    steering_stop: Annotated[MostTurn, ends.LOCK_GIVEN_UP] = Field(
        _most(_LIMITS.steering_stop_deg), description="lock that may be given up, each side"
    )
    rack_per_deg: Annotated[Size, ends.RACK_PER_DEG] | None = Field(
        None, description="rack travel per degree at the wheel; turns degrees of lock into rack mm"
    )
    ride_height: Annotated[Most, ends.RAISED] = Field(
        _most(_LIMITS.ride_height_mm), description="how far the car may be raised"
    )
    camber: Annotated[CamberRange, ends.CAMBER] | None = Field(
        None, description="{ least, most }, or one angle both ways; camber is left alone where not given"
    )
    lip_roll: Annotated[Most, ends.LIP_ROLL] = Field(
        _most(_LIMITS.lip_roll_mm),
        description="the most that rolling a lip gains (common practice); a shallow return gains less",
    )
    lip_trim: Annotated[Most, ends.LIP_TRIM] = Field(
        _most(_LIMITS.lip_trim_mm), description="the most that may be cut off a lip, upward (common practice)"
    )
    axle_across: Annotated[Most, ends.AXLE_ACROSS] = Field(
        _most(_LIMITS.axle_across_mm),
        description="how far a beam axle may be moved across the car, by shims, its track bar or its spring perches"
        " (common practice); of a car file alone",
    )
    tire_size: Flag = Field(_LIMITS.tire_size, description="whether a smaller tire may be offered")
    rim_widths: Annotated[tuple[float, ...], BeforeValidator(widths), ends.RIM_WIDTH] = Field(
        (), description="a list, instead of the tire's permitted range"
    )

    def value(self) -> terms.Limits:
        """As answers ask for it."""
        return terms.Limits(
            spacer_mm=_offered(self.spacer),
            backspace_mm=_offered(self.backspace),
            other_backspace=self.backspace is not False,
            bump_stop_mm=_offered(self.bump_stop),
            steering_stop_deg=_offered(self.steering_stop),
            rack_per_deg_mm=self.rack_per_deg,
            ride_height_mm=_offered(self.ride_height),
            camber_deg=_offered(self.camber),
            lip_roll_mm=_offered(self.lip_roll),
            lip_trim_mm=_offered(self.lip_trim),
            axle_across_mm=_offered(self.axle_across),
            tire_size=self.tire_size,
            rim_widths_in=self.rim_widths,
        )


def _offered(value: Read | Literal[False]) -> Read | None:
    return None if value is False else value


class SoldTable(Table):
    """[sold]: the steps in which things can be bought or set: a step, or the list of what there is."""

    spacer: Annotated[LengthSteps, ends.STEP] = Field(_SOLD.spacer_mm, description="spacers")
    bump_stop: Annotated[LengthSteps, ends.STEP] = Field(_SOLD.bump_stop_mm, description="longer bump stops")
    backspace: Annotated[LengthSteps, ends.STEP] = Field(_SOLD.backspace_mm, description="backspaces of a made wheel")
    ride_height: Annotated[LengthSteps, ends.STEP] = Field(_SOLD.ride_height_mm, description="blocks and springs")
    steering_stop: Annotated[AngleSteps, ends.STEP_ANGLE] = Field(
        _SOLD.steering_stop_deg, description="how finely the stops can be set"
    )
    camber: Annotated[AngleSteps, ends.STEP_ANGLE] = Field(_SOLD.camber_deg, description="how finely camber can be set")
    lip_roll: Annotated[LengthSteps, ends.STEP] = Field(
        _SOLD.lip_roll_mm, description="how finely a lip is rolled or trimmed"
    )
    rack_washer: Annotated[LengthSteps, ends.STEP] = Field(
        _SOLD.rack_washer_mm, description="washers on the rack, by its travel; for lock, where rack_per_deg is known"
    )
    axle_across: Annotated[LengthSteps, ends.STEP] = Field(
        _SOLD.axle_across_mm, description="how finely an axle can be set across the car"
    )

    def value(self) -> terms.Sold:
        """As answers ask for it."""
        return terms.Sold(
            spacer_mm=self.spacer,
            bump_stop_mm=self.bump_stop,
            backspace_mm=self.backspace,
            ride_height_mm=self.ride_height,
            steering_stop_deg=self.steering_stop,
            camber_deg=self.camber,
            lip_roll_mm=self.lip_roll,
            rack_washer_mm=self.rack_washer,
            axle_across_mm=self.axle_across,
        )


class WorkTable(Table):
    """One change in [cost]; what it leaves out is common practice."""

    hours: Annotated[float, BeforeValidator(values.number), ends.HOURS] | None = Field(
        None, description="of work, for both sides of the axle"
    )
    money: Annotated[float, BeforeValidator(values.number), ends.MONEY] | None = Field(
        None, description="for what is bought"
    )
    reversible: Flag | None = Field(None, description="whether it can be put back as it was")

    def value(self, usual: terms.Work) -> terms.Work:
        """As answers ask for it."""
        return replace(usual, **self.model_dump(exclude_none=True))


def _work(key: str) -> Any:
    usual = _COST.of(key)
    undone = "can" if usual.reversible else "cannot"
    text = f"{{ hours, money, reversible }}; {usual.hours:g} h where not given, {undone} be put back"
    return Field(WorkTable.model_construct(), description=f"{text} (common practice)")


class CostTable(Table):
    """[cost]: what each change takes in the shop, to rank them by."""

    spacer: WorkTable = _work("spacer")
    backspace: WorkTable = _work("backspace")
    bump_stop: WorkTable = _work("bump_stop")
    ride_height: WorkTable = _work("ride_height")
    steering_stop: WorkTable = _work("steering_stop")
    camber: WorkTable = _work("camber")
    lip_roll: WorkTable = _work("lip_roll")
    lip_trim: WorkTable = _work("lip_trim")
    axle_across: WorkTable = _work("axle_across")
    per_hour: Annotated[float, BeforeValidator(values.number), ends.PER_HOUR] = Field(
        _COST.per_hour, description="what an hour is worth, in the same money"
    )
    irreversible: Annotated[float, BeforeValidator(values.number), ends.HOURS] = Field(
        _COST.irreversible_hours, description="hours that it counts that something cannot be put back"
    )
    given_up: Annotated[float, BeforeValidator(values.number), ends.HOURS] = Field(
        _COST.given_up_hours,
        description="hours that it would count to lose all of the travel, or of the lock; a share counts that share",
    )

    def value(self) -> terms.Cost:
        """As answers ask for it."""
        works = {key: getattr(self, key).value(_COST.of(key)) for key in CHANGES}
        return terms.Cost(
            **works, per_hour=self.per_hour, irreversible_hours=self.irreversible, given_up_hours=self.given_up
        )


CHANGES = tuple(key for key, field in CostTable.model_fields.items() if field.annotation is WorkTable)
"""The keys of [cost] that are changes."""


def marking(value: object) -> str:
    """A tire's marking that can be read."""
    text = values.word(value)
    try:
        read_marking(text)
    except InputError as wrong:
        raise refused(str(wrong)) from None
    return text


class NowTable(Table):
    """[now]: what is on the car today and comes off; speedometer, stance and reach are compared with it."""

    size: Annotated[str, BeforeValidator(marking)] | None = Field(None, description="the marking on the sidewall")
    overall_diameter: Annotated[Size, ends.OVERALL_DIAMETER] | None = Field(None, description="as measured")
    section_width: Annotated[Size, ends.SECTION_WIDTH] | None = Field(None, description="as measured")
    diameter: Annotated[RimDiameter, ends.RIM_DIAMETER] | None = Field(
        None, description="of the rim; the marking's, or the new wheel's"
    )
    width: Annotated[RimWidth, ends.RIM_WIDTH] | None = Field(None, description="of the rim, between its flanges")
    backspace: Annotated[Length, ends.BACKSPACE] | None = Field(None, description="of the wheel that comes off")
    offset: Annotated[Length, ends.OFFSET] | None = Field(None, description="of it, instead of its backspace")

    @model_validator(mode="after")
    def _enough(self) -> NowTable:
        if self.size is None and self.overall_diameter is None:
            raise refused('what is on the car is not known. Write size = "205/55R16", or overall_diameter as measured.')
        if self.backspace is not None and self.width is None:
            raise refused("a backspace needs the rim's width to be one. Write width, or the offset instead.")
        return self

    def value(self) -> terms.Now:
        """As answers ask for it."""
        return terms.Now(**_said_of(self))


class SpareTable(Table):
    """[spare]: what is carried, and stands in for any wheel of the car; all of it, so that it can be put there."""

    size: Annotated[str, BeforeValidator(marking)] | None = Field(None, description="the marking on the sidewall")
    overall_diameter: Annotated[Size, ends.OVERALL_DIAMETER] | None = Field(None, description="as measured")
    section_width: Annotated[Size, ends.SECTION_WIDTH] | None = Field(None, description="as measured")
    diameter: Annotated[RimDiameter, ends.RIM_DIAMETER] | None = Field(
        None, description="of the rim; the marking's, or the road wheel's"
    )
    width: Annotated[RimWidth, ends.RIM_WIDTH] | None = Field(None, description="of the rim, between its flanges")
    backspace: Annotated[Length, ends.BACKSPACE] | None = Field(None, description="of the spare's wheel")
    offset: Annotated[Length, ends.OFFSET] | None = Field(None, description="of it, instead of its backspace")
    speed: Annotated[Speed, ends.SPEED] | None = Field(
        None, description='the fastest that it may go, as its sidewall says: "80 km/h", "50 mph"'
    )

    @model_validator(mode="after")
    def _enough(self) -> SpareTable:
        if self.size is None and self.overall_diameter is None:
            raise refused(
                'the spare is not known. Write size = "T125/70D16" as on its sidewall, or overall_diameter as measured.'
            )
        if self.backspace is not None and self.width is None:
            raise refused("a backspace needs the rim's width to be one. Write width, or the offset instead.")
        return self

    def value(self) -> terms.Spare:
        """As answers ask for it."""
        return terms.Spare(speed_kmh=self.speed, **_said_of(self))


def _said_of(table: NowTable | SpareTable) -> dict[str, Any]:
    """What either says of a tire and its wheel."""
    return {
        "size": table.size,
        "overall_diameter_mm": table.overall_diameter,
        "section_width_mm": table.section_width,
        "rim_diameter_in": table.diameter,
        "rim_width_in": table.width,
        "backspace_mm": table.backspace,
        "offset_mm": table.offset,
    }


class UncertaintyTable(Table):
    """[uncertainty]: plus or minus, at about two standard deviations; what is not given is `budget`'s own."""

    backspace: Annotated[Distance, ends.MEASURED_WITHIN] | None = Field(None, description="of the wheel as made")
    overall_diameter: Annotated[Distance, ends.MEASURED_WITHIN] | None = Field(None, description="of the tire")
    section_width: Annotated[Distance, ends.MEASURED_WITHIN] | None = Field(None, description="of the tire")
    axle_sideways: Annotated[Distance, ends.MEASURED_WITHIN] | None = Field(
        None, description="how well the axle is centred"
    )
    axle_lengthways: Annotated[Distance, ends.MEASURED_WITHIN] | None = Field(None, description="and along the car")
    ride_height: Annotated[Distance, ends.MEASURED_WITHIN] | None = Field(None, description="of the car as it sits")
    bump_travel: Annotated[Distance, ends.MEASURED_WITHIN] | None = Field(None, description="to the bump stop")
    camber: Annotated[Turn, ends.ANGLE_WITHIN] | None = Field(None, description="as read")
    steer: Annotated[Turn, ends.ANGLE_WITHIN] | None = Field(None, description="of the locks, as read")
    parts: Annotated[Distance, ends.MEASURED_WITHIN] | None = Field(
        None, description="of every part that does not state its own"
    )
    part: Annotated[PartsWithin, ends.MEASURED_WITHIN] = Field({}, description='by name: { "inner wall" = "1.5 mm" }')

    def value(self) -> terms.Uncertainty:
        """As answers ask for it."""
        own = self.model_dump(exclude={"parts", "part"}, exclude_none=True)
        return terms.Uncertainty(stated=own, parts_mm=self.parts, part_mm=self.part)


class LoadTable(Table):
    """[load]: what the tire must carry."""

    corner: Annotated[Mass, ends.CORNER_LOAD] | None = Field(None, description='on this wheel: "520 kg", "1146 lb"')
    speed: Annotated[Speed, ends.SPEED] | None = Field(None, description='the fastest it goes: "180 km/h", "112 mph"')

    def value(self) -> terms.Load:
        """As answers ask for it."""
        return terms.Load(corner_kg=self.corner, speed_kmh=self.speed)


class OrderTable(Table):
    """[order]: what the wheel maker is told, beyond the wheel itself."""

    quantity: Annotated[Wheels, ends.WHEELS] = Field(_ORDER.quantity, description="how many wheels")
    lug_seat: Word | None = Field(None, description='"60 deg cone", "ball 14 mm", "flat with washer"')
    thread: Annotated[str, BeforeValidator(stud_thread)] | None = Field(
        None, description='of the studs: "M12x1.5", "1/2-20"'
    )
    stud_length: Annotated[Size, ends.STUD_LENGTH] | None = Field(None, description="standing out of the hub's face")
    seat_depth: Annotated[Distance, ends.SEAT_DEPTH] | None = Field(
        None, description="wheel thickness under the nut, at the seat"
    )
    width_tolerance: Annotated[Distance, ends.MADE_WITHIN] | None = Field(None, description="of the rim's width")
    diameter_tolerance: Annotated[Distance, ends.MADE_WITHIN] | None = Field(None, description="of the bead seats")
    backspace_tolerance: Annotated[Distance, ends.MADE_WITHIN] | None = Field(None, description="of the backspace")
    bolt_circle_tolerance: Annotated[Distance, ends.MADE_WITHIN] | None = Field(None, description="of the bolt circle")
    center_bore_tolerance: Annotated[Distance, ends.MADE_WITHIN] | None = Field(None, description="of the center bore")

    def value(self) -> terms.OrderTerms:
        """As answers ask for it."""
        end = "_tolerance"
        own = {k.removesuffix(end): v for k, v in self.model_dump(exclude_none=True).items() if k.endswith(end)}
        return terms.OrderTerms(
            quantity=self.quantity,
            lug_seat=self.lug_seat,
            thread=self.thread,
            stud_length_mm=self.stud_length,
            seat_depth_mm=self.seat_depth,
            tolerances_mm=own,
        )


class SpareWellTable(Table):
    """[spare_well]: a round well that the spare lies in."""

    diameter: Annotated[Size, ends.SPARE_DIAMETER] = Field(description="of the well")
    depth: Annotated[Size, ends.SPARE_DEPTH] = Field(description="floor to lid")
    stand: Annotated[Distance, ends.SPARE_STAND] | None = Field(
        None, description="floor to the wheel's mounting face; left out, it lies on the floor"
    )
    face: Annotated[str, one_of("up", "down")] = Field("down", description="which way the wheel's outer face lies")
    off_centre: Annotated[Distance, ends.OFF_CENTRE] = Field(
        0.0, description="how far the hold-down may be off the middle"
    )
    required: Annotated[Distance, ends.REQUIRED] = Field(0.0, description="the gap that it must keep")

    def value(self) -> terms.SpareWell:
        """As answers ask for it."""
        return terms.SpareWell(
            diameter_mm=self.diameter,
            depth_mm=self.depth,
            stand_mm=self.stand,
            face_up=self.face == "up",
            off_centre_mm=self.off_centre,
            required_mm=self.required,
        )


class DualsTable(Table):
    """[duals]: two tires side by side."""

    spacing: Annotated[Size, ends.DUAL_SPACING] | None = Field(
        None, description="between the centre planes; twice the wheel's outset where not given"
    )
    bulge: Annotated[Share, ends.BULGE] = Field(_DUALS.bulge, description="how much wider the loaded section is")
    required: Annotated[Distance, ends.REQUIRED] = Field(_DUALS.required_mm, description="the gap between them")

    def value(self) -> terms.Duals:
        """As answers ask for it."""
        return terms.Duals(spacing_mm=self.spacing, bulge=self.bulge, required_mm=self.required)


class ChainsTable(Table):
    """[chains]: room for chains, by class or as it is; the tire is taken through the cycle with them on."""

    class_: Annotated[str, BeforeValidator(chain_class)] | None = Field(
        None, alias="class", description='"S", "U" or "W" (SAE J1232)'
    )
    tread: Annotated[Distance, ends.CHAIN_TREAD] | None = Field(None, description="room over the tread, instead")
    side: Annotated[Distance, ends.CHAIN_SIDE] | None = Field(None, description="room over each side wall, with it")

    @model_validator(mode="after")
    def _either(self) -> ChainsTable:
        own = (self.tread, self.side)
        if self.class_ is not None and own != (None, None):
            raise refused("state either the class or tread and side, not both.")
        if self.class_ is None and None in own:
            missing = "tread" if self.tread is None else "side"
            raise refused(f'{missing} is missing. Write class = "S", or tread = ... and side = ...')
        return self

    def value(self) -> terms.Chains:
        """As answers ask for it."""
        room = (self.tread, self.side) if self.class_ is None else CHAIN_ROOM_MM[self.class_]
        return terms.Chains(name=self.class_ or "own", tread_mm=room[0] or 0.0, side_mm=room[1] or 0.0)


class CoverageTable(Table):
    """[coverage]: a rule about the body over the tire, with its source."""

    ahead: Annotated[Turn, ends.COVER_ANGLE] = Field(_COVERAGE.ahead_deg, description="from straight up, ahead")
    behind: Annotated[Turn, ends.COVER_ANGLE] = Field(_COVERAGE.behind_deg, description="from straight up, behind")
    protrude: Annotated[Length, ends.PROTRUDE] = Field(
        _COVERAGE.protrude_mm, description="how far the tire may stand out past the body inside those angles"
    )
    part: Annotated[tuple[str, ...], BeforeValidator(names)] = Field(
        (), description="parts that count as cover; all lips where not given"
    )
    source: Word = Field(_COVERAGE.source, description="whose rule it is")

    def value(self) -> terms.Coverage:
        """As answers ask for it."""
        return terms.Coverage(
            ahead_deg=self.ahead,
            behind_deg=self.behind,
            protrude_mm=self.protrude,
            parts=self.part,
            source=self.source,
        )


class TapeTable(Table):
    """[tape] and [opposite]: two tape numbers of one side, for left against right."""

    hub_to_spring: Annotated[Size, ends.TO_SPRING] | None = Field(None, description="hub face to the spring")
    hub_to_lip: Annotated[Size, ends.TO_LIP] | None = Field(None, description="hub centre to the lip")

    def value(self) -> terms.Tape:
        """As answers ask for it."""
        return terms.Tape(hub_to_spring_mm=self.hub_to_spring, hub_to_lip_mm=self.hub_to_lip)


class AgreedTables(Table):
    """Every one of these sections."""

    load_states: Annotated[Heights, ends.BODY_HEIGHT] = Field(
        {}, description="names, each with how far the body sits above (+) or below (-) the ride height measured"
    )
    limits: LimitsTable = Field(LimitsTable.model_construct(), description="the most that each change may be")
    sold: SoldTable = Field(SoldTable.model_construct(), description="the steps in which things can be bought or set")
    uncertainty: UncertaintyTable = Field(
        UncertaintyTable.model_construct(), description="plus or minus of each measurement"
    )
    cost: CostTable = Field(CostTable.model_construct(), description="what each change takes in the shop")
    now: NowTable | None = Field(None, description="the tire and wheel on the car today")
    spare: SpareTable | None = Field(None, description="the tire and wheel that is carried")
    load: LoadTable = Field(LoadTable.model_construct(), description="what the tire must carry")
    order: OrderTable = Field(OrderTable.model_construct(), description="what the wheel maker is told")
    spare_well: SpareWellTable | None = Field(None, description="the well that the spare lies in")
    duals: DualsTable | None = Field(None, description="two tires side by side")
    chains: ChainsTable | None = Field(None, description="room for chains")
    coverage: CoverageTable | None = Field(None, description="a rule about the body over the tire")
    tape: TapeTable | None = Field(None, description="tape numbers of this side")
    opposite: TapeTable | None = Field(None, description="the same of the other side")

    def value(self) -> terms.Terms:
        """As a mock-up carries them."""
        own: dict[str, Any] = {
            key: None if (table := getattr(self, key)) is None else table.value()
            for key in type(self).model_fields
            if key != "load_states"
        }
        return terms.Terms(load_states_mm=self.load_states, **own)
