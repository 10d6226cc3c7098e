"""3MF as another program reads it: the 3MF consortium's own lib3mf."""

import io
import zipfile

import numpy as np
import pytest

from clearance.errors import OutputError
from clearance.export.three_mf import Mesh, three_mf

CUBE_CORNERS = np.array([[x, y, z] for x in (0, 10) for y in (0, 20) for z in (0, 30)], dtype=float)
CUBE_FACES = np.array(
    [
        *([0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1]),
        *([2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]),
    ]
)
CUBE = Mesh(name='plate "A" & <out>', vertices_mm=CUBE_CORNERS, faces=CUBE_FACES)


def test_lib3mf_reads_the_pieces_as_closed_solids_in_millimetres(tmp_path):
    lib3mf = pytest.importorskip("lib3mf", reason="lib3mf is not installed (test extra)")
    second = Mesh(name="arm", vertices_mm=CUBE_CORNERS, faces=CUBE_FACES, place_mm=(50.0, 0.0, 0.0))
    (tmp_path / "two.3mf").write_bytes(three_mf([CUBE, second], title="mock-up"))
    model = lib3mf.Wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(tmp_path / "two.3mf"))
    assert reader.GetWarningCount() == 0
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    objects = model.GetMeshObjects()
    found = []
    while objects.MoveNext():
        mesh = objects.GetCurrentMeshObject()
        assert mesh.IsManifoldAndOriented()
        found.append((mesh.GetName(), mesh.GetVertexCount(), mesh.GetTriangleCount()))
    assert found == [('plate "A" & <out>', 8, 12), ("arm", 8, 12)]


def test_vertices_on_one_place_are_written_once():
    soup = Mesh(name="soup", vertices_mm=CUBE_CORNERS[CUBE_FACES.reshape(-1)], faces=np.arange(36).reshape(12, 3))
    with zipfile.ZipFile(io.BytesIO(three_mf([soup]))) as package:
        assert package.testzip() is None
        model = package.read("3D/3dmodel.model").decode()
    assert model.count("<vertex ") == 8
    assert model.count("<triangle ") == 12
    assert 'unit="millimeter"' in model


def test_same_pieces_same_bytes():
    assert three_mf([CUBE]) == three_mf([CUBE])


def test_nothing_to_write_is_refused():
    with pytest.raises(OutputError, match="no solid"):
        three_mf([])
    with pytest.raises(OutputError, match="no surface"):
        three_mf([Mesh(name="gone", vertices_mm=CUBE_CORNERS, faces=np.zeros((0, 3), dtype=int))])
