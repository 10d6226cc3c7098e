"""A scan on the bench: looked at in every unit, picked on, placed, and laid into a corner.

* ScanOnBench - a scan as it came, with what is drawn of it; clicks are found on the scan itself
* Picked      - what a person has said of it so far: unit, points, directions, what must not count. It is a value: every
                step gives another, so any of them can be taken back
* Standing    - where it stands by what was picked: how far each point is off, how sure that is, what speaks against it
* gap_band    - the gap's bracket, with what the placing and the scan add to it

Points and directions are in the scan's own numbers and axes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from clearance.defaults import SCAN_TIRE_MM
from clearance.door.scans import corner_in, text_with_scan
from clearance.errors import InputError, MeshError
from clearance.pose import Array
from clearance.steady import steady
from clearance.units import MESH_UNITS, both, length_mm

if TYPE_CHECKING:
    from clearance.door.bench import Bench
    from clearance.gap.found import Gap
    from clearance.well.scan import PlacedScan
    from clearance.well.scan_clean import Cleaned, Labels
    from clearance.well.scan_raw import RawMesh
    from clearance.well.scan_seen import Seen

WAYS = ("hub", "face", "bolt_holes")
"""How a scan is placed: its hub point, points round the hub face, or bolt holes."""
GROUPS: Mapping[str, int] = {"hub": 1, "face": 12, "bolt_holes": 12, "ground": 6, "up": 2, "ahead": 2, "scale": 2}
"""What is clicked, and how many points of it at most."""
AXES = ("+x", "-x", "+y", "-y", "+z", "-z")
MOST_GONE = 200
"""Pieces that are brushed away one by one; more are left out by their size."""
_DIGITS = 6
"""Of a picked point, as far as the scan is large: a thousandth of a millimetre of a well."""
_TEXTS = ("distance", "face_outboard", "bolt_circle", "within", "stray", "radius", "from_", "to")
_LENGTHS = ("distance", "face_outboard", "within", "stray", "radius", "from_", "to")
_CORNERS = 48


@dataclass(frozen=True, kw_only=True, eq=False)
class ScanOnBench:
    """A scan as it came."""

    raw: RawMesh
    mesh: RawMesh
    """The same, every vertex and triangle once."""
    labels: Labels
    """(n,): the piece that each triangle belongs to, the largest first."""
    pieces: int
    seen: Seen
    counts: Cleaned
    """What cleaning it found."""
    notes: tuple[str, ...]

    @property
    def middle(self) -> Array:
        """(3,): of its box."""
        found: Array = self.raw.low + self.raw.size / 2.0
        return found

    def units(self, tire_mm: float | None) -> list[dict[str, Any]]:
        """How large it would be in every unit, and a picture of that beside a tire at true size."""
        from clearance.report.scan_units import beside_tire
        from clearance.well.scan_place import sensible_units, sizes_by_unit

        across = tire_mm or SCAN_TIRE_MM
        may_be, rows = sensible_units(self.raw.size), sizes_by_unit(self.raw.size)
        return [
            {
                "unit": unit,
                "words": row.partition(":")[2].partition("<-")[0].strip(),
                "may_be": unit in may_be,
                "svg": beside_tire(self.seen.vertices * mm, across, unit),
            }
            for (unit, mm), row in zip(MESH_UNITS.items(), rows, strict=True)
        ]

    def point(self, start: Sequence[float], way: Sequence[float], gone: Iterable[int] = ()) -> tuple[list[float], int]:
        """The true point of the scan behind a click, and its piece. Raises InputError where there is none."""
        from clearance.well.scan_seen import hit

        line = np.asarray(way, dtype=float)
        length = float(np.linalg.norm(line))
        if not 0.0 < length < math.inf or not np.isfinite(start).all():
            raise InputError("that is no place to click. Load the page again.")
        found = hit(
            self.mesh.vertices, self.mesh.faces, self.labels, np.asarray(start, float), line / length, frozenset(gone)
        )
        if found is None:
            raise InputError("there is no surface of the scan just there. Click on its metal.")
        return self.rounded(found.point), found.piece

    def rounded(self, point: Array) -> list[float]:
        """A point with as many digits as tell anything."""
        return _rounded(point, float(self.raw.size.max()))

    def smaller_than(self, length: float) -> list[int]:
        """The pieces whose box has a shorter diagonal, in the scan's own numbers."""
        from clearance.well.scan_clean import piece_boxes

        low, high = piece_boxes(self.mesh.vertices, self.mesh.faces, self.labels, self.pieces)
        return [int(k) for k in np.flatnonzero(np.sqrt(((high - low) ** 2).sum(axis=1)) < length)]

    def drawn_words(self, mm: float | None) -> str:
        """How far what is drawn may be off, where it is known what one of the scan's numbers is or not."""
        there = len(self.mesh.faces)
        if not self.seen.off:
            return f"All {there:,} triangles are drawn."
        far = f"{self.seen.off:.3g} in its own numbers" if mm is None else both(self.seen.off * mm)
        return (
            f"{len(self.seen.faces):,} triangles are drawn of {there:,}; none of the scan is further than {far} from"
            " what is drawn. A click is found on the scan itself."
        )

    def drawing(self) -> bytes:
        """What is drawn, for a page: four counts (vertices, triangles, lines, points), then the vertices from the
        middle of the box as single floats, then triangles, lines, points and each vertex's piece as whole numbers.
        """
        seen = self.seen
        counts = [len(seen.vertices), len(seen.faces), len(seen.lines), len(seen.points)]
        tables = [np.array(counts), seen.faces, seen.lines, seen.points, seen.piece]
        head, *rest = [np.ascontiguousarray(table, dtype="<u4").tobytes() for table in tables]
        return b"".join([head, np.ascontiguousarray(seen.vertices - self.middle, dtype="<f4").tobytes(), *rest])

    def standing(self, picked: Picked, tire_mm: float | None = None) -> Standing:
        """Where it stands by what was picked. Raises InputError for what lacks, MeshError for what cannot be."""
        return _standing(self, picked, tire_mm)

    def laid(self, bench: Bench, picked: Picked, name: str) -> tuple[Bench, Standing]:
        """The corner on the bench with this scan as one more part. Raises InputError, MeshError or CornerFileError."""
        return _laid(bench, self, picked, name)

    def tire_beside(self, mm: float, tire_mm: float | None = None) -> list[list[list[float]]]:
        """A tire at true size beside a scan that is not placed yet, where its box ends along its longest side.

        `mm` is millimetres in one of the scan's own numbers.
        """
        size = self.raw.size
        along = int(np.argmax(size))
        radius = (tire_mm or SCAN_TIRE_MM) / 2.0 / mm
        centre = self.middle.copy()
        centre[along] += size[along] / 2.0 + 1.15 * radius
        rings = []
        # lying and standing, so that it is seen as round from four sides of six
        for share, other in ((share, k) for share in (1.0, 0.62) for k in range(3) if k != along):
            turn = np.linspace(0.0, 2.0 * math.pi, 73)
            ring = np.tile(centre, (len(turn), 1))
            ring[:, along] += share * radius * np.cos(turn)
            ring[:, other] += share * radius * np.sin(turn)
            rings.append(_listed(ring))
        return rings


