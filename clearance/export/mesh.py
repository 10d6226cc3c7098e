"""A surface as a mesh of the general library."""

from __future__ import annotations

from typing import Any

import numpy as np

from clearance.pose import Array


def trimesh_of(vertices_mm: Array, faces: np.ndarray) -> Any:
    """The same vertices and faces, nothing merged."""
    import trimesh

    return trimesh.Trimesh(vertices=vertices_mm, faces=faces, process=False)
