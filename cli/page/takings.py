"""What can be taken away from the bench: the same bytes that the command line writes, and the command that does it."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from clearance_cli.page.folder import sum_of

import clearance
from clearance import defaults

if TYPE_CHECKING:
    from clearance_cli.page.sitting import Sitting

Progress = Callable[..., None]


@dataclass(frozen=True, kw_only=True)
class Taking:
    """One thing to take away."""

    name: str
    words: str
    command: str
    """After `clearance`, with FILE for the file and its corner."""
    made: Callable[[Sitting, Progress], Mapping[str, bytes]]
    """Its files; what is called as it goes may raise, to leave it."""
    lacks: Callable[[Sitting], str] = lambda _: ""
    """What has to be known of this corner first, in a line; empty where nothing is missing."""


def _report(sitting: Sitting, progress: Progress) -> Mapping[str, bytes]:
    answer = clearance.check(sitting.bench.mockup, progress=progress)
    files, _, _ = clearance.check_files(answer, slack_mm=defaults.SLACK_MM, progress=progress)
    return files


def _order(sitting: Sitting, _progress: Progress) -> Mapping[str, bytes]:
    return {"order.txt": f"{clearance.order(sitting.bench.mockup).words()}\n".encode()}


def _paper(sitting: Sitting) -> str:
    return "letter" if sitting.bench.mockup.units == "in" else "A4"


def _drawings(sitting: Sitting, _progress: Progress) -> Mapping[str, bytes]:
    files, _ = clearance.draw(sitting.bench.mockup, paper=_paper(sitting))
    return files


def _gauge(sitting: Sitting, _progress: Progress) -> Mapping[str, bytes]:
    files, _ = clearance.printed_gauge(sitting.bench.mockup, making=clearance.making_of(), paper=_paper(sitting))
    return files


def _gauge_lacks(sitting: Sitting) -> str:
    if sitting.bench.mockup.wheel.bolt_circle is not None:
        return ""
    return 'It bolts to the hub, and the file has no bolt circle. Below [wheel] write bolt_circle = "5 x 4.5 in".'


def _envelope(sitting: Sitting, progress: Progress) -> Mapping[str, bytes]:
    files, _ = clearance.templates_of(
        sitting.bench.mockup, making=clearance.tub_making(), paper=_paper(sitting), progress=progress
    )
    return files


def _file(sitting: Sitting, _progress: Progress) -> Mapping[str, bytes]:
    return {sitting.name: sitting.bench.text.encode()}


TAKINGS = {
    one.name: one
    for one in (
        Taking(name="order", words="The order card, to read out to the wheel maker", command="order FILE", made=_order),
        Taking(
            name="report",
            words="The report, with drawings, a scene to turn, and what must be cut",
            command="check FILE --out report",
            made=_report,
        ),
        Taking(name="drawings", words="The corner drawn to scale", command="draw FILE --out drawings", made=_drawings),
        Taking(
            name="gauge",
            words="A gauge to print and bolt to the hub",
            command="gauge FILE --out gauge",
            made=_gauge,
            lacks=_gauge_lacks,
        ),
        Taking(
            name="envelope",
            words="The shape that a tub must stay outside of",
            command="envelope FILE --out envelope",
            made=_envelope,
        ),
        Taking(name="file", words="The file as it stands on the bench", command="", made=_file),
    )
}


@dataclass(kw_only=True)
class Takings:
    """What was made last, of each kind."""

    files: dict[str, Mapping[str, bytes]] = field(default_factory=dict)

    def offered(self, sitting: Sitting | None) -> list[dict[str, str]]:
        """Everything there is, and what each still lacks; nothing of an empty bench."""
        if sitting is None:
            return []
        return [{"kind": one.name, "words": one.words, "lacks": one.lacks(sitting)} for one in TAKINGS.values()]

    def made(self, kind: str, sitting: Sitting, progress: Progress) -> dict[str, Any]:
        """Make it of what stands on the bench. Raises InputError for a kind that is none."""
        if kind not in TAKINGS:
            raise clearance.InputError("there is nothing of that name to take away.")
        taking, bench = TAKINGS[kind], sitting.bench
        files = dict(taking.made(sitting, progress))
        self.files[kind] = files
        return {
            "kind": kind,
            "files": [
                {"name": name, "size": len(content), "sum": sum_of(content)} for name, content in sorted(files.items())
            ],
            "command": command_of(taking, sitting),
            "unsaved": bench.text != sitting.as_read,
        }

    def file(self, kind: str, name: str, of: str) -> bytes | None:
        """One file of what was made; None where there is none, or where it is another by now than the sum `of` says."""
        content = self.files.get(kind, {}).get(name)
        return None if content is None or (of and sum_of(content) != of) else content


def command_of(taking: Taking, sitting: Sitting) -> str:
    """The command that makes the same bytes, run in the folder of the file; empty where none is needed."""
    if not taking.command:
        return ""
    # a name that begins with a dash would be taken for an option
    file = shlex.quote(f"./{sitting.name}" if sitting.name.startswith("-") else sitting.name)
    which = f" --corner {sitting.bench.corner}" if len(sitting.bench.corners) > 1 else ""
    return f"clearance {taking.command.replace('FILE', file + which)}"