def _rounded(point: Array, size: float) -> list[float]:
    digits = _DIGITS - math.ceil(math.log10(size or 1.0))
    return [round(float(value), digits) + 0.0 for value in point]


@steady
def scan_on_bench(content: bytes, place: str | Path) -> ScanOnBench:
    """A mesh file on the bench, from its bytes. Raises MeshError for what is none, and for a cloud of points."""
    from clearance.well import scan_clean
    from clearance.well.scan_read import POINTS, mesh_of
    from clearance.well.scan_seen import seen

    raw = mesh_of(content, Path(place))
    if raw.kind == POINTS:
        raise MeshError(
            f"{raw.name}: a cloud of points has no surface to click on. Export it as a mesh, or place it by numbers:"
            f" clearance scan {raw.name}"
        )
    mesh, counts = scan_clean.cleaned(raw)
    if scan_clean.without_area(mesh.vertices, mesh.faces).all():
        raise MeshError(f"{raw.name}: no triangle in it has an area. Export the scan again.")
    pieces, labels = scan_clean.pieces(mesh.faces, len(mesh.vertices))
    torn = tuple(f"it looks cut short: {sign}" for sign in raw.torn)
    return ScanOnBench(
        raw=raw,
        mesh=mesh,
        labels=labels,
        pieces=pieces,
        seen=seen(mesh.vertices, mesh.faces, labels),
        counts=counts,
        notes=(*torn, *raw.notes, *counts.notes),
    )


# ---- what a person has said


