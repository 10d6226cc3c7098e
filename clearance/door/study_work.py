"""One car of a study: read, measured and written down as one piece, here or on any other machine.

A piece is text and nothing else: the rows of the table, what was not answered, and what the page says of the car. It
depends on the car's files, the list and the program alone, so that it can be kept, and taken up again.
"""

from __future__ import annotations

import hashlib
import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from clearance import opener
from clearance.answers.candidates import MOST_ROWS, NotAnswered, Row, one_line, rows_from_csv
from clearance.errors import ClearanceError, FileError, InputError
from clearance.facts.study import line_facts, missing_facts, table_rows
from clearance.gap.found import CLEARS, HITS, TIGHT, UNDECIDED
from clearance.many.rows import MARGIN_MM, Shelf, lines_of
from clearance.many.squares import Window
from clearance.mockup.car import Car
from clearance.plain import csv_row, json_text
from clearance.tire.dimensions import formula_overall_mm
from clearance.tire.size import Marking
from clearance.units import MM_PER_INCH

PIECE = "clearance-study-piece/2"
"""Changes when a piece of an earlier program would be misread, or would say something else."""
MOST_LIST = 64_000_000
"""Bytes of a list."""
_MOST_SHOWN = 20
"""Rows of a car that the page shows."""
_AT_ONCE = 2_000
"""Rows written together."""
_WORST = (HITS, UNDECIDED, TIGHT, CLEARS)
_NAMED = re.compile(r"\"([^\"\n]{1,400})\"|'([^'\n]{1,400})'")
_MOST_NAMED = 2_000_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """What is asked of one car."""

    file: str
    """Its place in the folder of cars."""
    path: str
    """Where it is."""
    list_path: str
    key: str
    """Of its content and the list's: the same piece has the same name."""


def read_list(path: str | Path) -> tuple[tuple[Row, ...], tuple[NotAnswered, ...]]:
    """The rows of a list, CSV or Parquet, and those that cannot be read. Raises InputError for one that is none."""
    text = opener_text(Path(path))
    return rows_from_csv(text, name=str(path))


def opener_text(path: Path) -> str:
    """A list as CSV text; Parquet is turned into it. Raises InputError where what reads it is not installed."""
    if path.suffix.lower() not in (".parquet", ".pq"):
        return opener.text_of(path, most=MOST_LIST)
    content = opener.bytes_of(path, most=MOST_LIST)
    try:
        import pyarrow
        from pyarrow import parquet
    except ImportError:
        raise InputError(
            f"{path}: Parquet is read with pyarrow, which is not installed. Install wheelwell-clearance[study], or"
            " write the list as CSV."
        ) from None
    try:
        columns = parquet.read_table(pyarrow.BufferReader(content)).to_pydict()
    except (pyarrow.ArrowException, ValueError, OSError):
        raise InputError(f"{path}: this is no Parquet file that can be read. Write the list as CSV.") from None
    count = len(next(iter(columns.values()), []))
    if count > MOST_ROWS:
        raise InputError(f"{path}: {count:,} rows are more than the {MOST_ROWS:,} that are gone through.")
    lines = [csv_row([str(name) for name in columns])]
    lines += [
        csv_row(["" if cell is None else str(cell) for cell in row]) for row in zip(*columns.values(), strict=True)
    ]
    return "".join(lines)


def piece_of(file: str, path: Path, list_path: Path, list_key: str) -> Piece:
    """What is asked of a car, under the name of its content: its file, what that names, the list, the program."""
    told = hashlib.sha256(f"{PIECE}\0{_version()}\0{list_key}\0{file}\0".encode())
    for content in _contents(path, set()):
        told.update(content)
    return Piece(file=file, path=str(path), list_path=str(list_path), key=told.hexdigest()[:32])


def list_key(path: Path) -> str:
    """What tells a list's content from any other."""
    return hashlib.sha256(opener.bytes_of(path, most=MOST_LIST)).hexdigest()


def _version() -> str:
    from importlib.metadata import version

    return version("wheelwell-clearance")


def _contents(path: Path, seen: set[Path]) -> Iterator[bytes]:
    """The sums of a file and of every file that it names, in order; what cannot be read says so for itself later."""
    if path in seen:
        return
    seen.add(path)
    try:
        content = opener.bytes_of(path, most=_MOST_NAMED)
    except FileError as wrong:
        yield f"\0{wrong.reason}".encode()
        return
    yield hashlib.sha256(content).digest()
    if path.suffix.lower() == ".toml":
        for name in named_in(content.decode("utf-8", "replace")):
            beside = path.parent / name
            if beside.is_file():
                yield from _contents(beside, seen)


def named_in(text: str) -> list[str]:
    """What a car or corner file has between quotes that may be a file's name."""
    found = [one or other for one, other in _NAMED.findall(text)]
    return [name for name in found if "." in name and "\0" not in name and not name.startswith(("/", "~"))]


# ---- the work


@lru_cache(maxsize=1)
def _shelf() -> Shelf:
    """Of this process: the cars of a folder have much of a list alike."""
    return Shelf()


@lru_cache(maxsize=2)
def _rows(list_path: str) -> tuple[tuple[Row, ...], tuple[NotAnswered, ...]]:
    return read_list(list_path)


