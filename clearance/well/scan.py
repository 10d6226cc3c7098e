"""A scan as a part: read, cleaned, placed, cut, and given to the gap as triangles in corner axes.

The order is always the same. Vertices are merged and triangles without area or given twice are left out (nothing
moves); the scan is placed on the hub; regions that move with the wheel are left out, or become parts of their own;
stray pieces under a stated size are left out; then, only if asked, it is decimated with a proven bound on how far
the surface moved. Each step leaves a note, and what is uncertain adds up:

    uncertainty = scan + placing + decimation (+ what the spacing of points leaves open)

* region    - a box, a cylinder about the axle, or one connected piece, named
* left out  - a triangle goes only where all of it is inside the region: what reaches out of it stays
* radius    - of the ball that stands for every point of a cloud; it is the part's skin
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np

from clearance.errors import MeshError
from clearance.plain import echoed
from clearance.pose import Array, read_only
from clearance.steady import steady
from clearance.units import both
from clearance.well import scan_clean
from clearance.well.part import Hole, Part
from clearance.well.scan_bays import bays_of
from clearance.well.scan_holes import ALL, Places, holes_of, unknown
from clearance.well.scan_place import LEFT, CornerAxes, Place, Placement, Scale, mm_per_unit, placement
from clearance.well.scan_read import MESH, POINTS, Faces, RawMesh, read_mesh

SCAN_WITHIN_MM = 5.0
"""How far a scan's surface may be off until it was checked against a tape. Our default, to be edited."""


NO_PLACE = "no place is given: the file is taken as already in corner axes, its origin on the hub"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoxRegion:
    """A box along the corner axes, mm."""

    low_mm: Array
    high_mm: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AxleRegion:
    """A cylinder about the axle's line at ride height, between two distances outboard of the hub face, mm."""

    radius_mm: float
    from_mm: float
    to_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PieceRegion:
    """The connected piece that has the vertex nearest to a picked point."""

    at: Array
    in_scan_axes: bool = False
    """Whether the point is in the file's own axes and unit, or in corner axes and mm."""


