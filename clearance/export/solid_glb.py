"""Plain solids as binary glTF 2.0, for any viewer: metres, y up, one named node to a solid.

Corner axes (x ahead, y outboard, z up, mm) become (x, z, -y) / 1000; a right corner is mirrored first.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from clearance.errors import OutputError
from clearance.export.stl import Body, real_side
from clearance.plain import visible

_GREY = (150, 160, 170, 255)


def solid_glb(bodies: Mapping[str, Body], *, right_hand: bool = False) -> bytes:
    """One GLB file of named solids.

    Raises OutputError where there is none.
    """
    if not bodies:
        raise OutputError("there is no solid to write.")
    import trimesh

    scene = trimesh.Scene()
    for given, (vertices, faces) in bodies.items():
        name = visible(given)
        real, turned = real_side(vertices, faces, right_hand=right_hand)
        metres = np.column_stack([real[:, 0], real[:, 2], -real[:, 1]]) / 1000.0
        mesh = trimesh.Trimesh(metres, turned, process=False)
        mesh.visual = trimesh.visual.TextureVisuals(
            material=trimesh.visual.material.PBRMaterial(
                name=name, baseColorFactor=_GREY, metallicFactor=0.0, roughnessFactor=0.8
            )
        )
        scene.add_geometry(mesh, node_name=name, geom_name=name)
    data: bytes = scene.export(file_type="glb", include_normals=True)
    return data
