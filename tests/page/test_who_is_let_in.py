"""A table of attacks, each made on the real server, and what it says to them."""

from __future__ import annotations

import json
import os
import socket
from pathlib import Path

import pytest
from page.conftest import laid_out, served

pytestmark = pytest.mark.filterwarnings("ignore::ResourceWarning")

TEXT = b'title = "x"\n'


def test_nobody_without_the_key_sees_anything(page):
    for path in (
        "/",
        "/own/page.js",
        "/own/page.html",
        "/ask/files",
        "/ask/scan",
        "/scan/drawing",
        "/take/order/order.txt",
        "/nothing",
    ):
        answer = page.ask(path, cookie=False)
        assert answer.status == 403, path
        assert b"bench" not in answer.body
        assert answer.headers["content-security-policy"].startswith("default-src 'none'")


def test_the_key_becomes_a_cookie_that_no_script_and_no_other_site_can_use(page):
    answer = page.ask(f"/?key={page.key}", cookie=False)
    flags = {word.strip() for word in answer.headers["set-cookie"].split(";")[1:]}
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= flags
    assert page.key not in answer.headers["set-cookie"]
    assert page.key.encode() not in answer.body


@pytest.mark.parametrize(
    "key", ["", "x", "0" * 43, "%00", "\u00e9", "' or 1=1", "x" * 5000], ids=lambda key: repr(key)[:12]
)
def test_a_wrong_key_opens_nothing(page, key):
    from urllib.parse import quote

    assert page.ask(f"/?key={quote(key)}", cookie=False).status == 403


HOSTS = ["evil.example", "evil.example:{port}", "127.0.0.1", "127.0.0.1:80", "127.0.0.1:{port}.evil.example",
         "localhost", "0.0.0.0:{port}", "[::1]:{port}", "2130706433:{port}", "127.1:{port}", "LOCALHOST:{port}.",
         ""]  # fmt: skip


def test_a_link_with_more_words_than_the_key_is_read_for_its_key(page):
    """A chat may hang words of its own on a link; a wrong key among them stays wrong, and nothing falls over."""
    more = "&".join(f"word{number}=1" for number in range(40))
    assert page.ask(f"/?{more}&key={page.key}", cookie=False).status < 400
    assert page.ask(f"/?{more}&key=wrong", cookie=False).status == 403


@pytest.mark.parametrize("host", HOSTS)
def test_another_name_for_this_address_is_refused(page, host):
    """DNS rebinding: a name of somebody else's that leads here, with all cookies in hand."""
    assert page.ask("/", host=host.format(port=page.port)).status in (400, 421)


def test_two_hosts_are_refused(page):
    with socket.create_connection(("127.0.0.1", page.port), timeout=10) as line:
        cookie = f"clearance-{page.port}={page.cookie}"
        line.sendall(f"GET / HTTP/1.1\r\nHost: {page.host}\r\nHost: evil.example\r\nCookie: {cookie}\r\n\r\n".encode())
        assert line.recv(100).split()[1] in (b"400", b"421")


ORIGINS = [None, "null", "", "http://evil.example", "http://127.0.0.1", "https://127.0.0.1:{port}", "http://localhost:{port}",
           "http://127.0.0.1:{port}.evil.example", "http://127.0.0.1:{port}/", "file://"]  # fmt: skip


@pytest.mark.parametrize("origin", ORIGINS, ids=str)
def test_another_page_changes_nothing(page, origin):
    told = None if origin is None else origin.format(port=page.port)
    for path in ("/ask/open", "/ask/take", "/ask/scan/open", "/ask/scan/lay", "/in", "/scan"):
        answer = page.ask(path, method="POST", body=b'{"name":"tern-coupe-rear.toml"}', origin=told)
        assert answer.status == 403, path


@pytest.mark.parametrize("site", ["cross-site", "same-site", "CROSS-SITE", ""])
def test_what_a_browser_says_of_another_site_is_heard(page, site):
    """A page on another port of this machine is of the same site, and has the cookie sent along."""
    assert page.ask("/own/page.js", sec_fetch_site=site).status == 403
    assert page.ask("/own/page.js", sec_fetch_site="same-origin").status == 200


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "PROPFIND"])
def test_other_ways_to_ask_are_refused(page, method):
    assert page.ask("/", method=method).status in (400, 403, 405)


