"""`clearance relief`: how far each part must move, and which way; what to take off a scan."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from clearance_cli.out import Progress, say, show, write_all

if TYPE_CHECKING:
    from clearance.answers.relief import Relief, ReliefMap
    from clearance.mockup.mockup import MockUp

CAUTION = (
    "Cutting or moving a rail, tower or spring mount changes what holds the car together: have it"
    " designed and welded by"
    " someone licensed for it where you live. Springs out, car on stands, before you reach in."
)


def command(
    file: Annotated[Path, typer.Argument(help="The corner file.", show_default=False)],
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", "-o", help="Folder for maps of what to take off (PLY, GLB, STL, CSV) and the proposed tub (STL)."
        ),
    ] = None,
    part: Annotated[
        list[str] | None,
        typer.Option("--map", help="Also map this part, corner by corner of its mesh; repeat for more."),
    ] = None,
    slack: Annotated[str, typer.Option(help="How far outside the truth the proposed tub may lie.")] = "1 mm",
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """How far each part that is under its required gap must move, and which way.

    Each move is the least, to 0.1 mm, after which that part clears over the whole cycle. Scans are mapped in mm to take
    off. With --out: the maps, and the surface that a new tub must stay outside of: the envelope grown by the required
    gap. Exit code 0: nothing to do; 1: something must move.
    """
    from clearance_cli.answer_text import length_option, read_corner

    from clearance.answers.relief import map_of, relief

    mockup = read_corner(file)
    slack_mm = length_option(slack, "--slack") or 1.0
    progress = Progress(quiet=as_json)
    found = relief(mockup, progress=progress)
    wanted = [one.before.part for one in found if one.kind == "mesh"] + list(part or ())
    maps = [map_of(mockup, name) for name in dict.fromkeys(wanted)]
    files = [] if out is None else _write(out, mockup, found, maps, slack_mm, progress)
    progress.close()
    if as_json:
        show(facts(mockup, found, maps, files))
    else:
        say(page(mockup, found, maps, out, files))
    return 1 if found else 0


def _write(
    out: Path, mockup: MockUp, found: Sequence[Relief], maps: Sequence[ReliefMap], slack_mm: float, progress: Any
) -> list[str]:
    """The maps, and the proposed tub where something must move; names of the files."""

    from clearance.plain import file_names

    files: dict[str, bytes] = {}
    stems = file_names(one.part for one in maps)
    for one in maps:
        name = stems[one.part]
        files[f"relief-{name}.ply"] = _ply(mockup, one)
        files[f"relief-{name}.csv"] = _csv(mockup, one)
        files[f"relief-{name}.glb"] = _glb(mockup, one)
        if one.most_mm > 0:
            files[f"relief-{name}.stl"] = _stl(mockup, one)
    if found:
        progress(0, 1, "the proposed tub")
        files["proposed-tub.stl"] = _tub(mockup, max(one.before.required_mm for one in found), slack_mm)
    write_all(out, files, of="relief")
    return sorted(files)


def _points(mockup: MockUp, one: ReliefMap) -> Any:
    from clearance.pose import mirrored

    return mirrored(one.vertices_mm) if mockup.right_hand else one.vertices_mm


def _faces(mockup: MockUp, one: ReliefMap) -> Any:
    # a mirror image turns every triangle over, so its corners are named the other way round
    return one.faces[:, ::-1] if mockup.right_hand else one.faces


def _colours(one: ReliefMap) -> Any:
    """(v, 3) bytes: white where nothing comes off, through orange to dark red where most does."""
    import numpy as np

    share = one.take_off_mm / max(one.most_mm, 1e-9)
    stops = np.array([[245, 245, 245], [253, 174, 97], [165, 0, 38]], dtype=float)
    where = np.clip(share, 0, 1) * 2
    low = np.minimum(where.astype(int), 1)
    mixed = stops[low] + (stops[low + 1] - stops[low]) * (where - low)[:, None]
    return np.round(mixed).astype(np.uint8)


def _written(shape: Any, form: str) -> bytes:
    # what a writer of trimesh gives depends on the form, so its own types cannot say
    return bytes(shape.export(file_type=form))


def _ply(mockup: MockUp, one: ReliefMap) -> bytes:
    import trimesh

    mesh = trimesh.Trimesh(
        vertices=_points(mockup, one), faces=_faces(mockup, one), vertex_colors=_colours(one), process=False
    )
    return _written(mesh, "ply")


def _glb(mockup: MockUp, one: ReliefMap) -> bytes:
    """Metres, y up, z towards the viewer, as glTF says: x ahead stays, up becomes y, outboard becomes -z."""
    import numpy as np
    import trimesh

    from clearance.plain import visible

    points = np.asarray(_points(mockup, one)) / 1000
    turned = np.column_stack([points[:, 0], points[:, 2], -points[:, 1]])
    mesh = trimesh.Trimesh(vertices=turned, faces=_faces(mockup, one), vertex_colors=_colours(one), process=False)
    named: dict[str, Any] = {visible(one.part): mesh}
    return _written(trimesh.Scene(named), "glb")


def _stl(mockup: MockUp, one: ReliefMap) -> bytes:
    """The triangles with something to take off, millimetres, as they stand on the car."""
    import trimesh

    touched = (one.take_off_mm[one.faces] > 0).any(axis=1)
    sheet = trimesh.Trimesh(vertices=_points(mockup, one), faces=_faces(mockup, one)[touched], process=False)
    return _written(sheet, "stl")


def _csv(mockup: MockUp, one: ReliefMap) -> bytes:
    rows = ["ahead_mm,outboard_mm,above_mm,take_off_mm"]
    for point, off in zip(one.vertices_mm, one.take_off_mm, strict=True):
        if off > 0:
            rows.append(f"{point[0]:.2f},{point[1]:.2f},{point[2]:.2f},{off:.2f}")
    return ("\n".join(rows) + "\n").encode()


def _tub(mockup: MockUp, grown_mm: float, slack_mm: float) -> bytes:
    import trimesh

    from clearance.envelope.build import envelope_of
    from clearance.pose import mirrored

    body = envelope_of(mockup, grown_mm=grown_mm, slack_mm=slack_mm)
    vertices = mirrored(body.vertices_mm) if mockup.right_hand else body.vertices_mm
    faces = body.faces[:, ::-1] if mockup.right_hand else body.faces
    return _written(trimesh.Trimesh(vertices=vertices, faces=faces, process=False), "stl")


def facts(mockup: MockUp, found: Sequence[Relief], maps: Sequence[ReliefMap], files: Sequence[str]) -> dict[str, Any]:
    """Everything that the page says."""
    from clearance_cli.answer_text import gap_json

    return {
        "format": "clearance-relief/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "step": 0.1,
        "parts": [
            {
                "part": one.before.part,
                "kind": one.kind,
                "before": gap_json(mockup, one.before),
                "moves": [
                    {
                        "way": move.way,
                        "direction": _direction(mockup, move.direction),
                        "distance": round(move.distance_mm, 1),
                        "words": move.words,
                        "after": gap_json(mockup, move.gap),
                    }
                    for move in one.moves
                ],
            }
            for one in found
        ],
        "maps": [
            {
                "part": one.part,
                "most": round(one.most_mm, 2),
                "area_cm2": round(one.area_mm2 / 100, 1),
                "volume_cm3": round(one.volume_mm3 / 1000, 1),
            }
            for one in maps
        ],
        "files": list(files),
    }


def _direction(mockup: MockUp, direction: tuple[float, float, float]) -> list[float]:
    # ahead, outboard, above: outboard is outboard on either side of the car
    return [round(v, 4) + 0.0 for v in direction]


def page(
    mockup: MockUp, found: Sequence[Relief], maps: Sequence[ReliefMap], out: Path | None, files: Sequence[str]
) -> str:
    """The relief as a fabricator reads it."""
    from clearance_cli.answer_text import head, position_words, table, told

    from clearance.report.findings import why_wide
    from clearance.units import both

    lines = head(mockup)
    if not found:
        return "\n".join([*lines, "Every part keeps its required gap: nothing has to move."])
    rows = []
    for one in found:
        gap = one.before
        first = [gap.part, told(gap), both(gap.required_mm, digits=0)]
        for k, move in enumerate(one.moves):
            rows.append([*(first if k == 0 else ["", "", ""]), both(move.distance_mm), move.words])
        if not one.moves:
            rows.append([*first, "", "no single move within 200 mm clears it"])
        rows += [["", "", "", "", why] for why in why_wide(gap)]
        rows.append(["", "", "", "", f"tightest at {position_words(mockup, gap)}: {gap.region}, {gap.where}"])
    lines.append(table(["part", "gap", "must keep", "move", "how"], rows))
    for skin in maps:
        lines += [
            "",
            f"  {skin.part}: up to {both(skin.most_mm)} to take off, over {skin.area_mm2 / 100:.0f} cm2,"
            f" {skin.volume_mm3 / 1000:.0f} cm3 in all (square to the surface)",
        ]
    if files:
        lines += ["", f"  Wrote {', '.join(files)} to {out}."]
    several = " Each line is one part on its own; of several ways, one is enough." if found else ""
    return "\n".join([*lines, "", f"Moves are the least that clear, to 0.1 mm.{several}", CAUTION])
