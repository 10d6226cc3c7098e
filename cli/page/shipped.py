"""Cars to begin with: invented ones that come along, laid into the folder as copies when one is chosen."""

from __future__ import annotations

import os
from importlib.resources import files

from clearance_cli.out import write_all
from clearance_cli.page.folder import Folder

import clearance

CARS = {
    "orchard-pickup.toml": ("Orchard half-ton: a rear axle on leaf springs, in inches", ("orchard-pickup-rear.toml",)),
    "heron-roadster.toml": (
        "Heron roadster: front and rear, two sizes, a narrow spare",
        ("heron-roadster-front.toml",),
    ),
    "tern-coupe.toml": ("Tern coupe: a live axle whose two wells are not alike", ("tern-coupe-rear.toml",)),
    "sorrel-sedan-front.toml": ("Sorrel sedan: one front corner that steers", ()),
}
"""The file of each, what it is, and the files that it names."""


def offered() -> list[dict[str, str]]:
    """What can be begun with."""
    return [{"name": name, "words": words} for name, (words, _) in CARS.items()]


def laid_out(name: str, folder: Folder) -> None:
    """A copy of that car in the folder; what stands there already is left. Raises InputError for no such car."""
    if name not in CARS:
        raise clearance.InputError("no such car comes along.")
    wanted = [one for one in (name, *CARS[name][1]) if not os.path.lexists(folder.file(one))]
    write_all(folder.place, {one: _content(one) for one in wanted})


def _content(name: str) -> bytes:
    return (files("clearance_cli.page") / f"shipped_{name}").read_bytes()
