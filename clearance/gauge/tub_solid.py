"""A tub as it is welded: closed solids of sheet, a flat inner panel and a crown, and the flat pattern of each.

* panel   - the inner wall, flat; with a flange it stands past the crown all round, and its foot is folded inboard
* crown   - bent round the panel: a cylinder with its rulings across the car. It is in flat strips where the envelope's
            mesh is, and unrolls without stretch
* flange  - what is added to weld by: the panel's lap, and the feet, folded away from the tire
* tab     - the crown's outer edge turned away from the tire, in pieces: turned whole it would be doubly curved
* arch    - how far the tub goes round the axle, from straight up: degrees ahead and behind
* trimmed - cut where a lip begins, and where a box that rides on the body is
* told    - ended at planes that a person measured on the car, as where a scan is all that is known of the well

No point of it lies inside what it goes round. Lengths are millimetres; a standing body is (ahead, above, outboard).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from clearance.defaults import TUB_SHEET_MM
from clearance.errors import ShapeError
from clearance.gauge.body import Body, joined, mesh_of, risen, settled
from clearance.gauge.flatwork import Shape, grown, oblong, parts_of, wedge
from clearance.gauge.templates import Tub
from clearance.steady import steady
from clearance.suspension.position import BODY
from clearance.units import both
from clearance.well.part import Part

Array = npt.NDArray[np.float64]

PANEL, CROWN = "inner panel", "crown"
FLAT, ROLLED = "flat", "rolled: a cylinder, rulings across the car"
_ON_MM = 1e-3
"""How near to the inside face a corner lies that is on it: a boolean moves none further."""
_LEAST_AREA_MM2 = 25.0
_FAR_MM = 5000.0
_MOST_PIECES = 40
_KNIFE_MM = 1e-5
"""Half of what is lost between two pieces of a crown."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TubMaking:
    """How a tub is made. Raises ShapeError for what cannot be."""

    sheet_mm: float = TUB_SHEET_MM
    """Its thickness."""
    flange_mm: float = 0.0
    """How wide what is welded by is; none where 0."""
    tabs_mm: float | None = None
    """How wide each tab of the outer edge is, where there are any."""
    arch_deg: tuple[float, float] | None = None
    """How far it goes ahead of and behind straight up about the axle; down to the floor where not given."""
    longest_mm: float | None = None
    """Of a piece of the crown as it lies flat."""
    trimmed: bool = True
    """Is it cut where a lip begins and where a box is?"""
    outboard_mm: float | None = None
    """How far outboard of the hub face it may go, where that was told."""
    ahead_mm: float | None = None
    """How far ahead of the axle."""
    behind_mm: float | None = None
    """How far behind it."""

    def __post_init__(self) -> None:
        _within(self.sheet_mm, 0.3, 25.0, "the sheet of a tub")
        _within(self.flange_mm, 0.0, 150.0, "a flange")
        if self.tabs_mm is not None:
            _within(self.tabs_mm, 8.0, 200.0, "a tab")
            if not self.flange_mm:
                raise ShapeError("tabs are as long as a flange is wide: write --flange too.")
        if self.longest_mm is not None:
            _within(self.longest_mm, 100.0, 10_000.0, "the longest piece of a crown")
        for angle in self.arch_deg or ():
            if not 5.0 <= angle <= 90.0:
                raise ShapeError(f"an arch over {angle:g} deg is not usable; 5 to 90 deg ahead and behind are.")
        for told, which in ((self.ahead_mm, "ahead"), (self.behind_mm, "behind")):
            if told is not None:
                _within(told, 20.0, _FAR_MM, f"how far {which} of the axle a tub ends")


