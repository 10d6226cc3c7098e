"""The real server, as a person starts it: a process of its own, its link read from stderr, ended by Ctrl-C."""

from __future__ import annotations

import http.client
import json
import re
import shutil
import signal
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

import pytest

pytest.importorskip("uvicorn", reason="the page's extra is not installed")
pytest.importorskip("starlette", reason="the page's extra is not installed")
pytest.importorskip("websockets", reason="the page's extra is not installed")

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
COMMAND = [sys.executable, "-c", "from clearance_cli.main import main; main()"]


@dataclass
class Answer:
    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def json(self):
        return json.loads(self.body)


@dataclass
class Served:
    """A running page, and a browser's part of the talk done by hand."""

    process: subprocess.Popen
    link: str
    folder: Path
    cookie: str = ""
    port: int = 0
    key: str = ""
    said: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        found = re.fullmatch(r"http://127\.0\.0\.1:(\d+)/\?key=([\w-]{40,})", self.link)
        assert found, self.link
        self.port, self.key = int(found[1]), found[2]

    @property
    def host(self) -> str:
        return f"127.0.0.1:{self.port}"

    def ask(
        self, path: str, *, method: str = "GET", body: bytes | None = None, cookie: bool = True, **headers
    ) -> Answer:
        talk = http.client.HTTPConnection("127.0.0.1", self.port, timeout=600)
        sent = {name.replace("_", "-"): value for name, value in headers.items()}
        if cookie and self.cookie:
            sent["cookie"] = f"clearance-{self.port}={self.cookie}"
        talk.putrequest(method, path, skip_host="host" in sent or sent.get("host") == "")
        for name, value in sent.items():
            if value is not None and not (name == "host" and not value):
                talk.putheader(name, value)
        if body is not None and "content-length" not in sent:
            talk.putheader("content-length", str(len(body)))
        talk.endheaders(body)
        answer = talk.getresponse()
        found = Answer(answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read())
        talk.close()
        return found

    def come_in(self) -> Answer:
        answer = self.ask(f"/?key={self.key}")
        self.cookie = re.match(rf"clearance-{self.port}=([^;]+);", answer.headers["set-cookie"])[1]
        return answer

    def post(self, path: str, table: object) -> Answer:
        return self.ask(
            path, method="POST", body=json.dumps(table).encode(), origin=f"http://{self.host}",
            content_type="application/json",
        )  # fmt: skip

    def end(self, seconds: float = 30) -> tuple[int, str]:
        self.process.send_signal(signal.SIGINT)
        code = self.process.wait(seconds)
        return code, self.process.stderr.read()


STARTED: list[subprocess.Popen] = []


@pytest.fixture(autouse=True, scope="session")
def none_left():
    """A test that fails in the middle leaves no server behind."""
    yield
    for process in STARTED:
        if process.poll() is None:
            process.kill()
            process.wait()


def served(file: Path, *words: str) -> Served:
    """Start the page on a file or a folder."""
    process = subprocess.Popen(
        [*COMMAND, "open", str(file), "--no-browser", *words], stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    STARTED.append(process)
    line = process.stderr.readline()
    if "http" not in line:
        process.kill()
        raise AssertionError(line + process.stderr.read())
    return Served(process, line.split()[-1], file if file.is_dir() else file.parent)


def closed(found: Served) -> None:
    """Ended, and nothing of it left open."""
    if found.process.poll() is None:
        found.end()
    found.process.stderr.close()
    found.process.stdout.close()


def laid_out(folder: Path) -> Path:
    """The shipped corners, copied into a folder of their own."""
    for one in (FIXTURES / "corners").iterdir():
        shutil.copy(one, folder / one.name)
    return folder


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    """The pickup on the bench, let in."""
    folder = laid_out(tmp_path_factory.mktemp("bench"))
    found = served(folder / "orchard-pickup-rear.toml")
    found.come_in()
    yield found
    closed(found)


@pytest.fixture
def bench(tmp_path):
    found = served(laid_out(tmp_path) / "orchard-pickup-rear.toml")
    yield found
    if found.process.poll() is None:
        found.end()
    found.process.stderr.close()
    found.process.stdout.close()


@pytest.fixture(params=["wide", "phone"])
def sight(request, browser, bench):
    from page.sight import Sight

    found = Sight(browser, bench.link, request.param)
    yield found
    found.context.close()
    assert found.trouble == []
    assert [url for url in found.asked if f"127.0.0.1:{bench.port}" not in url] == []
