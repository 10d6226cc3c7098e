"""A scan coloured by its least gap over the cycle, to open in any viewer: PLY in millimetres, GLB in metres.

* PLY - corner axes of the real corner (x ahead, y to the car's left, z up), with the gap itself beside each colour
* GLB - the same surface as glTF has it: metres, y up, x ahead, z to the car's right

The colours read the same to every kind of colour vision: vermilion inside the tire, amber to yellow where the gap is
less than required, light to dark blue where it is kept (hues of Okabe and Ito, 2008). The scan's own texture is not
kept.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from clearance.export.ply import ply
from clearance.gap.map import over_vertices
from clearance.mockup.mockup import MockUp
from clearance.plain import file_names, visible
from clearance.pose import Array, mirrored
from clearance.well.part import Part

Colours = npt.NDArray[np.uint8]
Faces = npt.NDArray[np.int64]
Measured = tuple[Array, Faces, Array]
"""Vertices (v, 3), faces (t, 3), and each vertex's least gap over the cycle (v,)."""

_VERMILION, _AMBER, _YELLOW = (213, 94, 0), (230, 159, 0), (240, 228, 66)
_SKY, _BLUE = (86, 180, 233), (0, 70, 130)


def gap_colours(gap_mm: Array, required_mm: float) -> Colours:
    """Red, green, blue, alpha (n, 4) for gaps (n,).

    Vermilion below zero; amber at zero to yellow at the required gap; sky blue from there to dark blue at three times
    it (at 75 mm more where nothing is required).
    """
    gap = np.asarray(gap_mm, dtype=float)
    far = 3.0 * required_mm if required_mm > 0.0 else 75.0
    stops = np.array([0.0, max(required_mm, 1e-6), max(required_mm, 1e-6) * (1.0 + 1e-9), far])
    colours = np.full((len(gap), 4), 255, dtype=np.uint8)
    for way in range(3):
        levels = [_AMBER[way], _YELLOW[way], _SKY[way], _BLUE[way]]
        colours[:, way] = np.where(gap < 0.0, _VERMILION[way], np.rint(np.interp(gap, stops, levels)))
    return colours


def measured_scans(mockup: MockUp) -> dict[str, Measured]:
    """The whole of every scanned part, by name: what is the same in its own files and in the scene."""
    return {part.name: over_vertices(mockup, part) for part in mockup.parts if part.kind == "mesh"}


def coloured_scans(
    mockup: MockUp,
    progress: Callable[[int, int, str], None] | None = None,
    *,
    measured: Mapping[str, Measured] | None = None,
) -> dict[str, bytes]:
    """File name and bytes of every scanned part, coloured: a PLY and a GLB each; empty where there is no scan.

    `measured` are those of `measured_scans`, where they are measured already.
    """
    files: dict[str, bytes] = {}
    scans = [part for part in mockup.parts if part.kind == "mesh"]
    stems = file_names(part.name for part in scans)
    for number, part in enumerate(scans):
        if progress is not None:
            progress(number, len(scans), "colouring the scan")
        vertices, faces, gap = _surface(mockup, part, (measured or {}).get(part.name))
        colours = gap_colours(gap, part.required_mm)
        name = f"scan-{stems[part.name]}"
        comment = (
            f"{visible(part.name)}: coloured by its least gap over the cycle; required {part.required_mm:g} mm\n"
            "vermilion inside the tire, amber to yellow under the required gap, blue kept"
        )
        files[f"{name}.ply"] = ply(vertices, faces, colours, gap_mm=gap, comment=comment)
        files[f"{name}.glb"] = _glb(vertices, faces, colours, part.name)
        # a shape of trimesh is a ring of objects: a large one is given back now, not when Python next looks for rings
        gc.collect()
    return files


def _surface(mockup: MockUp, part: Part, measured: Measured | None) -> Measured:
    """Vertices in the real corner's axes, faces (none for points), and each vertex's least gap."""
    vertices, faces, gap = measured or over_vertices(mockup, part)
    faces = faces[(faces[:, 0] != faces[:, 1]) | (faces[:, 1] != faces[:, 2])]
    if mockup.right_hand:
        return mirrored(vertices), faces[:, ::-1], gap
    return vertices, faces, gap


def _glb(vertices_mm: Array, faces: Faces, colours: Colours, name: str) -> bytes:
    import trimesh

    # ahead stays x, up becomes y, and so the car's left is -z
    metres = vertices_mm[:, [0, 2, 1]] * np.array([0.001, 0.001, -0.001])
    shape: Any
    if len(faces):
        shape = trimesh.Trimesh(metres, faces, vertex_colors=colours, process=False, validate=False)
    else:
        shape = trimesh.PointCloud(metres, colors=colours)
    scene = trimesh.Scene()
    scene.add_geometry(shape, node_name=visible(name), geom_name=visible(name))
    content: bytes = scene.export(file_type="glb")
    return content
