"""From a dial that moves to painted words, and from letting go to the certified answer, in a real Chromium.

The page is served as a person starts it. On each shipped corner 200 seeded places of the dial of backspace or offset
are dragged to, one after the other, and every tenth is let go. Prints the median and the 95th of both, from the
browser's event to the frame after the one that has the words, and beside them what server and browser used of a
processor meanwhile: where these are far less, something else had the machine. Certified is what the page says first
(`at least`), measured the very number of `check`. Asserts nothing. Skips what is not installed.

`python tests/speed/bench_page.py [--drags N] [CORNER ...]`
"""

from __future__ import annotations

import contextlib
import os
import random
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

CORNERS = ["orchard-pickup-rear", "tern-coupe-rear", "scanned-well-rear", "heron-roadster-front", "sorrel-sedan-front"]
DRAGS, LET_GO = 200, 10
"""Places that are dragged to; every so manieth is let go."""
SEED = 17
_PAINTED = """const root = document.documentElement;
    const painted = (name, is) => new Promise((done) => new MutationObserver((_, seen) => {
        if (is && root.getAttribute(name) !== is) return;
        seen.disconnect();
        requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now())));
    }).observe(root, { attributes: true, attributeFilter: [name] }));"""
_DRAG = """async ([id, share]) => {
    _PAINTED_HERE
    const range = document.getElementById(id), seen = painted("data-looks");
    const [low, high] = [Number(range.min), Number(range.max)];
    range.value = low + (high - low) * share;
    const start = performance.now();
    range.dispatchEvent(new Event("input", { bubbles: true }));
    return await seen - start;
}"""
_LET_GO = """async (id) => {
    _PAINTED_HERE
    root.dataset.measured = root.dataset.certified = "no";
    const both = [painted("data-certified", "yes"), painted("data-measured", "yes")];
    const range = document.getElementById(id);
    const start = performance.now();
    range.dispatchEvent(new Event("change", { bubbles: true }));
    return (await Promise.all(both)).map((one) => one - start);
}"""


def used_s(process: int) -> float:
    """Processor time that a process has used, seconds; 0 where the system does not say."""
    words = _stat(process)
    return (int(words[11]) + int(words[12])) / os.sysconf("SC_CLK_TCK") if words else 0.0


def _stat(process: int) -> list[str]:
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return []


def browser_of(process: int) -> list[int]:
    """The processes of the browser that this one started."""
    parents = {int(p.name): _stat(int(p.name)) for p in Path("/proc").glob("[0-9]*")}
    found, todo = [], [process]
    while todo:
        todo = [one for one, words in parents.items() if words and int(words[1]) in todo]
        found += todo
    return [one for one in found if b"chrom" in _command(one)]


def _command(process: int) -> bytes:
    try:
        return Path(f"/proc/{process}/cmdline").read_bytes()
    except OSError:
        return b""


class Taken:
    """Times of one kind by the clock of the browser, and what server and browser used of a processor meanwhile."""

    def __init__(self, server: int, browser: list[int]) -> None:
        self.ms: list[float] = []
        self.used = [0.0, 0.0]
        self._who = ([server], browser)

    def now(self) -> list[float]:
        """Used so far, ms: server, browser."""
        return [1000.0 * sum(used_s(one) for one in some) for some in self._who]

    def add(self, ms: float, before: list[float]) -> None:
        """One more, begun when so much was used."""
        self.ms.append(ms)
        self.used = [used + now - then for used, now, then in zip(self.used, self.now(), before, strict=True)]

    def times(self) -> tuple[float, float]:
        """Median and 95th."""
        times = sorted(self.ms)
        return times[len(times) // 2], times[min(len(times) - 1, int(0.95 * len(times)))]

    def means(self) -> list[float]:
        """What server and browser used for one, in the mean."""
        return [used / len(self.ms) for used in self.used]


def dragged(page, place: str, server: int, browser: list[int], drags: int) -> tuple[Taken, Taken, Taken]:
    """What dragging took, and letting go until it was certified and until it was measured."""
    seeded = random.Random(SEED)
    drag, sure, exact = (Taken(server, browser) for _ in range(3))
    for count in range(1, drags + 1):
        # a hand goes in small ways about the middle, where what is looked for stands
        share = min(0.95, max(0.05, seeded.gauss(0.5, 0.12)))
        before = drag.now()
        drag.add(page.evaluate(_DRAG.replace("_PAINTED_HERE", _PAINTED), [place, share]), before)
        if count % LET_GO == 0:
            before = drag.now()
            certified, measured = page.evaluate(_LET_GO.replace("_PAINTED_HERE", _PAINTED), place)
            sure.add(certified, before)
            exact.add(measured, before)
    return drag, sure, exact


def main(*words: str) -> None:
    """One line a corner."""
    try:
        from chromium import CHROMIUM
        from page.conftest import laid_out, served
        from playwright.sync_api import TimeoutError, sync_playwright
    except BaseException as missing:  # pytest's own way to skip is none of Exception
        print(f"skipped: {missing}")
        return
    if CHROMIUM is None:
        print("skipped: no Chromium here")
        return
    asked = list(words)
    drags = int(asked.pop(asked.index("--drags") + 1)) if "--drags" in asked else DRAGS
    corners = [word for word in asked if word != "--drags"] or CORNERS
    print(f"{'':24}{'drag to paint, ms':^32}{'let go to certified and to measured, s':^48}")
    names = ["median", "95th", "server", "browser", "median", "95th", "median", "95th", "server", "browser", "load"]
    print(f"{'':24}" + "".join(f"{name:>8}" for name in names))
    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu", "--disable-quic"]
        )
        for name in corners:
            with tempfile.TemporaryDirectory() as folder:
                found = served(laid_out(Path(folder)) / f"{name}.toml")
                page = browser.new_page(viewport={"width": 1280, "height": 900})
                page.goto(found.link)
                page.wait_for_selector("html[data-measured=yes]", timeout=120_000)
                # the ends of the window are looked for in another process, which takes a core of its own
                with contextlib.suppress(TimeoutError):
                    page.wait_for_selector(".marks .end", state="attached", timeout=20_000)
                time.sleep(1.0)
                place = page.locator("#dial-wheel-backspace, #dial-wheel-offset").get_attribute("id")
                drag, sure, exact = dragged(page, place, found.process.pid, browser_of(os.getpid()), drags)
                row = [f"{ms:8.0f}" for ms in (*drag.times(), *drag.means())]
                row += [f"{ms / 1000:8.2f}" for ms in (*sure.times(), *exact.times(), *exact.means())]
                print(f"{name:24}" + "".join(row) + f"{os.getloadavg()[0]:8.1f}", flush=True)
                page.close()
                found.end()
        browser.close()


if __name__ == "__main__":
    main(*sys.argv[1:])
