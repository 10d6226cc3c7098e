"""A person's look at the page: one browser on the bench, and the command line beside it to hold the page against."""

from __future__ import annotations

import contextlib
import io
from pathlib import Path

from clearance_cli.main import run

SIZES = {"wide": (1280, 900), "phone": (390, 844)}


class Sight:
    """One browser on the bench, and everything that its console said."""

    def __init__(self, browser, link: str, size: str, **more) -> None:
        width, height = SIZES[size]
        self.context = browser.new_context(
            viewport={"width": width, "height": height}, has_touch=size == "phone", reduced_motion="reduce", **more
        )
        self.page = self.context.new_page()
        self.trouble: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda m: self.trouble.append(m.text) if m.type == "error" else None)
        self.page.on("pageerror", lambda e: self.trouble.append(str(e)))
        self.page.on("request", lambda r: self.asked.append(r.url))
        self.page.goto(link)

    def measured(self) -> None:
        self.page.wait_for_selector("html[data-measured=yes]", timeout=90_000)

    def looked_anew(self, click: str) -> None:
        """Click, and wait until what it asked for was measured and shown; what stood there before does not count."""
        looks = int(self.page.get_attribute("html", "data-looks"))
        self.page.click(click)
        self.page.wait_for_function(
            "n => Number(document.documentElement.dataset.looks) > n", arg=looks, timeout=90_000
        )
        self.measured()

    def gaps(self) -> dict[str, str]:
        rows = self.page.eval_on_selector_all(
            "#parts tr", "rows => rows.map(r => [r.cells[0].lastChild.textContent, r.cells[1].textContent])"
        )
        return dict(rows)

    def dial(self, name: str):
        return self.page.locator(".dial", has=self.page.get_by_text(name, exact=True)).first


def command(*words: str, folder: Path) -> str:
    """What the command line says in this folder; asked in this process, since it is about the words."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.chdir(folder), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run(list(words))
    assert code in (0, 1, 3), err.getvalue()
    return out.getvalue()