Region = BoxRegion | AxleRegion | PieceRegion


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Removal:
    """What must not count: it moves with the wheel, or will not be there."""

    name: str
    region: Region


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Split:
    """A region that becomes a part of its own."""

    name: str
    region: Region
    required_mm: float = 0.0
    required_from: str = "corner file"
    rides_on: str = "body"
    thickness_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cleaning:
    """What may be left out or simplified; nothing by default but exact doubles, which move nothing."""

    stray_below_mm: float = 0.0
    """Pieces whose box has a smaller diagonal are left out; 0 keeps them all."""
    decimate_to: int | None = None
    """About how many triangles to keep; None keeps all."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlacedScan:
    """A scan in corner axes, cleaned and cut, before it is a part. Vertices keep their connection for colouring."""

    vertices_mm: Array
    faces: Faces
    placement: Placement
    uncertainty_mm: float
    notes: tuple[str, ...] = field(default=())

    @property
    def triangles_mm(self) -> Array:
        """(n, 3, 3): the corners; a point of a cloud is a triangle with one corner three times over."""
        if len(self.faces):
            return self.vertices_mm[self.faces]
        return np.repeat(self.vertices_mm[:, None, :], 3, axis=1)


@steady
def scan_parts(
    file: str | Path | RawMesh,
    *,
    name: str,
    unit: str | None = None,
    scale: Scale | None = None,
    place: Place | None = None,
    side: str = LEFT,
    other_side: bool = False,
    whole: bool = False,
    remove: Sequence[Removal] = (),
    split: Sequence[Split] = (),
    cleaning: Cleaning | None = None,
    point_radius_mm: float | None = None,
    uncertainty_mm: float | None = None,
    required_mm: float = 0.0,
    required_from: str = "corner file",
    rides_on: str = "body",
    thickness_mm: float = 0.0,
    holes_open: Places = (),
    holes_closed: Places = (),
) -> tuple[Part, ...]:
    """The parts that a mesh or point file makes: what is left of it first, then each `split` by its name.

    `side` is the side of the car that this corner is on, "left" or "right"; with `other_side` the scan was made on the
    other one and its mirror image is taken. `whole` says that nothing is missing from a file that looks cut short; else
    such a file is refused: a scan with half its metal has too much room. `uncertainty_mm` is the scan's own (5 mm where
    None). `holes_open` names the holes that are really open and `holes_closed` those that the sheet goes on across,
    "all" or a place at each; the others could hide something. Raises MeshError.
    """
    raw = file if isinstance(file, RawMesh) else read_mesh(file)
    stated_whole = _hold_whole(raw, whole)
    if raw.kind == POINTS and point_radius_mm is None:
        raise MeshError(_needs_radius(raw, unit, scale), key="radius")
    if other_side:
        side = "right" if side == LEFT else LEFT
    placed = placed_scan(raw, unit=unit, scale=scale, place=place, side=side)
    if other_side:
        placed = replace(placed, notes=(*placed.notes, f"scan of the {side} side, mirrored for this corner"))
    cleaning = cleaning or Cleaning()
    # of the scan as it was made: what is cut out of it afterwards leaves no hole that could hide anything
    holes = _holes_in(placed, cleaning, rides_on)
    placed = replace(placed, notes=(*placed.notes, *stated_whole, *_hole_notes(placed)))
    hiding = unknown(holes, is_open=holes_open, is_closed=holes_closed)
    placed, taken = _cut(placed, remove, split)
    placed = _simplified(placed, cleaning)
    scan_mm = SCAN_WITHIN_MM if uncertainty_mm is None else uncertainty_mm
    notes: tuple[str, ...] = (_scan_note(scan_mm, uncertainty_mm is None),)
    skin_mm, spacing_mm = 0.0, 0.0
    if raw.kind == POINTS:
        assert point_radius_mm is not None
        skin_mm = point_radius_mm
        spacing_mm, words = open_between(placed.vertices_mm, skin_mm)
        notes += words
    shared = {
        "kind": "mesh",
        "skin_mm": skin_mm,
        "uncertainty_mm": placed.uncertainty_mm + scan_mm + spacing_mm,
        "unseen": raw.kind == POINTS and ALL not in (holes_open, holes_closed),
    }
    own, split_off = _shared_out(hiding, remove, split)
    rest = Part(
        name=name,
        triangles_mm=read_only(placed.triangles_mm),
        required_mm=required_mm,
        required_from=required_from,
        rides_on=rides_on,
        thickness_mm=thickness_mm,
        holes=own,
        notes=(*placed.notes, *notes),
        **shared,  # type: ignore[arg-type]
    )
    return (rest, *(_split_off(one, triangles, split_off[one.name], name, notes, shared) for one, triangles in taken))


def _split_off(
    one: Split,
    triangles: Array,
    holes: tuple[Hole, ...],
    of: str,
    notes: tuple[str, ...],
    shared: Mapping[str, Any],
) -> Part:
    """A part of its own from a region of a scan; `shared` is what all parts of one scan have in common."""
    return Part(
        name=one.name,
        triangles_mm=read_only(triangles),
        required_mm=one.required_mm,
        required_from=one.required_from,
        rides_on=one.rides_on,
        thickness_mm=one.thickness_mm,
        holes=holes,
        notes=(f"{len(triangles):,} triangles of {echoed(of)}, by region", *notes),
        **shared,
    )


def _holes_in(placed: PlacedScan, cleaning: Cleaning, rides_on: str) -> tuple[Hole, ...]:
    """The holes of a scan, and of one of the body the bays that nothing closes."""
    holes = holes_of(placed.vertices_mm, placed.faces, larger_than_mm=cleaning.stray_below_mm)
    if len(placed.faces) and rides_on == "body":
        holes += bays_of(placed.triangles_mm, holes)
    return holes


def _hold_whole(raw: RawMesh, whole: bool) -> tuple[str, ...]:
    """What is to be said of a file that looks cut short and was stated to be whole; MeshError where it was not."""
    if not raw.torn:
        return ()
    signs = "; ".join(raw.torn)
    if not whole:
        raise MeshError(
            f"{raw.name}: it looks cut short: {signs}. Export it again; where you know that nothing is missing from it,"
            " write whole = true.",
            key="file",
        )
    return (f"the file looks cut short ({signs}) and was stated to be whole",)


def _shared_out(
    holes: Sequence[Hole], remove: Sequence[Removal], split: Sequence[Split]
) -> tuple[tuple[Hole, ...], dict[str, tuple[Hole, ...]]]:
    """Holes that are the scan's own, and those of each split by name; what is removed takes its holes along."""

    def lies_in(hole: Hole, region: Region) -> bool:
        return not isinstance(region, PieceRegion) and bool(inside(region, hole.triangles_mm).all())

    left = [hole for hole in holes if not any(lies_in(hole, one.region) for one in remove)]
    of_split: dict[str, tuple[Hole, ...]] = {}
    for one in split:
        own = [hole for hole in left if lies_in(hole, one.region)]
        left = [hole for hole in left if hole not in own]
        of_split[one.name] = tuple(own)
    return tuple(left), of_split


