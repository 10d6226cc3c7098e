"""The server: its address and key, what it answers, and its end."""

from __future__ import annotations

import asyncio
import contextlib
import socket
import webbrowser
from collections.abc import AsyncIterator, Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from importlib.resources import files
from typing import Any, NoReturn
from urllib.parse import unquote

import uvicorn
from clearance_cli import stop
from clearance_cli.fault import ON_A_PAGE, fault_said
from clearance_cli.heap import few_arenas
from clearance_cli.out import note
from clearance_cli.page.gate import MOST_BODY, Gate, Keys, TooLarge, new_key
from clearance_cli.page.house import House
from clearance_cli.page.loading import by_one_thread
from clearance_cli.page.sitting import Superseded
from starlette.applications import Starlette
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response
from starlette.routing import Route, WebSocketRoute
from starlette.websockets import WebSocket, WebSocketDisconnect

import clearance
from clearance import opener, plain

LOOPBACK = "127.0.0.1"
MOST_WAITING = 64
"""News that a page has not taken in yet; who falls further behind is let go, and comes again."""
_OWN = {
    "icon.svg": "image/svg+xml",
    "page.css": "text/css",
    "page.js": "text/javascript",
    "choose.js": "text/javascript",
    "measure.js": "text/javascript",
    "move.js": "text/javascript",
    "take.js": "text/javascript",
    "scene.js": "text/javascript",
    "scan.js": "text/javascript",
    "solid.js": "text/javascript",
    "scan.css": "text/css",
}
"""The page's own files, by name; nothing else is given out."""


def own(name: str) -> bytes:
    """One of the page's own files."""
    return (files("clearance_cli.page") / name).read_bytes()


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where it listens."""

    listening: socket.socket
    host: str
    keys: Keys

    @property
    def link(self) -> str:
        """What opens it."""
        return f"http://{self.host}/?key={self.keys.link}"


def loopback() -> Place:
    """A port of this machine alone, the system's choice."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.bind((LOOPBACK, 0))
    return Place(listening=listening, host=f"{LOOPBACK}:{listening.getsockname()[1]}", keys=Keys())


def app_of(house: House, keys: Keys, hosts: tuple[str, ...]) -> Gate:
    """Everything that is answered, behind its gate."""
    routes = [
        Route("/", _page),
        Route("/own/{name}", _own),
        Route("/ask/{what:path}", partial(_asked, house), methods=["POST"]),
        Route("/in", partial(_handed_in, house), methods=["POST"]),
        Route("/take/{kind}/{name}", partial(_taken, house)),
        Route("/scan", partial(_scan_in, house), methods=["POST"]),
        Route("/photo", partial(_photo_in, house), methods=["POST"]),
        Route("/photo/{name}", partial(_photo, house)),
        Route("/scan/drawing", partial(_drawing, house)),
        WebSocketRoute("/bench", partial(_bench, house)),
    ]

    @contextlib.asynccontextmanager
    async def life(_: Starlette) -> AsyncIterator[None]:
        house.begin()
        yield
        house.end()

    inside = Starlette(routes=routes, lifespan=life)
    port = hosts[0].rpartition(":")[2]
    return Gate(app=inside, hosts=hosts, keys=keys, cookie=f"clearance-{port}")


async def _page(_: Request) -> Response:
    return Response(own("page.html"), media_type="text/html")


async def _own(request: Request) -> Response:
    name = request.path_params["name"]
    if name not in _OWN:
        return Response("There is no such file.\n", 404, media_type="text/plain")
    return Response(own(name), media_type=_OWN[name])


def _said(value: Mapping[str, Any], status: int = 200) -> Response:
    return Response(plain.json_text(value), status, media_type="application/json")


