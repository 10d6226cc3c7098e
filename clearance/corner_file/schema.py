"""The sections of a corner file and their keys, each with its kind of value, its default and what it means.

A model here is one table of the file. Lengths arrive as text with a unit and leave as millimetres, angles as degrees.
What depends on the kind of suspension is described by `clearance.suspension.kinds` and read in `motion`; what only the
answers read is described by `clearance.answers.sections`.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from clearance.corner_file.reading import read
from clearance.corner_file.refusal import as_written, nearest
from clearance.corner_file.values import (
    Angle,
    Circle,
    Distance,
    Flag,
    FlatPoint,
    Length,
    Name,
    Number,
    Point,
    RimDiameter,
    RimWidth,
    Size,
    Turn,
    Whole,
    Word,
    finite,
    refused,
)
from clearance.ends import families as ends


def listed(words: tuple[str, ...]) -> str:
    """A sentence that offers all of these words.

    >>> listed(("mm", "cm", "in"))
    'Write "mm", "cm" or "in".'
    """
    quoted = [f'"{word}"' for word in words]
    return f"Write {', '.join(quoted[:-1])} or {quoted[-1]}."


def one_of(*words: str) -> BeforeValidator:
    """One of these words; another is refused with the nearest."""

    def check(value: object) -> str:
        if not isinstance(value, str) or value not in words:
            hint = nearest(value, words) if isinstance(value, str) else listed(words)
            raise refused(f"{as_written(value)} cannot be used here. {hint if 'Did' in hint else listed(words)}")
        return value

    return BeforeValidator(check)


class Table(BaseModel):
    """One table of the file: unknown keys are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


# ---- tire and wheel


class Growth(Table):
    """How much the tire grows in service, both sides together."""

    width: Annotated[Distance, ends.GROWTH] = Field(0.0, description="added to the section width")
    diameter: Annotated[Distance, ends.GROWTH] = Field(0.0, description="added to the overall diameter")


class ChainRoom(Table):
    """Room for chains that are not one of the classes."""

    tread: Annotated[Distance, ends.CHAIN_TREAD] = Field(description="room over the tread")
    side: Annotated[Distance, ends.CHAIN_SIDE] = Field(description="room over each side wall")


class Traced(Table):
    """A section traced from the tire itself."""

    file: Word = Field(description="a CSV beside the corner file: across, radius; one point a row")
    unit: Annotated[Literal["mm", "cm", "in"], one_of("mm", "cm", "in")] = Field(description="of both columns")


def _growth(value: object) -> object:
    if isinstance(value, str) and value not in ("none", "in-service"):
        hint = nearest(value, ("none", "in-service"))
        raise refused(
            f'{as_written(value)} is not a growth. {hint} Or write {{ width = "4 mm", diameter = "8 mm" }}.'
            if "Known" not in hint
            else f'{as_written(value)} is not a growth. Write "none", "in-service"'
            ' or { width = "4 mm", diameter = "8 mm" }.'
        )
    if isinstance(value, str):
        return value
    return _inner(Growth, "growth", _table(value, '"none", "in-service" or { width = "4 mm", diameter = "8 mm" }'))


def _chains(value: object) -> object:
    if isinstance(value, str):
        if value.upper() not in ("S", "U", "W"):
            raise refused(
                f'{as_written(value)} is not a class of chain. Write "S", "U" or "W" (SAE J1232), or its room.'
            )
        return value.upper()
    return _inner(ChainRoom, "chains", _table(value, '"S", "U", "W" or { tread = "37 mm", side = "15 mm" }'))


def _shape(value: object) -> object:
    if isinstance(value, str):
        if value not in ("road", "square", "round"):
            hint = nearest(value, ("road", "square", "round"))
            if value.lower().endswith((".csv", ".txt")):
                hint = f'Write {{ file = {as_written(value)}, unit = "mm" }} for a traced section.'
            elif "Known" in hint:
                hint = 'Write "road", "square", "round" or { file = "section.csv", unit = "mm" }.'
            raise refused(f"{as_written(value)} is not a shape. {hint}")
        return value
    return _inner(Traced, "shape", _table(value, '"road", "square", "round" or { file = "section.csv", unit = "mm" }'))


def _inner(model: type[Table], key: str, value: object) -> Table:
    """A table inside a table that may also be a word: its own keys are named in a refusal."""
    return read(model, value, (key,))


def _table(value: object, example: str) -> object:
    if not isinstance(value, dict):
        raise refused(f"{as_written(value)} cannot be used here. Write {example}.")
    return value