def _within(value: float, least: float, most: float, what: str) -> None:
    if not least <= value <= most:
        raise ShapeError(f"{what} of {both(value)} is not usable; {least:g} to {most:g} mm is.")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TubPiece:
    """One piece of sheet."""

    name: str
    made: str
    """How its surface is: flat, or rolled."""
    body: Body
    """Standing: (ahead, above, outboard)."""
    flat: Shape
    """Its pattern. Of the panel (ahead, above), its foot below; of the crown (outboard, along)."""
    folds: tuple[tuple[tuple[float, float], tuple[float, float]], ...] = ()
    """Lines of the pattern at which a flange or a tab is folded."""
    prism: tuple[Shape, float, float] | None = None
    """Its outline in (ahead, above) and from where to where it reaches outboard, where it is such a prism."""

    def mesh(self) -> tuple[Array, npt.NDArray[np.intp]]:
        """In corner axes: vertices (v, 3) and outward faces (t, 3)."""
        vertices, faces = mesh_of(self.body)
        # (ahead, above, outboard) is a left-handed order: the faces are turned over
        return settled(vertices[:, [0, 2, 1]], faces[:, ::-1])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TubSolid:
    """All of a tub's pieces, where they stand."""

    pieces: tuple[TubPiece, ...]
    run_mm: Array
    """(n, 2): the inside of the crown (ahead, above), its flanges among it, from rear to front."""
    flanged: bool
    """Are the first and the last stretch of the run flanges?"""
    inboard_mm: float
    outboard_mm: float
    """Where the crown's edges lie."""
    notes: tuple[str, ...]
    """What was cut off, and where."""

    def part(self, name: str, required_mm: float) -> Part:
        """It as a part of the well, to be measured as any other."""
        soup = [vertices[faces] for vertices, faces in (piece.mesh() for piece in self.pieces)]
        return Part(name=name, kind="tub", triangles_mm=np.concatenate(soup), required_mm=required_mm)


@steady
def tub_solid(tub: Tub, from_mm: float, making: TubMaking, parts: Sequence[Part] = ()) -> TubSolid:
    """The solids and patterns of a tub, in sheet, over what is higher than `from_mm` above the axle.

    `parts` are those of the well: of them the lips and the boxes on the body trim it. Raises ShapeError where nothing
    is left of it.
    """
    keep = _kept(tub, from_mm, making)
    run, panel = _limited(tub, keep)
    outer, lips = _outer(tub, from_mm, parts if making.trimmed else ())
    outer, told = _told(tub, outer, making)
    boxes = [p for p in parts if p.kind == "box" and p.rides_on == BODY] if making.trimmed else []
    ends = _ends(run, from_mm, making)
    extended = _extended(run, ends, making)
    flat, said = _inner_panel(panel, keep, from_mm, tub.inboard_mm, making, boxes)
    section = _section(panel, keep, run, ends, making)
    bent, more = _crowns(section, extended, panel, (tub.inboard_mm, outer), making, boxes)
    if not flat + bent:
        raise ShapeError("nothing is left of the tub once it is trimmed to the boxes on the body: build it untrimmed.")
    return TubSolid(
        pieces=(*flat, *bent),
        run_mm=extended,
        flanged=making.flange_mm > 0,
        inboard_mm=tub.inboard_mm,
        outboard_mm=outer,
        notes=tuple(dict.fromkeys([*lips, *told, *said, *more])),
    )


def _inner_panel(
    panel: Shape, keep: Shape, from_mm: float, low: float, making: TubMaking, boxes: Sequence[Part]
) -> tuple[list[TubPiece], list[str]]:
    """The panel, unless the boxes take all of it, and what is said of it."""
    shape = grown(panel, making.sheet_mm + making.flange_mm).intersection(keep)
    whole = _with_foot(risen(shape, low - making.sheet_mm, low), panel, from_mm, low, making)
    body, said = _trimmed(PANEL, whole, boxes)
    if body is None:
        return [], said
    return [_panel_piece(body, panel, from_mm, low, making, shape if not said else None)], said


