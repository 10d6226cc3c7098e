"""The measuring sheet on the page: one letter at a time, kept in its file after every answer.

* draft - the filled sheet as CSV beside the corner file to come, as `clearance new` keeps it: either goes on with the
          other's. So a phone that is locked, a line that is lost and a server that is ended cost nothing
"""

from __future__ import annotations

from dataclasses import dataclass, field
from threading import Lock
from typing import Any

from clearance_cli.page.folder import PHOTOS, Folder, sum_of
from clearance_cli.page.gate import MOST_PHOTO
from clearance_cli.page.photos import MOST_OF_A_LETTER, name_of, written_anew

import clearance
from clearance.plain import MOST_TITLE, is_one_line

_DRAFT = ".answers.csv"


@dataclass(kw_only=True)
class Sheet:
    """One sheet on its way."""

    folder: Folder
    measuring: clearance.Measuring
    name: str
    """Of the corner file to come."""
    kept: str = ""
    """The sum of the draft as it was written last; empty where none is yet."""
    at: str = ""
    """The letter that is open; empty at the end."""
    other: Any = None
    """The other side of the axle, once somebody said that it was measured."""
    alone: bool = False
    """Somebody said that it was not."""
    last: tuple[str, dict[str, Any]] = ("", {})
    """What the last answer was sent as, and what it was told."""

    @property
    def draft(self) -> str:
        """The file that keeps it."""
        return f"{self.name.removesuffix('.toml')}{_DRAFT}"

    def facts(self, said: list[str] | None = None, does: str = "") -> dict[str, Any]:
        """As the page shows it."""
        rows = self.measuring.rows()
        nearby = () if self.at else self.measuring.interview.nearby()
        return {
            "file": self.name,
            "words": self.measuring.form.words,
            "at": self.at,
            "letters": rows,
            "said": [line.strip() for line in said or []],
            "does": does,
            "near": [{"letter": one.letter, "name": one.name.partition(":")[0]} for one in nearby],
            "picture": self.measuring.picture(self.at) if self.at else "",
            "cautions": list(self.measuring.cautions),
            "photos": self.photos(self.at) if self.at else [],
            **self._other_facts(),
        }

    def photos(self, letter: str) -> list[str]:
        """The files beside the answers that have a photo of this letter."""
        wanted = [name_of(self.draft, letter, number + 1) for number in range(MOST_OF_A_LETTER)]
        return [name for name in wanted if self.folder.file(name, PHOTOS).is_file()]

    def photographed(self, letter: str, content: bytes) -> dict[str, Any]:
        """One more photo of a letter. Raises InputError for no letter, no photo, and where there are enough."""
        if letter not in [row["letter"] for row in self.measuring.rows()]:
            raise clearance.InputError("there is no such letter here.")
        there = self.photos(letter)
        if len(there) >= MOST_OF_A_LETTER:
            raise clearance.InputError(f"{letter} has {MOST_OF_A_LETTER} photos. Take one out of the folder first.")
        names = [name_of(self.draft, letter, number + 1) for number in range(MOST_OF_A_LETTER)]
        name = next(one for one in names if one not in there)
        self.folder.add(name, written_anew(content), PHOTOS, MOST_PHOTO)
        return self.facts()

    def _other_facts(self) -> dict[str, Any]:
        """The letter of the other side that is open; or whether that side is still to be asked about."""
        here = self.other or self.measuring.other_side()
        letter = None if self.other is None else here.letter()
        return {
            "other": None if letter is None else here.facts(),
            "other_asked": self.alone or self.other is not None or not here.letters(),
        }

    def of_other(self, letter: str, text: str) -> dict[str, Any]:
        """The other side: "yes" or "no" before it is asked, then its letters one by one; nothing is not measured."""
        if self.other is None:
            self.other = self.measuring.other_side() if text == "yes" else None
            self.alone = text != "yes"
            return self.facts()
        there = self.other.letter()
        if there is None or there.letter != letter:
            # sent twice, or by another page: what is open now is shown
            return self.facts()
        wrong = self.other.answered(text)
        self.keep()
        return self.facts([wrong] if wrong else [], "again" if wrong else "on")

    def keep(self) -> None:
        """Write the draft. Raises InputError where somebody else has changed it."""
        content = self.measuring.kept()
        self.folder.write(self.draft, content, over=self.kept)
        self.kept = sum_of(content)

    def answered(self, letter: str, text: str, sent: str) -> dict[str, Any]:
        """One answer; the next letter is open where it was taken.

        One that is sent twice, because the line was lost before it was told, is taken once: a doubt about it would
        count as read.
        """
        if sent and sent == self.last[0]:
            return self.last[1]
        does, said = self.measuring.asked(letter, text)
        self.keep()
        if does == "on":
            self.at = self._open_letter()
        else:
            self.at = letter
        self.last = (sent, self.facts(said, does))
        return self.last[1]

    def _open_letter(self) -> str:
        found = self.measuring.interview.letter()
        return found.letter if found else ""

    def turned_to(self, letter: str) -> dict[str, Any]:
        """Another letter, to be answered again."""
        self.measuring.picture(letter)
        self.at = letter
        return self.facts()

    def near(self, letters: str) -> dict[str, Any]:
        """What else stands near; then those letters are asked."""
        wrong = self.measuring.interview.name_near(letters)
        self.at = self._open_letter()
        return self.facts([wrong] if wrong else [])

    def made(self) -> str:
        """Write the corner file, and give its name. Raises InputError for what lacks or cannot be."""
        files, _ = clearance.corner_files(self.measuring, self.folder.file(self.name))
        self.folder.write_set(files, over={self.draft: self.kept})
        self.kept = sum_of(files[self.draft])
        return self.name


