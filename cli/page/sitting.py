"""What is on the bench, whoever looks at it: one corner, one hand at a time, and everybody sees the same.

* turn    - a dial is being dragged: what is sure meanwhile follows at once, and only the newest place counts
* set     - it was let go: the file's text has the number, the certified answer replaces what was sure
* step    - each set is one, to be undone and done again; "put back" goes to what was measured

One thread does the work, so that nothing is measured beside a hand that turns something: a measurement that is under
way stops when there is something newer, and begins again when the hand is off. The ends of the window, which take
longer, are looked for in another process.
"""

from __future__ import annotations

import asyncio
import contextlib
import multiprocessing
import os
import signal
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any

from clearance_cli.fault import ON_A_PAGE, fault_said
from clearance_cli.heap import idle_given_back
from clearance_cli.out import note
from clearance_cli.page.folder import Folder, sum_of

import clearance

Told = Callable[[Mapping[str, Any]], None]
MOST_STEPS = 200
MOST_MEASURED = 8


class Superseded(Exception):  # noqa: N818 - a turn of events, not an error
    """There is something newer to do."""


@dataclass(frozen=True, kw_only=True)
class Measured:
    """The certified answer, and of which text and corner."""

    text: str
    corner: str
    answer: clearance.Answer[Any]


@dataclass(kw_only=True)
class Sitting:
    """One file on the bench."""

    folder: Folder
    name: str
    """Of the file, in the folder."""
    bench: clearance.Bench
    as_read: str
    """The text that stands on the disk, as far as is known here."""
    first: str = ""
    """The text as it was opened: as measured."""
    back: list[str] = field(default_factory=list)
    ahead: list[str] = field(default_factory=list)
    measured: list[Measured] = field(default_factory=list)
    """What was certified, the newest last: a step back needs no measuring."""
    marks: tuple[clearance.Mark, ...] = ()
    """The ends of the window, of this corner wherever in the window its wheel stands."""
    marked: bool = False
    """Were they asked for with the wheel just where it stands?"""

    def __post_init__(self) -> None:
        self.first = self.bench.text

    @property
    def on(self) -> str:
        """What a page must know to stand on the bench before it turns anything: a dial of another corner is another."""
        return f"{self.name} {self.bench.corner}"

    @property
    def known(self) -> bool:
        """Whether just this was certified."""
        return self._found() is not None

    # ---- what a page may ask for; each gives what everybody is told

    def stood(self) -> dict[str, Any]:
        """What stands on the bench, with everything that can be turned."""
        bench = self.bench
        return {
            "say": "stood",
            "on": self.on,
            "file": self.name,
            "title": bench.mockup.title,
            "corner": bench.corner,
            "corners": list(bench.corners),
            "marking": bench.marking,
            "dials": [dial.facts() for dial in bench.dials],
            "undo": len(self.back),
            "redo": len(self.ahead),
            "changed": bench.text != self.first,
            "unsaved": bench.text != self.as_read,
            "measured": self.known,
            "marks": [{"value": mark.value, "words": mark.words} for mark in self.marks],
        }

    def turned(self, path: list[str | int], value: float, part: str = "") -> dict[str, Any]:
        """What is sure while a dial is dragged."""
        bench = self.bench.turned(path, value)
        gaps = bench.meanwhile()
        look = clearance.look_at(bench.mockup, gaps, exact=False)
        dial = self.bench.dial(path)
        stands = bench.standing_worst(gaps, part if part in self.names else "", known="meanwhile")
        return {
            "say": "look",
            "path": path,
            "text": dial.written(value),
            **look.facts(),
            "bar": _bar(bench, gaps),
            "stands": stands.facts(drawn=False),
            "shapes": bench.shapes(self.bench.sums),
        }

    @property
    def names(self) -> set[str]:
        """Of the parts."""
        return {part.name for part in self.bench.mockup.parts}

    def shapes(self, known: Mapping[str, str]) -> dict[str, Any]:
        """What is drawn of the corner, less the parts that a page has."""
        return {"on": self.on, **self.bench.shapes(known)}

    def placed(self, job: Mapping[str, Any]) -> dict[str, Any]:
        """The corner at a position that was asked, and the gap of one part there."""
        place = self.bench.position_of(job["bump"], job["other"], job["steer"])
        part = job["part"] if job["part"] in self.names else min(self.names, default="")
        return {"say": "stands", "on": self.on, **self.bench.standing_at(place, part).facts()}

    def all_at(self, job: Mapping[str, Any], go_on: Callable[[], None]) -> dict[str, Any]:
        """The gap of every part there; `go_on` raises Superseded where there is something newer."""
        place = self.bench.position_of(job["bump"], job["other"], job["steer"])
        words = self.bench.standing_at(place, "").words
        return {"say": "around", "on": self.on, "words": words, "parts": self.bench.all_at(place, go_on)}

    def worst(self, part: str) -> dict[str, Any]:
        """The corner where it, or this part of it, comes closest, as it was certified."""
        found = self._found()
        if found is None:
            raise clearance.InputError("the worst place is not known yet: it is being measured.")
        stands = self.bench.standing_worst(found.answer.value.gaps, part if part in self.names else "")
        return {"say": "stands", "on": self.on, **stands.facts()}

    def set_value(self, path: list[str | int], value: float) -> None:
        """A dial let go."""
        self.set_text(path, self.bench.dial(path).written(value))

    def set_text(self, path: list[str | int], text: str) -> None:
        """A number as somebody wrote it into its box. Raises InputError for what is none."""
        self._step(self.bench.dialled(path, text))

    def shod(self, marking: str) -> None:
        """Another tire."""
        self._step(self.bench.shod(marking))

    def put(self, bench: clearance.Bench, was: str, measured: Measured | None) -> None:
        """Something laid into the corner beside the page's dials, with its answer where it was asked already.

        Raises InputError where the corner is another by now.
        """
        if self.bench.text != was:
            raise clearance.InputError("the corner was changed in the meantime. Lay it on once more.")
        self._step(bench)
        if measured is not None:
            self.measured = [*self.measured, measured][-MOST_MEASURED:]

    def _step(self, bench: clearance.Bench) -> None:
        if bench.text == self.bench.text:
            return
        self.back = [*self.back, self.bench.text][-MOST_STEPS:]
        self.ahead = []
        self._now(bench)

    def _now(self, bench: clearance.Bench) -> None:
        """Another text. The ends of the window are the same wherever in it the wheel stands."""
        if _but_across(bench) != _but_across(self.bench):
            self.marks = ()
        self.bench, self.marked = bench, False

    def undo(self) -> None:
        """One step back."""
        self._walk(self.back, self.ahead)

    def redo(self) -> None:
        """And ahead again."""
        self._walk(self.ahead, self.back)

    def _walk(self, of: list[str], onto: list[str]) -> None:
        if of:
            bench = self.bench.with_text(of[-1])
            onto.append(self.bench.text)
            of.pop()
            self._now(bench)

    def put_back(self) -> None:
        """Everything as it was opened; a step like any other."""
        self._step(self.bench.with_text(self.first))

    def to_corner(self, corner: str) -> None:
        """Another corner of the car."""
        self.bench, self.marks, self.marked = self.bench.at(corner).opened_as(self.first), (), False

    def save(self, name: str = "") -> str:
        """Write the file, or another beside it; gives its name. Raises InputError where it may not be."""
        content = self.bench.text.encode()
        chosen = name or self.name
        self.folder.write(chosen, content, over=sum_of(self.as_read.encode()) if chosen == self.name else "")
        self.name, self.as_read = chosen, self.bench.text
        return chosen

    # ---- the long questions; `go_on` raises Superseded where there is something newer

    def soon(self, go_on: Callable[..., None]) -> dict[str, Any] | None:
        """What is certified of what stands on the bench but for its last digit; None where it would come no sooner."""
        gaps = None if self._found() else self.bench.soon(progress=go_on)
        if gaps is None:
            return None
        look = clearance.look_at(self.bench.mockup, gaps, exact=False, certified=True)
        stands = self.bench.standing_worst(gaps, known="soon")
        self.bench = self.bench.knowing(gaps)
        return {
            "say": "look",
            "on": self.on,
            "path": [],
            **look.facts(),
            "bar": _bar(self.bench, gaps),
            "stands": stands.facts(drawn=False),
        }

    def look(self, go_on: Callable[..., None]) -> dict[str, Any]:
        """The certified answer of what stands on the bench."""
        bench, found = self.bench, self._found()
        if found is None:
            self.bench, answer = bench.measured(progress=go_on)
            found = Measured(text=bench.text, corner=bench.corner, answer=answer)
            self.measured = [*self.measured, found][-MOST_MEASURED:]
        gaps = found.answer.value.gaps
        look = clearance.look_at(bench.mockup, gaps, exact=True)
        stands = bench.standing_worst(gaps).facts(drawn=False)
        return {"say": "look", "on": self.on, **look.facts(), "bar": _bar(bench, gaps), "stands": stands}

    def _found(self) -> Measured | None:
        """What was certified of just this."""
        here = (self.bench.text, self.bench.corner)
        return next((one for one in self.measured if (one.text, one.corner) == here), None)