def _crowns(
    section: Shape, run: Array, panel: Shape, across: tuple[float, float], making: TubMaking, boxes: Sequence[Part]
) -> tuple[list[TubPiece], list[str]]:
    """The crown's pieces from rear to front, but for those that the boxes take, and what is said of them."""
    (low, outer), sheet = across, making.sheet_mm
    cuts = _joints(run, making)
    bare = run[1:-1] if making.flange_mm else run
    pieces, notes = [], []
    for number, shape in enumerate(_split(section, run, cuts, sheet), start=1):
        name = CROWN if not cuts else f"{CROWN} {number} of {len(cuts) + 1}"
        tabs = [one for one in _tabs(shape, bare, panel, making) if _before_planes(one[1], making)]
        whole = joined(risen(shape, low, outer), *(risen(t, outer - sheet, outer) for _, t in tabs))
        body, said = _trimmed(name, whole, boxes)
        notes += said
        if body is not None:
            prism = (shape, low, outer) if not said and not tabs else None
            pieces.append(_crown_piece(name, body, run, outer, [span for span, _ in tabs], making, prism))
    return pieces, notes


def _kept(tub: Tub, from_mm: float, making: TubMaking) -> Shape:
    """Where there may be tub, in (ahead, above): above the floor, within the arch."""
    ahead_mm, behind_mm = (_FAR_MM if told is None else told for told in (making.ahead_mm, making.behind_mm))
    keep = oblong(-behind_mm, from_mm, ahead_mm, _FAR_MM)
    if making.arch_deg is not None:
        ahead, behind = making.arch_deg
        keep = keep.intersection(wedge(-behind, ahead, _FAR_MM))
    return keep


def _limited(tub: Tub, keep: Shape) -> tuple[Array, Shape]:
    """The crown's run and the panel, as far as they are kept."""
    from shapely import LineString

    # the panel's base lies on the floor itself
    panels = parts_of(tub.panel.intersection(keep))
    runs = LineString(tub.crown_mm).intersection(keep)
    lines = [g for g in getattr(runs, "geoms", [runs]) if g.geom_type == "LineString" and g.length > 10.0]
    if not panels or not lines:
        raise ShapeError("the arch asked for leaves nothing of the tub above the floor: give it more degrees.")
    run = np.asarray(max(lines, key=lambda g: g.length).coords)
    return (run if run[0, 0] <= run[-1, 0] else run[::-1]), panels[0]


def _ends(run: Array, from_mm: float, making: TubMaking) -> tuple[Array, Array]:
    """Which way the crown's end is folded at its rear and its front: along the floor, up along a plane that was told,
    or straight away from the axle where the arch ends it.
    """

    def away(end: Array, side: float, told: float | None) -> Array:
        if end[1] < from_mm + _ON_MM:
            return np.array([side, 0.0])
        if told is not None and abs(end[0] - side * told) < _ON_MM:
            return np.array([0.0, 1.0])
        return end / np.linalg.norm(end)

    return away(run[0], -1.0, making.behind_mm), away(run[-1], 1.0, making.ahead_mm)


def _extended(run: Array, ends: tuple[Array, Array], making: TubMaking) -> Array:
    """The run with its flanges at both ends."""
    if not making.flange_mm:
        return run
    more = making.sheet_mm + making.flange_mm
    return np.vstack([run[0] + more * ends[0], run, run[-1] + more * ends[1]])


def _section(panel: Shape, keep: Shape, run: Array, ends: tuple[Array, Array], making: TubMaking) -> Shape:
    """The crown in (ahead, above): a sheet's thickness round the panel, and its flanges."""
    from shapely import Polygon, union_all

    sheet = making.sheet_mm
    ring = parts_of(grown(panel, sheet).intersection(keep).difference(panel))[0]
    if not making.flange_mm:
        return ring
    flanges = []
    for end, way, near in ((run[0], ends[0], run[1]), (run[-1], ends[1], run[-2])):
        up = np.array([-way[1], way[0]])
        up = up if up @ (near - end) > 0 else -up
        out = (sheet + making.flange_mm) * way
        flanges.append(Polygon([end, end + out, end + out + sheet * up, end + sheet * up]))
    return parts_of(union_all([ring, *flanges]).difference(panel))[0]


