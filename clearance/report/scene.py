"""What the page's 3D view and maps are drawn from: numbers only, every one of them computed and none in between.

The two sliders step over a grid of travel and steer that holds ride height, straight ahead, and the worst position of
every part, so whatever the page shows at a stop of the sliders was measured there. At each stop the gap is the least
over no play, all of it toward the part and the worst that was found, and over the other wheel's travel in the same way.

* grid   - the stops: bump from droop to bump, steer as the car's own (positive to the left)
* frame  - what a part rides on; each has its pose at every stop, row by row: origin, then the turn, twelve numbers
* far    - of a part with an end on something else: how far that end has moved at every stop, as the frame sees it; each
           vertex goes along by its share
* detail - how finely a part's sheets are divided, so that colours can change over them
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from clearance.export.near import near_the_wheel
from clearance.gap.found import Gap
from clearance.gap.map import over_vertices
from clearance.gap.rest import at_rest
from clearance.gap.trees import tree_of
from clearance.geom.bracket import AtSettings, least_at_settings
from clearance.geom.places import each_once
from clearance.mockup.paths import far_move, seen_by, shares_of
from clearance.mockup.words import position_text, steer_text
from clearance.pose import Array, car_steer_deg
from clearance.report.findings import worst_first
from clearance.report.tubes import is_line, tube
from clearance.steady import steady
from clearance.suspension.position import HUB, Shift
from clearance.units import FIRST, both, led_by
from clearance.well.part import Part

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp

BUMP_STOPS = 9
STEER_STOPS = 7
GRID_TOLERANCE_MM = 0.1
"""How much a stop of the sliders may show above the truth, off the part; of a depth, 5 %."""
CHORD_MM = 0.9
DETAIL_MM = 75.0
"""Longest edge of a sheet before it is divided, for colours."""
MOST_TRIANGLES = 16_000
"""Of one part in the page; a larger scan is shown by fewer and larger ones, and the page says so."""

Scene = dict[str, Any]


@steady
def scene_of(mockup: MockUp, gaps: Sequence[Gap]) -> Scene:
    """Meshes, poses and gaps of the whole cycle, ready to be written as JSON."""
    gaps = [at_rest(mockup, gap) for gap in gaps]
    bump, steer = stops(mockup, gaps)
    parts = {part.name: part for part in mockup.parts}
    shown = [(gap, parts[gap.part]) for gap in worst_first(gaps)]
    others = _rows(mockup, gaps, bump, steer)
    tables = _gaps_at(mockup, shown, others)
    worst = np.min(tables, axis=0).argmin(axis=0) if tables else np.zeros(others.shape[1], dtype=int)
    rows = others[worst, np.arange(others.shape[1])]
    frames = sorted({HUB, *(part.rides_on for _, part in shown)})
    return {
        "mirrored": mockup.right_hand,
        "reach": round(mockup.solid.reach_mm, 1),
        **_sliders(bump, steer, right_hand=mockup.right_hand),
        "poses": {frame: _poses(mockup, frame, rows) for frame in frames},
        "wheel": _wheel(mockup),
        "parts": [
            _part(mockup, gap, part, bump, steer, table.min(axis=0), rows)
            for (gap, part), table in zip(shown, tables, strict=True)
        ],
    }


def stops(mockup: MockUp, gaps: Sequence[Gap]) -> tuple[Array, Array]:
    """Bump (n,) and steer (m,) of the sliders, as the left corner inside the package has them.

    Bump rises; steer runs from the car's left to its right, as one sees it from the seat.
    """
    cycle = mockup.suspension.cycle
    bump = _axis(cycle.bump_mm, BUMP_STOPS, [gap.position.bump_mm for gap in gaps])
    steer = _axis(cycle.steer_deg, STEER_STOPS, [gap.position.steer_deg for gap in gaps])
    return bump, steer if mockup.right_hand else steer[::-1]


def _sliders(bump: Array, steer: Array, *, right_hand: bool) -> Scene:
    """The stops, steer as the car's own, and what each is called."""
    turned = [round(car_steer_deg(float(s), right_hand=right_hand), 3) for s in steer]
    return {
        "bump": _rounded(bump, 3),
        "steer": turned,
        "words": {unit: _words(bump, unit) for unit in FIRST},
        "turns": [steer_text(angle) for angle in turned],
    }


def _words(bump: Array, unit: str) -> list[str]:
    """The heights of the travel slider in words, with this unit first."""
    return [
        led_by(position_text(float(mm), 0.0, 0.0, other_moves=False, steers=False, length=both), unit) for mm in bump
    ]


