"""What to take off a scan as a coloured mesh, a sheet and a table; and the surface that a new tub stays outside of."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import trimesh

from clearance.answers.relief import ReliefMap
from clearance.envelope.build import envelope_of
from clearance.export.cut import cut_files
from clearance.mockup.mockup import MockUp
from clearance.plain import file_names, visible
from clearance.pose import mirrored


def _points(mockup: MockUp, one: ReliefMap) -> Any:

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


def ply(mockup: MockUp, one: ReliefMap) -> bytes:
    """The map as a mesh coloured by how much comes off."""

    mesh = trimesh.Trimesh(
        vertices=_points(mockup, one), faces=_faces(mockup, one), vertex_colors=_colours(one), process=False
    )
    return _written(mesh, "ply")


def glb(mockup: MockUp, one: ReliefMap) -> bytes:
    """Metres, y up, z towards the viewer, as glTF says: x ahead stays, up becomes y, outboard becomes -z."""
    import numpy as np

    points = np.asarray(_points(mockup, one)) / 1000
    turned = np.column_stack([points[:, 0], points[:, 2], -points[:, 1]])
    mesh = trimesh.Trimesh(vertices=turned, faces=_faces(mockup, one), vertex_colors=_colours(one), process=False)
    named: dict[str, Any] = {visible(one.part): mesh}
    return _written(trimesh.Scene(named), "glb")


def stl(mockup: MockUp, one: ReliefMap) -> bytes:
    """The triangles with something to take off, millimetres, as they stand on the car."""

    touched = (one.take_off_mm[one.faces] > 0).any(axis=1)
    sheet = trimesh.Trimesh(vertices=_points(mockup, one), faces=_faces(mockup, one)[touched], process=False)
    return _written(sheet, "stl")


def csv(mockup: MockUp, one: ReliefMap) -> bytes:
    """Where something comes off, and how much, as rows."""
    rows = ["ahead_mm,outboard_mm,above_mm,take_off_mm"]
    for point, off in zip(one.vertices_mm, one.take_off_mm, strict=True):
        if off > 0:
            rows.append(f"{point[0]:.2f},{point[1]:.2f},{point[2]:.2f},{off:.2f}")
    return ("\n".join(rows) + "\n").encode()


def tub(mockup: MockUp, grown_mm: float, slack_mm: float) -> bytes:
    """The envelope grown by a required gap, for a tub to stay outside of."""

    body = envelope_of(mockup, grown_mm=grown_mm, slack_mm=slack_mm)
    vertices = mirrored(body.vertices_mm) if mockup.right_hand else body.vertices_mm
    faces = body.faces[:, ::-1] if mockup.right_hand else body.faces
    return _written(trimesh.Trimesh(vertices=vertices, faces=faces, process=False), "stl")


def relief_files(
    mockup: MockUp,
    maps: Sequence[ReliefMap],
    *,
    grown_mm: float | None,
    slack_mm: float,
    progress: Callable[[int, int, str], None],
) -> dict[str, bytes]:
    """The maps by file name, and the proposed tub where something must move: then `grown_mm` is its gap."""
    files: dict[str, bytes] = {}
    stems = file_names(one.part for one in maps)
    for one in maps:
        name = stems[one.part]
        files[f"relief-{name}.ply"] = ply(mockup, one)
        files[f"relief-{name}.csv"] = csv(mockup, one)
        files[f"relief-{name}.glb"] = glb(mockup, one)
        if one.most_mm > 0:
            files[f"relief-{name}.stl"] = stl(mockup, one)
        if one.cut is not None:
            files |= cut_files(mockup, one.cut, name)
    if grown_mm is not None:
        progress(0, 1, "the proposed tub")
        files["proposed-tub.stl"] = tub(mockup, grown_mm, slack_mm)
    return files
