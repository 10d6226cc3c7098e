"""The scan that is on the bench: handed in, picked on, placed and laid into the corner.

* step    - each thing that is said of a scan is one; it can be taken back and done again
* told    - every page is told that something was said, and asks for what stands then
* version - counts the steps: a page that has not seen the newest neither takes it back nor lays it on

The scan lies in the folder as it came, once it was read to its end. What is picked is kept beside it after every step;
what is laid on stands in the corner file.
"""

from __future__ import annotations

import shlex
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from threading import Lock
from typing import Any

from clearance_cli.page.folder import MESHES, Folder, sum_of
from clearance_cli.page.gate import MOST_SCAN
from clearance_cli.page.picks import ENDING, SAID, Kept, begun_here, three
from clearance_cli.page.sitting import Hand, Measured, Sitting

import clearance
from clearance import opener
from clearance.plain import echoed, is_one_line

MOST_STEPS = 200
MOST_NAME = 60
MOST_WORD = 60
CLOUDS = (".xyz", ".csv", ".txt", ".pts", ".asc")
"""Files of points alone."""
Table = Mapping[str, Any]


@dataclass(kw_only=True)
class Scans:
    """The one scan."""

    folder: Folder
    hand: Hand
    name: str = ""
    scan: clearance.ScanOnBench | None = None
    number: int = 0
    """Which one it is since the server began: a page draws anew where it is another."""
    version: int = 0
    picked: clearance.Picked = field(default_factory=clearance.Picked)
    kept: Kept = field(init=False)
    back: list[clearance.Picked] = field(default_factory=list)
    ahead: list[clearance.Picked] = field(default_factory=list)
    units: tuple[tuple[int, float | None], list[dict[str, Any]]] = ((0, None), [])
    """The pictures in every unit, and of which scan beside which tire."""
    measured: Measured | None = None
    """The answer that was asked last, of the corner with the scan in it."""
    lock: Lock = field(default_factory=Lock)

    def __post_init__(self) -> None:
        self.kept = Kept(folder=self.folder)

    def questions(self) -> dict[str, Callable[[Table], Table]]:
        """By name."""
        found = {
            "scan": self._facts,
            "scan/open": self._open,
            "scan/pick": self._pick,
            "scan/unpick": self._unpick,
            "scan/brush": self._brush,
            "scan/say": self._say,
            "scan/undo": lambda _: self._walk(self.back, self.ahead),
            "scan/redo": lambda _: self._walk(self.ahead, self.back),
            "scan/stands": self._stands,
            "scan/answer": self._answer,
            "scan/lay": self._lay,
        }
        return {name: self._alone(question) for name, question in found.items()}

    def _alone(self, question: Callable[[Table], Table]) -> Callable[[Table], Table]:
        def asked(table: Table) -> Table:
            with self.lock:
                self._refuse_old(table)
                return question(table)

        return asked

    def _refuse_old(self, table: Table) -> None:
        """What a page says of another scan, or of picks that it has not seen, does not count; InputError says so."""
        if table.get("scan", self.number) != self.number:
            raise clearance.InputError("another scan was opened in the meantime, so that was left. Do it again.")
        if table.get("version", self.version) != self.version:
            raise clearance.InputError(
                "something was picked on another page in the meantime, so that was left. Look at it, and do it again."
            )

    # ---- the scan itself

    def handed_in(self, name: str, content: bytes) -> Table:
        """A scan from elsewhere: read to its end first, and only then written. Raises InputError or MeshError."""
        _refuse_cloud(name)
        place = self.folder.file(name, MESHES)
        with self.lock:
            found = clearance.scan_on_bench(content, place)
            self.folder.add(name, content, MESHES, MOST_SCAN)
            return self._taken(name, found, content)

    def _open(self, table: Table) -> Table:
        name = _word(table, "name", 120)
        content = self.folder.content(name, MESHES, MOST_SCAN)
        return self._taken(name, clearance.scan_on_bench(content, self.folder.file(name, MESHES)), content)

    def _taken(self, name: str, scan: clearance.ScanOnBench, content: bytes) -> Table:
        self.name, self.scan, self.number, self.version = name, scan, self.number + 1, self.version + 1
        self.kept = Kept(folder=self.folder, name=f"{name}{ENDING}", scan_sum=sum_of(content), pieces=scan.pieces)
        fresh = clearance.Picked(side=self._side())
        before = self.kept.begun()
        self.picked, self.back = (fresh, []) if before is None else (before, [fresh])
        self.ahead, self.measured = [], None
        self._tell()
        return self._facts({})

    def on(self) -> clearance.ScanOnBench:
        """The scan. Raises InputError where there is none."""
        if self.scan is None:
            raise clearance.InputError("no scan is on the bench. Bring one first.")
        return self.scan

    def drawing(self) -> bytes:
        """What is drawn of it. Raises InputError where there is none."""
        return self.on().drawing()

    # ---- what is said of it

    def _step(self, picked: clearance.Picked) -> Table:
        if picked != self.picked:
            self.kept.write(picked)
            self.back = [*self.back, self.picked][-MOST_STEPS:]
            self.ahead, self.picked, self.measured, self.version = [], picked, None, self.version + 1
            self._tell()
        return self._facts({})

    def _walk(self, of: list[clearance.Picked], onto: list[clearance.Picked]) -> Table:
        if of:
            self.kept.write(of[-1])
            onto.append(self.picked)
            self.picked, self.measured, self.version = of.pop(), None, self.version + 1
            self._tell()
        return self._facts({})

    def _pick(self, table: Table) -> Table:
        point, _ = self._clicked(table)
        return self._step(self.picked.with_point(_word(table, "group"), point))

    def _unpick(self, table: Table) -> Table:
        return self._step(self.picked.without_point(_word(table, "group"), int(table["number"])))

    def _brush(self, table: Table) -> Table:
        point, piece = self._clicked(table)
        return self._step(self.picked.without_piece(piece, point))

    def _clicked(self, table: Table) -> tuple[list[float], int]:
        gone = {piece for piece, _ in self.picked.gone}
        return self.on().point(three(table["start"]), three(table["way"]), gone | set(self._small()))

    def _say(self, table: Table) -> Table:
        self.on()
        return self._step(self.picked.said(_word(table, "key"), _word(table, "text")))

    def _small(self) -> list[int]:
        """The pieces that are left out by their size, as far as the unit is known."""
        mm, stray_mm = self.picked.mm_per_unit, self.picked.stray_mm
        return self.on().smaller_than(stray_mm / mm) if mm and stray_mm else []

    # ---- as a page shows it

    def _facts(self, _: Table) -> Table:
        here: dict[str, Any] = {
            "say": "scan",
            "files": self.folder.of_kind(MESHES),
            "begun": begun_here(self.folder, self.folder.of_kind(MESHES)),
            "number": self.number,
            "version": self.version,
            "corner": self._on_bench(),
            "on": "" if self.hand.sitting is None else self.hand.sitting.on,
        }
        return here if self.scan is None else {**here, **self._of_scan(self.scan)}

    def _of_scan(self, scan: clearance.ScanOnBench) -> dict[str, Any]:
        picked, tire_mm = self.picked, self._tire_mm()
        mm = picked.mm_per_unit
        return {
            "file": self.name,
            "triangles": len(scan.mesh.faces),
            "pieces": scan.pieces,
            "middle": [float(value) for value in scan.middle],
            "size": [float(value) for value in scan.raw.size],
            "drawn": len(scan.seen.faces),
            "off": scan.drawn_words(mm),
            "notes": [*scan.notes, *([self.kept.note] if self.kept.note else [])],
            "units": self._units(scan, tire_mm),
            "tire": scan.tire_beside(mm, tire_mm) if mm else [],
            "picked": {key: getattr(picked, key) for key in SAID},
            "points": {
                group: picked.of(group) for group in ("hub", "face", "bolt_holes", "ground", "up", "ahead", "scale")
            },
            "gone": sorted({piece for piece, _ in picked.gone} | set(self._small())),
            "brushed": len(picked.gone),
            "lacks": picked.lacks(),
            "undo": len(self.back),
            "redo": len(self.ahead),
        }

    def _units(self, scan: clearance.ScanOnBench, tire_mm: float | None) -> list[dict[str, Any]]:
        if self.units[0] != (self.number, tire_mm):
            self.units = (self.number, tire_mm), scan.units(tire_mm)
        return self.units[1]

    def _stands(self, _: Table) -> Table:
        found = self.on().standing(self.picked, self._tire_mm())
        return {
            "words": found.words(self._first()),
            "residuals": found.residual_words(),
            "rings": found.rings(),
            "doubts": len(found.told["doubts"]),
        }

    def _answer(self, table: Table) -> Table:
        """The corner with the scan in it, measured; the bench stays as it is."""
        sitting = self._sitting()
        bench, stands, name = self._with_scan(sitting, table)
        bench, answer = bench.measured(progress=self.hand.leave)
        self.measured = Measured(text=bench.text, corner=bench.corner, answer=answer)
        gaps = [gap for gap in answer.value.gaps if gap.part == name]
        return {"bands": [clearance.gap_band(gap, stands.placed.uncertainty_mm, self._first()) for gap in gaps]}

    def _lay(self, table: Table) -> Table:
        sitting = self._sitting()
        bench, _, name = self._with_scan(sitting, table)
        known = self.measured if self.measured is not None and self.measured.text == bench.text else None
        self.hand.ask({"do": "put", "on": sitting.on, "bench": bench, "was": sitting.bench.text, "measured": known})
        return {"laid": name, "also": like_it(bench.text, bench.corner), "command": self._command(sitting, name)}

    def _with_scan(self, sitting: Sitting, table: Table) -> tuple[clearance.Bench, clearance.Standing, str]:
        name = _word(table, "name", MOST_NAME).strip() or "scanned well"
        bench, stands = self.on().laid(sitting.bench, self.picked, name)
        return bench, stands, name

    def _command(self, sitting: Sitting, name: str) -> str:
        """What does the same on the command line, as far as it has an option for it."""
        picked = self.picked
        words = ["clearance", "scan", self.name]
        words += ["--unit", picked.unit] if picked.unit else []
        words += ["--scale", picked.scale_text] if picked.scale_text else []
        words += ["--place", picked.place_text, "--into", sitting.name, "--name", name]
        words += ["--corner", sitting.bench.corner] if len(sitting.bench.corners) > 1 else []
        return shlex.join(words)

    # ---- the corner that it is for

    def _sitting(self) -> Sitting:
        if self.hand.sitting is None:
            raise clearance.InputError(
                "a scan is laid into a corner. Open or measure the corner first; the scan waits here."
            )
        return self.hand.sitting

    def _on_bench(self) -> str:
        """The file, and which corner of a car."""
        if self.hand.sitting is None:
            return ""
        name, bench = self.hand.sitting.name, self.hand.sitting.bench
        return f"{bench.corner.replace('-', ' ')} of {name}" if len(bench.corners) > 1 else name

    def _tire_mm(self) -> float | None:
        return None if self.hand.sitting is None else self.hand.sitting.bench.mockup.tire.overall_diameter_mm

    def _side(self) -> str:
        return "right" if self.hand.sitting is not None and self.hand.sitting.bench.mockup.right_hand else "left"

    def _first(self) -> str:
        return "mm" if self.hand.sitting is None else self.hand.sitting.bench.mockup.units

    def _tell(self) -> None:
        self.hand.tell({"say": "scan"})


def like_it(text: str, corner: str) -> list[str]:
    """The other corners of a car that its file says are like this one, straight or by way of another."""
    corners = opener.toml_tables(text).get("corner")
    found = [corner]
    for of in found:
        tables = corners.items() if isinstance(corners, Mapping) else ()
        found += [name for name, table in tables if table.get("like") == of and name not in found]
    return found[1:]


def _refuse_cloud(name: str) -> None:
    """Files of points alone: what places them is another command. Raises InputError."""
    if name.lower().endswith(CLOUDS):
        raise clearance.InputError(
            f"{echoed(name)}: a cloud of points has no surface to click on. Export it as a mesh, or put it into the"
            f" folder and place it by numbers: {shlex.join(['clearance', 'scan', name])}"
        )


def _word(table: Table, key: str, most: int = MOST_WORD) -> str:
    text = table[key]
    if not isinstance(text, str) or (text and not is_one_line(text, most)):
        raise clearance.InputError("write one line of text.")
    return text
