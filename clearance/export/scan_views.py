"""A scan drawn from three sides."""

from __future__ import annotations

import io
import warnings
from pathlib import Path

from matplotlib.figure import Figure
from matplotlib.patches import Circle

from clearance.errors import OutputError
from clearance.plain import visible
from clearance.well.scan import PlacedScan
from clearance.well.scan_picture import three_views
from clearance.well.scan_read import RawMesh


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

    vertices, names, unit = raw.vertices, {way: f"+{way}" for way in "xyz"}, "in the file's numbers"
    if placed is not None:
        vertices, up, unit = placed.vertices_mm, "z", f"mm on the hub (cross), with a tire of {tire_mm:g} mm"
        names = {"x": "ahead", "y": "outboard", "z": "above"}
    elif factor is not None:
        vertices, unit = raw.vertices * factor, "mm, the file's axes"
    views = three_views(vertices, raw.faces if placed is None else placed.faces, up=up or "z")
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
                axes.plot([0.0], [0.0], "+", color="tab:red", markersize=16)
                if view.along == "y":
                    axes.add_patch(Circle((0.0, 0.0), tire_mm / 2.0, fill=False, color="tab:red", linestyle="--"))
        figure.savefig(page, format=kind, metadata={"Software": None} if kind == "png" else {"Date": None})
    return page.getvalue()