class TireTable(Table):
    """[tire]: a marking, measurements, or both. Measured beats marked."""

    size: Word | None = Field(None, description="the marking on the sidewall; left out, the dimensions are needed")
    overall_diameter: Annotated[Size, ends.OVERALL_DIAMETER] | None = Field(
        None, description="tread to tread, inflated, off the ground"
    )
    section_width: Annotated[Size, ends.SECTION_WIDTH] | None = Field(
        None, description="sidewall to sidewall, as mounted on this rim"
    )
    measured_on: Annotated[RimWidth, ends.RIM_WIDTH] | None = Field(
        None, description="the rim width that section_width was measured on, where it was not this one"
    )
    tread_width: Annotated[Size, ends.TREAD_WIDTH] | None = Field(
        None, description="across the tread, to where the shoulders begin to fall away"
    )
    rim_diameter: Annotated[RimDiameter, ends.RIM_DIAMETER] | None = Field(
        None, description="the rim that it fits; the marking's, or the wheel's"
    )
    shape: Annotated[str | Traced, BeforeValidator(_shape)] = Field(
        "road", description='"road", "square", "round", or a traced section'
    )
    growth: Annotated[str | Growth, BeforeValidator(_growth)] = Field(
        "none", description='"none", "in-service", or { width, diameter }'
    )
    chains: Annotated[str | ChainRoom | None, BeforeValidator(_chains)] = Field(
        None, description='room for chains: "S", "U", "W" (SAE J1232), or { tread, side }'
    )


class WheelTable(Table):
    """[wheel]: the rim and where the hub's mounting face lies in it."""

    diameter: Annotated[RimDiameter, ends.RIM_DIAMETER] = Field(description="of the bead seats, as coded")
    width: Annotated[RimWidth, ends.RIM_WIDTH] = Field(
        description="between the flanges, where the beads sit; not over all"
    )
    backspace: Annotated[Length, ends.BACKSPACE] | None = Field(
        None, description="mounting face to the inner flange edge"
    )
    offset: Annotated[Length, ends.OFFSET] | None = Field(
        None, description="mounting face outboard of the rim's centre plane; positive inset"
    )
    flange_thickness: Annotated[Size, ends.FLANGE_THICKNESS] | None = Field(
        None, description="of each flange, across; 12.7 mm where not given"
    )
    flange_height: Annotated[Size, ends.FLANGE_HEIGHT] | None = Field(
        None, description="bead seat to the top of the flange; its contour's where not given"
    )
    barrel_inner_diameter: Annotated[Size, ends.BARREL] | None = Field(
        None, description="least inside diameter of the barrel"
    )
    face: Annotated[Length, ends.FACE] | None = Field(
        None, description="how far the wheel's face stands outboard of the mounting face"
    )
    bolt_circle: Annotated[Circle, ends.CIRCLE] | None = Field(None, description='studs and circle, as "5 x 4.5 in"')
    center_bore: Annotated[Size, ends.CENTER_BORE] | None = Field(None, description="the hole for the hub's nose")


# ---- the well


class PartTable(Table):
    """What every [[part]] can say, whatever its kind."""

    name: Name = Field(description="what the findings call it; yours to choose")
    kind: Word = Field(description="wall, plate, box, bar, tub, lip or mesh")
    rides_on: Word = Field("body", description='what it moves with: "body", "axle", "knuckle", or a link')
    required: Annotated[Distance, ends.REQUIRED] | None = Field(
        None, description="the gap that it must keep; a default by kind where not given"
    )
    thickness: Annotated[Distance, ends.THICKNESS] = Field(
        0.0, description="of the sheet behind the surface, away from the tire"
    )
    uncertainty: Annotated[Distance, ends.UNCERTAINTY] | None = Field(
        None, description="how far the surface may be from where it was measured"
    )


class WallTable(PartTable):
    """A flat upright sheet, square to the hub's axis."""

    inboard: Annotated[Distance, ends.ACROSS_WELL] | None = Field(
        None, description="of the hub face, toward the middle of the car"
    )
    outboard: Annotated[Distance, ends.OUT_OF_WELL] | None = Field(
        None, description="of the hub face, instead of inboard"
    )
    ahead: Annotated[Length, ends.SHEET_AHEAD] | None = Field(
        None, description="how far it goes ahead of the hub; without a bound where not given"
    )
    behind: Annotated[Length, ends.SHEET_BEHIND] | None = Field(None, description="how far it goes behind the hub")
    above: Annotated[Length, ends.SHEET_ABOVE] | None = Field(None, description="how far it goes above the hub")
    below: Annotated[Length, ends.SHEET_BELOW] | None = Field(None, description="how far it goes below the hub")