def _outer(tub: Tub, from_mm: float, parts: Sequence[Part]) -> tuple[float, list[str]]:
    """How far outboard the crown reaches, and what is said of it: to where the first lip's flange begins."""
    inner = [
        (float(corners[:, 1].min()), part.name)
        for part in parts
        if part.kind == "lip" and part.rides_on == BODY
        for corners in [part.triangles_mm.reshape(-1, 3)]
        if corners[:, 2].max() > from_mm
    ]
    if not inner:
        return tub.outboard_mm, []
    at, name = min(inner)
    if at <= tub.inboard_mm + 20.0:
        return tub.outboard_mm, [f'"{name}" begins inboard of the inner panel: the crown is not trimmed to it.']
    return at, [f'the crown ends where "{name}" begins, {at:+.1f} mm from the hub face.']


def _told(tub: Tub, outer_mm: float, making: TubMaking) -> tuple[float, list[str]]:
    """How far outboard the crown reaches, and what is said of the planes that were told.

    Raises ShapeError where next to nothing of the crown would be left.
    """
    run = tub.crown_mm[:, 0]
    said = []
    if making.outboard_mm is not None and making.outboard_mm < outer_mm:
        outer_mm = making.outboard_mm
        said.append(f"the crown ends {outer_mm:+.1f} mm from the hub face, as told.")
        if outer_mm <= tub.inboard_mm + 20.0:
            raise ShapeError(
                f"a tub that ends {both(outer_mm)} outboard of the hub face has no crown: its inner panel stands at"
                f" {both(tub.inboard_mm)}. Write a larger one."
            )
    for told, reach, which in ((making.ahead_mm, run.max(), "ahead of"), (making.behind_mm, -run.min(), "behind")):
        if told is not None and told < reach:
            said.append(f"the tub ends {told:.1f} mm {which} the axle, as told.")
    return outer_mm, said


def _before_planes(tab: Shape, making: TubMaking) -> bool:
    """Does a tab, in (ahead, above), stay before the planes that were told? One that does not is left out."""
    ahead, behind = (_FAR_MM if told is None else told for told in (making.ahead_mm, making.behind_mm))
    return bool(tab.bounds[2] <= ahead + _ON_MM and tab.bounds[0] >= -behind - _ON_MM)


def _with_foot(body: Body, panel: Shape, from_mm: float, low: float, making: TubMaking) -> Body:
    """The panel with its foot folded inboard along the floor."""
    base = _base(panel, from_mm)
    if not making.flange_mm or base is None:
        return body
    foot = oblong(base[0], from_mm, base[1], from_mm + making.sheet_mm)
    return joined(body, risen(foot, low - making.sheet_mm - making.flange_mm, low - 0.5 * making.sheet_mm))


def _base(panel: Shape, from_mm: float) -> tuple[float, float] | None:
    """From where to where the panel stands on the floor."""
    ring = np.asarray(panel.exterior.coords)
    on = ring[ring[:, 1] < from_mm + _ON_MM, 0]
    return (float(on.min()), float(on.max())) if len(on) > 1 and np.ptp(on) > 20.0 else None


def _trimmed(name: str, body: Body, boxes: Sequence[Part]) -> tuple[Body | None, list[str]]:
    """The largest piece of a body that is left outside of the boxes, and what is said of it."""
    import manifold3d as m3  # type: ignore[import-not-found]

    said = []
    for box in boxes:
        corners = box.triangles_mm.reshape(-1, 3)[:, [0, 2, 1]]
        left = body - m3.Manifold.hull_points(np.ascontiguousarray(corners))
        gone = body.volume() - left.volume()
        if gone > 1.0:
            pieces = sorted(left.decompose(), key=lambda b: -b.volume())
            said.append(f'the {name} is cut where "{box.name}" is.')
            if not pieces:
                return None, said
            body = pieces[0]
    return body, said


