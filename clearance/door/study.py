"""A list of wheels and tires on a folder of cars: every combination answered, kept piece by piece, written at the end.

* piece - what is said of one car, as text; see `study_work`
* kept  - where finished pieces are kept between runs: a mapping from name to text
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Callable, Iterator, MutableMapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from clearance import opener
from clearance.answers.checked import Progress, silent
from clearance.door.answer import Answer
from clearance.door.study_spread import held_to, here, on_cluster, processes_for
from clearance.door.study_work import Piece, head_of, list_key, named_in, piece_of, read_list, rows_of
from clearance.errors import FileError, InputError, OutputError
from clearance.plain import echoed

MOST_CARS = 20_000
MEMORY_BYTES = 2_000_000_000
Content = bytes | Callable[[], Iterator[bytes]]
"""Of a file: all of it, or what makes it piece by piece."""
_SUM = 64
_REMEDY = "Give more with --memory, or put the cars into several folders and study one after another."


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Study:
    """What a study found; its rows are in its files."""

    facts: dict[str, Any]
    files: dict[str, Content]
    """By name: the table as CSV and Parquet, a car at a time; what was not answered; the page."""
    pieces: tuple[str, ...]
    """The names of the pieces that it was made of."""


def study(
    cars: str | Path,
    list_: str | Path,
    *,
    kept: MutableMapping[str, str] | None = None,
    scheduler: str | None = None,
    processes: int | None = None,
    memory_bytes: int = MEMORY_BYTES,
    folder: Path | None = None,
    progress: Progress = silent,
) -> Answer[Study]:
    """Wheels and tires of a list (CSV or Parquet) on every corner of every car file in a folder.

    Finished pieces are taken from `kept` and put there; with `scheduler`, the address of a Dask scheduler, its workers
    do the work. Cars and rows that cannot be read are in the answer. Raises InputError for a list or a folder that is
    none, OutputError where the cluster does not answer.
    """
    count = processes_for(memory_bytes, processes)
    folder_of, list_path = Path(cars).absolute(), Path(list_).absolute()
    rows, wrong_rows = read_list(list_path)
    kept = {} if kept is None else kept
    key = list_key(list_path)
    pieces = [piece_of(name, folder_of / name, list_path, key) for name in car_files(folder_of)]
    todo = [piece for piece in pieces if _read(kept.get(piece.key)) is None]
    made = here(todo, count, memory_bytes) if scheduler is None else on_cluster(todo, scheduler)
    progress(len(pieces) - len(todo), len(pieces), f"cars, {len(rows):,} rows each")
    for done, (piece, text) in enumerate(made, start=len(pieces) - len(todo) + 1):
        kept[piece.key] = _sealed(text)
        progress(done, len(pieces), f"cars, {len(rows):,} rows each")
    with held_to(memory_bytes, f"what is said of {len(pieces):,} cars needs", _REMEDY):
        found = _gathered(Path(list_), wrong_rows, pieces, kept)
    return _told(found, folder)


def car_files(folder: Path) -> list[str]:
    """The car and corner files of a folder and those within it; not the corner files that a car file names.

    Raises InputError for a folder that is none, or that has none.
    """
    if not folder.is_dir():
        raise InputError(f"{folder}: this is no folder of cars. Name the folder that the car files are in.")
    try:
        every = sorted(path for path in folder.rglob("*.toml") if not path.is_dir())
    except OSError:
        raise InputError(f"{folder}: this folder cannot be read. Check its rights.") from None
    if not every:
        raise InputError(f"{folder}: there is no car or corner file in it, whose name ends in .toml.")
    if len(every) > MOST_CARS:
        raise InputError(f"{folder}: {len(every):,} files are more than the {MOST_CARS:,} that are gone through.")
    return _without_parts(folder, every)


def _without_parts(folder: Path, every: Sequence[Path]) -> list[str]:
    parts = {found for path in every for found in _parts_of(path)}
    return [path.relative_to(folder).as_posix() for path in every if path.resolve() not in parts]


def _parts_of(path: Path) -> Iterator[Path]:
    """The corner files that a car file names."""
    try:
        text = opener.text_of(path)
    except FileError:
        return
    for name in named_in(text):
        if name.endswith(".toml"):
            yield (path.parent / name).resolve()


# ---- kept


def _sealed(text: str) -> str:
    """A piece with its sum, so that one that was cut short is known."""
    return hashlib.sha256(text.encode()).hexdigest() + text


def _read(sealed: str | None) -> str | None:
    """A piece that is whole; None of any other."""
    if sealed is None or hashlib.sha256(sealed[_SUM:].encode()).hexdigest() != sealed[:_SUM]:
        return None
    return sealed[_SUM:]


# ---- gathered


def _gathered(
    list_path: Path, wrong_rows: Sequence[Any], pieces: Sequence[Piece], kept: MutableMapping[str, str]
) -> Study:
    from clearance.facts.study import MISSING_COLUMNS, facts, heading, missing_facts, missing_rows
    from clearance.report.study_page import write_study

    missing = [missing_facts(list_path.name, one) for one in wrong_rows]
    cars = []
    for piece in pieces:
        found = head_of(_whole(piece, kept))
        missing += found["not_answered"]
        if found["car"] is not None:
            cars.append(found["car"])
    files: dict[str, Content] = {"study.csv": lambda: _table(pieces, kept)}
    if _has_pyarrow():
        files["study.parquet"] = lambda: _parquet(pieces, kept)
    files["not-answered.csv"] = (heading(MISSING_COLUMNS) + missing_rows(missing)).encode()
    names = sorted([*files, "study.html"])
    said = facts(list_path.name, cars, missing, names)
    files["study.html"] = write_study(said)
    return Study(facts=said, files=files, pieces=tuple(piece.key for piece in pieces))


def _whole(piece: Piece, kept: MutableMapping[str, str]) -> str:
    found = _read(kept.get(piece.key))
    if found is None:
        raise OutputError(f"{echoed(piece.file)}: what was found of it is gone from where it was kept. Run it again.")
    return found


def _table(pieces: Sequence[Piece], kept: MutableMapping[str, str]) -> Iterator[bytes]:
    """The table as CSV, a car at a time."""
    from clearance.facts.study import COLUMNS, heading

    yield heading(COLUMNS).encode()
    for piece in pieces:
        yield rows_of(_whole(piece, kept)).encode()


def _has_pyarrow() -> bool:
    try:
        import pyarrow  # noqa: F401
    except ImportError:
        return False
    return True


def _parquet(pieces: Sequence[Piece], kept: MutableMapping[str, str]) -> Iterator[bytes]:
    """The same table as Parquet, a group of rows for each car; what is written is handed on car by car."""
    import pyarrow
    from pyarrow import csv, parquet

    from clearance.facts.study import COLUMNS, KINDS

    kinds = {key: _kind(pyarrow, KINDS[key]) for key in COLUMNS}
    schema = pyarrow.schema([(head, kinds[key]) for key, head in COLUMNS.items()])
    read = csv.ReadOptions(column_names=list(COLUMNS.values()), use_threads=False)
    parse = csv.ParseOptions(newlines_in_values=True)
    convert = csv.ConvertOptions(
        column_types={head: kinds[key] for key, head in COLUMNS.items()}, strings_can_be_null=False
    )
    stream = _Passing()
    with parquet.ParquetWriter(pyarrow.PythonFile(stream, mode="w"), schema) as writer:
        for piece in pieces:
            text = rows_of(_whole(piece, kept)).encode()
            if text:
                rows = csv.read_csv(io.BytesIO(text), read, parse, convert)
                writer.write_table(rows.cast(schema))
                yield stream.taken()
    yield stream.taken()


class _Passing(io.RawIOBase):
    """A file that keeps what is written into it only until it is taken."""

    def __init__(self) -> None:
        super().__init__()
        self._written: list[bytes] = []

    def writable(self) -> bool:
        """It is."""
        return True

    def write(self, content: Any) -> int:
        """Keep it."""
        self._written.append(bytes(content))
        return len(content)

    def taken(self) -> bytes:
        """What was written since this was asked last."""
        found, self._written = b"".join(self._written), []
        return found


def _kind(pyarrow: Any, said: Any) -> Any:
    plain = said[0] if isinstance(said, list) else said
    return {"integer": pyarrow.int64(), "number": pyarrow.float64()}.get(plain, pyarrow.string())


def _told(found: Study, folder: Path | None) -> Answer[Study]:
    from clearance.words.study import page

    return Answer(value=found, told=lambda: page(found.facts, folder), plain=lambda: found.facts, listed="cars")