class PlateTable(PartTable):
    """A flat sheet."""

    corners: tuple[Annotated[Point, ends.PART_POINT], ...] = Field(description="three or four points, going around")


class BoxTurn(Table):
    """How a box stands askew."""

    about: Annotated[str, one_of("ahead", "outboard", "above")] = Field(description='"ahead", "outboard" or "above"')
    angle: Annotated[Angle, ends.BOX_TURN] = Field(
        description="positive lifts the outboard side, dips the front, swings the front outboard"
    )
    through: Annotated[Point, ends.PART_POINT] | None = Field(
        None, description="a point of the axis; the box's middle where not given"
    )


class BoxTable(PartTable):
    """A rectangular block."""

    min: Annotated[Point, ends.PART_POINT] = Field(description="the least ahead, outboard and above")
    max: Annotated[Point, ends.PART_POINT] = Field(description="the greatest ahead, outboard and above")
    turn: BoxTurn | None = Field(None, description="{ about, angle, through }")


class BarTable(PartTable):
    """A round tube along points."""

    points: tuple[Annotated[Point, ends.PART_POINT], ...] = Field(
        description="two or more, along the middle of the tube"
    )
    diameter: Annotated[Size, ends.BAR_DIAMETER] = Field(description="over all")
    ends_ride_on: tuple[Word, Word] | None = Field(None, description='what each end moves with: ["axle", "body"]')


class TaperTable(Table):
    """An inner wall that leans toward the tire."""

    low: Annotated[Length, ends.LEAN_HEIGHT] = Field(
        description="height above the hub up to which it stands at `inner`"
    )
    high: Annotated[Length, ends.LEAN_HEIGHT] = Field(
        description="height above the hub from which it stands at this `inner`"
    )
    inner: Annotated[Distance, ends.ACROSS_WELL] = Field(description="inboard of the hub face, from `high` on")


class CrownTable(Table):
    """A crown that is rolled, or flat."""

    height: Annotated[Length, ends.CROWN_HEIGHT] | None = Field(None, description="of a flat crown above the hub")
    radius: Annotated[Size, ends.CROWN_RADIUS] | None = Field(
        None, description="of a rolled crown, about an axle-wise line"
    )
    centre: Annotated[FlatPoint, ends.ARCH_CENTRE] = Field((0.0, 0.0), description="[ahead, above] of that line")


def _crown(value: object) -> object:
    if isinstance(value, str):
        return {"height": value}
    return _table(value, '"430 mm" for a flat one, or { radius = "400 mm", centre = ["0 mm", "20 mm"] }')


class TubTable(PartTable):
    """A whole wheel well; findings name its faces one by one."""

    inner: Annotated[Distance, ends.ACROSS_WELL] = Field(description="the inner wall, inboard of the hub face")
    crown: Annotated[CrownTable, BeforeValidator(_crown), ends.CROWN_HEIGHT] = Field(
        description="the top: a height above the hub, or { radius, centre }"
    )
    outer: Annotated[Length, ends.EDGE] = Field(
        description="how far outboard of the hub face the crown, front and rear reach"
    )
    front: Annotated[Distance, ends.END_SHEET] | None = Field(None, description="the front sheet, ahead of the hub")
    rear: Annotated[Distance, ends.END_SHEET] | None = Field(None, description="the rear sheet, behind the hub")
    bottom: Annotated[Distance, ends.BOTTOM] | None = Field(
        None, description="how far below the hub the sheets end; without a bound if not given"
    )
    outer_panel: Annotated[Length, ends.PANEL_HEIGHT] | None = Field(
        None, description="height above the hub from which the body side closes it"
    )
    taper: TaperTable | None = Field(None, description="{ low, high, inner } of an inner wall that leans")


