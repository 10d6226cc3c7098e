"""`clearance scan`: what is in a mesh file, and the lines that put it into a corner file.

Nothing is guessed silently. The unit is stated by the user or by a measured distance; where it is not, the sizes in
every unit are shown and the lines for the corner file leave it open.
"""

from __future__ import annotations

import dataclasses
import io
import json
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from clearance_cli.out import Progress, say, show, write_all

from clearance import opener
from clearance.plain import echoed, visible

if TYPE_CHECKING:
    from clearance.well.scan import PlacedScan
    from clearance.well.scan_look import Look
    from clearance.well.scan_place import Place, Scale
    from clearance.well.scan_read import RawMesh

ASSUMED_TIRE_MM = 660.0


def command(
    mesh: Annotated[Path, typer.Argument(help="OBJ, STL, PLY, GLB, glTF, OFF, 3MF, XYZ or CSV.", show_default=False)],
    unit: Annotated[str | None, typer.Option(help='Of its numbers: "mm", "cm", "m", "in" or "ft".')] = None,
    scale: Annotated[
        str | None, typer.Option(help='Instead: { from = [x, y, z], to = [x, y, z], distance = "4 1/2 in" }.')
    ] = None,
    place: Annotated[
        str | None,
        typer.Option(help='As in a corner file: \'{ hub = [x, y, z], up = "+z", ahead = "+x" }\', or "corner axes".'),
    ] = None,
    side: Annotated[str, typer.Option(help='The side of the car that was scanned: "left" or "right".')] = "left",
    tire: Annotated[
        str | None, typer.Option(help="Diameter of the tire, to judge the place by: '26 in'. 660 mm if not given.")
    ] = None,
    picture: Annotated[Path | None, typer.Option(help="Draw it from three sides: a .png or .svg file.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> None:
    """What is in a scan: its pieces, holes and size in every unit, and the lines to put into a corner file.

    With a unit (or a scale) and a place it also says where the scan would stand on the hub, how far that is uncertain,
    and what speaks against it. Nothing is changed in the file.
    """

    from clearance.well.scan_look import look
    from clearance.well.scan_read import read_mesh

    progress = Progress(quiet=as_json)
    progress(0, 3, "reading")
    raw = read_mesh(mesh)
    progress(1, 3, "looking")
    found = look(raw)
    progress(2, 3, "placing")
    factor = _factor(raw, unit, scale)
    placed = _placed(raw, unit, scale, place, side)
    tire_mm = _tire_mm(tire)
    stands = _stands(placed, tire_mm, tire is not None) if placed else {}
    if picture is not None:
        progress(2, 3, "drawing")
        content = drawn(raw, placed, factor, found.up, tire_mm, picture)
        write_all(picture.parent, {picture.name: content})
    progress.close()
    if as_json:
        show(as_table(found, factor, stands))
        return
    for line in [*described(found, factor), *_placed_lines(stands), "", *suggested(found, mesh, unit, scale, place)]:
        say(line)
    if picture is not None:
        say(f"\npicture: {picture}")


def _factor(raw: RawMesh, unit: str | None, scale: str | None) -> float | None:
    """Millimetres in one of the file's numbers, where the user said so."""
    from clearance.well.scan_place import mm_per_unit

    if unit is None and scale is None:
        return None
    return mm_per_unit(unit, _scale(scale), raw.size)


def _table(text: str, option: str) -> Any:
    """The value of an option that is written as in a corner file. Raises MeshError where it cannot be read."""
    from clearance.errors import MeshError

    try:
        tables = opener.toml_tables(f"value = {text}")
    except opener.NotToml:
        tables = {}
    if set(tables) != {"value"}:
        raise MeshError(
            f"{option} {echoed(text)} cannot be read. Write it as in a corner file, in quotes for the shell:"
            f' {option} \'{{ hub = [1.388, 0.798, 0.13], up = "+z", ahead = "+x" }}\'.'
        )
    return tables["value"]


def _tire_mm(text: str | None) -> float:
    from clearance.errors import MeshError
    from clearance.units import length_mm

    if text is None:
        return ASSUMED_TIRE_MM
    found = length_mm(text)
    if not 200.0 <= found <= 2000.0:
        raise MeshError(
            f"--tire {echoed(text)} is {found:g} mm across. Write the tire's overall diameter, such as '26 in'."
        )
    return found


def _scale(text: str | None) -> Scale | None:
    """A measured distance, as the option writes it."""
    if text is None:
        return None
    from clearance.errors import MeshError
    from clearance.units import length_mm
    from clearance.well.scan_place import PICKED_WITHIN_MM, Scale

    table = _table(text, "--scale")
    if not isinstance(table, dict) or not {"from", "to", "distance"} <= set(table) <= {
        "from",
        "to",
        "distance",
        "within",
    }:
        raise MeshError('--scale needs { from = [x, y, z], to = [x, y, z], distance = "4 1/2 in" }.')
    return Scale(
        from_point=_point(table["from"], "--scale from"),
        to_point=_point(table["to"], "--scale to"),
        distance_mm=length_mm(table["distance"]),
        within_mm=length_mm(table["within"]) if "within" in table else PICKED_WITHIN_MM,
    )


def _point(values: object, what: str) -> Any:
    import numpy as np

    from clearance.errors import MeshError

    if isinstance(values, list) and len(values) == 3 and all(map(_is_coordinate, values)):
        return np.array(values, dtype=float)
    raise MeshError(
        f"{what} is {echoed(values)}. Write three numbers, in the scan's own axes and unit: [1.388, 0.798, 0.13]."
    )


def _is_coordinate(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) <= MOST_COORDINATE


MOST_COORDINATE = 1e9
"""As far from its origin as a scan may lie, in its own unit."""
PLACE_WORDS = {
    "hub": ("hub", "ahead", "up", "outboard", "within", "level_within"),
    "face": ("face", "ahead", "up", "outboard", "ground", "face_outboard", "diameter", "within", "level_within"),
    "bolt_holes": (
        "bolt_holes", "bolt_circle", "ahead", "up", "outboard", "ground", "face_outboard", "within", "level_within",
    ),
}  # fmt: skip


def _place(text: str) -> Place:
    """A place on the hub, as the option writes it: the same words as in a corner file."""
    from clearance.errors import MeshError
    from clearance.well.scan_place import CornerAxes

    if text.strip().strip("\"'") == "corner axes":
        return CornerAxes()
    table = _table(text, "--place")
    kinds = [kind for kind in PLACE_WORDS if isinstance(table, dict) and kind in table]
    if len(kinds) != 1:
        raise MeshError(
            '--place needs one of: "corner axes"; { hub = [x, y, z], up = "+z", ahead = "+x" };'
            ' { face = [[x, y, z], ...], up = "+z", ahead = "+x" };'
            ' { bolt_holes = [[x, y, z], ...], bolt_circle = "5 x 4.5 in", up = "+z", ahead = "+x" }.'
        )
    unknown = sorted(set(table) - set(PLACE_WORDS[kinds[0]]))
    if unknown:
        raise MeshError(
            f"--place has {echoed(unknown[0])}, which does not go with {kinds[0]}."
            f" It takes {', '.join(PLACE_WORDS[kinds[0]])}."
        )
    return _place_of(kinds[0], table)


def _place_of(kind: str, table: dict[str, Any]) -> Place:
    import numpy as np

    from clearance.errors import MeshError
    from clearance.units import angle_deg, length_mm
    from clearance.well.scan_place import BoltHoles, FacePoints, HubPoint, direction

    words: dict[str, Any] = {key: direction(table[key]) for key in ("ahead", "up", "outboard") if key in table}
    words |= {f"{key}_mm": length_mm(table[key]) for key in ("within", "face_outboard", "diameter") if key in table}
    if "level_within" in table:
        words["level_within_deg"] = angle_deg(table["level_within"])
    if kind == "hub":
        return HubPoint(hub=_point(table["hub"], "--place hub"), **words)
    for key in ("ground", kind):
        if key in table and not isinstance(table[key], list):
            raise MeshError(
                f"--place {key} is {echoed(table[key])}. Write a list of points: [[x, y, z], [x, y, z], ...]."
            )
    if "ground" in table:
        words["ground"] = np.array([_point(point, "--place ground") for point in table["ground"]])
    points = np.array([_point(point, f"--place {kind}") for point in table[kind]]).reshape(-1, 3)
    if kind == "face":
        return FacePoints(points=points, **words)
    count, _, across = str(table.get("bolt_circle", "")).partition("x")
    if not (count.strip().isascii() and count.strip().isdigit() and len(count) < 6):
        raise MeshError(
            '--place with bolt_holes needs bolt_circle = "5 x 4.5 in": the count and the circle they lie on.'
        )
    return BoltHoles(points=points, count=int(count), bolt_circle_mm=length_mm(across.strip()), **words)


def _placed(raw: RawMesh, unit: str | None, scale: str | None, place: str | None, side: str) -> PlacedScan | None:
    """The scan on the hub, where the user said how."""
    if place is None:
        return None
    from clearance.well.scan import placed_scan

    return placed_scan(raw, unit=unit, scale=_scale(scale), place=_place(place), side=side)


def _stands(placed: PlacedScan, tire_mm: float, stated: bool) -> dict[str, Any]:
    """Where a placed scan stands, and what speaks against it."""
    from clearance.well.scan_doubt import arch_span_mm, doubts_of_place, near_metal

    low, high = placed.vertices_mm.min(axis=0), placed.vertices_mm.max(axis=0)
    span = arch_span_mm(near_metal(placed.triangles_mm, tire_mm / 2.0), tire_mm / 2.0)
    return {
        "reach_mm": {
            name: [round(float(low[way]), 3), round(float(high[way]), 3)]
            for way, name in enumerate(("ahead", "outboard", "above"))
        },
        "arch_span_mm": None if span is None else round(span, 1),
        "placing_uncertainty_mm": round(placed.uncertainty_mm, 3),
        "notes": list(placed.notes),
        "judged_by_tire_mm": tire_mm,
        "tire_stated": stated,
        "doubts": list(doubts_of_place("scan", placed.triangles_mm, tire_radius_mm=tire_mm / 2.0)),
    }


def as_table(found: Look, factor: float | None, stands: dict[str, Any]) -> dict[str, Any]:
    """What was found, as JSON has it."""
    from clearance.well.scan_place import UNIT_MM

    table = dataclasses.asdict(found)
    table["closed"] = found.closed
    table["size_mm"] = {unit: [round(value * mm, 4) for value in found.size] for unit, mm in UNIT_MM.items()}
    table["mm_per_unit"] = factor
    if stands:
        table["placed"] = stands
    return table


def described(found: Look, factor: float | None) -> list[str]:
    """What was found, in lines."""
    lines = [f"{found.name}   {found.file_format}, {'a mesh' if found.kind == 'mesh' else 'a cloud of points'}"]
    if found.kind == "mesh":
        lines += _mesh_lines(found, factor)
    else:
        middle, most, loneliest = found.point_spacing or (0.0, 0.0, 0.0)
        lines.append(f"  {found.vertices:,} points, {found.merged:,} of them twice")
        lines.append(
            f"  neighbours are {_long(middle, factor)} apart in the middle, 99 of 100 within {_long(most, factor)},"
            f" the loneliest {_long(loneliest, factor)}"
        )
    lines += [f"  {note}" for note in found.notes]
    lines += [f"  ! it looks cut short: {sign}" for sign in found.torn]
    lines += ["", *_size_lines(found, factor)]
    lines += ["", f"Up is perhaps {found.up}: {found.up_because}." if found.up else f"Up: {found.up_because}."]
    return lines


def _mesh_lines(found: Look, factor: float | None) -> list[str]:
    share = 100.0 / max(found.triangles, 1)
    lines = [
        f"  {found.vertices:,} vertices, {found.triangles:,} triangles, pieces that hang together: {found.pieces:,}",
        f"  {found.merged:,} vertices at the place of another, {found.duplicated:,} triangles given twice"
        f" ({share * found.duplicated:.1f} %), {found.degenerate:,} without area ({share * found.degenerate:.1f} %)",
    ]
    if found.closed:
        lines.append("  closed: the surface of a solid")
    else:
        hole = f", the longest {_long(found.largest_hole, factor)} round" if found.holes else ""
        lines.append(
            f"  open: {found.open_edges:,} open edges in {found.rims:,} rims; {found.holes:,} of them are holes{hole}"
        )
        lines.append(f"  {found.shared_edges:,} edges with more than two triangles")
    lines.append("  the largest pieces:")
    for piece in found.largest:
        size = " x ".join(_long(value, factor) for value in piece.size)
        at = ", ".join(f"{value:.4g}" for value in piece.at)
        lines.append(f"    {piece.triangles:>9,} triangles, {size}, at [{at}]")
    if found.pieces > len(found.largest):
        lines.append(f"    and {found.pieces - len(found.largest):,} smaller")
    return lines


def _long(value: float, factor: float | None) -> str:
    from clearance.units import both

    return f"{value:.4g}" if factor is None else both(value * factor)


def _size_lines(found: Look, factor: float | None) -> list[str]:
    import numpy as np

    from clearance.units import both
    from clearance.well.scan_place import sizes_by_unit

    if factor is not None:
        return [f"Its box: {' x '.join(both(value * factor) for value in found.size)} along x, y and z."]
    lines = ["Its box, along x, y and z, would be:", *(f"  {row}" for row in sizes_by_unit(np.array(found.size)))]
    if not found.units:
        return [*lines, "In no unit is it a wheel well or a car: measure a known distance in it and use --scale."]
    lines.append(
        f"A wheel well or a car may be so large in {' or '.join(found.units)}. The file does not say: state --unit,"
        " or --scale with a distance that you measured."
    )
    return lines


def _placed_lines(stands: dict[str, Any]) -> list[str]:
    from clearance.units import both

    if not stands:
        return []
    reach = "; ".join(f"{name} {low:.0f} to {high:.0f}" for name, (low, high) in stands["reach_mm"].items())
    lines = ["", f"On the hub it reaches, in mm: {reach}."]
    span = stands["arch_span_mm"]
    lines.append(f"Metal ahead of the hub and behind it, at its height: {both(span)} apart." if span else
                 "There is no metal both ahead of the hub and behind it at its height, so no arch span.")  # fmt: skip
    lines.append(f"Placing is uncertain by {both(stands['placing_uncertainty_mm'])}; the scan itself adds its own.")
    lines += [f"  {note}" for note in stands["notes"]]
    tire = both(stands["judged_by_tire_mm"]) + ("" if stands["tire_stated"] else ", assumed; state --tire")
    if not stands["doubts"]:
        return [*lines, f"Nothing speaks against this place, judged by a tire of {tire}."]
    return [
        *lines,
        f"What speaks against this place, judged by a tire of {tire}:",
        *(f"  ! {row}" for row in stands["doubts"]),
    ]


def suggested(found: Look, mesh: Path, unit: str | None, scale: str | None, place: str | None) -> list[str]:
    """The lines for the corner file; what was not stated stays a comment that has to be answered."""
    lines = ["Lines for the corner file:", "", "[[part]]", 'name = "scanned well"', 'kind = "mesh"']
    lines.append(f"file = {json.dumps(str(mesh), ensure_ascii=False)}")
    if unit is not None:
        lines.append(f"unit = {json.dumps(unit)}")
    elif scale is None:
        guess = found.units[0] if len(found.units) == 1 else "..."
        lines.append(f'# unit = "{guess}"   # not in the file: measure one thing in the scan, then take the # away')
    if scale is not None:
        lines.append(f"scale = {scale.strip()}")
    if place is not None:
        lines.append(f"place = {place.strip() if place.strip()[:1] in '{' else json.dumps(place.strip())}")
    else:
        up = f"+{found.up}" if found.up else "..."
        lines.append(
            f'# place = {{ hub = [..., ..., ...], up = "{up}", ahead = "..." }}   # in the scan\'s own axes and unit'
        )
    if found.kind == "points":
        lines.append('# radius = "..."   # of the ball that stands for each point')
    lines.append('# remove = [{ name = "old wheel and brake", axle = { radius = "...", from = "...", to = "..." } }]')
    return lines


def drawn(
    raw: RawMesh, placed: PlacedScan | None, factor: float | None, up: str, tire_mm: float, picture: Path
) -> bytes:
    """The scan from three sides with a grid, as the bytes of a PNG or SVG. Raises OutputError."""
    from clearance.errors import OutputError

    kind = picture.suffix.lower().lstrip(".")
    if kind not in ("png", "svg"):
        raise OutputError(f"{picture}: pictures are drawn as .png or .svg.")
    try:
        import matplotlib
    except ImportError:
        raise OutputError("--picture needs matplotlib: pip install matplotlib.") from None
    from matplotlib.figure import Figure
    from matplotlib.patches import Circle

    from clearance.well.scan_picture import three_views

    vertices, names, unit = raw.vertices, {way: f"+{way}" for way in "xyz"}, "in the file's numbers"
    if placed is not None:
        vertices, up, unit = placed.vertices_mm, "z", f"mm on the hub (cross), with a tire of {tire_mm:g} mm"
        names = {"x": "ahead", "y": "outboard", "z": "above"}
    elif factor is not None:
        vertices, unit = raw.vertices * factor, "mm, the file's axes"
    views = three_views(vertices, raw.faces if placed is None else placed.faces, up=up or "z")
    page = io.BytesIO()
    with warnings.catch_warnings(), matplotlib.rc_context():
        # a letter that the font has not is drawn as a box, which needs no words
        warnings.simplefilter("ignore")
        # a matplotlibrc in the folder or the home would draw another picture
        matplotlib.rcdefaults()
        matplotlib.rcParams["svg.hashsalt"] = "scan"
        figure = Figure(figsize=(16.0, 6.5), dpi=100, layout="constrained")
        figure.suptitle(visible(f"{raw.name}, {unit}"), parse_math=False)
        for axes, view in zip(figure.subplots(1, 3), views, strict=True):
            axes.imshow(view.pixels, cmap="gray", vmin=0, vmax=255, extent=view.extent, aspect="equal")
            axes.grid(True, color="tab:blue", linewidth=0.5, alpha=0.6)
            axes.set(xlabel=names[view.right], ylabel=names[view.above], title=f"from {names[view.along]}")
            if placed is not None:
                axes.plot([0.0], [0.0], "+", color="tab:red", markersize=16)
                if view.along == "y":
                    axes.add_patch(Circle((0.0, 0.0), tire_mm / 2.0, fill=False, color="tab:red", linestyle="--"))
        figure.savefig(page, format=kind, metadata={"Software": None} if kind == "png" else {"Date": None})
    return page.getvalue()