async def _asked(house: House, request: Request) -> Response:
    """A question with a small table, answered with one."""
    try:
        table = opener.json_value(await request.body() or b"{}")
        if not isinstance(table, dict):
            raise opener.NotJson(words="this is no table")
        return _said(await asyncio.to_thread(house.asked, request.path_params["what"], table))
    except TooLarge:
        return _said({"refused": "that is larger than anything that this page asks."}, 413)
    except opener.NotJson as wrong:
        return _said({"refused": wrong.words}, 400)
    except clearance.ClearanceError as wrong:
        return _said({"refused": str(wrong)}, 422)
    except Superseded:
        return _said({"refused": "the page is being closed."}, 503)
    except (KeyError, TypeError, ValueError):
        return _said({"refused": "this is no question of this page."}, 400)
    except Exception as fault:  # whatever it is, the page says so and goes on
        note(fault_said(fault))
        return _said({"refused": ON_A_PAGE}, 500)


async def _handed_in(house: House, request: Request) -> Response:
    """A file handed in: it is read, and kept only when it is saved."""
    return await _in(house.handed_in, request, "the file is larger than any corner file is.")


async def _scan_in(house: House, request: Request) -> Response:
    """A scan handed in: read to its end, then written into the folder."""
    words = "the scan is larger than 256 MB. Crop it to the wheel well, or decimate it to a few million triangles."
    return await _in(house.scans.handed_in, request, words)


async def _photo_in(house: House, request: Request) -> Response:
    """A photo beside a letter, whose name stands where a file's would."""
    return await _in(house.photographed, request, "the photo is larger than 24 MB.")


async def _photo(house: House, request: Request) -> Response:
    try:
        content = await asyncio.to_thread(house.photo, request.path_params["name"])
    except clearance.ClearanceError:
        return Response("There is no such photo here.\n", 404, media_type="text/plain")
    return Response(content, media_type="image/jpeg")


async def _in(taken: Callable[[str, bytes], Mapping[str, Any]], request: Request, too_large: str) -> Response:
    """A file that comes whole or not at all: one that breaks off in the middle has touched nothing."""
    try:
        content = await _whole(request)
        name = unquote(request.headers.get("x-name", ""))
        return _said(await asyncio.to_thread(taken, name, content))
    except TooLarge:
        return _said({"refused": too_large}, 413)
    except ClientDisconnect:
        return Response(status_code=400)
    except clearance.ClearanceError as wrong:
        return _said({"refused": str(wrong)}, 422)


async def _whole(request: Request) -> bytes:
    """All of it, in one piece of memory and not in two."""
    taken = bytearray()
    async for piece in request.stream():
        taken += piece
    return bytes(taken)


async def _drawing(house: House, _: Request) -> Response:
    """What is drawn of the scan on the bench."""
    try:
        content = await asyncio.to_thread(house.scans.drawing)
    except clearance.ClearanceError as wrong:
        return _said({"refused": str(wrong)}, 404)
    return Response(content, media_type="application/octet-stream")


async def _taken(house: House, request: Request) -> Response:
    kind, name = request.path_params["kind"], request.path_params["name"]
    content = house.taken(kind, name, request.query_params.get("of", ""))
    if content is None:
        return Response("There is no such file here; ask for it again.\n", 404, media_type="text/plain")
    shown = plain.ascii_only(name).decode().replace('"', "")
    headers = {"content-disposition": f'attachment; filename="{shown}"'}
    return Response(content, media_type="application/octet-stream", headers=headers)


async def _bench(house: House, socket: WebSocket) -> None:
    """What a page asks of the bench, and what all pages are told."""
    await socket.accept()
    news: asyncio.Queue[Mapping[str, Any]] = asyncio.Queue(MOST_WAITING)
    loop = asyncio.get_running_loop()

    def told(one: Mapping[str, Any]) -> None:
        loop.call_soon_threadsafe(_put, news, one)

    house.come(told)
    speaking = asyncio.create_task(_speaks(socket, news))
    try:
        while True:
            house.hear(_table(await socket.receive_text()), told)
    except (WebSocketDisconnect, KeyError, RuntimeError):
        pass
    finally:
        house.go(told)
        speaking.cancel()


def _put(news: asyncio.Queue[Mapping[str, Any]], one: Mapping[str, Any]) -> None:
    if news.full():
        # what is old news to somebody slow is dropped; the newest of each kind is what counts
        news.get_nowait()
    news.put_nowait(one)


