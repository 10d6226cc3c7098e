"""A seed before the judge, and what is written of it where there are charges: the file with the one part alone."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from .inventing import Invention, invented
from .trial import Trial, tried

WORK, SLOW_WORK = 150_000, 400_000
"""Boxes that the program may look at for one part. Where they run out, its answer is to be no less true."""


@dataclass(frozen=True, slots=True, eq=False)
class Hearing:
    """One seed and what came of it."""

    seed: int
    suspension: str
    trial: Trial
    minimised: dict[str, Path]
    """Of every part that something is held against, the corner file with that part alone."""

    def text(self) -> str:
        """Everything that is held against the answer."""
        lines = [f"seed {self.seed}, {self.suspension}: {self.trial.file}"]
        for charge in self.trial.charges:
            special = f" [{', '.join(charge.special)}]" if charge.special else ""
            lines += [f"  {charge.part}: {charge.what}{special}", f"    {charge.words}"]
            if charge.part in self.minimised:
                lines.append(f"    alone in {self.minimised[charge.part]}")
        return "\n".join(lines)


def hear(seed: int, folder: Path, *, work: int = WORK) -> Hearing:
    """The corner file of a seed, written into a folder, checked and attacked."""
    return hear_it(invented(seed), seed, folder, work=work)


def hear_it(invention: Invention, seed: int, folder: Path, *, work: int = WORK) -> Hearing:
    """The same of an invention that was changed; `seed` still says where the judge looks."""
    home = folder / f"seed-{seed:05d}"
    trial = tried(invention.written(home), number=seed, work=work)
    return Hearing(seed, invention.tables["suspension"]["kind"], trial, _minimised(invention, trial, home))


def _minimised(invention: Invention, trial: Trial, home: Path) -> dict[str, Path]:
    charged = {charge.part for charge in trial.charges}
    return {
        part.name: invention.only(part.table).written(home / f"part-{part.table + 1}")
        for part in trial.parts
        if part.name in charged
    }
