"""STEP: read back by the CAD kernel, whose own volumes, surfaces and names are held against the mock-up."""

from __future__ import annotations

import importlib.util
import math
import re
from pathlib import Path

import numpy as np
import pytest
from clearance_cli.main import run

from clearance.description.load import load
from clearance.export.step import corner_step

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"
PICKUP = CORNERS / "orchard-pickup-rear.toml"
kernel = pytest.mark.skipif(
    importlib.util.find_spec("OCP") is None,
    reason='the CAD kernel is not installed (the extra "cad")',
)


@pytest.fixture(scope="module")
def pickup(tmp_path_factory):
    mockup = load(PICKUP)
    content = corner_step(mockup)
    place = tmp_path_factory.mktemp("step") / "corner.step"
    place.write_bytes(content)
    return mockup, content, read(place)


def read(place):
    from OCP.STEPControl import STEPControl_Reader

    reader = STEPControl_Reader()
    reader.ReadFile(str(place))
    reader.TransferRoots()
    return reader.OneShape()


def volumes(shape):
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps
    from OCP.TopAbs import TopAbs_SOLID
    from OCP.TopExp import TopExp_Explorer

    found, walk = [], TopExp_Explorer(shape, TopAbs_SOLID)
    while walk.More():
        mass = GProp_GProps()
        BRepGProp.VolumeProperties_s(walk.Current(), mass)
        found.append(mass.Mass())
        walk.Next()
    return found


def of_frustums(outline):
    """The volume that an outline (n, 2) sweeps about its axis: a frustum to each side, signed."""
    (y, r), (y2, r2) = outline.T, np.roll(outline, -1, axis=0).T
    return abs(math.pi / 3 * np.sum((y - y2) * (r * r + r * r2 + r2 * r2)))


@kernel
def test_the_wheel_and_the_frame_rail_have_their_own_volume(pickup):
    """Pappus' way for the wheel, in chords of a micron; the rail is a box of the file: length x width x height."""
    mockup, _, shape = pickup
    found = volumes(shape)
    assert found[0] == pytest.approx(of_frustums(mockup.solid.profile.outline(0.001)), rel=2e-5)
    rail = mockup.part("frame rail").triangles_mm.reshape(-1, 3)
    assert np.prod(rail.max(axis=0) - rail.min(axis=0)) == pytest.approx(found[1], rel=1e-9)


@kernel
def test_the_kernel_finds_no_fault_and_true_surfaces(pickup):
    from OCP.BRepCheck import BRepCheck_Analyzer

    _, content, shape = pickup
    assert BRepCheck_Analyzer(shape).IsValid()
    assert content.count(b"TOROIDAL_SURFACE") >= 2
    assert content.count(b"CYLINDRICAL_SURFACE") >= 4


@kernel
def test_every_part_is_there_by_its_name_and_the_same_bytes_come_again(pickup):
    mockup, content, _ = pickup
    names = [name.decode() for name in re.findall(rb"PRODUCT\('([^']*)'", content)]
    assert names == ["wheel and tire", *(part.name for part in mockup.parts)]
    assert corner_step(mockup) == content
    assert b"'1970-01-01T00:00:00'" in content


@kernel
def test_a_right_corner_stands_on_the_right(tmp_path):
    """The same corner at the other side of the car is its mirror image."""
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    text = PICKUP.read_text(encoding="utf-8").replace('corner = "rear-left"', 'corner = "rear-right"')
    file = tmp_path / "right.toml"
    file.write_text(text, encoding="utf-8")
    boxes = []
    for corner in (load(PICKUP), load(file)):
        place = tmp_path / f"{corner.corner}.step"
        place.write_bytes(corner_step(corner))
        box = Bnd_Box()
        BRepBndLib.Add_s(read(place), box)
        boxes.append((box.CornerMin().Y(), box.CornerMax().Y()))
    left, right = boxes
    assert right[0] == pytest.approx(-left[1], abs=0.01)
    assert right[1] == pytest.approx(-left[0], abs=0.01)


@kernel
def test_draw_writes_it_beside_the_drawings_and_nothing_else_to_standard_output(tmp_path, capfd):
    assert run(["draw", str(PICKUP), "--step", "--out", str(tmp_path / "out")]) == 0
    assert (tmp_path / "out" / "corner.step").read_bytes().startswith(b"ISO-10303-21;")
    assert "Statistics" not in capfd.readouterr().out


def test_without_the_kernel_one_line_says_how_to_get_it(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("clearance.export.step.find_spec", lambda name: None)
    assert run(["draw", str(PICKUP), "--step", "--out", str(tmp_path / "out")]) == 2
    err = capsys.readouterr().err
    assert "wheelwell-clearance[cad]" in err
    assert err.count("\n") == 1
    assert not (tmp_path / "out").exists()
