"""Runs the pages of docs/tutorial and docs/how-to as their reader would, and writes what was printed beneath.

    python docs/run_pages.py                     runs every page and writes it anew; `make docs` runs it
    python docs/run_pages.py --check PAGE...     says which pages would change, and writes nothing

Each page is read from top to bottom in an empty folder of its own:

* toml whose first line is `# NAME.toml` is saved under that name; `# in NAME.toml` puts its keys into that file
* sh and console are given to the shell, python to Python; what they print stands in a `text` fence beneath, as a
  terminal of 86 columns shows it
* a remark on the line above says what the reader need not see: `<!-- given FILE -->` lays a file of this project
  into the folder; `<!-- show lines 3 to 5 -->` and `<!-- show last 2 -->` cut what was printed, `<!-- show nothing -->`
  all of it; `<!-- exit 2 -->` is a command that must refuse
* a picture is made where its remark says of what: `<!-- section of NAME.toml -->` is the section picture of a check,
  `<!-- from FILE -->` a file that the page's commands wrote; either is made as soon as its file is there
"""

from __future__ import annotations

import argparse
import difflib
import os
import re
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import clearance
from clearance.words.fold import folded

DOCS = Path(__file__).resolve().parent
COLUMNS = 86
ANSWERS = (0, 1, 3)
"""Exit codes of an answer: clears, does not, undecided."""

_PIECE = re.compile(
    r"(?:^<!-- (?P<said>[^\n]+) -->\n)?"
    r"(?:^```(?P<kind>sh|console|python|toml)\n(?P<text>.*?)^```\n(?:\n```text\n(?P<shown>.*?)^```\n)?"
    r"|^!\[[^\]]*\]\((?P<picture>[^)]+)\)\n)",
    re.DOTALL | re.MULTILINE,
)


class PageError(Exception):
    """A page whose commands do not do what it says."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A page as it should be, and the pictures beside it."""

    page: Path
    text: str
    pictures: dict[Path, bytes] = field(default_factory=dict)

    def differs(self) -> list[str]:
        """What is otherwise on the disk, as lines of a diff; nothing where page and pictures are as they should be."""
        old = self.page.read_text(encoding="utf-8")
        name = self.page.name
        lines = list(difflib.unified_diff(old.splitlines(), self.text.splitlines(), name, f"{name} now", "", "", 1, ""))
        same = {place: place.is_file() and place.read_bytes() == content for place, content in self.pictures.items()}
        return lines + [f"{place.name} would be another picture" for place, is_same in same.items() if not is_same]

    def write(self) -> None:
        """Puts page and pictures on the disk."""
        self.page.write_text(self.text, encoding="utf-8")
        for place, content in self.pictures.items():
            place.parent.mkdir(exist_ok=True)
            place.write_bytes(content)


def pages() -> list[Path]:
    """Every page that is run, in the order of their names."""
    return [page for part in ("tutorial", "how-to") for page in sorted((DOCS / part).glob("*.md"))]


def made(page: Path) -> Made:
    """The page with what its commands print now. Raises PageError where one of them fails."""
    with tempfile.TemporaryDirectory() as folder:
        reader = Reader(page=page, folder=Path(folder))
        text = _PIECE.sub(reader.turned, page.read_text(encoding="utf-8"))
    if reader.wanted:
        raise PageError(f"{page.name}: nothing makes {', '.join(place.name for place in reader.wanted)}")
    return Made(page=page, text=text, pictures=reader.pictures)


