"""`clearance inspect`: the wheels in their boxes against the order, before a tire is mounted."""

from __future__ import annotations

import csv
import io
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp
    from clearance.wheel.inspection import Inspection

EXIT_CODES = {"accept": 0, "re-measure": 3, "return": 1}


def command(
    file: Annotated[Path, typer.Argument(help="The corner file that the wheels were ordered by.", show_default=False)],
    measured: Annotated[Path | None, typer.Option("--measured", help="What was read: a .toml or .csv file.")] = None,
    wheel: Annotated[
        list[str] | None,
        typer.Option("--wheel", help="Or a wheel on the command line: 'name=front left, width=178 mm, ...'; repeat."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """Every wheel against the order and against the others: accept, re-measure or return.

    Each difference is judged together with how well it was read. Exit code 0: accept all; 1: something goes back;
    2: the input is wrong; 3: something must be measured again.
    """
    from clearance_cli.answer_text import read_corner, show

    from clearance.answers.boxes import KEYS, measured_of, order_of
    from clearance.errors import WheelError
    from clearance.wheel.inspection import inspect

    mockup, sections = read_corner(file)
    rows: list[Any] = [] if measured is None else _rows(measured)
    rows += [_flags(text) for text in wheel or ()]
    if not rows:
        raise WheelError(
            "no wheel was measured. Give --measured FILE with one [[wheel]] for each box, or --wheel 'name=..., ...'."
            f" Keys: {', '.join(KEYS)}."
        )
    wheels = measured_of(rows, file=str(measured) if measured is not None else "--wheel")
    found = inspect(order_of(mockup, sections.order), wheels)
    if as_json:
        show(facts(mockup, found))
    else:
        typer.echo(page(mockup, [w.name for w in wheels], found))
    return EXIT_CODES[found.verdict]


def _rows(path: Path) -> list[Any]:
    from clearance.errors import WheelError

    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise WheelError(f"{path}: this is not a text file. Write what was read as TOML or CSV, UTF-8.") from None
    if path.suffix.lower() == ".csv":
        reader = csv.DictReader(io.StringIO(text), skipinitialspace=True)
        reader.fieldnames = [name.strip() for name in reader.fieldnames or ()]
        return [{k: (v or "").strip() if not isinstance(v, list) else v for k, v in row.items()} for row in reader]
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as wrong:
        raise WheelError(
            f"{path}: this is not TOML ({wrong}). Write [[wheel]] and its keys below, or give a .csv."
        ) from None
    rows = tables.pop("wheel", [])
    if tables:
        raise WheelError(f"{path}: {next(iter(tables))!r} does not belong here. Write [[wheel]] for each box.")
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise WheelError(f"{path}: wheel must be a list of tables. Write [[wheel]] with two brackets.")
    return rows


def _flags(text: str) -> dict[str, str]:
    from clearance.errors import WheelError

    row: dict[str, str] = {}
    for pair in text.split(","):
        key, equals, value = pair.partition("=")
        if not equals:
            raise WheelError(
                f"--wheel: {pair.strip()!r} is not key=value. Write 'name=front left, straight_edge=4 1/4 in'."
            )
        row[key.strip()] = value.strip()
    return row


def facts(mockup: MockUp, found: Inspection) -> dict[str, Any]:
    """Everything that the page says."""
    return {
        "format": "clearance-inspect/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "verdict": found.verdict,
        "checks": [
            {
                "wheel": c.wheel,
                "item": c.item,
                "ordered": c.ordered,
                "measured": c.measured,
                "difference": None if c.difference_mm is None else round(c.difference_mm, 3),
                "read_to": None if c.reading_mm is None else round(c.reading_mm, 3),
                "tolerance": c.tolerance_mm,
                "verdict": c.verdict,
                "why": c.why,
            }
            for c in found.checks
        ],
        "cautions": list(found.cautions),
    }


def page(mockup: MockUp, names: list[str], found: Inspection) -> str:
    """Wheel by wheel, what is wrong first."""
    from clearance_cli.answer_text import notes, table

    worst = {"return": 0, "re-measure": 1, "accept": 2}
    lines = [f"Wheels in their boxes: {mockup.title or 'order'}", "", *notes(mockup)]
    every = [*names, *(["all"] if any(c.wheel == "all" for c in found.checks) else [])]
    for name in every:
        checks = sorted((c for c in found.checks if c.wheel == name), key=lambda c: worst[c.verdict])
        lines.append(f"  {name}: {found.of(name).upper()}")
        rows = [[c.item, c.measured or "-", c.ordered, c.verdict, c.why] for c in checks]
        lines += [table(["item", "measured", "ordered", "", "why"], rows, indent=4), ""]
    lines.append(
        f"Verdict: {found.verdict}. Mount no tire until every wheel is accepted: a mounted wheel is not taken back."
    )
    return "\n".join([*lines, *(f"- {caution}" for caution in found.cautions)])