def _bar(bench: clearance.Bench, gaps: Sequence[Any]) -> list[dict[str, Any]]:
    """The stretch of backspace or offset that is sure to clear, as its two ends; empty where none is."""
    return [{"value": mark.value, "words": mark.words} for mark in clearance.sure_bar(bench, gaps) or ()]


def _but_across(bench: clearance.Bench) -> Any:
    """All that is said of the corner but how far in its wheel stands."""
    wheel = {key: value for key, value in bench.stood.tables["wheel"].items() if key not in ("backspace", "offset")}
    return bench.corner, {**bench.stood.tables, "wheel": wheel}


def marks_of(number: int, text: str, place: str, corner: str) -> tuple[clearance.Mark, ...]:
    """The ends of the window of a corner, asked in another process; none where it has none, or is asked no more."""

    def go_on(*_: object) -> None:
        if _asked_last is not None and _asked_last.value != number:
            raise Superseded

    try:
        return clearance.window_marks(clearance.on_bench(text, place, corner=corner), progress=go_on)
    except (clearance.ClearanceError, Superseded):
        return ()


_asked_last: Any = None
"""In a process beside this one: the number of the window that is wanted, which the bench counts up."""


def deaf(asked_last: Any) -> None:
    """In a process beside this one: who ends the server ends it too, and whoever turns a dial goes first."""
    global _asked_last
    _asked_last = asked_last
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "nice"):
        os.nice(10)