@steady
def placed_scan(
    raw: RawMesh,
    *,
    unit: str | None = None,
    scale: Scale | None = None,
    place: Place | None = None,
    side: str = LEFT,
) -> PlacedScan:
    """A scan cleaned of exact doubles and carried into corner axes. Raises MeshError."""
    mesh, counts = scan_clean.cleaned(raw)
    return placed_clean(raw, mesh, counts, unit=unit, scale=scale, place=place, side=side)


def placed_clean(
    raw: RawMesh,
    mesh: RawMesh,
    counts: scan_clean.Cleaned,
    *,
    unit: str | None,
    scale: Scale | None,
    place: Place | None,
    side: str,
) -> PlacedScan:
    """As `placed_scan`, of a scan `raw` that was cleaned already. Raises MeshError."""
    mm = mm_per_unit(unit, scale, raw.size)
    where = placement(place or CornerAxes(), mm, side=side, scale=scale)
    return PlacedScan(
        vertices_mm=where.carry(mesh.vertices),
        faces=mesh.faces,
        placement=where,
        uncertainty_mm=where.uncertainty_mm,
        notes=(*raw.notes, *counts.notes, *where.notes, *(() if place else (NO_PLACE,))),
    )


def _hole_notes(scan: PlacedScan) -> tuple[str, ...]:
    """How much of its surface a scan is missing, before anything is cut from it; a cloud has its spacing instead."""
    if not len(scan.faces):
        return ()
    labels = scan_clean.pieces(scan.faces, len(scan.vertices_mm))[1]
    found = scan_clean.rims(scan.vertices_mm, scan.faces, labels)
    if not found.rims:
        return ("the scan has no holes: its surface has no open edge",)
    if not found.holes:
        return (
            f"the scan has no holes, unless its longest open edge, {both(found.longest)} round, is one and not its"
            " outside",
        )
    many = f"{found.holes:,} holes, the longest" if found.holes > 1 else "1 hole,"
    return (
        f"the scan has {many} {both(found.longest_hole)} round; unless it is an opening of the car itself, nothing was"
        " measured in it",
    )


# ---- what must not count


def _cut(
    scan: PlacedScan, remove: Sequence[Removal], split: Sequence[Split]
) -> tuple[PlacedScan, list[tuple[Split, Array]]]:
    """The scan without what is removed and what is split off, and the triangles (n, 3, 3) of each split."""
    notes = scan.notes
    if not remove and not split:
        return scan, []
    cuts: list[Removal | Split] = [*remove, *split]
    labels = _labels(scan, cuts)
    left = np.ones(len(scan.triangles_mm), dtype=bool)
    triangles = scan.triangles_mm
    taken: list[tuple[Split, Array]] = []
    for one in cuts:
        inside = left & within(one.region, scan, triangles, labels)
        if not inside.any():
            raise MeshError(_nothing_there(one, scan), key="split" if isinstance(one, Split) else "remove")
        left &= ~inside
        if isinstance(one, Split):
            taken.append((one, triangles[inside]))
        else:
            notes += (_left_out_note(one, triangles[inside], int(inside.sum()), len(triangles)),)
    if not left.any():
        raise MeshError(
            "nothing of the scan is left after removing and splitting. Make the regions smaller.", key="remove"
        )
    crossing = _crossing([one.region for one in remove], triangles[left])
    if crossing:
        notes += (f"{crossing:,} triangles that only partly lie in a removed region were kept whole",)
    return _keeping(replace(scan, notes=notes), left), taken


