"""`clearance compare`: before and after, part by part; or left against right of one car."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from clearance_cli.out import Progress, say, show, write_all

if TYPE_CHECKING:
    from clearance.answers.compare import LeftRight, PartChange, Side
    from clearance.mockup.mockup import MockUp


def command(
    before: Annotated[Path, typer.Argument(help="A corner file, or a findings.json.", show_default=False)],
    after: Annotated[Path, typer.Argument(help="Another.", show_default=False)],
    picture: Annotated[Path | None, typer.Option(help="Draw every gap side by side: an .svg file.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """Every part before and after, and what changed.

    Given the left and the right corner of one car, each with [tape] hub_to_spring and hub_to_lip, it also says whether
    the axle stands to one side or a panel is out. Exit code 0: everything clears after; 1: something is tight or hits;
    2: the input is wrong; 3: undecided.
    """

    from clearance.answers.compare import compare
    from clearance.errors import OutputError

    progress = Progress(quiet=as_json)
    progress(0, 2, f"measuring {before.name}")
    first = _Read(before)
    progress(1, 2, f"measuring {after.name}")
    second = _Read(after)
    progress.close()
    rows = compare(first.sides, second.sides)
    sides = _left_right(first, second)
    if picture is not None:
        if picture.suffix.lower() != ".svg":
            raise OutputError(f"{picture}: gaps are drawn as .svg. Write --picture {picture.stem}.svg.")
        write_all(picture.parent, {picture.name: _svg(rows, first.title, second.title)})
    if as_json:
        show(facts(first, second, rows, sides))
    else:
        say(page(first, second, rows, sides))
    return exit_code([side.verdict for side in second.sides.values()])


def exit_code(verdicts: list[str]) -> int:
    """Of what is there after; where nothing was measured, nothing clears."""
    if any(verdict in ("tight", "hits") for verdict in verdicts):
        return 1
    return 0 if verdicts and all(verdict == "clears" for verdict in verdicts) else 3


class _Read:
    """One side: measured from a corner file, or as it stands in findings."""

    def __init__(self, path: Path) -> None:
        from clearance_cli.answer_text import read_corner

        from clearance.answers.checked import gaps_of
        from clearance.answers.compare import sides_of

        self.mockup: MockUp | None = None
        self.sides: dict[str, Side]
        self.warnings: tuple[str, ...]
        if path.suffix.lower() == ".json":
            from clearance.report.findings_file import read_findings

            found = read_findings(path)
            self.title, self.corner, self.sides = found.title, found.corner, dict(found.sides)
            self.warnings = found.warnings
        else:
            self.mockup = read_corner(path)
            self.title, self.corner = self.mockup.title or path.name, self.mockup.corner
            self.warnings = self.mockup.warnings
            self.sides = sides_of(gaps_of(self.mockup), self.mockup.suspension.cycle, right_hand=self.mockup.right_hand)


def _left_right(first: _Read, second: _Read) -> LeftRight | None:
    """Only for the two sides of one axle, each with its tape numbers."""
    from clearance.answers.compare import left_right

    if first.mockup is None or second.mockup is None:
        return None
    ends = {first.corner.split("-")[0], second.corner.split("-")[0]}
    hands = (first.corner.endswith("left"), second.corner.endswith("left"))
    tapes = (first.mockup.terms.tape, second.mockup.terms.tape)
    left, right = tapes if hands[0] else tapes[::-1]
    if len(ends) != 1 or hands[0] == hands[1] or left is None or right is None:
        return None
    return left_right(left, right)


def facts(first: _Read, second: _Read, rows: tuple[PartChange, ...], sides: LeftRight | None) -> dict[str, Any]:
    """Everything that the page says."""

    def side(one: Side | None) -> dict[str, Any] | None:
        if one is None:
            return None
        return {
            "gap": round(one.gap_mm, 3),
            "required": one.required_mm,
            "verdict": one.verdict,
            "position": one.position,
            "where": one.where,
            "tire_region": one.region,
        }

    return {
        "format": "clearance-compare/1",
        "before": {"title": first.title, "corner": first.corner, "warnings": list(first.warnings)},
        "after": {"title": second.title, "corner": second.corner, "warnings": list(second.warnings)},
        "parts": [
            {
                "part": row.part,
                "before": side(row.before),
                "after": side(row.after),
                "change": None if row.change_mm is None else round(row.change_mm, 3),
            }
            for row in rows
        ],
        "left_right": None
        if sides is None
        else {
            "axle_to_left": round(sides.axle_to_left_mm, 2),
            "panel": round(sides.panel_mm, 2),
            "doubt": round(sides.doubt_mm, 2),
            "verdict": sides.verdict,
        },
    }


def page(first: _Read, second: _Read, rows: tuple[PartChange, ...], sides: LeftRight | None) -> str:
    """Part by part, as a fabricator reads it."""
    from clearance.units import both
    from clearance.words.text import table

    body = []
    for row in rows:
        before, after = row.before, row.after
        change = "" if row.change_mm is None else f"{row.change_mm:+.1f} mm"
        now = after or before
        body.append(
            [
                row.part,
                "not there" if before is None else both(before.gap_mm),
                "" if before is None else before.verdict,
                "not there" if after is None else both(after.gap_mm),
                "" if after is None else after.verdict,
                change,
                "" if now is None else f"{now.position}; {now.where}",
            ]
        )
    header = ["part", "before", "", "after", "", "change", "tightest after at"]
    lines = [f"before: {first.title} ({first.corner})", f"after:  {second.title} ({second.corner})", ""]
    for word, one in (("before", first), ("after", second)):
        lines += [line for warning in one.warnings for line in (f"  Note, {word}: {warning}", "")]
    lines.append(table(header, body))
    if sides is not None:
        lines += ["", f"Left against right: {sides.verdict} (to within {sides.doubt_mm:.1f} mm, from the tape)."]
    return "\n".join(lines)


def _svg(rows: tuple[PartChange, ...], before: str, after: str) -> bytes:
    from clearance.answers.compare_picture import picture_of
    from clearance.export.svg import sheet

    return sheet(picture_of(rows, before, after), title="before and after")