def _panel_piece(
    body: Body, panel: Shape, from_mm: float, low: float, making: TubMaking, outline: Shape | None
) -> TubPiece:
    from shapely import union_all

    triangles = _triangles(body)
    face = _face(triangles[_on(triangles[:, :, 2], low)][:, :, :2])
    base = _base(panel, from_mm) if making.flange_mm else None
    folds: list[tuple[tuple[float, float], tuple[float, float]]] = []
    if base is not None and float(triangles[:, :, 2].min()) < low - making.sheet_mm - 1.0:
        under = triangles[_on(triangles[:, :, 1], from_mm)]
        foot = _face(np.stack([under[:, :, 0], from_mm - (low - under[:, :, 2])], axis=-1))
        face = parts_of(union_all([face, foot.buffer(1e-3)]))[0]
        folds.append(((base[0], from_mm), (base[1], from_mm)))
    whole = outline if outline is not None and base is None else None
    prism = None if whole is None else (whole, low - making.sheet_mm, low)
    return TubPiece(name=PANEL, made=FLAT, body=body, flat=face, folds=tuple(folds), prism=prism)


def _joints(run: Array, making: TubMaking) -> list[float]:
    """Where along the run the crown is split, in equal lengths none of which is too long."""
    if making.longest_mm is None:
        return []
    total = float(_along(run)[-1])
    count = math.ceil(total / making.longest_mm - 1e-9)
    if count > _MOST_PIECES:
        raise ShapeError(f"a crown in {count} pieces is not usable: let the longest be longer.")
    return [total * k / count for k in range(1, count)]


def _split(section: Shape, run: Array, cuts: Sequence[float], sheet: float) -> list[Shape]:
    """The section cut square to the run, its pieces from rear to front."""
    from shapely import LineString

    pieces, along = [section], _along(run)
    for cut in cuts:
        k = int(np.clip(np.searchsorted(along, cut) - 1, 0, len(run) - 2))
        way = (run[k + 1] - run[k]) / (along[k + 1] - along[k])
        at, out = run[k] + (cut - along[k]) * way, np.array([-way[1], way[0]])
        knife = LineString([at - 0.5 * sheet * out, at + 3.0 * sheet * out]).buffer(_KNIFE_MM, cap_style="flat")
        pieces = [p for piece in pieces for p in parts_of(piece.difference(knife))]
    line = LineString(run)
    return sorted(pieces, key=lambda p: line.project(p.representative_point()))


def _along(run: Array) -> Array:
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(run, axis=0).T))])


