"""[[part]]: every part of the file as the parts of the well that it makes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from clearance.corner_file import defaults
from clearance.corner_file.lines import Path
from clearance.corner_file.reading import key_names, read
from clearance.corner_file.refusal import Refusal, as_written, nearest
from clearance.corner_file.schema import (
    PARTS,
    BarTable,
    BoxTable,
    LipTable,
    MeshTable,
    PartTable,
    PlaceTable,
    PlateTable,
    RemoveTable,
    TubTable,
    WallTable,
)
from clearance.errors import FileError, MeshError, PartError
from clearance.opener import beside
from clearance.well import lip, parts, tub
from clearance.well.part import PART_KINDS, Part

if TYPE_CHECKING:
    from clearance.well import scan, scan_place

Shape = TypeVar("Shape", bound=PartTable)


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """What the parts need to know about the corner that they stand around."""

    reach_mm: float
    """Half the side of a cube about the hub that holds the tire at every position."""
    frames: tuple[str, ...]
    """What a part can ride on."""
    side: str
    """ "left" or "right"."""
    folder: FilePath
    """Where the corner file is; the files that it names are beside it."""
    bolt_circle: tuple[int, float] | None = None
    """The wheel's, for scans placed by their bolt holes."""


def read_parts(tables: object) -> tuple[PartTable, ...]:
    """Every [[part]] of the file as the table of its kind. Raises Refusal."""
    if isinstance(tables, Mapping):
        raise Refusal(("part",), "[part] is one table; parts are a list. Write [[part]], with two brackets, for each.")
    if not isinstance(tables, list) or not tables:
        raise Refusal(("part",), "there are no parts: nothing to clear. Write a [[part]] for each thing in the well.")
    return tuple(part_table(table, ("part", i)) for i, table in enumerate(tables))


def parts_of(tables: Sequence[PartTable], around: Surroundings) -> tuple[Part, ...]:
    """The parts of the well that the tables make. Raises Refusal."""
    built = [_built(table, around, ("part", i)) for i, table in enumerate(tables)]
    _refuse_doubles(built)
    return tuple(part for some in built for part in some)


def part_table(table: object, path: Path) -> PartTable:
    """One [[part]] as the table of its kind. Raises Refusal."""
    if not isinstance(table, Mapping):
        raise Refusal(path, f"{as_written(table)} is not a part. Write [[part]] and its keys below it.")
    if "kind" not in table:
        raise Refusal((*path, "kind"), f'"kind" is missing. Write one of {", ".join(PART_KINDS)}.')
    kind = table["kind"]
    if not isinstance(kind, str) or kind not in PARTS:
        hint = nearest(kind, PART_KINDS) if isinstance(kind, str) else f"Write one of {', '.join(PART_KINDS)}."
        raise Refusal((*path, "kind"), f"{as_written(kind)} is not a kind of part. {hint}")
    return read(PARTS[kind], table, path)


def _refuse_doubles(built: Sequence[Sequence[Part]]) -> None:
    first: dict[str, int] = {}
    for i, some in enumerate(built):
        for part in some:
            if part.name in first:
                other = first[part.name]
                whose = f"part[{other + 1}]" if other != i else "the same part"
                raise Refusal(
                    ("part", i, "name"),
                    f'the name "{part.name}" is taken by {whose}. Give every part a name of its own.',
                )
            first[part.name] = i


def _built(table: PartTable, around: Surroundings, path: Path) -> tuple[Part, ...]:
    _refuse_frame(table.rides_on, around, (*path, "rides_on"))
    required_mm, required_from = defaults.required(table.kind, table.rides_on, table.required)
    tag = parts.Tag(
        name=table.name,
        required_mm=required_mm,
        required_from=required_from,
        rides_on=table.rides_on,
        thickness_mm=table.thickness,
        uncertainty_mm=table.uncertainty or 0.0,
    )
    try:
        return _shaped(table, tag, around, path)
    except (PartError, MeshError) as wrong:
        at, also = ((*path, *word.split(".")) if word else path for word in (wrong.key, wrong.also))
        raise Refusal(at, str(wrong), other=also if wrong.also else None) from None


def _refuse_frame(frame: str, around: Surroundings, path: Path) -> None:
    if frame not in around.frames:
        raise Refusal(
            path, f"nothing here is called {as_written(frame)} for a part to ride on. {nearest(frame, around.frames)}"
        )


def _shaped(table: PartTable, tag: parts.Tag, around: Surroundings, path: Path) -> tuple[Part, ...]:
    if isinstance(table, WallTable):
        return (_wall(table, tag, around, path),)
    if isinstance(table, PlateTable):
        return (parts.plate(tag, corners_mm=table.corners),)
    if isinstance(table, BoxTable):
        return (_box(table, tag),)
    if isinstance(table, BarTable):
        return (_bar(table, tag, around, path),)
    if isinstance(table, TubTable):
        return _tub(table, tag, around)
    if isinstance(table, LipTable):
        return (_lip(table, tag),)
    assert isinstance(table, MeshTable)
    return _mesh(table, tag, around, path)


def _wall(table: WallTable, tag: parts.Tag, around: Surroundings, path: Path) -> Part:
    if table.inboard is None and table.outboard is None:
        raise Refusal(
            (*path, "inboard"),
            "a wall needs its distance from the hub face: inboard (toward the middle of the car) or outboard.",
        )
    return parts.wall(
        tag,
        reach_mm=around.reach_mm,
        inboard_mm=table.inboard,
        outboard_mm=table.outboard,
        ahead_mm=table.ahead,
        behind_mm=table.behind,
        above_mm=table.above,
        below_mm=table.below,
    )


