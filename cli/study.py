"""`clearance study`: these wheels and tires on these cars, every combination, on this machine or a cluster; or one
corner over a grid of changes, or built many times within its tolerances."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Annotated, Any

import typer
from clearance_cli.options import Which, corner_at
from clearance_cli.out import Kept, Progress, ready, say, show, write_answer

import clearance

_BYTES = {"MB": 10**6, "GB": 10**9, "MIB": 2**20, "GIB": 2**30}
_MEMORY = "2 GB"


def command(
    cars: Annotated[
        Path,
        typer.Argument(
            metavar="CARS",
            help="A folder of car and corner files; one file with --over, --sample.",
            show_default=False,
        ),
    ],
    list_: Annotated[
        Path | None,
        typer.Argument(
            metavar="LIST",
            help="CSV or Parquet with the columns tire, width, and backspace or offset.",
            show_default=False,
        ),
    ] = None,
    over: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME=VALUES",
            help='Instead of a list, what is changed: "backspace=90 mm to 110 mm by 2 mm", "bump_stop=0 mm, 10 mm";'
            " repeat for a grid.",
        ),
    ] = None,
    sample: Annotated[
        int | None,
        typer.Option(
            help="Instead of a list, so many cars built at random within the stated tolerances.", min=2, max=100_000
        ),
    ] = None,
    which: Which = None,
    out: Annotated[
        Path | None, typer.Option(help="Folder for the table, the page, and what was finished if it is stopped.")
    ] = None,
    scheduler: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="Let the workers of this Dask scheduler do it.")
    ] = None,
    processes: Annotated[
        int | None, typer.Option(help="At most so many here; one for each core if not given.", min=1, max=512)
    ] = None,
    memory: Annotated[str, typer.Option(help="What all of them together may take.")] = _MEMORY,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """Every wheel and tire of a list on every corner of many cars: what clears, by how much, what binds.

    A row is answered as by `check`, between two proven ends. Stopped, it is taken up again from what was finished.
    With --over, one corner over a grid of changes; with --sample, cars within its tolerances, beside what `budget`
    says of them. Exit code 0: something clears; 1: nothing does.
    """
    if over or sample is not None:
        return _one_corner(cars, list_, over or [], sample, which, out, processes, as_json)
    list_ = _list_of(list_, which)
    bytes_ = _bytes(memory)
    kept = None if out is None else Kept(out)
    progress = Progress(quiet=as_json)
    found = clearance.study(
        cars,
        list_,
        kept=kept,
        scheduler=scheduler,
        processes=processes,
        memory_bytes=bytes_,
        folder=out,
        progress=progress,
    )
    progress.close()
    if out is not None and kept is not None:
        write_answer(out, found.value.files, of="study")
        kept.only(found.value.pieces)
    if as_json:
        show(found.to_dict())
    else:
        say(found.words().rstrip("\n"))
    return 0 if found.value.facts["counts"]["clears"] else 1


def _list_of(list_: Path | None, which: str | None) -> Path:
    if list_ is None:
        raise clearance.InputError(
            "name the LIST of tires and wheels behind the folder of cars, or what is changed with --over."
        )
    if which is not None:
        raise clearance.InputError("--corner is for --over and --sample; a list goes on every corner of every car.")
    return list_


def _one_corner(
    file: Path,
    list_: Path | None,
    over: list[str],
    sample: int | None,
    which: str | None,
    out: Path | None,
    processes: int | None,
    as_json: bool,
) -> int:
    """One corner, over a grid or built many times."""
    if list_ is not None:
        raise clearance.InputError(
            f"--over and --sample are instead of a list. Leave out {clearance.plain.quoted(str(list_))}."
        )
    if over and sample is not None:
        raise clearance.InputError("--over and --sample are two studies. Ask for one of them.")
    values = _values(over)
    corner = corner_at(file, None, which)
    if out is not None:
        ready(out)
    progress = Progress(quiet=as_json)
    found: clearance.Answer[Any]
    if sample is None:
        found = clearance.grid(corner, values, processes=processes, folder=out, progress=progress)
        files, clears = clearance.grid_files(found), any(cell.clears for cell in found.value.cells)
    else:
        found = clearance.sampled(corner, sample, processes=processes, folder=out, progress=progress)
        files, clears = clearance.sampled_files(found), found.value.clear > 0.0
    progress.close()
    if out is not None:
        write_answer(out, files, of="study")
    if as_json:
        show(found.to_dict())
    else:
        say(found.words().rstrip("\n"))
    return 0 if clears else 1


def _values(over: list[str]) -> dict[str, tuple[float, ...]]:
    values: dict[str, tuple[float, ...]] = {}
    for text in over:
        name, found = _over(text)
        if name in values:
            raise clearance.InputError(f"--over: {name} is named twice. Give all its values once.")
        values[name] = found
    return values


_RANGE = re.compile(r"\s*(?P<low>\S.*?)\s+to\s+(?P<high>\S.*?)\s+by\s+(?P<step>\S.*?)\s*")
_MOST_VALUES = 20_000


def _over(text: str) -> tuple[str, tuple[float, ...]]:
    """A number's name and its values, from `NAME=FROM to TO by STEP` or `NAME=A, B`."""
    name, equals, said = text.partition("=")
    name = name.strip().replace("-", "_")
    units = clearance.GRID_UNITS
    if not equals or name not in units:
        raise clearance.InputError(
            f'--over {clearance.plain.quoted(text)}: write "backspace=90 mm to 110 mm by 2 mm".'
            f" Known: {', '.join(units)}."
        )
    read = _READ[units[name]]
    stretch = _RANGE.fullmatch(said)
    try:
        if stretch is None:
            return name, tuple(read(one) for one in said.split(","))
        low, high, step = (read(stretch[key]) for key in ("low", "high", "step"))
    except clearance.UnitError as wrong:
        raise clearance.UnitError(f"--over {name}: {wrong}") from None
    if step <= 0 or not 0 <= (high - low) / step < _MOST_VALUES:
        raise clearance.InputError(
            f"--over {name}: {clearance.plain.quoted(said.strip())} must go from the less to the more, in steps above"
            f" zero, at most {_MOST_VALUES:,} of them."
        )
    return name, tuple(low + step * k for k in range(int((high - low) / step + 1e-6) + 1))


def _inches(text: str) -> float:
    return clearance.length_mm(text) / clearance.MM_PER_INCH


_READ: Mapping[str, Callable[[str], float]] = {
    "mm": clearance.length_mm,
    "in": _inches,
    "deg": clearance.angle_deg,
}


def _bytes(text: str) -> int:
    read = re.fullmatch(r"\s*(\d{1,6}(?:\.\d{1,3})?)\s*(MB|GB|MiB|GiB)\s*", text, re.IGNORECASE)
    if read is None:
        raise clearance.InputError(f'--memory "{clearance.plain.line(text)}": write a size with its unit: "{_MEMORY}".')
    return int(float(read[1]) * _BYTES[read[2].upper()])