def opening(page, **changes) -> bytes:
    """The first line that comes back to the opening of a socket."""
    headers = {
        "Host": page.host,
        "Origin": f"http://{page.host}",
        "Cookie": f"clearance-{page.port}={page.cookie}",
        "Upgrade": "websocket",
        "Connection": "Upgrade",
        "Sec-WebSocket-Version": "13",
        "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ==",
        **changes,
    }
    words = "".join(f"{name}: {value}\r\n" for name, value in headers.items() if value is not None)
    with socket.create_connection(("127.0.0.1", page.port), timeout=10) as line:
        line.sendall(f"GET /bench HTTP/1.1\r\n{words}\r\n".encode())
        return line.recv(200).split(b"\r\n")[0]


def test_the_socket_opens_to_a_page_of_ours(page):
    assert b" 101 " in opening(page)


SOCKETS = [
    {"Origin": None}, {"Origin": "null"}, {"Origin": "http://evil.example"}, {"Origin": "http://localhost:1"},
    {"Host": "evil.example"}, {"Cookie": None}, {"Cookie": "clearance-1=x"}, {"Cookie": "a=b"},
    {"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"},
]  # fmt: skip


@pytest.mark.parametrize("changes", SOCKETS, ids=str)
def test_the_socket_opens_to_nobody_else(page, changes):
    assert b" 101 " not in opening(page, **changes)


NAMES = [
    "../secret.toml", "..", ".", "/etc/passwd", "/etc/passwd\0.toml", "a\0.toml", "..\\secret.toml", "C:\\x.toml",
    "link.toml", "up/secret.toml", "pipe.toml", ".hidden.toml", "", "x" * 5000 + ".toml", "folder.toml", "device.toml",
    "a\n.toml",
    "\u202egnp.toml", "notes.txt", "%2e%2e%2fsecret.toml", "~/x.toml", "loop.toml", "con:.toml",
]  # fmt: skip


@pytest.fixture(scope="module")
def trapped(tmp_path_factory):
    """A folder with a secret above it, and every way that leads out."""
    above = tmp_path_factory.mktemp("above")
    (above / "secret.toml").write_text('secret = "do not tell"\n')
    inside = above / "inside"
    inside.mkdir()
    laid_out(inside)
    (inside / "link.toml").symlink_to(above / "secret.toml")
    (inside / "device.toml").symlink_to("/dev/zero")
    (inside / "loop.toml").symlink_to(inside / "loop.toml")
    (inside / "up").symlink_to(above)
    (inside / "folder.toml").mkdir()
    (inside / ".hidden.toml").write_text('secret = "do not tell"\n')
    (inside / "notes.txt").write_text("do not tell")
    os.mkfifo(inside / "pipe.toml")
    found = served(inside)
    found.come_in()
    yield found
    found.end()
    found.process.stderr.close()
    found.process.stdout.close()


@pytest.mark.parametrize("name", NAMES, ids=lambda name: repr(name)[:24])
def test_no_file_outside_of_the_folder_is_read(trapped, name):
    answer = trapped.post("/ask/open", {"name": name})
    assert answer.status == 422
    assert b"do not tell" not in answer.body
    assert b"do not tell" not in trapped.post("/ask/files", {}).body


def test_the_list_of_files_has_plain_files_alone(trapped):
    names = trapped.post("/ask/files", {}).json["files"]
    assert "orchard-pickup-rear.toml" in names
    assert not {"link.toml", "pipe.toml", "folder.toml", "device.toml", "loop.toml", ".hidden.toml"} & set(names)


@pytest.mark.parametrize("path", ["/own/../../../etc/passwd", "/own/%2e%2e/serve.py", "/own/serve.py",
                                  "/own/page.js%00.css", "/own//etc/passwd", "/take/..%2f..%2fetc/passwd",
                                  "//etc/passwd"])  # fmt: skip
def test_no_path_leads_to_a_file_that_is_not_given_out(page, path):
    answer = page.ask(path)
    assert answer.status in (400, 404)
    assert b"root:" not in answer.body
    assert b"import" not in answer.body


OUTWARD = ['"/etc/passwd"', '"../secret.ply"', '"~/secret.ply"', '"up/secret.toml"', '"a/../../b.ply"', "'..\\x.ply'"]


