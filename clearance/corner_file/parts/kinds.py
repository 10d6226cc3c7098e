"""Every kind of part by its word: a new one is a file here, and its line."""

from __future__ import annotations

from clearance.corner_file.parts.bar import BarTable
from clearance.corner_file.parts.box import BoxTable
from clearance.corner_file.parts.cylinder import CylinderTable
from clearance.corner_file.parts.lip import LipTable
from clearance.corner_file.parts.mesh import MeshTable
from clearance.corner_file.parts.part import PartTable
from clearance.corner_file.parts.plate import PlateTable
from clearance.corner_file.parts.tub import TubTable
from clearance.corner_file.parts.wall import WallTable

PARTS: dict[str, type[PartTable]] = {
    "wall": WallTable,
    "plate": PlateTable,
    "box": BoxTable,
    "bar": BarTable,
    "cylinder": CylinderTable,
    "tub": TubTable,
    "lip": LipTable,
    "mesh": MeshTable,
}