def _axis(ends: tuple[float, float], count: int, witnesses: list[float]) -> Array:
    low, high = ends
    even = np.linspace(low, high, count) if high > low else np.array([low])
    chosen = [0.0] if low <= 0.0 <= high else []
    every = sorted({round(float(v), 4) for v in (*even, *witnesses, *chosen)})
    # an even stop beside a wanted one would be a slider step that shows nothing new
    near = (high - low) / count / 4
    wanted = {round(float(v), 4) for v in (*witnesses, *chosen, low, high)}
    kept = [v for v in every if v in wanted or all(abs(v - w) > near for w in wanted)]
    return np.array(kept)


def _rows(mockup: MockUp, gaps: Sequence[Gap], bump: Array, steer: Array) -> Array:
    """Positions (c, n, 3) of the n stops, row by row over bump, then steer, for c settings of the other wheel."""
    cycle = mockup.suspension.cycle
    low, high = cycle.other_bump_mm
    wanted = {0.0, low, high, *(gap.position.other_bump_mm for gap in gaps)} if high > low else {low}
    tables = []
    for other in sorted(wanted, key=abs):
        rows = np.array([[b, other, s] for b in bump for s in steer])
        if cycle.articulation_mm is not None:
            rows[:, 1] = np.clip(rows[:, 1], rows[:, 0] - cycle.articulation_mm, rows[:, 0] + cycle.articulation_mm)
        rows[:, 1] = np.clip(rows[:, 1], low, high)
        tables.append(rows)
    return np.array(tables)


def _gaps_at(mockup: MockUp, shown: Sequence[tuple[Gap, Part]], rows: Array) -> list[Array]:
    """The gap of each part (c, n) at positions (c, n, 3), the least over the play."""
    asked = [_at_stops(mockup, gap, part, rows) for gap, part in shown]
    least = least_at_settings(asked, mockup.solid, tolerance_mm=GRID_TOLERANCE_MM)
    return [
        _with_witness((own - part.skin_mm).reshape(rows.shape[:2]), gap, rows)
        for own, (gap, part) in zip(least, shown, strict=True)
    ]


def _at_stops(mockup: MockUp, gap: Gap, part: Part, rows: Array) -> AtSettings:
    """A part at positions (c, n, 3), with every play that is tried."""
    seen = seen_by(mockup, part)
    settings = seen.settings(rows.reshape(-1, 3))
    if seen.has_play:
        plays = np.array(_plays(mockup.suspension.cycle.shift, gap))
        settings = np.repeat(settings[:, None], len(plays), axis=1)
        settings[:, :, -2:] = plays
    share = None if part.far_end is None else part.far_end.share
    return AtSettings(triangles=part.triangles_mm, path=seen.path, settings=settings, share=share, tree=tree_of(part))


def _with_witness(table: Array, gap: Gap, rows: Array) -> Array:
    """At the witness's own position the gap is known better: at its real point it is `at_most`."""
    off = np.abs(rows - gap.position.row()).max(axis=2)
    table[off < 1e-3] = np.minimum(table[off < 1e-3], gap.at_most_mm)
    return table


def _plays(shift: Shift, gap: Gap) -> list[tuple[float, float]]:
    """Play ahead and outboard: none, all of it toward the part, and what the witness took up."""
    ahead = shift.ahead_mm if gap.toward_part[0] > 0 else -shift.behind_mm
    outboard = shift.outboard_mm if gap.toward_part[1] > 0 else -shift.inboard_mm
    return sorted({(0.0, 0.0), gap.shift_mm, (ahead, outboard)})


def _poses(mockup: MockUp, frame: str, rows: Array) -> list[list[float]]:
    """For every stop: origin (3) and turn (9) of the frame."""
    pose = mockup.suspension.pose(rows, frame)
    table = np.concatenate([pose.origin_mm, pose.turn.reshape(-1, 9)], axis=1)
    return [[*_rounded(row[:3], 3), *_rounded(row[3:], 6)] for row in table]


def _wheel(mockup: MockUp) -> Scene:
    vertices, faces = mockup.solid.mesh(CHORD_MM)
    rubber = np.hypot(vertices[:, 0], vertices[:, 2]) > mockup.wheel.flange_diameter_mm / 2 + 1.0
    return {**_mesh(vertices, faces), "rubber": [int(r) for r in rubber]}


def _part(mockup: MockUp, gap: Gap, part: Part, bump: Array, steer: Array, table: Array, rows: Array) -> Scene:
    vertices, faces, least, note = coloured(mockup, part)
    stop = (_index(bump, gap.position.bump_mm), _index(steer, gap.position.steer_deg))
    table = table.reshape(len(bump), len(steer)).copy()
    # what is certified stands at the worst position, so that map, table and verdict say one number
    table[stop] = min(table[stop], gap.stands_at_mm)
    return {
        "name": gap.part,
        "frame": part.rides_on,
        "required": round(gap.required_mm, 3),
        "verdict": gap.verdict,
        "at_least": round(gap.stands_at_mm, 4),
        "stop": list(stop),
        "place": _rounded(np.asarray(gap.on_part_mm), 2),
        "map": [_rounded(row, 3) for row in table],
        "least": _rounded(least, 2),
        "note": note,
        **_far_end(mockup, part, vertices, rows),
        **_mesh(vertices, faces),
    }