@dataclass(frozen=True, kw_only=True)
class Picked:
    """What was said of a scan so far."""

    unit: str = ""
    distance: str = ""
    """True, between the two points of the scale."""
    way: str = "face"
    points: tuple[tuple[str, tuple[float, ...]], ...] = ()
    """In the order in which they were clicked: of what, and where."""
    up: str = ""
    ahead: str = ""
    outboard: str = ""
    """Each "+x" or the like; empty where it is not said, or clicked."""
    side: str = "left"
    """Of the car, that was scanned."""
    face_outboard: str = ""
    bolt_circle: str = ""
    within: str = ""
    gone: tuple[tuple[int, tuple[float, ...]], ...] = ()
    """Pieces brushed away, each with the point where it was taken."""
    stray: str = ""
    radius: str = ""
    """Of the cylinder about the axle that turns with the wheel; with `from_` and `to` along it."""
    from_: str = ""
    to: str = ""

    def of(self, group: str) -> list[list[float]]:
        """The points of one kind."""
        return [list(point) for name, point in self.points if name == group]

    def with_point(self, group: str, point: Sequence[float]) -> Picked:
        """One more point; of a kind that has all, the oldest goes. Raises InputError for no kind."""
        if group not in GROUPS:
            raise InputError("there is no such point to click.")
        own = [k for k, (name, _) in enumerate(self.points) if name == group]
        drop = own[0] if len(own) >= GROUPS[group] else -1
        left = tuple(one for k, one in enumerate(self.points) if k != drop)
        return replace(self, points=(*left, (group, tuple(point))))

    def without_point(self, group: str, number: int) -> Picked:
        """Without one of them. Raises InputError where it is not there."""
        own = [k for k, (name, _) in enumerate(self.points) if name == group]
        if not 0 <= number < len(own):
            raise InputError("that point is gone already.")
        return replace(self, points=tuple(one for k, one in enumerate(self.points) if k != own[number]))

    def without_piece(self, piece: int, point: Sequence[float]) -> Picked:
        """With one more piece brushed away. Raises InputError for the scan itself, and where there are too many."""
        if piece == 0:
            raise InputError(
                "that is the scan itself, its largest piece. Brush away what hangs loose; what hangs on to it and turns"
                " with the wheel goes by a cylinder about the axle."
            )
        if len(self.gone) >= MOST_GONE:
            raise InputError(f"{MOST_GONE} pieces are gone one by one. Leave the rest out by their size.")
        return replace(self, gone=(*self.gone, (piece, tuple(point))))

    def said(self, key: str, text: str) -> Picked:
        """Something written or chosen. Raises InputError for what there is not."""
        choices = {
            "unit": ("", *MESH_UNITS),
            "way": WAYS,
            "side": ("left", "right"),
            **dict.fromkeys(("up", "ahead", "outboard"), ("", *AXES)),
        }
        if key not in choices and key not in _TEXTS:
            raise InputError("there is nothing of that name to say of a scan.")
        if key in choices and text not in choices[key]:
            raise InputError(f"write one of {', '.join(word for word in choices[key] if word)}.")
        if key in _LENGTHS and text.strip():
            length_mm(text)
        return replace(self, **{key: text.strip()})  # type: ignore[arg-type]

    # ---- as a corner file and the command line have it

    @property
    def stray_mm(self) -> float:
        """Pieces smaller than this do not count; 0 keeps all."""
        return length_mm(self.stray) if self.stray else 0.0

    @property
    def mm_per_unit(self) -> float | None:
        """Millimetres in one of the scan's numbers; None where neither a unit nor a distance is said."""
        ends = self.of("scale")
        if self.unit:
            return MESH_UNITS[self.unit]
        if self.scale_text is None or (apart := math.dist(*ends[:2])) == 0.0:
            return None
        return length_mm(self.distance) / apart

    @property
    def scale_text(self) -> str | None:
        """The measured distance as an option; None where two points or their distance lack."""
        from clearance.description.writing import in_a_line

        ends = self.of("scale")
        if len(ends) < 2 or not self.distance:
            return None
        return in_a_line({"from": ends[0], "to": ends[1], "distance": self.distance})

    @property
    def place_text(self) -> str:
        """The place as an option. Raises InputError that says what to click next."""
        from clearance.description.writing import in_a_line

        if lacks := self.lacks():
            raise InputError(lacks)
        points: Any = self.of(self.way)
        table: dict[str, Any] = {self.way: points[0] if self.way == "hub" else points}
        if self.way == "bolt_holes" and self.bolt_circle:
            table["bolt_circle"] = self.bolt_circle
        if self.way != "hub" and (ground := self.of("ground")):
            table["ground"] = ground
        table |= {key: value for key in ("up", "ahead", "outboard") if (value := self._direction(key))}
        if self.way != "hub" and self.face_outboard:
            table["face_outboard"] = self.face_outboard
        return in_a_line(table | ({"within": self.within} if self.within else self._within()))

    def _within(self) -> dict[str, str]:
        """A hub point that was clicked is no better than other clicks; of one from CAD the file says nothing."""
        from clearance.well.scan_place import LEVEL_WITHIN_DEG, PICKED_WITHIN_MM

        if self.way != "hub":
            return {}
        return {"within": f"{PICKED_WITHIN_MM:g} mm", "level_within": f"{LEVEL_WITHIN_DEG:g} deg"}

    def lacks(self) -> str:
        """What is still to be said before it can be placed; empty where nothing is."""
        if not self.unit and self.scale_text is None:
            return "Say the unit first, or click two points and write how far apart they are."
        needed = 1 if self.way == "hub" else 3
        words = {"hub": "the hub's centre", "face": "the hub face", "bolt_holes": "the bolt holes"}[self.way]
        if (there := len(self.of(self.way))) < needed:
            return f"Click {words}: {there} of {needed} there."
        found = [key for key in ("up", "ahead", "outboard") if self._direction(key)]
        if len(found) < 2:
            return "Say two of the directions: which way is up, and which way is ahead or outboard."
        return ""

    def _direction(self, key: str) -> str | list[float]:
        """As it was chosen, or along two clicked points; empty where neither is."""
        ends = self.of(key)
        if len(ends) == 2:
            way = np.subtract(ends[1], ends[0])
            length = float(np.linalg.norm(way))
            return [round(float(value / length), 5) + 0.0 for value in way] if length else ""
        return str(getattr(self, key))

    def more(self, placed: PlacedScan, scan: ScanOnBench, side: str) -> dict[str, Any]:
        """The other keys of the part: whose side was scanned, and what must not count."""
        found: dict[str, Any] = {"other_side": True} if self.side != side else {}
        gone = [self._piece(k, placed, scan) for k in range(len(self.gone))]
        if self.radius:
            axle = {"radius": self.radius, "from": self.from_ or "-60 mm", "to": self.to or "60 mm"}
            gone.append({"name": "turns with the wheel", "axle": axle})
        found |= {"remove": gone} if gone else {}
        return found | ({"stray": self.stray} if self.stray else {})

    def _piece(self, number: int, placed: PlacedScan, scan: ScanOnBench) -> dict[str, Any]:
        """A piece by the one of its corners that no other piece has a corner nearer to, as far as is written."""
        piece, _ = self.gone[number]
        own = np.unique(scan.mesh.faces[scan.labels == piece])[:_CORNERS]
        for spot in placed.placement.carry(scan.mesh.vertices[own]):
            written = [f"{round(float(value), 2) + 0.0:g} mm" for value in spot]
            near = int(np.argmin(((placed.vertices_mm - np.round(spot, 2)) ** 2).sum(axis=1)))
            owners = scan.labels[(scan.mesh.faces == near).any(axis=1)]
            if len(owners) and (owners == piece).all():
                return {"name": f"loose piece {number + 1}", "piece": written}
        raise InputError("a piece that was brushed away touches another. Leave it, or take it out by its size.")


