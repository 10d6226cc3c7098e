"""From a dial that moves to painted words, and from letting go to the certified answer, in a real Chromium.

The page is served as a person starts it. On each shipped corner 200 seeded places of the dial of backspace or offset
are dragged to, one after the other, and every tenth is let go. Prints the median and the 95th of both, from the
browser's event to the frame after the one that has the words, and beside them what the server used of a processor
meanwhile: where the two are far apart, something else had the machine. Asserts nothing. Skips what is not installed.

`python tests/speed/bench_page.py [--drags N] [CORNER ...]`
"""

from __future__ import annotations

import contextlib
import os
import random
import shutil
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
    root.dataset.measured = "no";
    const range = document.getElementById(id), seen = painted("data-measured", "yes");
    const start = performance.now();
    range.dispatchEvent(new Event("change", { bubbles: true }));
    return await seen - start;
}"""


def used_s(process: int) -> float:
    """Processor time that a process has used, seconds; 0 where the system does not say."""
    try:
        words = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0.0
    return (int(words[11]) + int(words[12])) / os.sysconf("SC_CLK_TCK")


class Taken:
    """Times of one kind: by the clock of the browser, and the processor time of the server meanwhile."""

    def __init__(self) -> None:
        self.ms: list[float] = []
        self.server_s = 0.0

    def add(self, ms: float, server_s: float) -> None:
        self.ms.append(ms)
        self.server_s += server_s

    def words(self, unit_ms: float, form: str) -> str:
        """Median, 95th, and the server's mean."""
        times = sorted(self.ms)
        half, most = times[len(times) // 2], times[min(len(times) - 1, int(0.95 * len(times)))]
        mean = 1000.0 * self.server_s / len(times)
        return "".join(format(value / unit_ms, form) for value in (half, most, mean))


def dragged(page, place: str, process: int, drags: int) -> tuple[Taken, Taken]:
    """What dragging and letting go took."""
    seeded = random.Random(SEED)
    drag, gone = Taken(), Taken()
    for count in range(1, drags + 1):
        # a hand goes in small ways about the middle, where what is looked for stands
        share = min(0.95, max(0.05, seeded.gauss(0.5, 0.12)))
        for taken, script, given in ((drag, _DRAG, [place, share]), (gone, _LET_GO, place)):
            if taken is gone and count % LET_GO:
                continue
            before = used_s(process)
            ms = page.evaluate(script.replace("_PAINTED_HERE", _PAINTED), given)
            taken.add(ms, used_s(process) - before)
    return drag, gone


def main(*words: str) -> None:
    """One line a corner."""
    try:
        from page.conftest import laid_out, served
        from playwright.sync_api import TimeoutError, sync_playwright
    except BaseException as missing:  # pytest's own way to skip is none of Exception
        print(f"skipped: {missing}")
        return
    chromium = next(
        (p for name in ("chromium", "chromium-browser", "google-chrome") if (p := shutil.which(name))), None
    )
    if chromium is None:
        print("skipped: no Chromium here")
        return
    asked = list(words)
    drags = int(asked.pop(asked.index("--drags") + 1)) if "--drags" in asked else DRAGS
    corners = [word for word in asked if word != "--drags"] or CORNERS
    print(f"{'':24}{'drag to paint, ms':>27}{'let go to certified, s':>30}{'load':>8}")
    print(f"{'':24}{'median':>9}{'95th':>9}{'server':>9}{'median':>12}{'95th':>9}{'server':>9}")
    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=chromium, args=["--no-sandbox", "--disable-gpu", "--disable-quic"]
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
                drag, gone = dragged(page, place, found.process.pid, drags)
                load = os.getloadavg()[0]
                print(f"{name:24}{drag.words(1, '9.0f')}   {gone.words(1000, '9.2f')}{load:8.1f}", flush=True)
                page.close()
                found.end()
        browser.close()


if __name__ == "__main__":
    main(*sys.argv[1:])