def _far_end(mockup: MockUp, part: Part, vertices: Array, rows: Array) -> Scene:
    """Of a part that two frames carry: each vertex's share of the far end's move, and that move at every stop."""
    if part.far_end is None:
        return {}
    far = far_move(mockup.suspension, part, rows)
    return {"share": _rounded(shares_of(part, vertices), 5), "far": [_rounded(row, 3) for row in far]}


def coloured(mockup: MockUp, part: Part) -> tuple[Array, Any, Array, str]:
    """Vertices (v, 3), faces (t, 3), each vertex's least gap over the cycle (v,), and a note where not all is shown."""
    if part.skin_mm > 0 and is_line(part.triangles_mm):
        return _bar(mockup, part)
    part, count = near_the_wheel(mockup, part), len(part.triangles_mm)
    if count <= MOST_TRIANGLES:
        vertices, faces, least = over_vertices(mockup, part, edge_mm=DETAIL_MM)
        return vertices, faces, least, ""
    fewer, cell_mm = thinned(part.triangles_mm, MOST_TRIANGLES)
    vertices, faces, least = over_vertices(mockup, replace(part, triangles_mm=fewer, far_end=None))
    note = (
        f"{part.name}: the 3D view shows {len(fewer)} triangles between some of its points, about"
        f" {cell_mm:.0f} mm apart; all {count} were measured."
    )
    return vertices, faces, least, note


def thinned(triangles_mm: Array, most: int) -> tuple[Array, float]:
    """Fewer triangles (n, 3, 3) between some of the same points, one of each cube, and the side of the cubes.

    For looking at only: a point that is kept is where it was, and what lies between is cut short.
    """
    spots, sides = _in_file_order(triangles_mm.reshape(-1, 3))
    cell_mm = 2.0
    while True:
        first, cube = each_once(_cubes(spots, cell_mm))
        faces = np.sort(cube.astype(np.int32)[sides].reshape(-1, 3), axis=1)
        faces = faces[(faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2])]
        faces = faces[each_once(faces.astype(np.int64))[0]]
        if len(faces) <= most:
            kept: Array = spots[first][faces]
            return kept, cell_mm
        cell_mm *= 1.4142


def _in_file_order(corners: Array) -> tuple[Array, np.ndarray]:
    """Each different point of corners (n, 3) as it comes first, and which of them every corner is."""
    first, place = each_once(corners)
    order = np.argsort(first)
    rank = np.empty(len(order), dtype=np.int32)
    rank[order] = np.arange(len(order), dtype=np.int32)
    return corners[first[order]], rank[place]


def _cubes(corners: Array, cell_mm: float) -> np.ndarray:
    """(n, 1): which cube each point (n, 3) is in, as a number in their order; (n, 3) where they are too many."""
    low = np.floor(corners.min(axis=0) / cell_mm)
    counts = [int(count) for count in np.floor(corners.max(axis=0) / cell_mm) - low + 1]
    if math.prod(counts) >= 2**62:
        return np.floor(corners / cell_mm).astype(np.int64)
    cubes = np.zeros((len(corners), 1), dtype=np.int64)
    for column, count in enumerate(counts):
        cubes *= count
        cubes[:, 0] += (np.floor(corners[:, column] / cell_mm) - low[column]).astype(np.int64)
    return cubes


def _bar(mockup: MockUp, part: Part) -> tuple[Array, Any, Array, str]:
    """A bar's tube, each of its corners coloured by the gap of the nearest point of the centre line."""
    line, _, least = over_vertices(mockup, part)
    triangles = tube(part.triangles_mm[:, 0], part.triangles_mm[:, 1], part.skin_mm)
    vertices = triangles.reshape(-1, 3)
    nearest = np.argmin(np.linalg.norm(vertices[:, None] - line[None], axis=2), axis=1)
    return vertices, np.arange(len(vertices)).reshape(-1, 3), least[nearest], ""


def _index(stops_: Array, value: float) -> int:
    return int(np.argmin(np.abs(stops_ - value)))


def _mesh(vertices: Array, faces: Any) -> Scene:
    xyz = np.asarray(vertices)
    ijk = np.asarray(faces)
    return {
        **{name: _rounded(xyz[:, k], 2) for k, name in enumerate("xyz")},
        **{name: [int(v) for v in ijk[:, k]] for k, name in enumerate("ijk")},
    }


def _rounded(values: Array, digits: int) -> list[float]:
    # adding zero turns a negative zero into a plain one
    return [round(float(v), digits) + 0.0 for v in values]
