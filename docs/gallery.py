"""Makes the pictures of docs/gallery.md from the shipped corners, by the door alone. `make site` runs it.

python docs/gallery.py        writes docs/gallery/, which is not kept in git
"""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import clearance

DOCS = Path(__file__).resolve().parent
PLACE = DOCS / "gallery"
CORNERS = DOCS.parent / "fixtures" / "corners"


def _section(name: str) -> bytes:
    return clearance.check(clearance.load(CORNERS / f"{name}.toml")).pictures()[0].encode()


def _window() -> bytes:
    return clearance.window(clearance.load(CORNERS / "orchard-pickup-rear.toml")).pictures()[0].encode()


def _motion() -> bytes:
    answer = clearance.motion(clearance.load(CORNERS / "heron-roadster-front.toml"), step_mm=20)
    return clearance.motion_picture(answer, "motion.svg")


def _gaps() -> bytes:
    axes = clearance.plot_gaps(clearance.load(CORNERS / "orchard-pickup-rear.toml"), backspace_mm=range(75, 116, 10))
    held = BytesIO()
    axes.figure.savefig(held, format="png", dpi=110, metadata={"Software": None})
    return held.getvalue()


def _scan() -> bytes:
    answer = clearance.scan(CORNERS / "scanned-well.ply", unit="m")
    return clearance.scan_picture(answer, "scan.png")


MADE: dict[str, Callable[[], bytes]] = {
    "section-roadster.svg": lambda: _section("heron-roadster-front"),
    "section-sedan.svg": lambda: _section("sorrel-sedan-front"),
    "section-coupe.svg": lambda: _section("tern-coupe-rear"),
    "section-scan.svg": lambda: _section("scanned-well-rear"),
    "window.svg": _window,
    "motion.svg": _motion,
    "gaps.png": _gaps,
    "scan.png": _scan,
}
"""File name: what makes it."""
DRAWN = ("pickup-behind.svg", "pickup-side.svg", "pickup-plan.svg")
"""The drawings of one corner, which are made together."""


def pictures() -> dict[str, bytes]:
    """Every picture by its file name."""
    pickup = clearance.check(clearance.load(CORNERS / "orchard-pickup-rear.toml"))
    views = clearance.drawings_of(pickup)
    drawn = {name: views[name.removeprefix("pickup-")] for name in DRAWN}
    return drawn | {name: make() for name, make in MADE.items()}


def main() -> None:
    """Writes them all."""
    PLACE.mkdir(exist_ok=True)
    for name, content in pictures().items():
        (PLACE / name).write_bytes(content)


if __name__ == "__main__":
    main()
