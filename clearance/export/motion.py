"""The path of the wheel as a CSV file and as a picture."""

from __future__ import annotations

import io
import warnings
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from matplotlib.figure import Figure

from clearance.errors import OutputError
from clearance.plain import csv_row, visible
from clearance.suspension.path import Step


def as_csv(tables: dict[str, tuple[Step, ...]]) -> str:
    """The rows of every table, one after the other."""
    names = ("bump_mm", "other_bump_mm", "steer_deg", "across_mm", "along_mm", "rise_mm", "camber_deg", "toe_deg")
    lines = [csv_row(("which", *names, "turned_deg"))]
    for heading, rows in tables.items():
        lines += [csv_row((heading, *(f"{value:.6f}" for value in asdict(row).values()))) for row in rows]
    return "".join(lines)


CURVES = (
    ("camber, deg (top out +)", "camber_deg"),
    ("toe, deg (in +)", "toe_deg"),
    ("across, mm (outboard +)", "across_mm"),
    ("along, mm (ahead +)", "along_mm"),
)


def drawn(title: str, tables: dict[str, tuple[Step, ...]], file: Path) -> bytes:
    """The curves against bump, as SVG or PNG bytes: the same input gives the same bytes.

    Raises OutputError where matplotlib is not installed or the file is neither .svg nor .png.
    """

    kind = file.suffix.lower().lstrip(".")
    if kind not in ("svg", "png"):
        raise OutputError(f"{file}: a picture is a .svg or a .png file. Write --picture {file.stem}.svg.")
    try:
        import matplotlib
    except ImportError:
        raise OutputError(
            "--picture needs matplotlib, which is not installed. Install it with: pip install matplotlib."
            " The table and --csv need nothing."
        ) from None
    matplotlib.use("Agg")

    with warnings.catch_warnings(), matplotlib.rc_context():
        # a letter that the font has not is drawn as a box, which needs no words
        warnings.simplefilter("ignore")
        # a matplotlibrc in the folder or the home would draw another picture
        matplotlib.rcdefaults()
        matplotlib.rcParams.update({"svg.hashsalt": "clearance", "svg.fonttype": "path", "font.size": 9})
        figure = Figure(figsize=(10, 7), layout="constrained")
        axes = figure.subplots(2, 2, sharey=True).flat
        for place, (label, field) in zip(axes, CURVES, strict=True):
            _curve(place, tables, label, field)
        first = figure.axes[0]
        first.legend(loc="best", fontsize=8)
        figure.suptitle(visible(f"{title}: path of the hub"), parse_math=False)
        out = io.BytesIO()
        figure.savefig(out, format=kind, dpi=110, metadata={"Date": None} if kind == "svg" else {"Software": None})
    return out.getvalue()


def _curve(place: Any, tables: dict[str, tuple[Step, ...]], label: str, field: str) -> None:
    marks = ("o-", "s--", "^-", "v-")
    straight = next(iter(tables.values()))
    for mark, (heading, rows) in zip(marks, tables.items(), strict=False):
        # at lock the toe is the whole turn of the wheel: against that, bump steer would be a flat line
        less = _at_ride_height(rows) - _at_ride_height(straight) if field == "toe_deg" else 0.0
        name = f"{heading}, less {less:+.1f} deg" if less else heading
        place.plot(
            [getattr(row, field) - less for row in rows],
            [row.bump_mm for row in rows],
            mark,
            label=name if field == "toe_deg" or not less else heading,
            markersize=3,
            linewidth=1.2,
        )
    place.set_xlabel(label)
    place.set_ylabel("bump, mm")
    place.axhline(0.0, color="0.8", linewidth=0.8, zorder=0)
    place.grid(True, color="0.92")
    if field == "toe_deg" and len(tables) > 1:
        place.legend(loc="best", fontsize=7)


def _at_ride_height(rows: Sequence[Step]) -> float:
    return next((row.toe_deg for row in rows if row.bump_mm == 0.0), 0.0)