@dataclass(kw_only=True)
class Sheets:
    """The sheet that is on the bench, whoever fills it."""

    folder: Folder
    sheet: Sheet | None = None
    lock: Lock = field(default_factory=Lock)

    def offered(self) -> dict[str, Any]:
        """What a sheet can be of, and those that were begun."""
        return {
            "carriers": clearance.carriers(),
            "depths": clearance.depths(),
            "units": ["in", "mm", "cm"],
            "corners": ["front-left", "front-right", "rear-left", "rear-right"],
            "drafts": self.folder.drafts(_DRAFT),
            "sheet": None if self.sheet is None else self.sheet.facts(),
        }

    def begun(self, table: dict[str, str]) -> dict[str, Any]:
        """A new sheet, or one that was begun. Raises InputError for what is none."""
        name = table["name"] if table["name"].endswith(".toml") else f"{table['name']}.toml"
        place = self.folder.file(name)
        draft = self.folder.file(f"{name.removesuffix('.toml')}{_DRAFT}")
        if draft.exists():
            self.sheet = Sheet(
                folder=self.folder,
                measuring=clearance.measuring(filled=draft, unit=table.get("unit", "")),
                name=name,
                kept=sum_of(self.folder.content(draft.name)),
            )
        else:
            self.sheet = self._new(table, name, taken=place.exists())
        self.sheet.at = self._first_open(self.sheet)
        return self.sheet.facts()

    def _new(self, table: dict[str, str], name: str, *, taken: bool) -> Sheet:
        if taken:
            raise clearance.InputError(f"{name} is there already. Give this corner another name.")
        title = table["title"].strip() or "unnamed corner"
        if not is_one_line(title, MOST_TITLE):
            raise clearance.InputError(f"a title is one line of at most {MOST_TITLE} letters.")
        if table["corner"] not in self.offered()["corners"]:
            raise clearance.InputError("say which corner of the car it is.")
        measuring = clearance.measuring(
            f"{table['carrier']} {table['depth']}", title=title, corner=table["corner"], unit=table["unit"]
        )
        sheet = Sheet(folder=self.folder, measuring=measuring, name=name)
        sheet.keep()
        return sheet

    def _first_open(self, sheet: Sheet) -> str:
        """The first letter without an answer; those that were left out are asked once more."""
        rows = sheet.measuring.rows()
        place = next((k for k, row in enumerate(rows) if not row["answer"]), len(rows))
        sheet.measuring.interview.place = place
        return str(rows[place]["letter"]) if place < len(rows) else ""

    def on(self) -> Sheet:
        """The sheet that is filled. Raises InputError where none is."""
        if self.sheet is None:
            raise clearance.InputError("no sheet is begun. Begin one first.")
        return self.sheet