class LipTable(PartTable):
    """The edge of an arch opening and its return flange."""

    outboard: Annotated[Length, ends.EDGE] = Field(description="the edge, from the hub face")
    radius: Annotated[Size, ends.ARCH_RADIUS] | None = Field(None, description="of the arch")
    centre: Annotated[FlatPoint, ends.ARCH_CENTRE] = Field(
        (0.0, 0.0), description="[ahead, above] of the arch's centre"
    )
    outline: tuple[Annotated[FlatPoint, ends.ARCH_POINT], ...] | None = Field(
        None, description="[ahead, above] points, instead of a radius"
    )
    from_: Annotated[Angle, ends.ARCH_ANGLE] = Field(
        -90.0, alias="from", description="where the arch begins, from straight up, positive ahead"
    )
    to: Annotated[Angle, ends.ARCH_ANGLE] = Field(90.0, description="where it ends")
    return_depth: Annotated[Distance, ends.RETURN_DEPTH] = Field(0.0, description="of the flange, from the edge")
    return_angle: Annotated[Angle, ends.RETURN_ANGLE] = Field(
        0.0, description="0 straight inboard, positive rolled up and away, negative hanging"
    )
    trim_thickness: Annotated[Distance, ends.TRIM] = Field(
        0.0, description="of an edge trim, which stands off the flange all round"
    )


Numbers = Annotated[tuple[Number, Number, Number], ends.SCAN_POINT]


def direction(value: object) -> object:
    """A direction in a scan's own axes: "+x", or three numbers."""
    if isinstance(value, str) and value.strip().lower() in ("+x", "-x", "x", "+y", "-y", "y", "+z", "-z", "z"):
        return value.strip().lower()
    if isinstance(value, list) and len(value) == 3 and all(map(finite, value)) and any(value):
        return [float(v) for v in value]
    raise refused(f'{as_written(value)} is not a direction of the scan. Write "+x", "-z", or three numbers.')


Direction = Annotated[Any, BeforeValidator(direction)]


class ScaleTable(Table):
    """Two points of a scan, in its own numbers, whose true distance was measured."""

    from_: Numbers = Field(alias="from", description="one point, in the scan's own numbers")
    to: Numbers = Field(description="the other")
    distance: Annotated[Size, ends.SCAN_DISTANCE] = Field(description="between them, as measured")
    within: Annotated[Distance, ends.PICKED_WITHIN] = Field(2.0, description="how well each of the two was picked")


class PlaceTable(Table):
    """Where a scan stands on the hub; points and directions are in the scan's own numbers and axes."""

    hub: Numbers | None = Field(None, description="the centre of the hub's mounting face")
    face: tuple[Numbers, ...] | None = Field(None, description="three or more points round the hub face or the rotor")
    bolt_holes: tuple[Numbers, ...] | None = Field(None, description="three or more stud or hole middles")
    bolt_circle: Annotated[Circle, ends.CIRCLE] | None = Field(
        None, description="of the bolt_holes; the wheel's where not given"
    )
    diameter: Annotated[Size, ends.PICKED_CIRCLE] | None = Field(
        None, description="of the circle through the face points: a check of the unit"
    )
    face_outboard: Annotated[Length, ends.FACE_OUTBOARD] = Field(
        0.0, description="from the picked face out to the mounting face"
    )
    ahead: Direction | None = Field(None, description='which way of the scan is ahead: "+x", or three numbers')
    up: Direction | None = Field(None, description="which way is up")
    outboard: Direction | None = Field(None, description="which way is outboard")
    ground: tuple[Numbers, ...] | None = Field(None, description="two or more points of the ground, instead of up")
    within: Annotated[Distance, ends.PICKED_WITHIN] | None = Field(None, description="how well the points were picked")
    level_within: Annotated[Turn, ends.LEVEL_WITHIN] | None = Field(
        None, description="how well the scan knows which way is up"
    )


class BoxRegionTable(Table):
    """A box along the corner axes."""

    min: Annotated[Point, ends.REGION_POINT] = Field(description="the least ahead, outboard and above")
    max: Annotated[Point, ends.REGION_POINT] = Field(description="the greatest")


class AxleRegionTable(Table):
    """A cylinder about the axle's line."""

    radius: Annotated[Size, ends.REGION_RADIUS] = Field(description="of the cylinder")
    from_: Annotated[Length, ends.REGION_ALONG_AXLE] = Field(
        alias="from", description="outboard of the hub face; negative is inboard"
    )
    to: Annotated[Length, ends.REGION_ALONG_AXLE] = Field(description="outboard of the hub face")


class RemoveTable(Table):
    """What of a scan must not count, because it moves with the wheel or will not be there."""

    name: Name = Field(description="what the findings call it; yours to choose")
    box: BoxRegionTable | None = Field(None, description="{ min, max } in corner axes")
    axle: AxleRegionTable | None = Field(None, description="{ radius, from, to }: a cylinder about the axle")
    piece: Annotated[Point, ends.REGION_POINT] | None = Field(
        None, description="a point at or near one connected piece"
    )


