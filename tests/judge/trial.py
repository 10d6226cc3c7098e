"""One corner file before the judge: what the program answers, what the judge finds, and the charges."""

from __future__ import annotations

import contextlib
import io
import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from clearance_cli.main import run

from clearance.description.load import load

from .attack import Nearest, attack
from .cars import car_of
from .charges import Charge, charges_of, witnesses
from .errors import CannotStand
from .inventing import Invention
from .outline import Outline
from .places import Corner
from .shapes import Part, parts_of
from .writing import Tables


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """What came of one corner file."""

    file: Path
    refusal: str = ""
    """The program's own words, where it refused the file."""
    findings: dict[str, Any] = field(default_factory=dict)
    parts: list[Part] = field(default_factory=list)
    found: list[Nearest] = field(default_factory=list)
    charges: list[Charge] = field(default_factory=list)


def asked(file: Path, *, work: int | None = None) -> tuple[int, dict[str, Any], str]:
    """The program's answer by its front door: exit code, findings, and what it said on the side."""
    out, said = io.StringIO(), io.StringIO()
    limit = [] if work is None else ["--work", str(work)]
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(said):
        code = run(["check", str(file), "--json", *limit])
    return code, json.loads(out.getvalue()) if out.getvalue() else {}, said.getvalue()


def corner_of(file: Path) -> Corner:
    """The corner of a file, as the judge measures in it.

    The outline is all that is taken from the program: of the same tire on the same wheel, in a corner file that has
    nothing else to say, which is read in a moment.
    """
    car = car_of(file)
    bare = {key: car.tables[key] for key in ("tire", "wheel")}
    beside = Invention({"corner": "rear-left", **bare, **_STANDS_STILL}, {}).written(file.parent / "outline")
    return Corner(car, Outline(load(beside).solid.profile.elements))


_STANDS_STILL: Tables = {
    "suspension": {"kind": "straight", "bump": "0 mm", "droop": "0 mm"},
    "part": [{"name": "wall", "kind": "wall", "inboard": "900 mm"}],
}


def tried(file: Path, *, number: int, work: int | None = None) -> Trial:
    """A corner file checked by the program and attacked by the judge."""
    code, findings, said = asked(file, work=work)
    if code == 2:
        return Trial(file, refusal=said.strip())
    try:
        corner = corner_of(file)
        parts = parts_of(corner.car)
        rows = {row["name"]: row for row in findings["parts"]}
        seen = witnesses(corner, parts, rows)
        hints = [seen[part.name].place() if part.name in seen else None for part in parts]
        found = attack(corner, parts, np.random.default_rng(number), hints)
        charges = charges_of(corner, parts, findings, code, found, seen)
    except CannotStand as wrong:
        return Trial(file, findings=findings, charges=[Charge(part="the corner", what="motion", words=str(wrong))])
    return Trial(file, "", findings, parts, found, charges)
