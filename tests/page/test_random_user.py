"""Somebody who does anything, in any order, for a while: nothing falls over on either side and nothing grows for ever.

The seed is fixed. How long: ten seconds; for the slow proof CLEARANCE_RANDOM_MINUTES, or thirty.
"""

from __future__ import annotations

import os
import random
import shutil
import time
from pathlib import Path

import pytest
from chromium import IN_BROWSER
from page.conftest import FIXTURES, laid_out, served
from page.sight import Sight

pytestmark = IN_BROWSER
MOST_GROWTH_MB = 200.0
WORDS = [
    "95 mm",
    "3 3/4 in",
    "",
    "ninety",
    "1e9 mm",
    "-5 mm",
    "205/55R16",
    "0",
    "<b>",
    "4½",
    "same",
    "12,5 mm",
    "\u202e9",
]


def resident_mb(number: int) -> float:
    """Of a process and all that it started."""
    found, left = 0.0, [number]
    while left:
        one = left.pop()
        try:
            rows = Path(f"/proc/{one}/status").read_text().splitlines()
            left += [int(n) for n in Path(f"/proc/{one}/task/{one}/children").read_text().split()]
        except OSError:
            continue
        found += sum(float(row.split()[1]) for row in rows if row.startswith("VmRSS")) / 1000.0
    return found


class Somebody:
    """Everything that a hand can do, by a number."""

    def __init__(self, page, dice: random.Random, log: list[str]) -> None:
        self.page, self.dice, self.log = page, dice, log

    def does(self) -> None:
        page = self.page
        deeds = [
            self.way,
            self.button,
            self.button,
            self.button,
            self.box,
            self.slider,
            self.choice,
            self.canvas,
            self.key,
        ]
        if self.dice.random() < 0.01:
            page.reload()
            page.wait_for_selector("html[data-ready=yes]")
            return
        deed = self.dice.choice(deeds)
        try:
            deed()
        except Exception as trouble:  # an element that went away under the hand is no fault
            said = str(trouble)
            if not any(
                word in said for word in ("Timeout", "not attached", "detached", "not visible", "outside", "context")
            ):
                raise
        self.log.append(deed.__name__)

    def some(self, what: str):
        found = self.page.evaluate_handle(
            """([what, share]) => {
                const seen = [...document.querySelectorAll(what)].filter(e => e.offsetParent && !e.disabled);
                return seen[Math.floor(share * seen.length)] || null; }""",
            [what, self.dice.random()],
        )
        return found.as_element()

    def way(self) -> None:
        if one := self.some("#ways button"):
            one.click(timeout=1000)

    def button(self) -> None:
        # what is made to take away takes a minute each: the order card only
        one = self.some("main button:not(.takings button), article[data-kind=order] button, summary, #corners button")
        if one:
            one.click(timeout=1000)

    def box(self) -> None:
        if one := self.some("main input[type=text]"):
            one.fill(self.dice.choice(WORDS)[:60], timeout=1000)
            one.press("Enter", timeout=1000)

    def slider(self) -> None:
        if one := self.some("main input[type=range]"):
            one.focus()
            for _ in range(self.dice.randint(1, 4)):
                self.page.keyboard.press(self.dice.choice(["ArrowLeft", "ArrowRight", "PageUp", "PageDown"]))

    def choice(self) -> None:
        if one := self.some("main select"):
            options = one.eval_on_selector_all("option", "all => all.map(o => o.value)")
            one.select_option(self.dice.choice(options), timeout=1000)
        if one := self.some("main input[type=radio]"):
            one.check(timeout=1000)

    def canvas(self) -> None:
        one = self.some("main canvas")
        if one is None:
            return
        one.scroll_into_view_if_needed(timeout=1000)
        box = one.bounding_box()
        x, y = (box[k] + box[s] * self.dice.uniform(0.1, 0.9) for k, s in (("x", "width"), ("y", "height")))
        self.page.mouse.move(x, y)
        self.page.mouse.down()
        if self.dice.random() < 0.4:
            self.page.mouse.move(x + self.dice.uniform(-80, 80), y + self.dice.uniform(-80, 80), steps=3)
        self.page.mouse.up()

    def key(self) -> None:
        self.page.keyboard.press(
            self.dice.choice(["Tab", "Enter", "Escape", "Control+z", "Control+Shift+z", "ArrowUp", "+"])
        )


def wander(browser, folder: Path, size: str, seconds: float, seed: int) -> list[tuple[float, float, float]]:
    """Seconds, the server's memory and the page's own, MB, over the while."""
    shutil.copy(FIXTURES / "corners" / "scanned-well.ply", folder)
    found = served(folder / "tern-coupe-rear.toml")
    sight, log = Sight(browser, found.link, size), []
    sight.page.on("dialog", lambda dialog: dialog.dismiss())
    sight.measured()
    # a scan is there from the start
    found.come_in()
    assert found.post("/ask/scan/open", {"name": "scanned-well.ply"}).status == 200
    line = sight.context.new_cdp_session(sight.page)
    line.send("Performance.enable")
    dice, hand = random.Random(seed), None
    hand = Somebody(sight.page, dice, log)
    rows, begun, next_look = [], time.monotonic(), 0.0
    while (gone := time.monotonic() - begun) < seconds:
        if gone >= next_look:
            line.send("HeapProfiler.collectGarbage")
            metrics = {one["name"]: one["value"] for one in line.send("Performance.getMetrics")["metrics"]}
            rows.append((gone, resident_mb(found.process.pid), metrics["JSHeapUsedSize"] / 1e6))
            next_look = gone + max(5.0, seconds / 40.0)
        hand.does()
        assert found.process.poll() is None, log[-20:]
    answer = found.post("/ask/files", {})
    assert answer.status == 200
    wrong = [words for words in sight.trouble if "status of 422" not in words and "status of 400" not in words]
    sight.context.close()
    print(f"\n{size}: {len(log)} deeds in {seconds:.0f} s; server {rows[0][1]:.0f} -> {rows[-1][1]:.0f} MB"
          f" (most {max(row[1] for row in rows):.0f}), page {rows[0][2]:.1f} -> {rows[-1][2]:.1f} MB")  # fmt: skip
    code, said = found.end()
    found.process.stderr.close()
    found.process.stdout.close()
    assert wrong == []
    assert code == 0
    assert "Traceback" not in said
    return rows


@pytest.mark.parametrize("size", ["phone", pytest.param("wide", marks=pytest.mark.slow)])
def test_ten_seconds_of_anything(browser, tmp_path, size):
    wander(browser, laid_out(tmp_path), size, 5.0, seed=11)


@pytest.mark.slow
def test_half_an_hour_of_anything_does_not_grow(browser, tmp_path):
    minutes = float(os.environ.get("CLEARANCE_RANDOM_MINUTES", "30"))
    rows = wander(browser, laid_out(tmp_path), "wide", 60.0 * minutes, seed=23)
    # what is loaded once is loaded in the first sixth of it
    settled = next(row for row in rows if row[0] > 10.0 * minutes)
    assert rows[-1][1] - settled[1] < MOST_GROWTH_MB
    assert rows[-1][2] - settled[2] < MOST_GROWTH_MB
