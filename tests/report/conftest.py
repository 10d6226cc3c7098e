"""One real page for all tests of it: a steered corner with a hit, play, a bar, and parts on body and knuckle."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import pytest

from clearance.description.load import load
from clearance.gap.cycle import over_cycle
from clearance.report.findings import as_json, findings_of
from clearance.report.page import write_report

CORNER = """
title = "Wren <roadster> & co, front left"
corner = "front-left"
[tire]
size = "185/65R15"
[wheel]
diameter = "15 in"
width = "6 in"
backspace = "118 mm"
[suspension]
kind = "straight"
bump = "70 mm"
droop = "80 mm"
shift = { inboard = "2 mm", outboard = "2 mm" }
[steering]
left = "33 deg"
right = "28 deg"
axis = { through = ["0 mm", "-90 mm", "0 mm"], inclination = "9 deg", caster = "4 deg" }
[[part]]
name = "well"
kind = "tub"
inner = "260 mm"
crown = "440 mm"
outer = "97 mm"
front = "400 mm"
rear = "410 mm"
[[part]]
name = "lip"
kind = "lip"
outboard = "97 mm"
radius = "365 mm"
return_depth = "12 mm"
[[part]]
name = "sway bar"
kind = "bar"
points = [["-300 mm", "-240 mm", "40 mm"], ["-120 mm", "-150 mm", "30 mm"]]
diameter = "22 mm"
[[part]]
name = "damper"
kind = "bar"
points = [["60 mm", "-230 mm", "330 mm"], ["50 mm", "-200 mm", "-60 mm"]]
diameter = "50 mm"
ends_ride_on = ["body", "axle"]
[[part]]
name = "strut"
kind = "wall"
inboard = "150 mm"
below = "0 mm"
rides_on = "knuckle"
"""


@dataclass(frozen=True, kw_only=True)
class Report:
    """A page, its findings, and what it was made from."""

    path: Path
    findings: dict
    page: str
    again: bytes


@pytest.fixture(scope="session")
def report(tmp_path_factory: pytest.TempPathFactory) -> Report:
    folder = tmp_path_factory.mktemp("page")
    (folder / "corner.toml").write_text(CORNER)
    mockup = load(folder / "corner.toml")
    gaps = over_cycle(mockup)
    findings = findings_of(mockup, gaps, files=("findings.json",), versions={"clearance": "test"})
    content = write_report(mockup, gaps, findings)
    (folder / "report.html").write_bytes(content)
    return Report(
        path=folder / "report.html",
        findings=json.loads(as_json(findings)),
        page=content.decode(),
        again=write_report(mockup, gaps, findings),
    )
