"""The site of the docs: what its pages print is what the program prints now, it builds without a warning with every
notebook executed, and it opens with no network."""

from __future__ import annotations

import importlib.util
import os
import re
import shutil
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
DOCS = ROOT / "docs"
sys.path.insert(0, str(DOCS))

import gallery  # noqa: E402
import run_pages  # noqa: E402

LONG = {
    "build-a-tub.md", "both-sides-one-order.md", "two-sizes.md", "when-the-boxes-arrive.md", "turn-the-locks.md",
    "narrow-an-axle.md", "raise-a-truck.md", "from-an-empty-folder-to-the-order-card.md", "place-a-scan.md",
}  # fmt: skip
"""Pages that take more than a few seconds."""
NEEDS = ("sphinx", "myst_nb", "furo")
A_PICTURE = b'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"/>'


# ---- pages that are run


@pytest.mark.parametrize(
    "page",
    [
        pytest.param(page, marks=[pytest.mark.slow] if page.name in LONG else [], id=page.name)
        for page in run_pages.pages()
    ],
)
def test_a_page_shows_what_its_commands_print_now(page):
    assert run_pages.made(page).differs() == [], "run `make docs`"


@pytest.mark.parametrize("page", run_pages.pages(), ids=lambda page: page.name)
def test_a_page_runs_all_that_it_tells_its_reader_to_type(page):
    """A fence of another kind would be a command that nobody runs."""
    kinds = set(re.findall(r"^```(\S+)$", page.read_text(encoding="utf-8"), re.MULTILINE))
    assert kinds <= {"sh", "python", "toml", "text"}


def test_what_a_page_claims_is_found_out(tmp_path):
    page = tmp_path / "page.md"
    page.write_text(
        "```sh\nclearance tire 205/55R16 | head -1\n```\n\n```text\nsomething else\n```\n", encoding="utf-8"
    )
    made = run_pages.made(page)
    assert "-something else" in made.differs()
    made.write()
    assert run_pages.made(page).differs() == []


def test_a_command_that_fails_fails_its_page(tmp_path):
    page = tmp_path / "page.md"
    page.write_text("```sh\nclearance tire 20/5R1\n```\n", encoding="utf-8")
    with pytest.raises(run_pages.PageError, match="exit code 2"):
        run_pages.made(page)
    page.write_text("<!-- exit 2 -->\n```sh\nclearance tire 20/5R1\n```\n", encoding="utf-8")
    assert "```text" in run_pages.made(page).text


def test_what_is_put_into_a_corner_file_leaves_the_rest():
    text = '[tire]\nsize = "205/55R16"  # marked\n\n[[part]]\nname = "lip"\nkind = "lip"\nradius = "300 mm"\n'
    more = '[tire]\ngrowth = "none"\n[order]\nquantity = 2\n[[part]]\nname = "lip"\nradius = "310 mm"\n'
    found = run_pages.put_in(text, more)
    assert "# marked" in found
    assert 'growth = "none"' in found
    assert "[order]\nquantity = 2" in found
    assert 'radius = "310 mm"' in found
    assert "300 mm" not in found


# ---- links, on a git host and in the site

LINK = re.compile(r"\]\(([^)#\s]+)(#[^)\s]*)?\)")
PAGES = [
    *DOCS.glob("*.md"),
    *(page for folder in ("tutorial", "how-to", "notebooks") for page in (DOCS / folder).glob("*.md")),
]


@pytest.mark.parametrize("page", sorted(PAGES), ids=lambda page: str(page.relative_to(DOCS)))
def test_every_link_leads_to_a_file_that_is_there(page):
    for target, _ in LINK.findall(page.read_text(encoding="utf-8")):
        if target.startswith("gallery/") and page.name == "gallery.md":
            assert target.removeprefix("gallery/") in MADE
        elif not target.startswith(("http:", "https:", "mailto:")):
            assert (page.parent / target).exists(), target


MADE = {*gallery.MADE, *gallery.DRAWN}


def test_the_gallery_shows_every_picture_that_is_made():
    shown = set(re.findall(r"\(gallery/([^)]+)\)", (DOCS / "gallery.md").read_text(encoding="utf-8")))
    assert shown == MADE


@pytest.mark.slow
def test_the_pictures_of_the_gallery_are_made():
    made = gallery.pictures()
    assert made.keys() == MADE
    for name, content in made.items():
        assert content.startswith(b"\x89PNG" if name.endswith(".png") else b"<"), name


# ---- the site itself


SHOWN = {
    "a-first-corner": (r"27\.0 mm \(1 1/16 in\)", "<svg"),
    "a-mini-tub-from-a-scan": (r"\d mm to take off at", r"outboard +-\d"),
    "backspace-over-a-range": (r'<img [^>]*src="[^"]*_images/\w+\.png"', r"255/70R15 +100 mm"),
}
"""Of each notebook, what stands on its page where it was executed."""
FIRST = "a-first-corner"