def _labels(scan: PlacedScan, cuts: Sequence[Removal | Split]) -> scan_clean.Labels | None:
    if not any(isinstance(one.region, PieceRegion) for one in cuts):
        return None
    if not len(scan.faces):
        raise MeshError(
            "a cloud of points has no connected pieces. Take a box or a cylinder about the axle.", key="remove"
        )
    return scan_clean.pieces(scan.faces, len(scan.vertices_mm))[1]


def within(region: Region, scan: PlacedScan, triangles_mm: Array, labels: scan_clean.Labels | None) -> scan_clean.Mask:
    """Which triangles (n, 3, 3) lie wholly inside a region."""
    if isinstance(region, PieceRegion):
        assert labels is not None
        at = np.asarray(region.at, dtype=float)
        spot = scan.placement.carry(at) if region.in_scan_axes else at
        nearest = int(np.argmin(((triangles_mm.reshape(-1, 3) - spot) ** 2).sum(axis=1))) // 3
        return np.asarray(labels == labels[nearest])
    return np.asarray(inside(region, triangles_mm).all(axis=1))


def inside(region: BoxRegion | AxleRegion, points_mm: Array) -> scan_clean.Mask:
    """Which points (..., 3) lie in a box or in a cylinder about the axle."""
    if isinstance(region, BoxRegion):
        return np.asarray(((points_mm >= region.low_mm) & (points_mm <= region.high_mm)).all(axis=-1))
    across = points_mm[..., 1]
    near = np.hypot(points_mm[..., 0], points_mm[..., 2]) <= region.radius_mm
    return np.asarray(near & (across >= region.from_mm) & (across <= region.to_mm))


def _crossing(regions: Sequence[Region], triangles_mm: Array) -> int:
    solid = [region for region in regions if not isinstance(region, PieceRegion)]
    return int(sum(inside(region, triangles_mm).any(axis=1).sum() for region in solid))


def _nothing_there(one: Removal | Split, scan: PlacedScan) -> str:
    low, high = scan.vertices_mm.min(axis=0), scan.vertices_mm.max(axis=0)
    reach = "; ".join(f"{name} {low[k]:.0f} to {high[k]:.0f}" for k, name in enumerate(("ahead", "outboard", "above")))
    return f"the region {echoed(one.name)} holds nothing of the scan, which reaches, in mm: {reach}. Move the region."


def _left_out_note(one: Removal, triangles_mm: Array, count: int, total: int) -> str:
    spots = triangles_mm.reshape(-1, 3)
    size = " x ".join(f"{value:.0f}" for value in np.ptp(spots, axis=0))
    return f"left out {echoed(one.name)}: {count:,} of {total:,} triangles, a box of {size} mm"


def _keeping(scan: PlacedScan, keep: scan_clean.Mask) -> PlacedScan:
    if not len(scan.faces):
        return replace(scan, vertices_mm=scan.vertices_mm[keep])
    vertices, faces, _ = scan_clean.used_only(scan.vertices_mm, scan.faces[keep])
    return replace(scan, vertices_mm=vertices, faces=faces)