@pytest.mark.parametrize("word", OUTWARD)
def test_a_file_that_is_handed_in_names_nothing_outside(trapped, word):
    text = (trapped.folder / "scanned-well-rear.toml").read_text().replace('"scanned-well.ply"', word)
    assert word in text
    answer = trapped.ask(
        "/in", method="POST", body=text.encode(), origin=f"http://{trapped.host}", x_name="brought.toml"
    )
    assert answer.status == 422
    assert "leads out of the folder" in answer.json["refused"]
    assert not (trapped.folder / "brought.toml").exists()


def test_more_than_is_taken_is_not_taken(page):
    big = b"x" * 70_000
    assert page.ask("/ask/open", method="POST", body=big, origin=f"http://{page.host}").status == 413
    upload = page.ask("/in", method="POST", body=b"#" * 4_100_000, origin=f"http://{page.host}", x_name="a.toml")
    assert upload.status == 413


@pytest.mark.parametrize(
    "body",
    [b"", b"[]", b"null", b"{", b"\xff", b'{"name":1}', b'{"name":null}', b"[" * 5000, b'{"a":NaN}', b'{"a":1,"a":2}'],
)  # fmt: skip
def test_a_question_that_is_none_is_refused_without_a_trace(page, body):
    for path in ("/ask/open", "/ask/take", "/ask/nothing", "/ask/__class__"):
        answer = page.ask(path, method="POST", body=body, origin=f"http://{page.host}")
        assert answer.status in (400, 422), (path, body)
        assert "Traceback" not in answer.body.decode()
        assert set(answer.json) == {"refused"}


TRIANGLE = b"OFF\n3 1 0\n0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n"
SCANS = [
    "../x.off", "/tmp/x.off", "x.toml", "x.off.py", "link.off", "", ".x.off", "x" * 200 + ".off", "a/b.off",
    "..\\x.off", "%2e%2e%2fx.off", "%2Ftmp%2Fx.off", "x%00.off", "x.gltf", "x.zip", "x%0a.off", "folder.off",
    "other.off", "pipe.off",
]  # fmt: skip


@pytest.fixture(scope="module")
def mined(tmp_path_factory):
    """A folder in which every name of a scan that could lead somewhere does."""
    above = tmp_path_factory.mktemp("mined")
    inside = above / "inside"
    inside.mkdir()
    (above / "x.off").write_bytes(b"do not touch")
    (inside / "link.off").symlink_to(above / "x.off")
    (inside / "folder.off").mkdir()
    (inside / "other.off").write_bytes(b"another one of that name")
    os.mkfifo(inside / "pipe.off")
    found = served(inside)
    found.come_in()
    yield found
    found.end()
    found.process.stderr.close()
    found.process.stdout.close()


def everything(folder: Path) -> dict[str, bytes | None]:
    there = sorted(folder.rglob("*"))
    return {str(p.relative_to(folder)): p.read_bytes() if p.is_file() else None for p in there}


def handed_in(page, route: str, name: str, content: bytes):
    return page.ask(route, method="POST", body=content, origin=f"http://{page.host}", x_name=name)


@pytest.mark.parametrize("name", SCANS, ids=lambda name: repr(name)[:24])
def test_a_scan_is_written_to_a_new_plain_file_of_the_folder_or_not_at_all(mined, name):
    before = everything(mined.folder.parent)
    answer = handed_in(mined, "/scan", name, TRIANGLE)
    assert answer.status in (400, 422), name
    assert set(answer.json) == {"refused"}
    if "%" not in name:
        assert mined.post("/ask/scan/open", {"name": name}).status == 422
    assert everything(mined.folder.parent) == before


HOSTILE = [
    b"", b"OFF\n", b"OFF\n999999999 999999999 0\n", b"OFF\n3 1 0\n0 0 0\n1 0 0\nnan inf 0\n3 0 1 2\n", b"\0" * 5000,
    b"OFF\n3 1 0\n0 0 0\n1 0 0\n0 1 0\n3 0 1 7\n", b"OFF\n3 1 0\n0 0 0\n1 0 0\n0 1 0\n3 0 1\n",
    b"<html><script>alert(1)</script>", b"OFF\n3 1 0\n0 0 0\n0 0 0\n0 0 0\n3 0 1 2\n",
]  # fmt: skip