def _nothing() -> None:
    """A dial was dragged and brought back: what stands is looked at again."""


@dataclass(kw_only=True)
class Hand:
    """Does what pages ask, one after the other, and tells all of them."""

    sitting: Sitting | None = None
    """None: the bench is empty."""
    told: set[Told] = field(default_factory=set)
    jobs: list[Mapping[str, Any]] = field(default_factory=list)
    turning: Mapping[str, Any] | None = None
    placing: Mapping[str, Any] | None = None
    """A position that was asked; only the newest counts."""
    around: Mapping[str, Any] | None = None
    """One at which every part is owed, not the chosen one alone."""
    awake: asyncio.Event = field(default_factory=asyncio.Event)
    pool: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(1, "bench"))
    beside: ProcessPoolExecutor | None = None
    """Where the window is looked for; begun when it is first asked for."""
    marking: Future[tuple[clearance.Mark, ...]] | None = None
    """The window that was asked for last."""
    windows: Any = None
    """How many were asked for or given up, where the process beside sees it: what is asked no more ends."""
    last: Mapping[str, Any] | None = None
    """What was told last of the gaps, for who comes in."""
    ended: bool = False

    def ask(self, job: Mapping[str, Any]) -> None:
        """Something to be done. Of places of a dial only the newest counts."""
        if job.get("do") == "turn":
            self.turning = job
        elif job.get("do") in ("place", "worst"):
            self.placing = job
        else:
            self.turning = None
            self.jobs.append(job)
        self.awake.set()

    def go_on(self, *_: object) -> None:
        """Called in the middle of a long question: a position that is asked meanwhile is answered in between."""
        if self.jobs or self.turning is not None or self.ended:
            raise Superseded
        if self.placing is not None:
            job, self.placing = self.placing, None
            self._places(job)

    def leave(self, *_: object) -> None:
        """Called in the middle of a long question that is asked beside the hand: who ends the server ends it too."""
        if self.ended:
            raise Superseded

    async def work(self) -> None:
        """As long as the server runs."""
        loop = asyncio.get_running_loop()
        owed = self.sitting is not None
        while not self.ended:
            if self.jobs:
                job = self.jobs.pop(0)
                await loop.run_in_executor(self.pool, self._safely, self._does, job)
                self._mark_no_more()
                owed = True
            elif self.turning is not None:
                job, self.turning = self.turning, None
                await loop.run_in_executor(self.pool, self._safely, self._turns, job)
            elif self.placing is not None:
                job, self.placing = self.placing, None
                await loop.run_in_executor(self.pool, self._safely, self._places, job)
            elif self.around is not None:
                job, self.around = self.around, None
                await loop.run_in_executor(self.pool, self._safely, self._looks_around, job)
            elif owed:
                owed = not await loop.run_in_executor(self.pool, self._safely, self._looks)
                if not owed:
                    self._mark()
                    await loop.run_in_executor(self.pool, idle_given_back)
            else:
                self.awake.clear()
                await self.awake.wait()

    def _safely(self, does: Callable[..., Any], *given: Any) -> Any:
        """A fault of our own is said, and the bench goes on."""
        try:
            return does(*given)
        except Exception as fault:  # whatever it is
            note(fault_said(fault))
            self.tell({"say": "refused", "words": ON_A_PAGE, "path": None})
            return True

    def end(self) -> None:
        """Leave what is under way."""
        self.ended = True
        self.awake.set()
        self.pool.shutdown(wait=False, cancel_futures=True)
        if self.beside is not None:
            self.beside.shutdown(wait=False, cancel_futures=True)
            for process in multiprocessing.active_children():
                process.kill()

    def _mark(self) -> None:
        """Look for the ends of the window of what was just measured, beside everything else."""
        if self.sitting is None or self.sitting.marked or self.ended:
            return
        bench, self.sitting.marked = self.sitting.bench, True
        if self.beside is None:
            context = multiprocessing.get_context("spawn")
            self.windows = context.Value("q", 0)
            self.beside = ProcessPoolExecutor(1, mp_context=context, initializer=deaf, initargs=(self.windows,))
        loop = asyncio.get_running_loop()
        self._give_up()
        place = str(bench.place)
        self.marking = asked = self.beside.submit(marks_of, self.windows.value, bench.text, place, bench.corner)
        asked.add_done_callback(lambda done: loop.call_soon_threadsafe(self._marked, bench, done))

    def _mark_no_more(self) -> None:
        """A window that is looked for of a corner that stands here no longer takes no more time."""
        if self.windows is not None and (self.sitting is None or not self.sitting.marked):
            self._give_up()

    def _give_up(self) -> None:
        """Of the window that was asked for last; one that has not begun never does."""
        self.windows.value += 1
        if self.marking is not None:
            self.marking.cancel()

    def _marked(self, bench: clearance.Bench, done: Future[tuple[clearance.Mark, ...]]) -> None:
        if self.sitting is None or done.cancelled() or done.exception():
            return
        here = self.sitting.bench
        if (here.text, here.corner) != (bench.text, bench.corner):
            return
        self.sitting.marks = done.result()
        self.tell(self.sitting.stood())

    def tell(self, news: Mapping[str, Any]) -> None:
        """Everybody."""
        if news.get("say") == "look":
            self.last = news
        for one in tuple(self.told):
            one(news)

    def _does(self, job: Mapping[str, Any]) -> None:
        try:
            self._done(job)
        except clearance.ClearanceError as wrong:
            self.tell({"say": "refused", "words": str(wrong), "path": job.get("path")})
        self.tell(self.stands())

    def stands(self) -> dict[str, Any]:
        """What stands on the bench, for who comes in."""
        return {"say": "empty"} if self.sitting is None else self.sitting.stood()

    def _done(self, job: Mapping[str, Any]) -> None:
        does = job["do"]
        if does == "lay":
            self.sitting, self.last = job["sitting"], None
        elif self.sitting is None:
            raise clearance.InputError("nothing lies on the bench. Open a file first.")
        else:
            self._worked(self.sitting, does, job)
            if not self.sitting.known:
                # who comes in now is not told what was true before this
                self.last = None

    def _worked(self, sitting: Sitting, does: str, job: Mapping[str, Any]) -> None:
        if job.get("on", sitting.on) != sitting.on:
            raise clearance.InputError("something else lies on the bench by now, so that was left. Do it again.")
        if does == "set":
            sitting.set_value(job["path"], job["value"])
        elif does == "write":
            sitting.set_text(job["path"], job["text"])
        elif does == "tire":
            sitting.shod(job["text"])
        elif does == "corner":
            sitting.to_corner(job["text"])
        elif does == "put":
            sitting.put(job["bench"], job["was"], job["measured"])
        elif does == "save":
            self.tell({"say": "saved", "words": f"Saved {sitting.save(job.get('text', ''))}."})
        else:
            {"undo": sitting.undo, "redo": sitting.redo, "back": sitting.put_back, "look": _nothing}[does]()

    def _turns(self, job: Mapping[str, Any]) -> None:
        if self.sitting is None or job["on"] != self.sitting.on:
            return
        try:
            self.tell(self.sitting.turned(job["path"], job["value"], job.get("part", "")))
        except clearance.ClearanceError as wrong:
            self.tell({"say": "refused", "words": str(wrong), "path": job["path"]})

    def _places(self, job: Mapping[str, Any]) -> None:
        if self.sitting is None or job["on"] != self.sitting.on:
            return
        try:
            if job["do"] == "worst":
                self.tell(self.sitting.worst(job["part"]))
            else:
                self.tell(self.sitting.placed(job))
                self.around = job
        except clearance.ClearanceError as wrong:
            self.tell({"say": "refused", "words": str(wrong), "path": None})

    def _looks_around(self, job: Mapping[str, Any]) -> None:
        if self.sitting is None or job["on"] != self.sitting.on:
            return
        with contextlib.suppress(Superseded, clearance.ClearanceError):
            self.tell(self.sitting.all_at(job, self.go_on))

    def _looks(self) -> bool:
        """Whether it is done: false where it was left for something newer."""
        if self.sitting is None:
            return True
        try:
            self.tell({"say": "measuring"})
            soon = self.sitting.soon(self.go_on)
            if soon is not None:
                self.tell(soon)
            self.tell(self.sitting.look(self.go_on))
        except Superseded:
            return False
        except clearance.ClearanceError as wrong:
            self.tell({"say": "refused", "words": str(wrong), "path": None})
        return True
