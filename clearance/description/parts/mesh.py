"""A scan or a CAD export: its file, its place, what of it counts."""

from __future__ import annotations

from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Annotated, Any, Literal

import numpy as np
from pydantic import BeforeValidator, Field

from clearance.description.lines import Path
from clearance.description.parts.part import PartTable, Surroundings, refuse_frame, required
from clearance.description.reading import key_names
from clearance.description.refusal import Refusal, as_written
from clearance.description.schema import Table, inner_table, one_of, table_or
from clearance.description.values import (
    Circle,
    Distance,
    Flag,
    Length,
    Name,
    Number,
    Point,
    Size,
    Turn,
    Whole,
    Word,
    finite,
    refused,
)
from clearance.ends import families as ends
from clearance.errors import FileError
from clearance.opener import beside
from clearance.well.part import Part
from clearance.well.parts import Tag

if TYPE_CHECKING:
    from clearance.well import scan, scan_place


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


def placed(value: object) -> object:
    """The table that says where a scan stands, or nothing for corner axes."""
    if value == "corner axes":
        return None
    if isinstance(value, str):
        raise refused(
            f'{as_written(value)} is not a place. Write "corner axes",'
            ' or { hub = [x, y, z], up = "+z", ahead = "+x" }.'
        )
    return inner_table(
        PlaceTable, "place", table_or(value, '"corner axes", or { hub = [x, y, z], up = "+z", ahead = "+x" }')
    )


def places(value: object) -> object:
    """A list of places, or "all"."""
    if isinstance(value, str) and value != "all":
        raise refused(f'{as_written(value)} cannot be used here. Write "all", or a list with a place at each hole.')
    return value


Places = Annotated[tuple[Annotated[Point, ends.REGION_POINT], ...] | Literal["all"], BeforeValidator(places)]


