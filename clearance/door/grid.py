"""Studies of one corner: over a grid of changes, and of cars built at random within its tolerances.

`grid(corner, {"backspace": range(80, 111, 5), "bump_stop": (0, 10, 20)})`, `sampled(corner, 1000)`.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from clearance.answers.checked import Progress, silent
from clearance.answers.grid import CHANGES, Grid
from clearance.answers.sampled import Sampled
from clearance.door.answer import Answer
from clearance.mockup.mockup import MockUp

GRID_UNITS: Mapping[str, str] = {name: unit for name, (unit, _) in CHANGES.items()}
"""What a grid can change, and the unit of its values."""


def grid(
    corner: MockUp,
    over: Mapping[str, Sequence[float]],
    *,
    processes: int | None = None,
    folder: Path | None = None,
    progress: Progress = silent,
) -> Answer[Grid]:
    """Every combination of what is changed, measured over the whole cycle: clears, does not, or not told.

    `over` gives a number's values by its name: rim_width (in), overall_diameter, section_width, backspace, offset,
    spacer, bump_stop, raised (mm), lock_less, camber_more (deg). Raises InputError for a name that is not known, for
    two that move the same wheel, and for too many cells.
    """
    from clearance.answers.grid import Over
    from clearance.answers.grid import grid as asked
    from clearance.answers.grid_picture import picture_of
    from clearance.export.svg import sheet
    from clearance.facts.grid import facts
    from clearance.words.grid import page

    overs = [Over(name=name, values=tuple(float(value) for value in values)) for name, values in over.items()]
    found = asked(corner, overs, processes=processes or len(os.sched_getaffinity(0)), progress=progress)
    return Answer(
        value=found,
        corner=corner,
        told=partial(page, corner, found, folder),
        plain=partial(facts, corner, found),
        listed="cells",
        pictured=lambda: (sheet(picture_of(found), title=f"{corner.title}: grid").decode(),),
    )


def grid_files(found: Answer[Grid]) -> dict[str, bytes]:
    """The table as CSV, as Parquet where pyarrow is installed, and the picture, by the names of their files."""
    from clearance.facts.grid import csv_text

    text = csv_text(found.to_dict())
    files = {"grid.csv": text.encode(), "grid.svg": found.pictures()[0].encode()}
    parquet = _parquet(text)
    return files if parquet is None else {**files, "grid.parquet": parquet}


def sampled(
    corner: MockUp,
    cars: int,
    *,
    processes: int | None = None,
    folder: Path | None = None,
    progress: Progress = silent,
) -> Answer[Sampled]:
    """So many cars built within the stated tolerances, seeded, each measured in full, beside what `budget` says.

    Raises InputError for fewer than two cars or too many, and where none can be built.
    """
    from clearance.answers.sampled import sampled as asked
    from clearance.facts.sampled import facts
    from clearance.words.sampled import page

    count = processes or len(os.sched_getaffinity(0))
    found = asked(corner, corner.terms.uncertainty, cars, processes=count, progress=progress)
    return Answer(
        value=found,
        corner=corner,
        told=partial(page, corner, found, folder),
        plain=partial(facts, corner, found),
        listed="parts",
    )


def sampled_files(found: Answer[Sampled]) -> dict[str, bytes]:
    """Every car as a row of a CSV, by the name of its file."""
    from clearance.facts.sampled import csv_text

    return {"sample.csv": csv_text(found.value).encode()}


def _parquet(text: str) -> bytes | None:
    try:
        import pyarrow
        from pyarrow import csv, parquet
    except ImportError:
        return None
    import io

    words: dict[str, Any] = dict.fromkeys(("said", "part", "why"), pyarrow.string())
    convert = csv.ConvertOptions(column_types=words, strings_can_be_null=False)
    rows = csv.read_csv(io.BytesIO(text.encode()), csv.ReadOptions(use_threads=False), convert_options=convert)
    stream = io.BytesIO()
    parquet.write_table(rows, stream)
    return stream.getvalue()