class SplitTable(RemoveTable):
    """A region of a scan that becomes a part of its own."""

    required: Annotated[Distance, ends.REQUIRED] | None = Field(None, description="the gap that it must keep")
    rides_on: Word = Field("body", description="what it moves with")
    thickness: Annotated[Distance, ends.THICKNESS] = Field(0.0, description="of the sheet")


def _place(value: object) -> object:
    if value == "corner axes":
        return None
    if isinstance(value, str):
        raise refused(
            f'{as_written(value)} is not a place. Write "corner axes",'
            ' or { hub = [x, y, z], up = "+z", ahead = "+x" }.'
        )
    return _inner(PlaceTable, "place", _table(value, '"corner axes", or { hub = [x, y, z], up = "+z", ahead = "+x" }'))


def _places(value: object) -> object:
    if isinstance(value, str) and value != "all":
        raise refused(f'{as_written(value)} cannot be used here. Write "all", or a list with a place at each hole.')
    return value


Places = Annotated[tuple[Annotated[Point, ends.REGION_POINT], ...] | Literal["all"], BeforeValidator(_places)]


class MeshTable(PartTable):
    """A scan or a CAD export."""

    file: Word = Field(description="beside the corner file, or a full path: OBJ, STL, PLY, GLB, OFF, 3MF, XYZ, CSV")
    unit: Annotated[str | None, one_of("mm", "cm", "m", "in", "ft")] = Field(
        None, description='of the file\'s numbers: "mm", "cm", "m", "in", "ft"; this or scale must be given'
    )
    scale: ScaleTable | None = Field(None, description="{ from, to, distance } instead of a unit")
    place: Annotated[PlaceTable | None, BeforeValidator(_place)] = Field(
        None, description='"corner axes", { hub, up, ahead }, { face, ... } or { bolt_holes, ... }'
    )
    other_side: Flag = Field(False, description="true where the other side of the car was scanned: it is mirrored")
    whole: Flag = Field(False, description="true where nothing is missing from a file that looks cut short")
    remove: tuple[RemoveTable, ...] = Field((), description="regions that must not count")
    split: tuple[SplitTable, ...] = Field((), description="regions that become parts of their own")
    stray: Annotated[Distance, ends.STRAY] = Field(0.0, description="connected pieces smaller than this are left out")
    decimate_to: Annotated[Whole, ends.TRIANGLES] | None = Field(None, description="about how many triangles to keep")
    radius: Annotated[Size, ends.BALL_RADIUS] | None = Field(
        None, description="of the ball that stands for each point of a cloud"
    )
    holes_open: Places = Field((), description='holes that are really open: a place at each, or "all"')
    holes_closed: Places = Field(
        (), description='holes that the sheet goes on across, nothing standing out, as somebody saw or felt; or "all"'
    )


PARTS: dict[str, type[PartTable]] = {
    "wall": WallTable,
    "plate": PlateTable,
    "box": BoxTable,
    "bar": BarTable,
    "tub": TubTable,
    "lip": LipTable,
    "mesh": MeshTable,
}


# ---- motion: what every kind of suspension shares


class ShiftTable(Table):
    """Play and flex: how far the wheel can be pushed, each way, from any position."""

    inboard: Annotated[Distance, ends.PLAY] = Field(0.0, description="toward the middle of the car")
    outboard: Annotated[Distance, ends.PLAY] = Field(0.0, description="away from it")
    ahead: Annotated[Distance, ends.PLAY] = Field(0.0, description="forward")
    behind: Annotated[Distance, ends.PLAY] = Field(0.0, description="back")


class TravelTable(Table):
    """The keys of [suspension] that every kind takes."""

    kind: Word = Field(description="straight, table, or a linkage by its hardpoints")
    bump: Annotated[Distance, ends.TRAVEL] = Field(description="ride height up to the bump stop, at the wheel")
    droop: Annotated[Distance, ends.TRAVEL] = Field(
        description="ride height down to full droop, at the wheel; without a sign"
    )
    other_bump: Annotated[Distance, ends.TRAVEL] | None = Field(
        None, description="of a live axle: the other wheel's; the same where not given"
    )
    other_droop: Annotated[Distance, ends.TRAVEL] | None = Field(None, description="the other wheel's droop")
    articulation: Annotated[Distance, ends.ARTICULATION] | None = Field(
        None, description="the most that the two wheels can differ in bump"
    )
    shift: ShiftTable = Field(ShiftTable.model_validate({}), description="play and flex, added to every position")