def _box(table: BoxTable, tag: parts.Tag) -> Part:
    if table.turn is None:
        return parts.box(tag, min_mm=table.min, max_mm=table.max)
    return parts.box(
        tag,
        min_mm=table.min,
        max_mm=table.max,
        turn_about=table.turn.about,
        turn_deg=table.turn.angle,
        turn_through_mm=table.turn.through,
    )


def _bar(table: BarTable, tag: parts.Tag, around: Surroundings, path: Path) -> Part:
    if table.ends_ride_on is None:
        return parts.bar(tag, points_mm=table.points, diameter_mm=table.diameter)
    if "rides_on" in table.model_fields_set:
        raise Refusal(
            (*path, "rides_on"), "a bar with ends_ride_on says there what each end moves with: leave rides_on out."
        )
    near, far = table.ends_ride_on
    for i, frame in enumerate((near, far)):
        _refuse_frame(frame, around, (*path, "ends_ride_on", i))
    # a bar with one end on the wheel's side is a moving part beside a moving wheel: the finger stays its default
    tag = parts.Tag(
        name=tag.name,
        required_mm=tag.required_mm,
        required_from=tag.required_from,
        rides_on=near,
        thickness_mm=tag.thickness_mm,
        uncertainty_mm=tag.uncertainty_mm,
    )
    return parts.bar(tag, points_mm=table.points, diameter_mm=table.diameter, far_frame=far)


def _tub(table: TubTable, tag: parts.Tag, around: Surroundings) -> tuple[Part, ...]:
    taper = table.taper
    return tub.tub(
        tag,
        reach_mm=around.reach_mm,
        inner_mm=table.inner,
        crown=tub.Crown(height_mm=table.crown.height, radius_mm=table.crown.radius, centre_mm=table.crown.centre),
        outer_mm=table.outer,
        front_mm=table.front,
        rear_mm=table.rear,
        taper=None if taper is None else tub.Taper(low_mm=taper.low, high_mm=taper.high, high_inner_mm=taper.inner),
        bottom_mm=table.bottom,
        outer_panel_mm=table.outer_panel,
    )


def _lip(table: LipTable, tag: parts.Tag) -> Part:
    for key in ("from", "to"):
        if (
            table.outline is not None
            and table.radius is None
            and ("from_" if key == "from" else key) in table.model_fields_set
        ):
            raise PartError(f'an outline is taken whole: leave "{key}" out, or give a radius.', key=key)
    return lip.lip(
        tag,
        outboard_mm=table.outboard,
        centre_mm=table.centre,
        radius_mm=table.radius,
        outline_mm=table.outline,
        from_deg=table.from_,
        to_deg=table.to,
        return_depth_mm=table.return_depth,
        return_angle_deg=table.return_angle,
        trim_thickness_mm=table.trim_thickness,
    )


# ---- scans


def _mesh(table: MeshTable, tag: parts.Tag, around: Surroundings, path: Path) -> tuple[Part, ...]:
    # the scan's libraries take their time to load, and most corners have no scan
    from clearance.well import scan

    _refuse_scan(table, around, path)
    return scan.scan_parts(
        _file(table.file, around, path),
        name=tag.name,
        unit=table.unit,
        scale=_scale(table),
        place=_place(table.place, around),
        side=around.side,
        other_side=table.other_side,
        whole=table.whole,
        remove=[scan.Removal(name=one.name, region=_region(one)) for one in table.remove],
        split=[_split(one) for one in table.split],
        cleaning=scan.Cleaning(stray_below_mm=table.stray, decimate_to=table.decimate_to),
        point_radius_mm=table.radius,
        holes_open=_places(table.holes_open),
        holes_closed=_places(table.holes_closed),
        uncertainty_mm=table.uncertainty,
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
        _refuse_frame(split.rides_on, around, (*path, "split", i, "rides_on"))
    if table.place is not None:
        _refuse_place(table.place, around, (*path, "place"))


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


def _refuse_place(place: PlaceTable, around: Surroundings, path: Path) -> None:
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


def _scale(table: MeshTable) -> scan_place.Scale | None:
    from clearance.well import scan_place

    if table.scale is None:
        return None
    return scan_place.Scale(
        from_point=np.array(table.scale.from_),
        to_point=np.array(table.scale.to),
        distance_mm=table.scale.distance,
        within_mm=table.scale.within,
    )


def _place(place: PlaceTable | None, around: Surroundings) -> scan_place.Place:
    from clearance.well import scan_place

    if place is None:
        return scan_place.CornerAxes()
    way: dict[str, Any] = {
        key: None if getattr(place, key) is None else scan_place.direction(getattr(place, key))
        for key in ("ahead", "up", "outboard")
    }
    way |= {
        f"{key}_{unit}": getattr(place, key)
        for key, unit in (("within", "mm"), ("level_within", "deg"))
        if getattr(place, key) is not None
    }
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


def _region(one: RemoveTable) -> scan.Region:
    from clearance.well import scan

    if one.box is not None:
        return scan.BoxRegion(low_mm=np.array(one.box.min), high_mm=np.array(one.box.max))
    if one.axle is not None:
        return scan.AxleRegion(radius_mm=one.axle.radius, from_mm=one.axle.from_, to_mm=one.axle.to)
    return scan.PieceRegion(at=np.array(one.piece))


def _split(one: Any) -> scan.Split:
    from clearance.well import scan

    required_mm, required_from = defaults.required("mesh", one.rides_on, one.required)
    return scan.Split(
        name=one.name,
        region=_region(one),
        required_mm=required_mm,
        required_from=required_from,
        rides_on=one.rides_on,
        thickness_mm=one.thickness,
    )
