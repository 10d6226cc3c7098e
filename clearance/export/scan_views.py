"""A scan drawn from three sides."""

from __future__ import annotations

import io
import warnings
from pathlib import Path
from typing import Any

from matplotlib.figure import Figure
from matplotlib.patches import Circle

from clearance.errors import OutputError
from clearance.plain import visible
from clearance.well.scan import PlacedScan
from clearance.well.scan_picture import View, three_views
from clearance.well.scan_read import RawMesh

_CORNER_AXES = {"x": "ahead", "y": "outboard", "z": "above"}


def _views(raw: RawMesh, placed: PlacedScan | None, factor: float | None, up: str) -> tuple[View, View, View]:
    """The scan from three sides: on the hub where it is placed, else as its file has it, in mm where they are known."""
    if placed is not None:
        return three_views(placed.vertices_mm, placed.faces, up="z")
    return three_views(raw.vertices if factor is None else raw.vertices * factor, raw.faces, up=up)


def _mark_hub(axes: Any, view: View, tire_mm: float) -> None:
    """A cross at the hub, and from the side the tire about it."""
    axes.plot([0.0], [0.0], "+", color="tab:red", markersize=16)
    if view.along == "y":
        axes.add_patch(Circle((0.0, 0.0), tire_mm / 2.0, fill=False, color="tab:red", linestyle="--"))


def drawn(
    raw: RawMesh, placed: PlacedScan | None, factor: float | None, up: str, tire_mm: float, picture: Path
) -> bytes:
    """The scan from three sides with a grid, as the bytes of a PNG or SVG. Raises OutputError."""

    kind = picture.suffix.lower().lstrip(".")
    if kind not in ("png", "svg"):
        raise OutputError(f"{picture}: pictures are drawn as .png or .svg.")
    try:
        import matplotlib
    except ImportError:
        raise OutputError("--picture needs matplotlib: pip install matplotlib.") from None

    names, unit = {way: f"+{way}" for way in "xyz"}, "in the file's numbers"
    if placed is not None:
        unit, names = f"mm on the hub (cross), with a tire of {tire_mm:g} mm", _CORNER_AXES
    elif factor is not None:
        unit = "mm, the file's axes"
    views = _views(raw, placed, factor, up or "z")
    page = io.BytesIO()
    with warnings.catch_warnings(), matplotlib.rc_context():
        # a letter that the font has not is drawn as a box, which needs no words
        warnings.simplefilter("ignore")
        # a matplotlibrc in the folder or the home would draw another picture
        matplotlib.rcdefaults()
        matplotlib.rcParams["svg.hashsalt"] = "scan"
        figure = Figure(figsize=(16.0, 6.5), dpi=100, layout="constrained")
        figure.suptitle(visible(f"{raw.name}, {unit}"), parse_math=False)
        for axes, view in zip(figure.subplots(1, 3), views, strict=True):
            axes.imshow(view.pixels, cmap="gray", vmin=0, vmax=255, extent=view.extent, aspect="equal")
            axes.grid(True, color="tab:blue", linewidth=0.5, alpha=0.6)
            axes.set(xlabel=names[view.right], ylabel=names[view.above], title=f"from {names[view.along]}")
            if placed is not None:
                _mark_hub(axes, view, tire_mm)
        figure.savefig(page, format=kind, metadata={"Software": None} if kind == "png" else {"Date": None})
    return page.getvalue()