def _tabs(shape: Shape, run: Array, panel: Shape, making: TubMaking) -> list[tuple[tuple[float, float], Shape]]:
    """Each tab of one piece of the crown: from where to where along the run, and its outline in (ahead, above)."""
    from shapely import MultiPoint, Point

    if making.tabs_mm is None:
        return []
    along, sheet, wide = _along(run), making.sheet_mm, making.tabs_mm
    count = int((along[-1] - wide) // (1.5 * wide)) + 1
    start = (along[-1] - (count - 1) * 1.5 * wide - wide) / 2
    found = []
    for k in range(count):
        span = (start + 1.5 * wide * k, start + 1.5 * wide * k + wide)
        inner = [s for s in along if span[0] < s < span[1]]
        base = np.array([[np.interp(s, along, run[:, i]) for i in (0, 1)] for s in (span[0], *inner, span[1])])
        chord = (base[-1] - base[0]) / np.linalg.norm(base[-1] - base[0])
        out = np.array([-chord[1], chord[0]])
        tab = MultiPoint([*base, *(base + (sheet + making.flange_mm) * out)]).convex_hull
        middle = base[0] + (base[-1] - base[0]) / 2
        # one that a joint or a sharp corner runs through is left out
        near = shape.buffer(0.5 * sheet)
        if all(near.covers(Point(p)) for p in base) and float(np.abs((base - middle) @ out).max()) < 0.5 * sheet:
            found.append((span, parts_of(tab.difference(panel))[0]))
    return found


def _crown_piece(
    name: str,
    body: Body,
    run: Array,
    outer: float,
    tabs: Sequence[tuple[float, float]],
    making: TubMaking,
    prism: tuple[Shape, float, float] | None,
) -> TubPiece:
    from shapely import union_all

    face = _unrolled(_triangles(body), run)
    folds = _foot_folds(face, run, making)
    before = _along(run)[1] if making.flange_mm else 0.0
    for low, high in tabs:
        tab = oblong(outer - 0.01, before + low, outer + making.sheet_mm + making.flange_mm, before + high)
        if face.buffer(0.05).intersects(tab):
            face = union_all([face, tab])
            folds.append(((outer, before + low), (outer, before + high)))
    return TubPiece(name=name, made=ROLLED, body=body, flat=parts_of(face)[0], folds=tuple(folds), prism=prism)


def _foot_folds(face: Shape, run: Array, making: TubMaking) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Where a crown's flanges are folded, on a piece that has them."""
    if not making.flange_mm:
        return []
    along = _along(run)
    y0, s0, y1, s1 = face.bounds
    return [((y0, float(at)), (y1, float(at))) for at in (along[1], along[-2]) if s0 + 1.0 < at < s1 - 1.0]


def _unrolled(triangles: Array, run: Array) -> Shape:
    """The inside face of a crown laid flat: (outboard, along the run)."""
    along = _along(run)
    flat = []
    for k in range(len(run) - 1):
        way = (run[k + 1] - run[k]) / (along[k + 1] - along[k])
        rel = triangles[:, :, :2] - run[k]
        far = np.abs(rel @ np.array([-way[1], way[0]]))
        s = rel @ way
        length = along[k + 1] - along[k]
        here = (far < _ON_MM).all(axis=1) & (s > -_ON_MM).all(axis=1) & (s < length + _ON_MM).all(axis=1)
        flat.append(np.stack([triangles[here][:, :, 2], np.clip(s[here], 0.0, length) + along[k]], axis=-1))
    return _face(np.concatenate(flat))


def _triangles(body: Body) -> Array:
    vertices, faces = mesh_of(body)
    found: Array = vertices[faces]
    return found


def _on(values: Array, at: float) -> npt.NDArray[np.bool_]:
    found: npt.NDArray[np.bool_] = np.all(np.abs(values - at) < _ON_MM, axis=1)
    return found


def _face(triangles: Array) -> Shape:
    """Flat triangles (n, 3, 2) as one outline; hairs between them are closed."""
    from shapely import Polygon, union_all

    (ax, ay), (bx, by) = ((triangles[:, k] - triangles[:, 0]).T for k in (1, 2))
    area = np.abs(ax * by - ay * bx)
    rows = [Polygon(t).buffer(2e-3, join_style="bevel") for t in triangles[area > 1e-6]]
    if not rows:
        raise ShapeError("a piece of the tub has no inside face left: build it untrimmed.")
    shape = union_all(rows).buffer(-2e-3, join_style="mitre").simplify(1e-3)
    return parts_of(shape)[0]


def room_left_mm(solid: TubSolid, vertices: Array, faces: npt.NDArray[np.intp]) -> float:
    """How far at most the crown's inside stands off the mesh that it goes round: what bending it one way only costs.

    A bound from above: distances are to the mesh's corners and the middles of its faces.
    """
    from scipy.spatial import cKDTree

    spots = np.concatenate([vertices, vertices[faces].mean(axis=1)])
    inside = solid.run_mm[1:-1] if solid.flanged else solid.run_mm
    across = np.linspace(solid.inboard_mm, solid.outboard_mm, 9)
    places = np.concatenate([np.column_stack([inside[:, 0], np.full(len(inside), y), inside[:, 1]]) for y in across])
    return float(cKDTree(spots).query(places)[0].max())