async def _speaks(socket: WebSocket, news: asyncio.Queue[Mapping[str, Any]]) -> None:
    with contextlib.suppress(WebSocketDisconnect, RuntimeError):
        while True:
            await socket.send_text(plain.json_text(await news.get(), indent=None))


def _table(text: str) -> Mapping[str, Any]:
    try:
        found = opener.json_value(text)
    except opener.NotJson:
        found = {}
    return found if isinstance(found, dict) else {}


# ---- from the link to the end


class _Server(uvicorn.Server):
    """Ends at Ctrl-C: what can still be answered in a second is, and whatever takes longer is left."""

    ready: Callable[[], None]
    """Called when it answers."""
    leaves: Callable[[], None]
    """Called when it begins to end."""

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        self.ready()

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        self.leaves()
        await super().shutdown(sockets)

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        import signal

        numbers = (signal.SIGINT, signal.SIGTERM)
        before = {number: signal.signal(number, self.handle_exit) for number in numbers}
        try:
            yield
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)


def run(house: House, place: Place, *, phone: Place | None = None, browser: bool) -> NoReturn:
    """Serve until somebody ends it, and end the program; with `phone`, a place on the local network too."""
    few_arenas()
    by_one_thread()
    places = [place] if phone is None else [place, phone]
    hosts = (place.host, place.host.replace(LOOPBACK, "localhost"), *(one.host for one in places[1:]))
    server = _Server(
        uvicorn.Config(
            app_of(house, place.keys, hosts),
            log_config=None,
            access_log=False,
            lifespan="on",
            http="h11",
            loop="asyncio",
            ws="websockets-sansio",
            ws_max_size=MOST_BODY,
            server_header=False,
            limit_concurrency=64,
            timeout_graceful_shutdown=1,
        )
    )
    server.ready = partial(_shown, place, phone, browser)
    server.leaves = house.end
    # a loop of its own, not `asyncio.run`: that would wait for the threads that make a gauge or an answer
    asyncio.new_event_loop().run_until_complete(server.serve(sockets=[one.listening for one in places]))
    note("\nClosed.")
    stop.leave(0)


def _shown(place: Place, phone: Place | None, browser: bool) -> None:
    note(f"The page: {place.link}")
    if phone is not None:
        key = new_key()
        place.keys.once.add(key)
        link = f"http://{phone.host}/?key={key}"
        note(f"For one phone on this network: {link}")
        note(code_of(link))
        note("Whoever shares this network can listen to what the phone and this machine say. Close the page when done.")
    note("Ctrl-C ends it.")
    if browser:
        webbrowser.open(place.link)


def on_network(keys: Keys) -> Place:
    """A port of this machine on the local network, and on no other address. Raises InputError where it has none."""
    address = address_here()
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        listening.bind((address, 0))
    except OSError:
        listening.close()
        raise clearance.InputError(f"nothing can listen on {address}, this machine's address on the network.") from None
    return Place(listening=listening, host=f"{address}:{listening.getsockname()[1]}", keys=keys)


def address_here() -> str:
    """This machine's address on the local network; nothing is sent to find it. Raises InputError where it has none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            # an address of the block that is kept for documents: connecting such a socket only asks the way there
            asking.connect(("192.0.2.1", 9))
            found = str(asking.getsockname()[0])
        except OSError:
            found = LOOPBACK
    if found.startswith("127."):
        raise clearance.InputError("this machine is on no network that a phone could share. Leave --phone out.")
    return found


def code_of(link: str) -> str:
    """A link as a code to scan, two rows of it to a line; light where a terminal is dark, as cameras take it too."""
    import segno

    rows = [list(row) for row in segno.make(link, error="l", micro=False).matrix_iter(border=2)]
    rows += [[0] * len(rows[0])] * (len(rows) % 2)
    # a full block is light: the upper half and the lower half of each place
    signs = {(0, 0): "\u2588", (0, 1): "\u2580", (1, 0): "\u2584", (1, 1): " "}
    lines = [
        "".join(signs[up, down] for up, down in zip(*pair, strict=True))
        for pair in zip(rows[::2], rows[1::2], strict=True)
    ]
    return "\n".join(lines)