def work(piece: Piece) -> str:
    """The piece of one car, as text."""
    from clearance.door.read import load_car

    rows, _ = _rows(piece.list_path)
    try:
        car = load_car(piece.path)
    except ClearanceError as wrong:
        # the same words wherever the folder lies
        why = NotAnswered(line=0, column="", why=one_line(str(wrong).replace(piece.path, piece.file)))
        return _written(piece, None, [missing_facts(piece.file, why)])
    told = _Told(piece, car)
    missing: list[Mapping[str, Any]] = []
    for corner in car.corners:
        for_it = [row for row in rows if row.axle is None or corner.startswith(row.axle)]
        try:
            lines, wrong_rows = lines_of(car, corner, for_it, window_for(for_it), _shelf()) if for_it else ((), ())
        except ClearanceError as wrong:
            why = NotAnswered(line=0, column="", why=one_line(str(wrong)))
            missing.append(missing_facts(piece.file, why, corner))
            continue
        told.take(line_facts(piece.file, car.at(corner), line) for line in lines)
        missing += [missing_facts(Path(piece.list_path).name, one, f"{piece.file} {corner}") for one in wrong_rows]
    return _written(piece, told, missing)


def window_for(rows: Sequence[Row]) -> Window:
    """A part of the half plane that holds every wheel of a list with a margin, on whole centimetres.

    It need not be sure: of a wheel that stands out of it the part is measured by the search.
    """
    sizes = [_size(row) for row in rows]
    low = min(-offset - half for offset, half, _ in sizes) - MARGIN_MM
    high = max(-offset + half for offset, half, _ in sizes) + MARGIN_MM
    far = max(radius for _, _, radius in sizes) + MARGIN_MM
    return Window(
        low_mm=10.0 * math.floor(low / 10.0),
        high_mm=10.0 * math.ceil(high / 10.0),
        far_mm=10.0 * math.ceil(far / 10.0),
        margin_mm=MARGIN_MM,
    )


def _size(row: Row) -> tuple[float, float, float]:
    """Offset, half the width and the radius of a row's wheel and tire, rather too large."""
    rim = (row.width_in + 1.0) * MM_PER_INCH
    marking = row.tire.marking
    section = row.tire.section_width_mm or (marking.width_mm or 0.0) * 1.12
    offset = row.offset_mm if row.offset_mm is not None else (row.backspace_mm or 0.0) - rim / 2.0
    overall = row.tire.overall_diameter_mm or marking.overall_mm or _overall(marking)
    return offset, max(rim, section) / 2.0, overall * 0.52


def _overall(marking: Marking) -> float:
    if marking.width_mm is None:
        return 800.0
    return formula_overall_mm(marking.width_mm, marking.aspect or 82.0, marking.rim_in)


# ---- as text


def _written(piece: Piece, told: _Told | None, missing: Sequence[Mapping[str, Any]]) -> str:
    head = {
        "format": PIECE,
        "key": piece.key,
        "not_answered": list(missing),
        "car": None if told is None else told.summary(),
    }
    return f"{json_text(head, indent=None, compact=True)}\n{'' if told is None else ''.join(told.rows)}"


def head_of(text: str) -> dict[str, Any]:
    """What a piece says of its car, without the rows."""
    found: dict[str, Any] = opener.json_value(text[: text.index("\n")])
    return found


def rows_of(text: str) -> str:
    """The rows of a piece, as the table has them."""
    return text[text.index("\n") + 1 :]


class _Told:
    """The rows of a car as text, and what is said of them all; no more of them is kept than that."""

    def __init__(self, piece: Piece, car: Car) -> None:
        self.piece, self.car = piece, car
        self.rows: list[str] = []
        self._counts = dict.fromkeys((CLEARS, TIGHT, HITS, UNDECIDED), 0)
        self._near: list[Mapping[str, Any]] = []
        self._worst: dict[int, Mapping[str, Any]] = {}
        """Each row of the list at the corner where it is worst."""

    def take(self, facts: Iterable[Mapping[str, Any]]) -> None:
        """The rows of one corner."""
        rows = list(facts)
        for at in range(0, len(rows), _AT_ONCE):
            self.rows.append(table_rows(rows[at : at + _AT_ONCE]))
        for row in rows:
            self._counts[row["verdict"]] += 1
            known = self._worst.get(row["line"])
            if known is None or _badness(row) < _badness(known):
                self._worst[row["line"]] = row
        near = [*self._near, *(row for row in rows if row["offset_change"] is not None)]
        near.sort(key=lambda row: (-row["margin"], row["line"], row["corner"]))
        self._near = near[:_MOST_SHOWN]

    def summary(self) -> dict[str, Any]:
        """What the page says of the car."""
        worst = list(self._worst.values())
        clear = [row for row in worst if row["verdict"] == CLEARS]
        return {
            "car": self.piece.file,
            "title": self.car.title,
            "counts": self._counts,
            "sizes": _sizes(worst),
            "best": sorted(clear, key=lambda row: (-row["margin"], row["line"]))[:_MOST_SHOWN],
            "near": self._near,
        }


def _badness(row: Mapping[str, Any]) -> tuple[int, float]:
    return _WORST.index(row["verdict"]), math.inf if row["margin"] is None else row["margin"]


def _sizes(worst: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Of each size the row that does best."""
    best: dict[str, Mapping[str, Any]] = {}
    for row in worst:
        known = best.get(row["tire"])
        if known is None or _badness(row) > _badness(known):
            best[row["tire"]] = row
    return [
        {"tire": size, "verdict": row["verdict"], "margin": row["margin"], "line": row["line"]}
        for size, row in sorted(best.items())
    ]
