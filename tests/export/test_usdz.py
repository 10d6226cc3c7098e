"""USDZ opened by OpenUSD's own library: its validators find nothing, and the size is real, in metres, y up."""

import importlib.util
import io
import zipfile

import numpy as np
import pytest

from clearance.export.usdz import usdz

pytestmark = pytest.mark.skipif(
    importlib.util.find_spec("pxr") is None, reason='OpenUSD is not installed (the extra "phone")'
)
# 600 mm ahead, 200 mm outboard, 300 mm up
CORNERS = np.array([[0.0, 0.0, 0.0], [600.0, 0.0, 0.0], [0.0, 200.0, 0.0], [0.0, 0.0, 300.0]])
FACES = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])


@pytest.mark.parametrize("right_hand", [False, True])
def test_it_stands_at_its_real_size_in_metres_y_up(tmp_path, right_hand):
    from pxr import Usd, UsdGeom

    place = tmp_path / "a.usdz"
    place.write_bytes(usdz({"a tub, 1 of 2": (CORNERS, FACES)}, right_hand=right_hand))
    stage = Usd.Stage.Open(str(place))
    assert UsdGeom.GetStageUpAxis(stage) == "Y"
    assert UsdGeom.GetStageMetersPerUnit(stage) == 1.0
    box = UsdGeom.BBoxCache(0, ["default"]).ComputeWorldBound(stage.GetDefaultPrim()).ComputeAlignedRange()
    across = (-0.2, 0.0) if not right_hand else (0.0, 0.2)
    assert np.array([box.GetMin(), box.GetMax()]) == pytest.approx(np.array([[0, 0, across[0]], [0.6, 0.3, across[1]]]))
    mesh = next(UsdGeom.Mesh(p) for p in stage.Traverse() if p.IsA(UsdGeom.Mesh))
    points, order = np.array(mesh.GetPointsAttr().Get()), np.array(mesh.GetFaceVertexIndicesAttr().Get()).reshape(-1, 3)
    a, b, c = (points[order[:, k]] for k in range(3))
    # faces outward: the volume comes out positive
    assert float((a * np.cross(b, c)).sum() / 6) == pytest.approx(0.6 * 0.2 * 0.3 / 6)


def test_every_validator_of_the_library_is_content(tmp_path):
    from pxr import Plug, Usd, UsdValidation

    place = tmp_path / "a.usdz"
    place.write_bytes(usdz({"tub": (CORNERS, FACES), "2": (CORNERS + 1.0, FACES)}))
    assert len(Plug.Registry().GetAllPlugins()) > 0
    validators = UsdValidation.ValidationRegistry().GetOrLoadAllValidators()
    assert len(validators) > 10
    errors = UsdValidation.ValidationContext(validators).Validate(Usd.Stage.Open(str(place)))
    assert [error.GetErrorAsString() for error in errors] == []


def test_data_begin_at_64_bytes_uncompressed_and_the_same_each_time():
    content = usdz({"tub": (CORNERS, FACES)})
    assert content == usdz({"tub": (CORNERS, FACES)})
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        (info,) = package.infolist()
        assert info.compress_type == zipfile.ZIP_STORED
        start = info.header_offset + 30 + len(info.filename) + len(info.extra)
        assert start % 64 == 0
        assert content[start : start + 8] == b"PXR-USDC"