def _simplified(scan: PlacedScan, cleaning: Cleaning) -> PlacedScan:
    if not len(scan.faces):
        return scan
    if cleaning.stray_below_mm > 0.0:
        scan = _without_strays(scan, cleaning.stray_below_mm)
    if cleaning.decimate_to is not None and cleaning.decimate_to < len(scan.faces):
        from clearance.well.scan_decimate import decimated

        vertices, faces, moved_mm = decimated(scan.vertices_mm, scan.faces, cleaning.decimate_to)
        note = (
            f"decimated from {len(scan.faces):,} to {len(faces):,} triangles; no point of the surface moved"
            f" over {moved_mm:.2f} mm, either way"
            + ("; a piece that vanished counts as moved: state a stray size" if moved_mm > 5.0 else "")
        )
        scan = replace(
            scan,
            vertices_mm=vertices,
            faces=faces,
            uncertainty_mm=scan.uncertainty_mm + moved_mm,
            notes=(*scan.notes, note),
        )
    return scan


def _without_strays(scan: PlacedScan, below_mm: float) -> PlacedScan:
    small, count, largest = scan_clean.stray(scan.vertices_mm, scan.faces, below_mm)
    if small.all():
        raise MeshError(
            f"every piece of the scan is smaller than {below_mm:g} mm. State a smaller stray size.", key="stray"
        )
    if not count:
        return scan
    note = (
        f"left out {count:,} stray pieces under {both(below_mm)}: {int(small.sum()):,} triangles,"
        f" the largest {both(largest)} across"
    )
    return _keeping(replace(scan, notes=(*scan.notes, note)), ~small)


def _scan_note(scan_mm: float, assumed: bool) -> str:
    if assumed:
        return f"the scan's own surface is taken as good to {both(scan_mm)}: assumed until checked against a tape"
    return f"the scan's own surface is stated as good to {both(scan_mm)}"


# ---- clouds of points


def spacing(points: Array) -> tuple[float, float, float]:
    """How far apart neighbouring points are: the middle one, the 99th of a hundred, the greatest; in their own unit.

    Of each point the fourth nearest is taken: on a square grid that is the pitch itself.
    """
    from scipy.spatial import cKDTree

    count = len(points)
    near = min(5, count)
    if near < 2:
        return 0.0, 0.0, 0.0
    distance, _ = cKDTree(points).query(points, k=near, workers=1)
    fourth = np.asarray(distance)[:, -1]
    return float(np.median(fourth)), float(np.percentile(fourth, 99.0)), float(fourth.max())


def open_between(points_mm: Array, skin_mm: float) -> tuple[float, tuple[str, ...]]:
    """What a cloud leaves open between its points, mm, after balls of `skin_mm`; and the words for it.

    A surface that passes through points one pitch apart on a square grid is nowhere further than 0.71 of the pitch
    from one. What the balls do not reach of that is uncertain; holes in the cloud are not seen at all.
    """
    middle, most, greatest = spacing(points_mm)
    open_mm = max(0.0, most / np.sqrt(2.0) - skin_mm)
    note = (
        f"{len(points_mm):,} points as balls of radius {skin_mm:g} mm; neighbours are {middle:.1f} mm apart in the"
        f" middle, 99 of 100 within {most:.1f} mm, the loneliest {greatest:.1f} mm."
        + (f" Between them {open_mm:.1f} mm stay open and are counted as uncertain." if open_mm else "")
        + " Where the cloud has a hole, nothing was measured"
    )
    return float(open_mm), (note,)


def _needs_radius(raw: RawMesh, unit: str | None, scale: Scale | None) -> str:
    mm = mm_per_unit(unit, scale, raw.size)
    middle, most, _ = (value * mm for value in spacing(raw.vertices))
    return (
        f"{raw.name} is a cloud of points without faces: each point needs a radius. Neighbours are {middle:.1f} mm"
        f" apart in the middle, 99 of 100 within {most:.1f} mm."
        f' radius = "{np.ceil(most / np.sqrt(2.0)):.0f} mm" closes the surface between them;'
        " a smaller one leaves a stated doubt."
    )


__all__ = [
    "MESH",
    "POINTS",
    "AxleRegion",
    "BoxRegion",
    "Cleaning",
    "PieceRegion",
    "PlacedScan",
    "Removal",
    "Split",
    "placed_scan",
    "scan_parts",
]