# ---- where it stands


@dataclass(frozen=True, kw_only=True, eq=False)
class Standing:
    """Where a scan stands by what was picked."""

    placed: PlacedScan
    residuals_mm: tuple[float, ...]
    """How far each picked point stands off their circle; empty for a hub point, which nothing checks."""
    told: Mapping[str, Any]
    """As `clearance scan` says it."""
    tire_mm: float

    def words(self, first: str | None = None) -> list[str]:
        """In lines, as `clearance scan` has them."""
        from clearance.units import led_by
        from clearance.words.scan import placed_lines

        lines = [line.strip() for line in placed_lines(self.told) if line]
        return [led_by(line, first) if first else line for line in lines]

    def residual_words(self) -> list[str]:
        """Of each picked point."""
        return [f"{one:.1f} mm off the circle" for one in self.residuals_mm]

    def rings(self) -> list[list[list[float]]]:
        """Tire and hub as lines to be drawn over the scan, in its own axes and numbers."""
        radius, width = self.tire_mm / 2.0, self.tire_mm / 3.2
        across = (-width / 2.0, width / 2.0)
        rings = [_ring(radius, y) for y in across] + [_ring(radius * 0.62, y) for y in across]
        rings += [np.array([[-60.0, 0, 0], [60.0, 0, 0]]), np.array([[0, -60.0, 0], [0, 160.0, 0]])]
        rings += [np.array([[0, 0, -60.0], [0, 0, 60.0]])]
        return [_listed(self.placed.placement.back(ring)) for ring in rings]


