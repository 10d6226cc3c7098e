"""A corner file from a number: the same number, the same file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from . import invented_cars, invented_parts, spots
from .cars import car_from
from .errors import CannotStand
from .writing import Tables, text_of

_PARTS = (1, 1, 2, 2, 3)
"""How many [[part]]s a file has, each as likely."""


@dataclass(frozen=True, slots=True, eq=False)
class Invention:
    """A corner file that never was, and the files that it names."""

    tables: Tables
    files: dict[str, str]

    def only(self, part: int) -> Invention:
        """The same with one of its parts alone."""
        table = self.tables["part"][part]
        return Invention(
            {**self.tables, "part": [table]}, {n: t for n, t in self.files.items() if n == table.get("file")}
        )

    def with_cylinders(self) -> Invention:
        """The same with a cylinder in place of every bar that one thing carries."""
        parts = []
        for table in self.tables["part"]:
            changed = dict(table)
            if table["kind"] == "bar" and "ends_ride_on" not in table:
                points = changed.pop("points")
                changed |= {"kind": "cylinder", "ends": [points[0], points[-1]]}
            parts.append(changed)
        return Invention({**self.tables, "part": parts}, self.files)

    def written(self, folder: Path) -> Path:
        """The corner file, on disk."""
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in self.files.items():
            (folder / name).write_text(text, encoding="ascii")
        file = folder / "corner.toml"
        file.write_text(text_of(self.tables), encoding="utf-8")
        return file


def invented(number: int) -> Invention:
    """The corner file of a number."""
    rng = np.random.default_rng(number)
    tables = invented_cars.corner(rng, number)
    try:
        car = car_from(tables, Path())
    except CannotStand:
        # what the judge cannot assemble, the program must refuse: it is asked with any part at all
        return Invention({**tables, "part": [{"name": "wall", "kind": "wall", "inboard": "200 mm"}]}, {})
    tire = spots.rough_tire(tables)
    parts, files = [], {}
    for i in range(int(rng.choice(_PARTS))):
        table, named = invented_parts.part(rng, car, tire, i + 1)
        parts.append(table)
        files |= named
    return Invention({**tables, "part": parts}, files)
