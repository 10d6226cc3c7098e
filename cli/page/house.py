"""Everything that the page can ask for, whichever way it asks: the bench, the sheet, what is taken away, files.

Nothing here knows of requests; what a page says is taken for a guess until it fits.
"""

from __future__ import annotations

import asyncio
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from clearance_cli.page.beside import MOST_COLUMNS, beside
from clearance_cli.page.folder import PHOTOS, Folder
from clearance_cli.page.gate import MOST_PHOTO
from clearance_cli.page.scanned import Scans
from clearance_cli.page.sheet import Sheets
from clearance_cli.page.shipped import laid_out, offered
from clearance_cli.page.sitting import Hand, Sitting, Told
from clearance_cli.page.takings import Takings

import clearance
from clearance import opener
from clearance.plain import echoed

MOST_TEXT = 200
"""Letters of anything that is written into a box."""
_JOBS: Mapping[str, tuple[tuple[str, ...], tuple[str, ...] | None]] = {
    "turn": (("on", "path", "value"), ("part",)),
    "place": (("on", "bump", "other", "steer", "part"), ()),
    "worst": (("on", "part"), ()),
    "set": (("on", "path", "value"), ()),
    "write": (("on", "path", "text"), ()),
    "tire": (("on", "text"), ()),
    "corner": (("text",), ()),
    "save": ((), ("text",)),
    "undo": ((), ()),
    "redo": ((), ()),
    "back": ((), ()),
    "look": ((), ()),
}
"""What can be done on the bench: what has to be said with it, and what may be."""
_LEADS_OUT = re.compile(r"^(~|/|\\|[A-Za-z]:[/\\])|(^|[/\\])\.\.([/\\]|$)")


class House:
    """What is behind the gate."""

    def __init__(self, folder: Folder, sitting: Sitting | None = None) -> None:
        self.folder = folder
        self.hand = Hand(sitting=sitting)
        self.takings = Takings()
        self.sheets = Sheets(folder=folder)
        self.scans = Scans(folder=folder, hand=self.hand)
        self._work: asyncio.Task[None] | None = None

    # ---- its life

    def begin(self) -> None:
        """The server runs."""
        self._work = asyncio.get_running_loop().create_task(self.hand.work())

    def end(self) -> None:
        """It runs no longer."""
        self.hand.end()
        if self._work is not None:
            self._work.cancel()

    # ---- pages that look at the bench

    def come(self, told: Told) -> None:
        """A page looks at the bench."""
        self.hand.told.add(told)
        told(self.hand.stands())
        if self.hand.last is not None:
            told(self.hand.last)

    def go(self, told: Told) -> None:
        """It looks away; what it dragged and never let go stands where it stood."""
        self.hand.told.discard(told)
        if self.hand.last is not None and not self.hand.last["certified"]:
            self.hand.ask({"do": "look"})

    def hear(self, job: Mapping[str, Any], told: Told) -> None:
        """Something to be done on the bench; what is nothing that can be done is answered so."""
        if not _is_job(job):
            told({"say": "refused", "words": "this is nothing that can be done here.", "path": None})
            return
        self.hand.ask(job)

    # ---- questions

    def asked(self, what: str, table: Mapping[str, Any]) -> Mapping[str, Any]:
        """The answer to a question. Raises ClearanceError for what cannot be, KeyError for no question."""
        questions = {
            "files": self._files,
            "open": self._open,
            "shipped": self._shipped,
            "take": self._take,
            "sheets": self._sheets,
            "sheet": self._sheet,
            "letter": self._letter,
            "near": self._near,
            "other": self._other,
            "made": self._made,
            "shapes": self._shapes,
            "beside": self._beside,
            **self.scans.questions(),
        }
        return questions[what](table)

    def _sheets(self, _: Mapping[str, Any]) -> Mapping[str, Any]:
        return self.sheets.offered()

    def _sheet(self, table: Mapping[str, Any]) -> Mapping[str, Any]:
        words = {key: _text(table, key) for key in table}
        with self.sheets.lock:
            return self.sheets.begun(words)

    def _letter(self, table: Mapping[str, Any]) -> Mapping[str, Any]:
        with self.sheets.lock:
            sheet = self.sheets.on()
            letter = _text(table, "letter")
            if "text" not in table:
                return sheet.turned_to(letter)
            return sheet.answered(letter, _text(table, "text"), _text(table, "sent"))

    def _near(self, table: Mapping[str, Any]) -> Mapping[str, Any]:
        with self.sheets.lock:
            return self.sheets.on().near(_text(table, "letters"))

    def _other(self, table: Mapping[str, Any]) -> Mapping[str, Any]:
        with self.sheets.lock:
            return self.sheets.on().of_other(_text(table, "letter"), _text(table, "text"))

    def photographed(self, letter: str, content: bytes) -> Mapping[str, Any]:
        """A photo beside a letter of the sheet that is filled. Raises InputError."""
        with self.sheets.lock:
            return self.sheets.on().photographed(_text({"letter": letter}, "letter"), content)

    def photo(self, name: str) -> bytes:
        """A photo of this folder. Raises InputError or FileError for what is none."""
        return self.folder.content(name, PHOTOS, MOST_PHOTO)

    def _made(self, _: Mapping[str, Any]) -> Mapping[str, Any]:
        with self.sheets.lock:
            name = self.sheets.on().made()
        self._lay(name, self.folder.text(name))
        return {"opened": name}

    def _files(self, _: Mapping[str, Any]) -> Mapping[str, Any]:
        return {"files": self.folder.names(), "shipped": offered(), "takings": self.takings.offered(self.hand.sitting)}

    def _shipped(self, table: Mapping[str, Any]) -> Mapping[str, Any]:
        """A car that comes along, copied into the folder and laid on the bench."""
        laid_out(_text(table, "name"), self.folder)
        return self._open(table)

    def _open(self, table: Mapping[str, Any]) -> Mapping[str, Any]:
        name = _text(table, "name")
        self._lay(name, self.folder.text(name))
        return {"opened": name}

    def handed_in(self, name: str, content: bytes) -> Mapping[str, Any]:
        """A file from elsewhere: it lies on the bench, and is in the folder only when it is saved."""
        place = self.folder.file(name)
        try:
            text = content.decode("utf-8-sig")
        except UnicodeDecodeError:
            raise clearance.InputError(
                f"{echoed(name)} is not UTF-8 text. Save it as UTF-8 from your editor."
            ) from None
        self._lay(place.name, text, is_new=True)
        return {"opened": place.name}

    def _lay(self, name: str, text: str, *, is_new: bool = False) -> None:
        """Another file on the bench, everything that it names inside this folder."""
        hold_inside(text, self.folder.place)
        bench = clearance.on_bench(text, self.folder.file(name))
        sitting = Sitting(folder=self.folder, name=name, bench=bench, as_read="" if is_new else text)
        self.hand.ask({"do": "lay", "sitting": sitting})

    def _shapes(self, table: Mapping[str, Any]) -> Mapping[str, Any]:
        if self.hand.sitting is None:
            raise clearance.InputError("nothing is on the bench yet.")
        return self.hand.sitting.shapes({name: _text(table, name) for name in table})

    def _beside(self, table: Mapping[str, Any]) -> Mapping[str, Any]:
        columns = int(table.get("columns", MOST_COLUMNS))
        if not 0 < columns <= MOST_COLUMNS:
            columns = MOST_COLUMNS
        if self.hand.sitting is None:
            raise clearance.InputError("nothing is on the bench yet.")
        return beside(self.hand.sitting, columns, self.hand.leave)

    def _take(self, table: Mapping[str, Any]) -> Mapping[str, Any]:
        if self.hand.sitting is None:
            raise clearance.InputError("nothing is on the bench yet.")
        return self.takings.made(_text(table, "kind"), self.hand.sitting, self.hand.leave)

    def taken(self, kind: str, name: str, of: str) -> bytes | None:
        """A file of what was made last; None where there is none, or another by now."""
        return self.takings.file(kind, name, of)


