"""The hardpoints of fixtures/hardpoints, in millimetres from the wheel's centre."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

ROOT = Path(__file__).resolve().parents[2]


class Hardpoints:
    def __init__(self, name: str) -> None:
        table = json.loads((ROOT / "fixtures" / "hardpoints" / f"{name}.json").read_text())
        self.kind = table["kind"]
        self.hub_mm = 1000.0 * np.array(table["hub"])
        self.values = {key: 1000.0 * np.array(p) - self.hub_mm for key, p in table.get("points", {}).items()}
        if "links" in table:
            self.values["links"] = 1000.0 * np.array(table["links"]) - np.concatenate([self.hub_mm, self.hub_mm])
        if "track" in table:
            self.values["track"] = 1000.0 * table["track"]


@pytest.fixture
def hardpoints():
    return Hardpoints
