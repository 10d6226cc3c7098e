"""Public vehicle bodies through `clearance check`, placed by their own wheel centres.

Expected gaps: a rough check with a general collision library, good to about 2 mm because its tire was crude; 3 mm are
allowed. The 4x4's inner panel stands 95 to 98 mm inboard of the wheel plane and half the tire is 114 mm.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from clearance_cli.main import run

REAL = Path(__file__).resolve().parents[3] / "shared" / "real"


def corner(mesh: Path, hub: list[float], diameter: float, width: float, bump: int, unit: str = "m") -> str:
    return f"""
title = "a public body"
corner = "front-left"
[tire]
overall_diameter = "{diameter} mm"
section_width = "{width} mm"
tread_width = "{0.72 * width:.1f} mm"
rim_diameter = "16 in"
[wheel]
diameter = "16 in"
width = "7 in"
offset = "0 mm"
[suspension]
kind = "straight"
bump = "{bump} mm"
droop = "50 mm"
[[part]]
name = "body"
kind = "mesh"
file = "{mesh}"
unit = "{unit}"
place = {{ hub = {hub}, up = "+z", ahead = "+x" }}
uncertainty = "0 mm"
required = "10 mm"

"""


def checked(tmp_path, capsys, name: str, *words: object, **more: str) -> tuple[int, dict]:
    mesh = REAL / name
    if not mesh.exists():
        pytest.skip(f"{mesh} is not here: public meshes are kept beside the project, not in it")
    file = tmp_path / "corner.toml"
    file.write_text(corner(mesh, *words, **more))  # type: ignore[arg-type]
    code = run(["check", str(file), "--json"])
    return code, json.loads(capsys.readouterr().out)


@pytest.mark.parametrize(
    ("name", "hub", "diameter", "width", "bump", "expected"),
    [
        ("sedan-body.obj", [1.388, 0.7979, 0.1301], 653.2, 245.0, 50, 48.0),
        ("sedan-body.obj", [1.388, 0.7979, 0.1301], 676.0, 205.0, 80, 25.0),
        ("leaf-van-body.obj", [0.0, 0.7325, 0.0], 772.0, 228.0, 50, 15.0),
    ],
)
def test_a_public_body_has_the_gap_that_another_library_found(
    tmp_path, capsys, name, hub, diameter, width, bump, expected
):
    code, findings = checked(tmp_path, capsys, name, hub, diameter, width, bump)
    (part,) = findings["parts"]
    assert part["gap"]["at_least"] == pytest.approx(expected, abs=3.0)
    assert code == 0
    assert not any("check where the mesh was placed" in warning.lower() for warning in findings["warnings"])


def test_a_body_that_the_tire_is_inside_of_at_ride_height_says_to_check_its_place(tmp_path, capsys):
    code, findings = checked(tmp_path, capsys, "open-4x4-body.obj", [0.0, 0.7325, 0.0], 772.0, 228.0, 50)
    assert code == 1
    assert findings["parts"][0]["verdict"] == "hits"
    said = " ".join(findings["warnings"]).lower()
    assert "already touching at ride height" in said
    assert "or the scan stands" in said
    assert "hold a tape to the car" in said


def test_a_body_in_centimetres_is_read_as_such(tmp_path, capsys):
    """Its axes are y along the car, so the place is wrong; what matters here is that it is read, and doubted."""
    code, findings = checked(
        tmp_path, capsys, "hatchback-body-centimetres.obj", [75.0, 130.0, 30.0], 620.0, 195.0, 40, unit="cm"
    )
    assert code in (0, 1)
    assert findings["parts"][0]["kind"] == "mesh"
