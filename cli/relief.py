"""`clearance relief`: how far each part must move, and which way; what to take off a scan."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from clearance_cli.out import Progress, say, show, write_all

if TYPE_CHECKING:
    from clearance.answers.relief import Relief, ReliefMap
    from clearance.mockup.mockup import MockUp


def command(
    file: Annotated[Path, typer.Argument(help="The corner file.", show_default=False)],
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", "-o", help="Folder for maps of what to take off (PLY, GLB, STL, CSV) and the proposed tub (STL)."
        ),
    ] = None,
    part: Annotated[
        list[str] | None,
        typer.Option("--map", help="Also map this part, corner by corner of its mesh; repeat for more."),
    ] = None,
    slack: Annotated[str, typer.Option(help="How far outside the truth the proposed tub may lie.")] = "1 mm",
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """How far each part that is under its required gap must move, and which way.

    Each move is the least, to 0.1 mm, after which that part clears over the whole cycle. Scans are mapped in mm to take
    off. With --out: the maps, and the surface that a new tub must stay outside of: the envelope grown by the required
    gap. Exit code 0: nothing to do; 1: something must move.
    """
    from clearance_cli.answer_text import length_option, read_corner

    from clearance.answers.relief import map_of, relief
    from clearance.facts.relief import facts
    from clearance.words.relief import page

    mockup = read_corner(file)
    slack_mm = length_option(slack, "--slack") or 1.0
    progress = Progress(quiet=as_json)
    found = relief(mockup, progress=progress)
    wanted = [one.before.part for one in found if one.kind == "mesh"] + list(part or ())
    maps = [map_of(mockup, name) for name in dict.fromkeys(wanted)]
    files = [] if out is None else _write(out, mockup, found, maps, slack_mm, progress)
    progress.close()
    if as_json:
        show(facts(mockup, found, maps, files))
    else:
        say(page(mockup, found, maps, out, files))
    return 1 if found else 0


def _write(
    out: Path, mockup: MockUp, found: Sequence[Relief], maps: Sequence[ReliefMap], slack_mm: float, progress: Any
) -> list[str]:
    """The maps, and the proposed tub where something must move; names of the files."""

    from clearance.export.relief import csv, glb, ply, stl, tub
    from clearance.plain import file_names

    files: dict[str, bytes] = {}
    stems = file_names(one.part for one in maps)
    for one in maps:
        name = stems[one.part]
        files[f"relief-{name}.ply"] = ply(mockup, one)
        files[f"relief-{name}.csv"] = csv(mockup, one)
        files[f"relief-{name}.glb"] = glb(mockup, one)
        if one.most_mm > 0:
            files[f"relief-{name}.stl"] = stl(mockup, one)
    if found:
        progress(0, 1, "the proposed tub")
        files["proposed-tub.stl"] = tub(mockup, max(one.before.required_mm for one in found), slack_mm)
    write_all(out, files, of="relief")
    return sorted(files)