@dataclass(slots=True, kw_only=True)
class Reader:
    """Somebody who does what one page says, in an empty folder."""

    page: Path
    folder: Path
    pictures: dict[Path, bytes] = field(default_factory=dict)
    wanted: dict[Path, tuple[str, str]] = field(default_factory=dict)
    """Pictures whose file is not there yet: "section" or "from", and its name."""

    def turned(self, piece: re.Match[str]) -> str:
        """A fence or a picture, done, with what was printed beneath."""
        said, kind = piece["said"] or "", piece["kind"]
        if given := re.search(r"given (\S+)", said):
            shutil.copy(DOCS.parent / given[1], self.folder)
        if kind is None:
            self._ask_for(said, self.page.parent / piece["picture"])
        elif kind == "toml":
            self._save(piece["text"])
        printed = _shown(self._run(kind, piece["text"], said), said) if kind in ("sh", "console", "python") else ""
        self._draw()
        if kind in (None, "toml"):
            return piece[0]
        fence = piece[0].partition("\n\n```text\n")[0] if piece["shown"] is not None else piece[0].rstrip("\n")
        return fence + (f"\n\n```text\n{printed}```\n" if printed else "\n")

    def _run(self, kind: str, text: str, said: str) -> str:
        if kind == "console":
            text = re.sub(r"^\$ ", "", text, flags=re.MULTILINE)
        words = [sys.executable, "-"] if kind == "python" else ["sh", "-e", "-s"]
        path = os.pathsep.join([str(Path(sys.executable).parent), os.environ.get("PATH", "")])
        done = subprocess.run(
            words,
            input=text,
            cwd=self.folder,
            env={**os.environ, "PATH": path, "OPENBLAS_NUM_THREADS": "1"},
            capture_output=True,
            text=True,
            check=False,
        )
        asked = re.search(r"exit (\d)", said)
        if done.returncode not in ((int(asked[1]),) if asked else ANSWERS):
            raise PageError(f"{self.page.name}: exit code {done.returncode} of\n{text}{done.stdout}{done.stderr}")
        printed = done.stderr if asked else done.stdout
        return printed.rstrip()

    def _save(self, text: str) -> None:
        head, _, body = text.partition("\n")
        if named := re.fullmatch(r"# (\S+\.toml)", head):
            (self.folder / named[1]).write_text(body, encoding="utf-8")
        elif named := re.fullmatch(r"# in (\S+\.toml)", head):
            place = self.folder / named[1]
            place.write_text(put_in(place.read_text(encoding="utf-8"), body), encoding="utf-8")
        else:
            raise PageError(f"{self.page.name}: which file is this? Its first line is {head!r}.")

    def _ask_for(self, said: str, place: Path) -> None:
        if asked := re.search(r"(section of|from) (\S+)", said):
            self.wanted[place] = (asked[1], asked[2])

    def _draw(self) -> None:
        """Every picture whose file is there by now."""
        for place, (how, name) in list(self.wanted.items()):
            file = self.folder / name
            if file.is_file():
                section = how == "section of"
                content = clearance.check(clearance.load(file)).pictures()[0].encode() if section else file.read_bytes()
                self.pictures[place] = content
                del self.wanted[place]


def put_in(text: str, more: str) -> str:
    """A corner file with these keys in it, or otherwise; a part that it has not comes at its end."""
    file = clearance.Document(text)
    tables: dict[str, Any] = dict(clearance.Document(more).tables())
    parts = tables.pop("part", [])
    has = {part["name"] for part in file.tables().get("part", [])}
    new = {name: table for name, table in tables.items() if name not in file.tables()}
    changes: dict[Any, Any] = {
        (name, key): value for name, table in tables.items() if name not in new for key, value in table.items()
    }
    changes |= {
        ("part", part["name"], key): value
        for part in parts
        if part["name"] in has
        for key, value in part.items()
        if key != "name"
    }
    file = file.changed(changes) if changes else file
    for part in parts:
        file = file if part["name"] in has else file.with_part(part)
    sections = [section for section in re.split(r"^(?=\[)", more, flags=re.MULTILINE) if _is_of(section, new)]
    return "\n".join([file.text, *sections])


def _is_of(section: str, names: dict[str, Any]) -> bool:
    head = re.match(r"\[([\w-]+)\]", section)
    return bool(head) and head[1] in names


def _shown(printed: str, said: str) -> str:
    """What is shown of it: all, nothing, or some lines with dots for the others; folded."""
    if "show nothing" in said:
        return ""
    lines = printed.splitlines()
    if some := re.search(r"show lines (\d+) to (\d+)", said):
        low, high = int(some[1]) - 1, int(some[2])
        lines = [*["..."][: low > 0], *lines[low:high], *["..."][: high < len(lines)]]
    elif some := re.search(r"show last (\d+)", said):
        lines = ["..."[: 3 * (int(some[1]) < len(lines))], *lines[-int(some[1]) :]]
    return "".join(f"{line.rstrip()}\n" for line in folded("\n".join(lines), COLUMNS).splitlines())


def main() -> int:
    """Runs the pages named, or all. Gives 1 where `--check` finds one that would change."""
    asked = argparse.ArgumentParser(description="Run the pages of docs/tutorial and docs/how-to.")
    asked.add_argument("--check", action="store_true", help="write nothing; say what would change")
    asked.add_argument("page", nargs="*", type=Path, help="pages; all where none is named")
    words = asked.parse_args()
    found = 0
    for page in words.page or pages():
        now = made(page.resolve())
        differs = now.differs()
        found |= bool(differs)
        if differs and words.check:
            print("\n".join(differs))
        elif differs:
            now.write()
            print(f"{page.name}: written")
    return found if words.check else 0


if __name__ == "__main__":
    sys.exit(main())