def _text(table: Mapping[str, Any], key: str) -> str:
    text = table[key]
    if not isinstance(text, str) or len(text) > MOST_TEXT or not text.isprintable():
        raise clearance.InputError("write one line of text.")
    return text


def _is_job(job: Mapping[str, Any]) -> bool:
    """Whether this is something that the bench can do, every part of it of its kind."""
    does = job.get("do")
    needed, may = _JOBS.get(does, ((), None)) if isinstance(does, str) else ((), None)
    if may is None or not set(needed) <= set(job) - {"do"} <= {*needed, *may}:
        return False
    return all(_FITS[key](value) for key, value in job.items() if key != "do")


def _is_path(path: Any) -> bool:
    return isinstance(path, list) and 2 <= len(path) <= 3 and all(_is_text(step) for step in path)


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < 1e6


def _is_text(text: Any) -> bool:
    return isinstance(text, str) and len(text) <= MOST_TEXT and text.isprintable()


_FITS: Mapping[str, Callable[[Any], bool]] = {
    "on": _is_text,
    "path": _is_path,
    "value": _is_number,
    "text": _is_text,
    "part": _is_text,
    "bump": _is_number,
    "other": _is_number,
    "steer": _is_number,
}


def hold_inside(text: str, folder: Path) -> None:
    """Refuse a text that names a file outside of the folder. Raises InputError.

    What somebody opened on the command line may name what it likes; what came by the page may not.
    """
    try:
        tables = opener.toml_tables(text)
    except opener.NotToml as wrong:
        raise clearance.InputError(f"line {wrong.line}: {wrong.words}") from None
    for word in _words_in(tables):
        if _LEADS_OUT.search(word) or _is_link_out(word, folder):
            raise clearance.InputError(
                f"{echoed(word)} leads out of the folder that the page was opened on. Put the file beside this one."
            )


def _words_in(value: Any) -> list[str]:
    if isinstance(value, dict):
        return [word for key, one in value.items() if key not in ("title", "name") for word in _words_in(one)]
    if isinstance(value, list):
        return [word for one in value for word in _words_in(one)]
    return [value] if isinstance(value, str) else []


def _is_link_out(word: str, folder: Path) -> bool:
    try:
        place = (folder / word).resolve()
    except (OSError, ValueError, RuntimeError):
        return False
    return not place.is_relative_to(folder)
