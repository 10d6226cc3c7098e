"""One scan, three mock-ups: a tire that clears, a wider one that really touches, and the scan moved by 40 mm.

The shipped scan's true well is known: its inner wall stands flat across the car, 32.7 mm from the shipped tire's side
wall at ride height (measured on the scan; the script that made it gives 33 mm less noise).
"""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from clearance_cli.main import run

CORNERS = Path(__file__).resolve().parents[2] / "fixtures" / "corners"
TEXT = (
    (CORNERS / "scanned-well-rear.toml")
    .read_text(encoding="utf-8")
    .replace('"scanned-well.ply"', json.dumps(str(CORNERS / "scanned-well.ply")))
)
WIDE = TEXT.replace("205/55R16", "305/40R16").replace('width = "6.5 in"', 'width = "10 in"')
MOVED = TEXT.replace('face_outboard = "12 mm"', 'face_outboard = "-28 mm"').replace(
    'from = "-20 mm", to = "-4 mm"', 'from = "20 mm", to = "36 mm"'
)
"""The mounting face said to lie 40 mm further inboard: the wall comes 40 mm closer, and the rotor with it."""


def said(tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str) -> tuple[dict, list[str]]:
    file = tmp_path / "corner.toml"
    file.write_text(text, encoding="utf-8")
    run(["check", str(file), "--json"])
    findings = json.loads(capsys.readouterr().out)
    return findings, [warning for warning in findings["warnings"] if warning.startswith("scanned well:")]


def test_the_tire_that_clears_is_told_nothing_of_its_scan(tmp_path, capsys):
    findings, about_scan = said(tmp_path, capsys, TEXT)
    assert findings["parts"][0]["gap"]["at_least"] > 0
    assert about_scan == []


def test_a_wider_tire_that_touches_is_not_told_that_its_scan_is_wrong(tmp_path, capsys):
    """UN R30: 305 + 0.4 (254 - 0.85 x 305) is 303 mm; (303 - 214) / 2 less the 32.7 mm that were free: 11.8 mm."""
    findings, (about_scan,) = said(tmp_path, capsys, WIDE)
    assert findings["verdict"] == "hits"
    assert "already touching at ride height, by 11.8 mm" in about_scan
    assert "Either this tire and wheel really touch there, or" in about_scan
    for accusation in ("check where the mesh was placed", "No car stands", "is wrong", "hub point"):
        assert accusation not in about_scan


def test_a_scan_moved_by_40_mm_is_doubted_with_how_to_tell(tmp_path, capsys):
    """40 mm closer, and 32.7 mm were free: 7.3 mm inside, which standing 7.3 mm less far outboard would end."""
    findings, (about_scan,) = said(tmp_path, capsys, MOVED)
    assert findings["verdict"] == "hits"
    assert "already touching at ride height, by 7." in about_scan
    assert "the scan stands 7." in about_scan
    assert "too far outboard" in about_scan
    assert "149" in about_scan.split("by 7.")[1].split("inboard of the hub's face")[0]
    assert "hold a tape to the car" in about_scan


def test_a_scan_that_is_far_off_is_blamed(tmp_path, capsys):
    """Moved by 120 mm the tire is 87 mm inside: no tire that anyone bolts on is so much too large."""
    far = TEXT.replace('face_outboard = "12 mm"', 'face_outboard = "-108 mm"').replace(
        'from = "-20 mm", to = "-4 mm"', 'from = "100 mm", to = "116 mm"'
    )
    far = re.sub(r"holes_closed = \[.*?\n\]", "", far, flags=re.DOTALL)  # the places move with the scan
    _, about_scan = said(tmp_path, capsys, far)
    assert any("check where the mesh was placed" in doubt for doubt in about_scan)
