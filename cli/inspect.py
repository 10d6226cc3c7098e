"""`clearance inspect`: the wheels in their boxes against the order, before a tire is mounted."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from clearance_cli.out import say, show

from clearance.plain import echoed

if TYPE_CHECKING:
    pass

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
    from clearance_cli.answer_text import read_corner

    from clearance.answers.boxes import KEYS, measured_of, order_of
    from clearance.errors import WheelError
    from clearance.facts.inspect import facts
    from clearance.wheel.inspection import inspect
    from clearance.words.inspect import page

    mockup = read_corner(file)
    rows: list[Any] = [] if measured is None else _rows(measured)
    rows += [_flags(text) for text in wheel or ()]
    if not rows:
        raise WheelError(
            "no wheel was measured. Give --measured FILE with one [[wheel]] for each box, or --wheel 'name=..., ...'."
            f" Keys: {', '.join(KEYS)}."
        )
    wheels = measured_of(rows, file=str(measured) if measured is not None else "--wheel")
    found = inspect(order_of(mockup, mockup.terms.order), wheels)
    if as_json:
        show(facts(mockup, found))
    else:
        say(page(mockup, [w.name for w in wheels], found))
    return EXIT_CODES[found.verdict]


def _rows(path: Path) -> list[Any]:
    """What was read on each box, from TOML or CSV; every refusal with the file and its line."""
    from clearance import opener
    from clearance.errors import WheelError

    text = opener.text_of(path)
    if path.suffix.lower() == ".csv":
        return [row for _, row in opener.records_in(text, path)[1]]
    try:
        tables = opener.toml_tables(text)
    except opener.NotToml as wrong:
        raise WheelError(
            f"{path}:{wrong.line}: {wrong.words} Write [[wheel]] and its keys below, or give a .csv."
        ) from None
    rows = tables.pop("wheel", [])
    if tables:
        raise WheelError(f"{path}: {echoed(next(iter(tables)))} does not belong here. Write [[wheel]] for each box.")
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
                f"--wheel: {echoed(pair.strip())} is not key=value. Write 'name=front left, straight_edge=4 1/4 in'."
            )
        if key.strip() in row:
            raise WheelError(f"--wheel: {echoed(key.strip())} stands twice. Keep one of the two.")
        row[key.strip()] = value.strip()
    return row