class MeshTable(PartTable):
    """A scan or a CAD export."""

    file: Word = Field(description="beside the corner file, or a full path: OBJ, STL, PLY, GLB, OFF, 3MF, XYZ, CSV")
    unit: Annotated[str | None, one_of("mm", "cm", "m", "in", "ft")] = Field(
        None, description='of the file\'s numbers: "mm", "cm", "m", "in", "ft"; this or scale must be given'
    )
    scale: ScaleTable | None = Field(None, description="{ from, to, distance } instead of a unit")
    place: Annotated[PlaceTable | None, BeforeValidator(placed)] = Field(
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

    def built(self, tag: Tag, around: Surroundings, path: Path) -> tuple[Part, ...]:
        """As `PartTable.built`."""
        # the scan's libraries take their time to load, and most corners have no scan
        from clearance.well import scan

        _refuse_scan(self, around, path)
        return scan.scan_parts(
            _file(self.file, around, path),
            name=tag.name,
            unit=self.unit,
            scale=scale_for(self.scale),
            place=place_for(self.place, around),
            side=around.side,
            other_side=self.other_side,
            whole=self.whole,
            remove=[scan.Removal(name=one.name, region=_region(one)) for one in self.remove],
            split=[_split(one) for one in self.split],
            cleaning=scan.Cleaning(stray_below_mm=self.stray, decimate_to=self.decimate_to),
            point_radius_mm=self.radius,
            holes_open=_places(self.holes_open),
            holes_closed=_places(self.holes_closed),
            uncertainty_mm=self.uncertainty,
            required_mm=tag.required_mm,
            required_from=tag.required_from,
            rides_on=tag.rides_on,
            thickness_mm=tag.thickness_mm,
        )


def _file(name: str, around: Surroundings, path: Path) -> FilePath:
    try:
        return beside(around.folder, name)
    except FileError as wrong:
        raise Refusal((*path, "file"), wrong.reason) from None


def _refuse_scan(table: MeshTable, around: Surroundings, path: Path) -> None:
    if table.decimate_to is not None and table.decimate_to < 4:
        raise Refusal((*path, "decimate_to"), f"{table.decimate_to} triangles are no surface. Write 1000 or more.")
    for key, regions in (("remove", table.remove), ("split", table.split)):
        for i, one in enumerate(regions):
            where = (*path, key, i)
            if sum(region is not None for region in (one.box, one.axle, one.piece)) != 1:
                raise Refusal(where, "a region is one of box, axle or piece: write exactly one of them.")
            _refuse_region(one, where)
    for i, split in enumerate(table.split):
        refuse_frame(split.rides_on, around, (*path, "split", i, "rides_on"))
    if table.place is not None:
        refuse_place(table.place, around, (*path, "place"))


def _refuse_region(one: RemoveTable, path: Path) -> None:
    if one.box is not None and any(least >= most for least, most in zip(one.box.min, one.box.max, strict=True)):
        raise Refusal(
            (*path, "box", "max"),
            "each number of min must be smaller than the one of max.",
            other=(*path, "box", "min"),
        )
    if one.axle is not None and one.axle.from_ >= one.axle.to:
        raise Refusal(
            (*path, "axle", "to"),
            f"from ({one.axle.from_:g} mm) must be inboard of to ({one.axle.to:g} mm); both are from the hub face.",
            other=(*path, "axle", "from"),
        )


def refuse_place(place: PlaceTable, around: Surroundings, path: Path) -> None:
    """Raise Refusal for what does not go together in a place."""
    ways = {"hub": place.hub, "face": place.face, "bolt_holes": place.bolt_holes}
    given = [key for key, value in ways.items() if value is not None]
    if len(given) != 1:
        raise Refusal(
            (*path, given[1]) if given else path,
            f"a scan is placed by one of hub, face or bolt_holes; found {' and '.join(given) or 'none of them'}.",
        )
    allowed = {
        "hub": {"hub", "ahead", "up", "outboard", "within", "level_within"},
        "face": set(key_names(PlaceTable)) - {"hub", "bolt_holes", "bolt_circle"},
        "bolt_holes": set(key_names(PlaceTable)) - {"hub", "face", "diameter"},
    }[given[0]]
    for key in place.model_fields_set - allowed:
        raise Refusal((*path, key), f'"{key}" does not belong to a place by {given[0]}: leave it out.')
    if given[0] == "bolt_holes" and place.bolt_circle is None and around.bolt_circle is None:
        raise Refusal((*path, "bolt_circle"), '"bolt_circle" is missing here and in [wheel]. Write "5 x 4.5 in".')


def _places(places: Any) -> Any:
    return places if isinstance(places, str) else [np.array(at) for at in places]


def scale_for(scale: ScaleTable | None) -> scan_place.Scale | None:
    """The measured distance that a table says."""
    from clearance.well import scan_place

    if scale is None:
        return None
    return scan_place.Scale(
        from_point=np.array(scale.from_),
        to_point=np.array(scale.to),
        distance_mm=scale.distance,
        within_mm=scale.within,
    )


def place_for(place: PlaceTable | None, around: Surroundings) -> scan_place.Place:
    """The place that a table says; corner axes where there is none."""
    from clearance.well import scan_place

    if place is None:
        return scan_place.CornerAxes()
    way = _ways(place)
    if place.hub is not None:
        return scan_place.HubPoint(hub=np.array(place.hub), **way)
    way |= {
        "ground": None if place.ground is None else np.array(place.ground),
        "face_outboard_mm": place.face_outboard,
    }
    if place.face is not None:
        return scan_place.FacePoints(points=np.array(place.face), diameter_mm=place.diameter, **way)
    circle = place.bolt_circle or around.bolt_circle
    assert circle is not None
    return scan_place.BoltHoles(points=np.array(place.bolt_holes), count=circle[0], bolt_circle_mm=circle[1], **way)


def _ways(place: PlaceTable) -> dict[str, Any]:
    """The directions that every place has, and how sure it is, as far as they are written."""
    from clearance.well import scan_place

    directions = {
        key: None if getattr(place, key) is None else scan_place.direction(getattr(place, key))
        for key in ("ahead", "up", "outboard")
    }
    sure = {
        f"{key}_{unit}": getattr(place, key)
        for key, unit in (("within", "mm"), ("level_within", "deg"))
        if getattr(place, key) is not None
    }
    return directions | sure


def _region(one: RemoveTable) -> scan.Region:
    from clearance.well import scan

    if one.box is not None:
        return scan.BoxRegion(low_mm=np.array(one.box.min), high_mm=np.array(one.box.max))
    if one.axle is not None:
        return scan.AxleRegion(radius_mm=one.axle.radius, from_mm=one.axle.from_, to_mm=one.axle.to)
    return scan.PieceRegion(at=np.array(one.piece))


def _split(one: Any) -> scan.Split:
    from clearance.well import scan

    required_mm, required_from = required("mesh", one.rides_on, one.required)
    return scan.Split(
        name=one.name,
        region=_region(one),
        required_mm=required_mm,
        required_from=required_from,
        rides_on=one.rides_on,
        thickness_mm=one.thickness,
    )
