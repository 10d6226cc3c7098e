"""`clearance largest`: the tire sizes that clear at their best backspace, best first."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from clearance_cli.out import Progress, say, show

if TYPE_CHECKING:
    from clearance.answers.largest import Fit, Largest
    from clearance.mockup.mockup import MockUp


def command(
    file: Annotated[Path, typer.Argument(help="The corner file.", show_default=False)],
    by: Annotated[str, typer.Option(help="Sort by: diameter, width or target.")] = "diameter",
    target: Annotated[str | None, typer.Option(help='Wanted diameter, as "28 in"; sorts by closeness to it.')] = None,
    sizes: Annotated[Path | None, typer.Option(help="Your own list: a CSV with a column `size`.")] = None,
    rim: Annotated[
        list[str] | None,
        typer.Option("--rim", help='Rim diameter, as "16 in"; repeat for more. Default: the wheel\'s.'),
    ] = None,
    enough: Annotated[int, typer.Option(help="Stop after so many sizes that clear.", min=1, max=500)] = 10,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """The tire sizes that clear, each on its best rim width at its best backspace, certified, best first.

    With what each does to speedometer and ride height, and whether its load index carries the corner's stated load.
    Exit code 0: something clears; 1: nothing on the list does.
    """
    from clearance_cli.answer_text import length_option, read_corner

    from clearance.answers.largest import largest

    mockup = read_corner(file)
    target_mm = length_option(target, "--target")
    rims = [(length_option(text, "--rim") or 0.0) / 25.4 for text in rim or ()] or None
    progress = Progress(quiet=as_json)
    found = largest(
        mockup,
        _list(sizes),
        mockup.terms,
        by="target" if target_mm is not None and by == "diameter" else by,
        target_mm=target_mm,
        rim_diameters_in=rims,
        enough=enough,
        progress=progress,
    )
    progress.close()
    if as_json:
        show(facts(mockup, found))
    else:
        say(page(mockup, found))
    return 0 if found.fits else 1


def _list(sizes: Path | None) -> Any:
    from clearance.opener import text_of
    from clearance.tire.catalog import sizes_from_csv, standard_sizes

    if sizes is None:
        return standard_sizes()
    return sizes_from_csv(text_of(sizes), name=str(sizes))


def facts(mockup: MockUp, found: Largest) -> dict[str, Any]:
    """Everything that the page says."""
    from clearance_cli.answer_text import gap_json

    return {
        "format": "clearance-largest/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "combinations": found.combinations,
        "screened_out": found.screened_out,
        "certified": found.certified,
        "fits": [
            {
                "size": fit.size,
                "overall_diameter": round(fit.tire.overall_diameter_mm, 1),
                "section_width": round(fit.tire.section_width_mm, 1),
                "rim_diameter_in": fit.wheel.diameter_in,
                "rim_width_in": fit.wheel.width_in,
                "backspace": round(fit.wheel.backspace_mm, 2),
                "offset": round(fit.wheel.offset_mm, 2),
                "spare": round(fit.spare_mm, 2),
                "binds": gap_json(mockup, fit.binds),
                "speedometer_percent": round(100 * fit.speedometer, 2),
                "ride_height": round(fit.ride_height_mm, 1),
                "load_index": fit.load_index,
                "carries": fit.carries,
                "source": fit.source,
            }
            for fit in found.fits
        ],
        "not_reached": list(found.not_reached),
        "unknown": list(found.unknown),
        "load_index_needed": found.needed_index,
    }


def page(mockup: MockUp, found: Largest) -> str:
    """The list as a buyer reads it."""
    from clearance_cli.answer_text import head, table

    rows = [_row(fit) for fit in found.fits]
    header = ["size", "high", "wide", "rim", "backspace", "offset", "to spare", "tightest", "speed", "height", "load"]
    lines = head(mockup)
    lines.append(table(header, rows) if rows else "  Nothing on the list clears.")
    lines += [
        "",
        f"{found.combinations} combinations of tire, rim and backspace; {found.screened_out} tires on"
        f" rims hit or are tight"
        f" at every backspace; {found.certified} were measured over the whole cycle.",
    ]
    if found.not_reached:
        lines.append(
            f"Not reached, may clear: {', '.join(found.not_reached[:12])}{' ...' * (len(found.not_reached) > 12)}."
        )
    needs = "" if found.needed_index is None else f" ({found.needed_index} or more)"
    lines += [
        "speed: how much faster the car really goes at one reading. height: how much higher the hub stands.",
        f"load: the size's usual load index (from memory); NO where it does not carry [load] corner{needs}. Check the"
        " sidewall: an overloaded tire fails. Dimensions are nominal; measure the tire before you buy the wheel.",
    ]
    return "\n".join(lines)


def _row(fit: Fit) -> list[str]:
    from clearance.units import both

    load = "?" if fit.load_index is None else str(fit.load_index)
    if fit.carries is not None:
        load += " ok" if fit.carries else " NO"
    return [
        fit.size,
        both(fit.tire.overall_diameter_mm, digits=0),
        f"{fit.tire.section_width_mm:.0f} mm",
        f"{fit.wheel.diameter_in:.4g} x {fit.wheel.width_in:.3g}",
        both(fit.wheel.backspace_mm),
        f"{fit.wheel.offset_mm:+.1f}",
        f"{fit.spare_mm:.1f} mm",
        fit.binds.part,
        f"{100 * fit.speedometer:+.1f} %",
        f"{fit.ride_height_mm:+.0f} mm",
        load,
    ]