@pytest.mark.parametrize("ending", ["off", "stl", "ply", "glb", "3mf", "obj"])
def test_a_scan_that_is_none_leaves_nothing(mined, ending):
    before = everything(mined.folder)
    for content in HOSTILE:
        answer = handed_in(mined, "/scan", f"bad.{ending}", content)
        assert answer.status == 422, content
        assert set(answer.json) == {"refused"}
        assert "Traceback" not in answer.body.decode()
    assert everything(mined.folder) == before


def test_a_scan_that_breaks_off_leaves_nothing_and_the_server_goes_on(mined):
    before = everything(mined.folder)
    with socket.create_connection(("127.0.0.1", mined.port), timeout=10) as line:
        words = f"POST /scan HTTP/1.1\r\nHost: {mined.host}\r\nOrigin: http://{mined.host}\r\nX-Name: half.off\r\n"
        cookie = f"Cookie: clearance-{mined.port}={mined.cookie}\r\nContent-Length: 5000000\r\n\r\n"
        line.sendall(f"{words}{cookie}".encode() + TRIANGLE * 1000)
    assert mined.post("/ask/scan", {}).status == 200
    assert everything(mined.folder) == before


def test_a_scan_that_says_that_it_is_too_large_is_not_taken_in(mined):
    with socket.create_connection(("127.0.0.1", mined.port), timeout=10) as line:
        words = f"POST /scan HTTP/1.1\r\nHost: {mined.host}\r\nOrigin: http://{mined.host}\r\nX-Name: big.off\r\n"
        cookie = f"Cookie: clearance-{mined.port}={mined.cookie}\r\nContent-Length: {10**12}\r\n\r\n"
        line.sendall(f"{words}{cookie}".encode())
        # not one byte of it was sent, and it is refused
        assert line.recv(100).split()[1] == b"413"


AT, DOWN = [0.2, 0.2, 1], [0, 0, -1]
PICKS = [
    ("pick", {}),
    ("pick", {"group": "hub", "start": [0, 0], "way": DOWN}),
    ("pick", {"group": "hub", "start": "abc", "way": DOWN}),
    ("pick", {"group": "hub", "start": [0.2, 0.2, 1e300], "way": DOWN}),
    ("pick", {"group": "hub", "start": AT, "way": [0, 0, 0]}),
    ("pick", {"group": "__class__", "start": AT, "way": DOWN}),
    ("pick", {"group": "hub", "start": [[0.2], 0.2, 1], "way": DOWN}),
    ("unpick", {"group": "hub", "number": -1}),
    ("unpick", {"group": "hub", "number": "x"}),
    ("unpick", {"group": "hub", "number": 1e99}),
    ("say", {"key": "unit", "text": "furlong"}),
    ("say", {"key": "stray", "text": "lots"}),
    ("say", {"key": "gone", "text": ""}),
    ("say", {"key": "within", "text": "x" * 500}),
    ("say", {"key": "within", "text": None}),
    ("brush", {"start": AT, "way": DOWN}),
    ("stands", {}),
    ("answer", {"name": "x"}),
    ("lay", {"name": "x"}),
    ("lay", {"name": 'a"]\n[x]'}),
    ("nothing", {}),
    ("open", {"name": 7}),
]


@pytest.mark.parametrize(("what", "table"), PICKS, ids=lambda one: repr(one)[:40])
def test_a_click_that_is_none_changes_nothing(mined, what, table):
    assert handed_in(mined, "/scan", "triangle.off", TRIANGLE).status == 200
    answer = mined.post(f"/ask/scan/{what}", table)
    assert answer.status in (400, 422)
    assert set(answer.json) == {"refused"}
    now = mined.post("/ask/scan", {}).json
    assert (now["undo"], now["points"]["hub"], now["brushed"]) == (0, [], 0)