@pytest.fixture(params=[(FIRST,), pytest.param(tuple(SHOWN), marks=pytest.mark.slow)], ids=["first", "all"])
def site(tmp_path, request):
    """The site as `make site` builds it, with these notebooks executed; the gallery's pictures are stood in for."""
    missing = [name for name in NEEDS if importlib.util.find_spec(name) is None]
    if missing:
        pytest.skip(f"{', '.join(missing)} not installed: make .venv/.sited")
    place = tmp_path
    shutil.copytree(DOCS, place / "docs", ignore=shutil.ignore_patterns("gallery", "__pycache__"))
    (place / "fixtures").symlink_to(ROOT / "fixtures", target_is_directory=True)
    (place / "docs" / "gallery").mkdir()
    for name in MADE:
        (place / "docs" / "gallery" / name).write_bytes(A_PICTURE)
    words = ["-W", "--keep-going", "-q", "-b", "html", "-d", "trees", "docs", "html"]
    left = [f"notebooks/{name}.md" for name in SHOWN if name not in request.param]
    with (place / "docs" / "conf.py").open("a", encoding="utf-8") as more:
        # what is not executed has no language that its cells could be coloured by
        more.write(
            f"\nnb_execution_excludepatterns = {left}\nsuppress_warnings = {['myst-nb.lexer'] if left else []}\n"
        )
    done = subprocess.run(
        [sys.executable, "-m", "sphinx", *words],
        cwd=place,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return place / "html", request.param


class Loads(HTMLParser):
    """What a page loads by itself, as against what its reader may follow."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag, attrs):
        for name, value in attrs:
            if name in ("src", "srcset", "data", "poster") or (name == "href" and tag in ("link", "use", "image")):
                self.found.append(value or "")


REMOTE = re.compile(r"^\s*(https?:)?//")
LOADED_BY_STYLE = re.compile(r"(?:@import\s+|url\()\s*['\"]?((?:https?:)?//[^'\")]+)")
LOADED_BY_SCRIPT = re.compile(r"(?:import\s*\(|importScripts\(|\.src\s*=|fetch\()\s*['\"`](https?://[^'\"`]+)")


def loaded_from_the_net(folder: Path) -> list[str]:
    """File and address of everything that the pages, styles and scripts of a folder would fetch from elsewhere."""
    found = []
    for file in sorted(folder.rglob("*")):
        if file.suffix not in (".html", ".css", ".js", ".svg"):
            continue
        text = file.read_text(encoding="utf-8")
        addresses = [*LOADED_BY_STYLE.findall(text), *LOADED_BY_SCRIPT.findall(text)]
        if file.suffix in (".html", ".svg"):
            parser = Loads()
            parser.feed(text)
            addresses += [address for address in parser.found if REMOTE.match(address)]
        found += [f"{file.relative_to(folder)}: {address}" for address in addresses]
    return found


def test_a_page_that_loads_from_the_net_is_noticed(tmp_path):
    """The judge itself: each way in which a generator fetches, and none where there is a link only."""
    (tmp_path / "a.html").write_text('<a href="https://example.com">x</a><img src="b.png">', encoding="utf-8")
    assert loaded_from_the_net(tmp_path) == []
    (tmp_path / "b.html").write_text(
        '<script src="//cdn.example.com/x.js"></script><link href="https://f.example.com/f.css"><img src=https://i.example.com/i>'
        '<style>@import "https://s.example.com"; b{background:url(https://u.example.com)}</style>',
        encoding="utf-8",
    )
    assert len(loaded_from_the_net(tmp_path)) == 5


def test_the_site_builds_without_a_warning_with_its_notebooks_executed_and_opens_with_no_network(site):
    """One test of all that is asked of the site, since it is built once: a worker each would build it again."""
    folder, executed = site
    assert loaded_from_the_net(folder) == []
    every_page_is_there_and_found_by_its_search(folder)
    the_notebooks_show_their_answers(folder, executed)


def every_page_is_there_and_found_by_its_search(site):
    index = (site / "searchindex.js").read_text(encoding="utf-8")
    for page in PAGES:
        name = page.relative_to(DOCS).with_suffix("").as_posix()
        assert (site / f"{name}.html").is_file(), name
        assert f'"{name}"' in index, name


def the_notebooks_show_their_answers(site, executed):
    assert SHOWN.keys() == {page.stem for page in (DOCS / "notebooks").glob("*.md")}
    for name in SHOWN:
        text = (site / "notebooks" / f"{name}.html").read_text(encoding="utf-8")
        for word in SHOWN[name]:
            assert bool(re.search(word, text)) == (name in executed), (name, word)


@pytest.mark.parametrize("page", sorted((DOCS / "notebooks").glob("*.md")), ids=lambda page: page.stem)
def test_a_notebook_uses_the_public_door_alone(page):
    cells = re.findall(r"^```\{code-cell\}\n(.*?)^```$", page.read_text(encoding="utf-8"), re.DOTALL | re.MULTILINE)
    assert len(cells) >= 3
    imports = re.findall(r"^\s*(?:import|from) .*$", "\n".join(cells), re.MULTILINE)
    assert imports == ["import clearance"]
