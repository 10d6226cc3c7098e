"""`clearance gauge` and `clearance envelope` as a user runs them."""

import io
import json
import shutil
import subprocess
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import trimesh
from clearance_cli.main import run

from clearance.description.load import load

FOLDER = Path(__file__).parents[2] / "fixtures" / "corners"
CORNERS = sorted(FOLDER.glob("*.toml"))
ORCHARD = FOLDER / "orchard-pickup-rear.toml"


def audited(path):
    document = ezdxf.read(io.StringIO(path.read_text()))
    audit = document.audit()
    assert not audit.errors, path.name
    assert document.header["$INSUNITS"] == 4
    assert {e.dxf.layer for e in document.modelspace()} <= {"cut", "engrave", "fold"}
    return document


def test_printed_gauge(tmp_path, capsys):
    assert run(["gauge", str(ORCHARD), "--bed", "220x220x250", "--out", str(tmp_path / "g"), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    names = {p.name for p in (tmp_path / "g").iterdir() if not p.name.startswith(".")}
    assert names == set(said["files"])
    assert {"gauge-plate-1.3mf", "assembly.pdf", "bill.csv"} <= names
    assert len([n for n in names if n.endswith(".stl")]) == len(said["pieces"])
    assert {p["name"] for p in said["pieces"]} >= {"hub plate", "cap", "ring", "step block", "lip block"}
    lib3mf = pytest.importorskip("lib3mf", reason="lib3mf is not installed (test extra)")
    count = 0
    for plate in (tmp_path / "g").glob("*.3mf"):
        model = lib3mf.Wrapper().CreateModel()
        reader = model.QueryReader("3mf")
        reader.SetStrictModeActive(True)
        reader.ReadFromFile(str(plate))
        objects = model.GetMeshObjects()
        while objects.MoveNext():
            assert objects.GetCurrentMeshObject().IsManifoldAndOriented()
            count += 1
    assert count == sum(p["count"] for p in said["pieces"])


def test_the_same_command_writes_the_same_bytes(tmp_path, capsys):
    for place in ("a", "b"):
        assert run(["gauge", str(ORCHARD), "--out", str(tmp_path / place)]) == 0
    assert "carries no load" in capsys.readouterr().out
    for path in (tmp_path / "a").iterdir():
        assert path.read_bytes() == (tmp_path / "b" / path.name).read_bytes(), path.name


@pytest.mark.parametrize("corner", CORNERS, ids=lambda p: p.stem)
def test_flat_blade_of_every_shipped_corner(corner, tmp_path, capsys):
    out = tmp_path / "f"
    words = ["gauge", str(corner), "--flat", "blade", "--thickness", "6 mm", "--kerf", "0.2 mm", "--paper", "Letter"]
    assert run([*words, "--out", str(out)]) == 0
    assert "sheet" in capsys.readouterr().out
    for path in out.glob("*.dxf"):
        audited(path)
    assert (out / "parts.pdf").read_bytes().startswith(b"%PDF")


def test_flat_rings_are_cut_at_the_tires_radius(tmp_path, capsys):
    """The largest arc on any sheet has the radius of the tire as drawn, to the fit of a ring in its layer."""
    out = tmp_path / "r"
    words = ["gauge", str(ORCHARD), "--flat", "rings", "--thickness", "40 mm", "--sheet", "2440x1220"]
    assert run([*words, "--out", str(out), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["gauge"] == "flat"
    radii = []
    for path in out.glob("*.dxf"):
        for entity in audited(path).modelspace():
            if entity.dxftype() == "CIRCLE":
                radii.append(entity.dxf.radius)
            elif entity.dxftype() == "LWPOLYLINE" and entity.dxf.layer == "cut":
                radii += [a.dxf.radius for a in entity.virtual_entities() if a.dxftype() == "ARC"]
    # the crown falls away by a few tenths over 40 mm of tread
    assert max(radii) == pytest.approx(load(ORCHARD).tire.full_diameter_mm / 2, abs=0.5)


def envelope_written(corner, out, capsys):
    assert run(["envelope", str(corner), "--slack", "6 mm", "--every", "100 mm", "--out", str(out), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["envelope"]["holds_everything"]
    assert said["envelope_required"]["holds_everything"]
    mockup = load(corner)
    side = -1.0 if mockup.right_hand else 1.0
    for name in ("envelope", "envelope-required"):
        solid = trimesh.load(out / f"{name}.stl")
        assert solid.is_watertight
        assert solid.volume > 0
        glb = trimesh.load(out / f"{name}.glb", force="mesh")
        # glTF: metres, y up; z is minus outboard
        assert glb.extents * 1000 == pytest.approx(solid.extents[[0, 2, 1]], abs=0.5)
        assert glb.bounds[:, 1] * 1000 == pytest.approx(solid.bounds[:, 2], abs=0.5)
    # the wheel at ride height lies inside, on the side of the car where it is
    outboard = side * solid.vertices[:, 1]
    reach = mockup.solid.profile.bounds
    assert outboard.min() < reach[0]
    assert outboard.max() > reach[1]
    for path in out.glob("*.dxf"):
        audited(path)
    assert (out / "templates.pdf").read_bytes().startswith(b"%PDF")


def test_envelope_and_templates(tmp_path, capsys):
    envelope_written(ORCHARD, tmp_path / "e", capsys)


@pytest.mark.slow
@pytest.mark.parametrize("corner", CORNERS, ids=lambda p: p.stem)
def test_every_shipped_corner_through_gauge_and_envelope(corner, tmp_path, capsys):
    envelope_written(corner, tmp_path / "e", capsys)
    for flat in ([], ["--flat", "rings", "--thickness", "25 mm"]):
        out = tmp_path / "-".join(["g", *flat[1:2]])
        assert run(["gauge", str(corner), *flat, "--out", str(out)]) == 0
        capsys.readouterr()
        for path in out.glob("*.dxf"):
            audited(path)
        for path in out.glob("*.stl"):
            assert trimesh.load(path).is_volume, path.name


@pytest.mark.slow
@pytest.mark.skipif(
    shutil.which("f3d") is None or shutil.which("xvfb-run") is None, reason="f3d or xvfb is not installed"
)
def test_a_general_viewer_shows_the_envelope(tmp_path, capsys):
    """f3d draws the GLB without a word of complaint, and the picture is not empty."""
    from PIL import Image

    envelope_written(ORCHARD, tmp_path / "e", capsys)
    show = ["xvfb-run", "-a", "f3d", "envelope.glb", "--output", "p.png", "--resolution", "400,400"]
    done = subprocess.run(show, cwd=tmp_path / "e", capture_output=True, text=True, timeout=120)
    assert done.returncode == 0
    assert "rror" not in done.stdout + done.stderr
    grey = np.asarray(Image.open(tmp_path / "e" / "p.png").convert("L"), dtype=float)
    assert np.mean(np.abs(grey - grey[0, 0]) > 12) > 0.1


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["gauge", str(ORCHARD), "--bed", "small"], "220x220x250"),
        (["gauge", str(ORCHARD), "--fit", "0.2"], "no unit"),
        (["gauge", str(ORCHARD), "--fit", "5 mm"], "not usable"),
        (["gauge", str(ORCHARD), "--flat", "pyramid"], "rings"),
        (["gauge", str(ORCHARD), "--flat", "blade", "--sheet", "big"], "1220x610"),
        (["gauge", str(ORCHARD), "--flat", "rings", "--sheet", "200x200"], "larger --sheet"),
        (["gauge", str(ORCHARD), "--paper", "A0"], "Letter"),
        (["gauge", "nowhere.toml"], "nowhere.toml"),
        (["envelope", str(ORCHARD), "--slack", "0 mm"], "0.2 mm"),
        (["envelope", str(ORCHARD), "--required", "-5 mm"], "--required"),
        (["envelope", str(ORCHARD), "--required", "5"], "no unit"),
        (["envelope", str(ORCHARD), "--cut", "slantwise"], "upright"),
        (["envelope", str(ORCHARD), "--every", "0 mm"], "not usable"),
    ],
)
def test_bad_input_is_one_message_and_exit_code_2(words, message, tmp_path, capsys):
    assert run([*words, "--out", str(tmp_path / "x")]) == 2
    said = capsys.readouterr()
    assert message in said.err
    assert "Traceback" not in said.err
    assert not (tmp_path / "x").exists()


@pytest.mark.slow
def test_a_tub_above_the_envelope_is_refused(tmp_path, capsys):
    words = ["--slack", "10 mm", "--tub-from", "900 mm", "--out", str(tmp_path / "x")]
    assert run(["envelope", str(ORCHARD), *words]) == 2
    assert "holds nothing" in capsys.readouterr().err
    assert not (tmp_path / "x").exists()