BACKSPACE, ON = ["wheel", "backspace"], "orchard-pickup-rear.toml rear-left"
JOBS = [
    {},
    [],
    1,
    {"do": "lay", "sitting": {}},
    {"do": "set"},
    {"do": "set", "path": "x", "value": 1},
    {"do": "shell", "text": "ls"},
    {"do": "turn", "on": ON, "path": BACKSPACE, "value": "1"},
    {"do": "turn", "on": ON, "path": BACKSPACE, "value": 1e400},
    {"do": "set", "on": ON, "path": ["wheel", "bolt_circle"], "value": 1},
    {"do": "write", "on": ON, "path": ["part", "lip", "file"], "text": "/etc/passwd"},
    {"do": "write", "on": ON, "path": BACKSPACE, "text": "\u0000"},
    {"do": "tire", "on": ON, "text": "x" * 5000},
    {"do": "corner", "text": "../x"},
    {"do": "save", "text": "../x.toml"},
    {"do": "save", "text": "/tmp/x.toml"},
    {"do": "write", "on": ON, "path": BACKSPACE, "text": '1 in"\n[x]'},
    {"do": "__init__"},
    # of a corner that lay on the bench before, or never did
    {"do": "set", "on": "orchard-pickup-rear.toml rear-right", "path": BACKSPACE, "value": 90},
]


def test_what_is_nothing_that_can_be_done_is_refused_and_changes_nothing(page):
    from websockets.sync.client import connect

    before = (page.folder / "orchard-pickup-rear.toml").read_bytes()
    names = sorted(os.listdir(page.folder))
    headers = {"Cookie": f"clearance-{page.port}={page.cookie}"}
    with connect(f"ws://{page.host}/bench", origin=f"http://{page.host}", additional_headers=headers) as line:
        for job in JOBS:
            line.send(json.dumps(job))
            while (news := json.loads(line.recv(30)))["say"] != "refused":
                pass
            assert "Traceback" not in news["words"]
        line.send("not json")
        line.send(json.dumps({"do": "undo"}))
        while (news := json.loads(line.recv(30)))["say"] != "stood":
            pass
        assert (news["undo"], news["unsaved"]) == (0, False)
    assert (page.folder / "orchard-pickup-rear.toml").read_bytes() == before
    assert sorted(os.listdir(page.folder)) == names


def test_a_file_that_changed_underneath_is_left_as_it_is(tmp_path):
    from websockets.sync.client import connect

    found = served(laid_out(tmp_path) / "tern-coupe-rear.toml")
    found.come_in()
    headers = {"Cookie": f"clearance-{found.port}={found.cookie}"}
    place = tmp_path / "tern-coupe-rear.toml"
    with connect(f"ws://{found.host}/bench", origin=f"http://{found.host}", additional_headers=headers) as line:

        def told(kind: str) -> dict:
            while (news := json.loads(line.recv(60)))["say"] != kind:
                pass
            return news

        stood = told("stood")
        dial = next(one for one in stood["dials"] if one["path"][0] == "wheel")
        line.send(
            json.dumps({"do": "set", "on": stood["on"], "path": dial["path"], "value": dial["value"] + dial["step"]})
        )
        assert told("stood")["unsaved"]
        edited = place.read_text() + "# by hand\n"
        place.write_text(edited)
        line.send(json.dumps({"do": "save"}))
        assert "changed by somebody else" in told("refused")["words"]
        assert place.read_text() == edited
        line.send(json.dumps({"do": "save", "text": "mine.toml"}))
        assert "mine.toml" in told("saved")["words"]
        assert (tmp_path / "mine.toml").is_file()
        line.send(json.dumps({"do": "save", "text": "sorrel-sedan-front.toml"}))
        assert "changed by somebody else" in told("refused")["words"]
    found.end()
    found.process.stderr.close()
    found.process.stdout.close()


def test_it_listens_to_this_machine_alone(page):
    rows = [row.split() for row in Path("/proc/net/tcp").read_text().splitlines()[1:]]
    here = [row[1] for row in rows if int(row[1].split(":")[1], 16) == page.port and row[3] == "0A"]
    # 127.0.0.1 as the kernel writes it
    assert [one.split(":")[0] for one in here] == ["0100007F"]


def test_a_ctrl_c_ends_it_with_nothing_left(tmp_path):
    found = served(laid_out(tmp_path) / "tern-coupe-rear.toml")
    names = sorted(os.listdir(tmp_path))
    code, said = found.end()
    assert code == 0
    assert "Closed." in said
    assert "Traceback" not in said
    assert sorted(os.listdir(tmp_path)) == names
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection(("127.0.0.1", found.port), timeout=5)
    found.process.stderr.close()
    found.process.stdout.close()
