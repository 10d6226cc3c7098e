"""Every kind of part by its word: a new one is a file here, and its line."""

from __future__ import annotations

from clearance.description.parts.bar import BarTable
from clearance.description.parts.box import BoxTable
from clearance.description.parts.cylinder import CylinderTable
from clearance.description.parts.lip import LipTable
from clearance.description.parts.mesh import MeshTable
from clearance.description.parts.part import PartTable
from clearance.description.parts.plate import PlateTable
from clearance.description.parts.tub import TubTable
from clearance.description.parts.wall import WallTable

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
