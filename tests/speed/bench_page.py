"""From a dial that moves to painted words, and from letting go to the certified answer, in a real Chromium.

The page is served as a person starts it; a drag is an `input` on the dial of backspace or offset. Prints the median and
the 95th of a hundred places each; asserts nothing. Skips what is not installed.
"""

from __future__ import annotations

import contextlib
import shutil
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

CORNERS = ["orchard-pickup-rear", "tern-coupe-rear", "scanned-well-rear", "heron-roadster-front", "sorrel-sedan-front"]
PLACES = 100
_DRAG = """async ([id, count]) => {
    const range = document.getElementById(id), root = document.documentElement, found = [];
    const [low, high, now] = [Number(range.min), Number(range.max), range.valueAsNumber];
    for (let k = 0; k < count; k++) {
        const before = root.dataset.looks;
        range.value = now + (high - low) * .2 * Math.sin(k * 2.399);
        const start = performance.now();
        range.dispatchEvent(new Event("input", { bubbles: true }));
        while (root.dataset.looks === before) await new Promise(requestAnimationFrame);
        await new Promise(requestAnimationFrame);
        found.push(performance.now() - start);
    }
    range.value = now;
    return found;
}"""
_LET_GO = """async (id) => {
    const range = document.getElementById(id), root = document.documentElement;
    range.value = range.valueAsNumber + 1.3 * Number(range.step);
    const start = performance.now();
    range.dispatchEvent(new Event("input", { bubbles: true }));
    range.dispatchEvent(new Event("change", { bubbles: true }));
    root.dataset.measured = "no";
    while (root.dataset.measured !== "yes") await new Promise(requestAnimationFrame);
    return performance.now() - start;
}"""


def main() -> None:
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
    print(f"{'':24}{'drag, ms':>18}{'let go, s':>12}")
    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=chromium, args=["--no-sandbox", "--disable-gpu", "--disable-quic"]
        )
        for name in CORNERS:
            with tempfile.TemporaryDirectory() as folder:
                found = served(laid_out(Path(folder)) / f"{name}.toml")
                page = browser.new_page()
                page.goto(found.link)
                page.wait_for_selector("html[data-measured=yes]", timeout=120_000)
                # the ends of the window are looked for in another process, which takes a core of its own
                with contextlib.suppress(TimeoutError):
                    page.wait_for_selector(".marks .end", state="attached", timeout=20_000)
                place = page.locator("#dial-wheel-backspace, #dial-wheel-offset").get_attribute("id")
                times = sorted(page.evaluate(_DRAG, [place, PLACES]))
                gone = page.evaluate(_LET_GO, place)
                half, most = times[len(times) // 2], times[int(0.95 * len(times))]
                print(f"{name:24}{half:9.0f}{most:9.0f}{gone / 1000:12.2f}")
                page.close()
                found.end()
        browser.close()


if __name__ == "__main__":
    main()
