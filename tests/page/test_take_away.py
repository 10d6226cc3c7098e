"""What is taken away is what the command line writes, byte by byte, and the command that the page shows writes it."""

from __future__ import annotations

import inspect
import shlex
import shutil
import subprocess
import urllib.parse
from pathlib import Path

import pytest
from clearance_cli.main import run
from clearance_cli.page.folder import Folder
from clearance_cli.page.sitting import Hand, Sitting, Superseded
from clearance_cli.page.takings import TAKINGS, command_of
from page.conftest import COMMAND, FIXTURES, closed, laid_out, served

import clearance

CORNERS = sorted(one.name for one in (FIXTURES / "corners").glob("*.toml"))
QUICK = "orchard-pickup-rear.toml"
"""The shipped corner whose answers cost least."""
ASKED = {"report": "check_files", "drawings": "draw", "gauge": "printed_gauge", "envelope": "templates_of"}
"""The question that makes each, which its verb asks too."""


def taken(found, kind: str) -> tuple[dict[str, bytes], str]:
    """The files that the real server hands out, and the command that it shows."""
    answer = found.post("/ask/take", {"kind": kind})
    assert answer.status == 200, answer.body
    names = [file["name"] for file in answer.json["files"]]
    files = {name: found.ask(f"/take/{kind}/{urllib.parse.quote(name)}").body for name in names}
    assert {file["name"]: file["size"] for file in answer.json["files"]} == {n: len(b) for n, b in files.items()}
    return files, answer.json["command"]


def written(folder: Path, shown: str) -> dict[str, bytes]:
    """What the shown command writes, run in the file's folder as it stands there; what it prints, where it writes none.

    A shell takes the line apart, as somebody's would who pastes it.
    """
    program, *words = shlex.split(shown)
    assert program == "clearance"
    line = ["sh", "-c", f'exec "$@" {shown.partition(" ")[2]}', "sh", *COMMAND]
    done = subprocess.run(line, cwd=folder, capture_output=True, check=False)
    assert done.returncode in (0, 1, 3), done.stderr.decode()
    if "--out" not in words:
        return {"order.txt": done.stdout}
    made = folder / words[words.index("--out") + 1]
    return {one.name: one.read_bytes() for one in made.iterdir() if not one.name.startswith(".")}


@pytest.mark.parametrize(
    "kind", ["report", *(pytest.param(kind, marks=pytest.mark.slow) for kind in ("gauge", "envelope"))]
)
def test_it_is_what_the_command_line_writes(page, kind):
    """Order card, drawings and file: test_in_browser.py. That the envelope is asked for as its verb does: below."""
    files, shown = taken(page, kind)
    assert len(files) > 1
    assert files == written(page.folder, shown)


def test_a_link_never_gives_what_another_page_had_made_since(page):
    """Two pages on one bench: what one was shown is what it gets, or it is told to ask again."""
    page.post("/ask/take", {"kind": "file"})
    first = page.post("/ask/take", {"kind": "file"}).json["files"][0]
    link = f"/take/file/{first['name']}?of={first['sum']}"
    whole = page.ask(link)
    assert whole.status == 200
    text = (page.folder / first["name"]).read_text()
    other = text.replace("title = ", "title = 'Another' # ", 1)
    answer = page.ask("/in", method="POST", body=other.encode(), origin=f"http://{page.host}", x_name=first["name"])
    assert answer.status == 200, answer.body
    while page.post("/ask/take", {"kind": "file"}).json["files"][0]["sum"] == first["sum"]:
        pass
    assert page.ask(link).status == 404
    assert page.post("/ask/open", {"name": first["name"]}).status == 200


@pytest.mark.slow
@pytest.mark.parametrize("corner", [name for name in CORNERS if name != QUICK])
def test_of_every_shipped_corner(tmp_path, corner):
    found = served(laid_out(tmp_path) / corner)
    found.come_in()
    for kind in TAKINGS:
        files, shown = taken(found, kind)
        assert files == (written(tmp_path, shown) if shown else {corner: (tmp_path / corner).read_bytes()}), kind
    closed(found)


@pytest.mark.parametrize("kind", list(ASKED))
def test_the_page_asks_as_the_verb_does(tmp_path, monkeypatch, kind):
    """The same question with the same of everything that can be said with it; only where files will lie is another."""
    own, heard = getattr(clearance, ASKED[kind]), []

    def asked(*words, **more):
        said = inspect.signature(own).bind(*words, **more)
        said.apply_defaults()
        heard.append({key: one for key, one in said.arguments.items() if key not in ("folder", "progress")})
        raise clearance.InputError("heard")

    monkeypatch.setattr(clearance, ASKED[kind], asked)
    # an answer is compared byte by byte above; here only what is asked of it
    monkeypatch.setattr(clearance, "check", lambda corner, **_: corner)
    monkeypatch.chdir(tmp_path)
    sitting = sat(tmp_path, QUICK)
    with pytest.raises(clearance.InputError, match="heard"):
        TAKINGS[kind].made(sitting, silent)
    assert run(shlex.split(command_of(TAKINGS[kind], sitting))[1:]) == 2
    page, line = ({key: repr(word) for key, word in one.items() if key not in ("answer", "corner")} for one in heard)
    assert page == line
    assert {"report": {"slack_mm"}, "gauge": {"making", "over_mm"}}.get(kind, {"paper"}) <= set(page)


def silent(*_: object) -> None:
    """Nothing is said as it goes."""


@pytest.mark.parametrize("kind", ["report", "envelope"])
def test_who_ends_the_server_does_not_wait_for_what_takes_long(tmp_path, kind):
    sitting, hand = sat(tmp_path, QUICK), Hand()
    hand.end()
    with pytest.raises(Superseded):
        TAKINGS[kind].made(sitting, hand.leave)


def sat(folder: Path, name: str, corner: str | None = None) -> Sitting:
    """A copy of a shipped file on the bench."""
    laid_out(folder)
    place = next(one for one in (folder / name, FIXTURES / "cars" / name) if one.is_file())
    text = place.read_text().replace("../corners/", "")
    (folder / name).write_text(text)
    bench = clearance.on_bench(text, folder / name, corner=corner)
    return Sitting(folder=Folder(place=folder), name=name, bench=bench, as_read=text)


@pytest.mark.parametrize("name", ["-x.toml", "my truck's.toml", "$(date) `id`.toml", "a;b&c.toml", "höhe.toml"])
def test_the_command_stands_for_any_name_that_a_file_may_have(tmp_path, name):
    """A shell hands the file's own name to the verb, and the verb takes it for a file."""
    shutil.copy(FIXTURES / "corners" / QUICK, tmp_path / name)
    text = (tmp_path / name).read_text()
    folder = Folder(place=tmp_path)
    sitting = Sitting(folder=folder, name=name, bench=clearance.on_bench(text, folder.file(name)), as_read=text)
    shown = command_of(TAKINGS["order"], sitting)
    said = subprocess.run(["sh", "-c", f"printf '%s\\n' {shown}"], capture_output=True, text=True, check=True).stdout
    assert said.splitlines() == shlex.split(shown)
    assert (tmp_path / shlex.split(shown)[-1]).samefile(tmp_path / name)
    if name.startswith("-"):
        assert written(tmp_path, shown) == TAKINGS["order"].made(sitting, silent)


def test_of_a_car_the_command_names_the_corner(tmp_path):
    sitting = sat(tmp_path, "tern-coupe.toml", "rear-right")
    shown = command_of(TAKINGS["order"], sitting)
    assert shown.endswith("--corner rear-right")
    assert written(tmp_path, shown) == TAKINGS["order"].made(sitting, silent)