def _ring(radius: float, y: float) -> Array:
    turn = np.linspace(0.0, 2.0 * math.pi, 73)
    return np.stack([radius * np.cos(turn), np.full_like(turn, y), radius * np.sin(turn)], axis=1)


def _listed(points: Array) -> list[list[float]]:
    return [[float(f"{value:.6g}") for value in point] for point in points]


@steady
def _standing(scan: ScanOnBench, picked: Picked, tire_mm: float | None = None) -> Standing:
    """Where a scan stands by what was picked. Raises InputError for what lacks, MeshError for what cannot be."""
    from clearance.answers.scan_stands import stands_of
    from clearance.description.placing import place_of, scale_of
    from clearance.well.scan import placed_clean
    from clearance.well.scan_place import circle_through, off_circle

    text, scale = picked.place_text, picked.scale_text
    placed = placed_clean(
        scan.raw,
        scan.mesh,
        scan.counts,
        unit=picked.unit or None,
        scale=scale_of(scale),
        place=place_of(text, "the place"),
        side=picked.side,
    )
    residuals: tuple[float, ...] = ()
    if picked.way != "hub":
        points = np.array(picked.of(picked.way))
        off = off_circle(circle_through(points), points) * placed.placement.mm_per_unit
        residuals = tuple(float(one) for one in off)
    across = tire_mm or SCAN_TIRE_MM
    told = stands_of(_without_gone(placed, scan, picked), across, tire_mm is not None)
    return Standing(placed=placed, residuals_mm=residuals, told=told, tire_mm=across)


def _without_gone(placed: PlacedScan, scan: ScanOnBench, picked: Picked) -> PlacedScan:
    """What speaks against a place is judged without what was brushed away."""
    if not picked.gone:
        return placed
    left = np.isin(scan.labels, [piece for piece, _ in picked.gone], invert=True)
    return replace(placed, faces=placed.faces[left])


def _laid(bench: Bench, scan: ScanOnBench, picked: Picked, name: str) -> tuple[Bench, Standing]:
    """The corner on the bench with this scan as one more part. Raises InputError, MeshError or CornerFileError."""
    side = "right" if bench.mockup.right_hand else "left"
    stands = _standing(scan, picked, bench.mockup.tire.overall_diameter_mm)
    text = text_with_scan(
        bench.text,
        bench.place,
        bench.place.with_name(scan.raw.name),
        name=name,
        unit=picked.unit or None,
        scale=picked.scale_text,
        place=picked.place_text,
        corner=corner_in(bench.text, bench.place, bench.corner),
        more=picked.more(stands.placed, scan, side),
    )
    return bench.with_text(text), stands


# ---- how sure


def gap_band(gap: Gap, placing_mm: float, first: str) -> dict[str, Any]:
    """A gap as a line of millimetres: its bracket, what placing the scan adds to it, and what all of it adds."""
    from clearance.report.scan_band import drawn
    from clearance.units import led_by

    whole = max(gap.uncertainty_mm, placing_mm)
    low, high = gap.at_least_mm, gap.at_most_mm
    low = high if low == -math.inf else low
    words = (
        f"{gap.part}: {_depth(high)}. Placing adds {both(placing_mm)} either way: {_depth(low - placing_mm)} to"
        f" {_depth(high + placing_mm)}. With all that is uncertain of it, {both(whole)}: {_depth(low - whole)} to"
        f" {_depth(high + whole)}. It must keep {both(gap.required_mm)}."
    )
    svg = drawn(low, high, placing_mm, whole, gap.required_mm, led_by(words, first))
    return {"part": gap.part, "verdict": gap.verdict, "words": led_by(words, first), "svg": svg}


def _depth(mm: float) -> str:
    return both(mm) if mm >= 0.0 else f"{both(-mm)} inside"
