"""`clearance motion`: the path of the wheel, to hold against what was measured on the car."""

from __future__ import annotations

import io
import warnings
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from clearance_cli.out import say, show, write_places

from clearance.plain import csv_row, visible

if TYPE_CHECKING:
    from collections.abc import Sequence

    from clearance.mockup.mockup import MockUp
    from clearance.suspension.path import Step

CAUTION = (
    "Before measuring this on the car: springs out or unloaded, body on stands, wheels chocked, nobody under a car on a"
    " jack."
)


def command(
    file: Annotated[Path, typer.Argument(help="The corner file.", show_default=False)],
    step: Annotated[str, typer.Option(help="From height to height.")] = "25 mm",
    csv: Annotated[Path | None, typer.Option(help="Write the rows as a CSV file.")] = None,
    picture: Annotated[Path | None, typer.Option(help="Draw the path: a .svg or .png file; needs matplotlib.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> None:
    """How the wheel moves: camber, toe, across and along against bump, and at both locks.

    The rows are where the suspension of the corner file puts the hub. Jack the hub to the same heights with the spring
    out, read tape and angle finder, and compare.
    """

    from clearance.corner_file.load import load
    from clearance.errors import SuspensionError
    from clearance.units import length_mm

    mockup = load(file)
    step_mm = length_mm(step)
    if not 1.0 <= step_mm <= 200.0:
        raise SuspensionError(f"a step of {step} from height to height is of no use. Write between 1 mm and 200 mm.")
    tables = tables_of(mockup, step_mm)
    files: dict[Path, bytes] = {}
    if csv is not None:
        files[csv] = as_csv(tables).encode()
    if picture is not None:
        files[picture] = drawn(mockup.title, tables, picture)
    written = write_places(files)
    if as_json:
        show(as_table(mockup, tables))
        return
    say(as_text(mockup, tables))
    for place in written:
        say(f"wrote {place}")


def tables_of(mockup: MockUp, step_mm: float) -> dict[str, tuple[Step, ...]]:
    """Every table by its heading, steer signs as on the real side of the car."""
    from clearance.suspension.path import at_locks, one_wheel, straight_ahead

    suspension = mockup.suspension
    live = suspension.cycle.other_bump_mm != (0.0, 0.0)
    alike = "straight ahead, both wheels alike" if live else "straight ahead"
    tables = {alike: tuple(seen(row, mockup.right_hand) for row in straight_ahead(suspension, step_mm))}
    if live:
        alone = one_wheel(suspension, step_mm)
        tables["straight ahead, other wheel at ride height"] = tuple(seen(row, mockup.right_hand) for row in alone)
    locks = [seen(row, mockup.right_hand) for row in at_locks(suspension, step_mm)]
    for name, sign in (("full left lock", 1.0), ("full right lock", -1.0)):
        rows = tuple(row for row in locks if row.steer_deg * sign > 0.0)
        if rows:
            tables[name] = rows
    return tables


def seen(row: Step, right_hand: bool) -> Step:
    """A step with steer to the left positive on the real side of the car."""
    from dataclasses import replace

    if not right_hand:
        return row
    return replace(row, steer_deg=0.0 - row.steer_deg, turned_deg=0.0 - row.turned_deg)


COLUMNS = (
    ("bump mm", "bump_mm", 1),
    ("bump in", "bump_mm", None),
    ("across mm", "across_mm", 2),
    ("along mm", "along_mm", 2),
    ("rise mm", "rise_mm", 2),
    ("camber deg", "camber_deg", 3),
    ("toe deg", "toe_deg", 3),
    ("steer deg", "turned_deg", 2),
)
"""Heading, field, decimals; None for inches to a sixteenth."""


def as_text(mockup: MockUp, tables: dict[str, tuple[Step, ...]]) -> str:
    """The tables as a terminal shows them."""
    from clearance_cli.answer_text import notes

    suspension = mockup.suspension
    lines = [f"{mockup.title}: {suspension.kind}", "", *notes(mockup)]
    for heading, rows in tables.items():
        lines += [heading, "".join(f"{name:>12}" for name, _, _ in COLUMNS)]
        lines += ["".join(f"{_cell(row, field, digits):>12}" for _, field, digits in COLUMNS) for row in rows]
        lines.append("")
    lines.append(
        "across is positive outboard, along ahead, camber top out, toe in, steer to the left; all from ride height but"
        " camber and toe."
    )
    if suspension.uncertainty_mm:
        lines.append(f"Measured rows lie within {suspension.uncertainty_mm:.1f} mm of these, at the tread.")
    lines += [f"{name}: its bushing gives up to {most:.1f} mm." for name, most in give_of(mockup)]
    lines += list(getattr(suspension, "notes", ()))
    lines.append(CAUTION)
    return "\n".join(lines)


def give_of(mockup: MockUp) -> list[tuple[str, float]]:
    """The most that each bushing gives in the cycle; nothing where none needs to."""
    most = getattr(mockup.suspension, "most_give_mm", None)
    return most() if most is not None else []


def _cell(row: Step, field: str, digits: int | None) -> str:
    from clearance.units import inch_text

    value = getattr(row, field)
    return inch_text(value) if digits is None else f"{round(value, digits) + 0.0:.{digits}f}"


def as_csv(tables: dict[str, tuple[Step, ...]]) -> str:
    """The rows of every table, one after the other."""
    names = ("bump_mm", "other_bump_mm", "steer_deg", "across_mm", "along_mm", "rise_mm", "camber_deg", "toe_deg")
    lines = [csv_row(("which", *names, "turned_deg"))]
    for heading, rows in tables.items():
        lines += [csv_row((heading, *(f"{value:.6f}" for value in asdict(row).values()))) for row in rows]
    return "".join(lines)


def as_table(mockup: MockUp, tables: dict[str, tuple[Step, ...]]) -> dict[str, Any]:
    """What --json prints: millimetres and degrees."""
    suspension = mockup.suspension
    return {
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "corner": mockup.corner,
        "kind": suspension.kind,
        "uncertainty_mm": suspension.uncertainty_mm,
        "notes": list(getattr(suspension, "notes", ())),
        "bushings_give_mm": dict(give_of(mockup)),
        "tables": {heading: [asdict(row) for row in rows] for heading, rows in tables.items()},
    }


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
    from clearance.errors import OutputError

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
    from matplotlib.figure import Figure

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
