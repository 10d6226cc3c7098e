"""Who is let in. A page on loopback can be reached by every other page that the browser shows, so each request is held:

* Host    - the name that was asked for is this address and port; another site's name that leads here is refused
* Origin  - a request that changes something, and the opening of a socket, come from a page of ours
* key     - the link has a key that was made for this run; its first use is exchanged for a cookie that no script reads
* size    - nothing larger than its place allows is taken in

What leaves carries a policy under which no script, style or picture runs but from the server's own files.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import parse_qs

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

MOST_BODY = 64_000
"""Bytes of a request: a page says where a dial stands, and no more."""
MOST_UPLOAD = 4_000_000
"""Bytes of a file that is handed in: a corner file or a filled sheet, as the opener takes them."""
MOST_SCAN = 256_000_000
"""Bytes of a scan that is handed in: five million triangles of an STL."""
MOST_PHOTO = 24_000_000
"""Bytes of a photo as a phone's camera makes it."""
UPLOADS = {"/in": MOST_UPLOAD, "/scan": MOST_SCAN, "/photo": MOST_PHOTO}
MOST_KEYS = 64
"""Browsers that are let in at once; the oldest must use the link again."""
_METHODS = ("GET", "HEAD", "POST")
_ANOTHER = "Another page asks for this, and only this one may."


def new_key() -> str:
    """256 bits that nobody guesses."""
    return secrets.token_urlsafe(32)


@dataclass(kw_only=True)
class Keys:
    """What opens the door."""

    link: str = field(default_factory=new_key)
    """In the link on the terminal, good as long as the server runs."""
    once: set[str] = field(default_factory=set)
    """Good for one browser: what a phone scans."""
    held: list[str] = field(default_factory=list)
    """Of the browsers that came in; each in its cookie."""

    def exchanged(self, key: str) -> str | None:
        """The cookie for who has this key; None where it opens nothing."""
        known = [one for one in (self.link, *self.once) if hmac.compare_digest(one.encode(), key.encode())]
        if not known:
            return None
        self.once.discard(known[0])
        self.held = [*self.held, new_key()][-MOST_KEYS:]
        return self.held[-1]

    def holds(self, cookie: str) -> bool:
        """Whether this cookie was given out."""
        return any(hmac.compare_digest(one.encode(), cookie.encode()) for one in self.held)


@dataclass(frozen=True, kw_only=True)
class Gate:
    """Stands before everything else."""

    app: App
    hosts: tuple[str, ...]
    """Names with port that are this server: "127.0.0.1:41234"."""
    keys: Keys
    cookie: str
    """The cookie's name: it has the port, since a browser keeps one set of cookies for all ports of an address."""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request or one socket."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        words, status, cookie = self._held(scope)
        if status:
            await _refused(scope, receive, send, status, words)
            return
        held = _Counted(receive, UPLOADS.get(str(scope.get("path")), MOST_BODY), _declared(scope))
        await self.app(scope, held, _with_headers(send, _asked_for(scope), self._set_cookie(cookie)))

    def _held(self, scope: Scope) -> tuple[str, int, str]:
        """What is wrong and its number, 0 where nothing is; and the cookie to give where the key was used."""
        headers = [(name.decode("latin-1"), value.decode("latin-1")) for name, value in scope["headers"]]
        hosts = _values(headers, "host")
        if len(hosts) != 1 or hosts[0].lower() not in self.hosts:
            return "This is not the address of this page. Use the link that the terminal shows.", 421, ""
        if wrong := self._foreign(scope, headers, hosts[0]):
            return wrong, 403, ""
        cookie = self._by_link(scope)
        if cookie or self._by_cookie(headers):
            return "", 0, cookie
        return "Use the link that the terminal shows: it has the key to this page.", 403, ""

    def _foreign(self, scope: Scope, headers: list[tuple[str, str]], host: str) -> str:
        """Why a request is another site's; empty where it is ours."""
        method = scope.get("method", "GET")
        if scope["type"] == "http" and method not in _METHODS:
            return "This page is asked in other ways."
        origins = _values(headers, "origin")
        changes = scope["type"] == "websocket" or method == "POST"
        if (changes or origins) and origins != [f"http://{host.lower()}"]:
            return _ANOTHER
        # what a browser says of the site that asks; of the link itself, which may be clicked in a mail, it says another
        ours = set(_values(headers, "sec-fetch-site")) <= {"same-origin", "none"}
        return "" if ours or self._opens(scope) else _ANOTHER

    def _opens(self, scope: Scope) -> bool:
        """Whether it is the link itself, which may be clicked in a mail or a chat."""
        return (
            scope["type"] == "http"
            and scope["method"] == "GET"
            and scope["path"] == "/"
            and b"key=" in scope["query_string"]
        )

    def _by_link(self, scope: Scope) -> str:
        """The cookie for who comes by the link; empty for anybody else."""
        if not self._opens(scope):
            return ""
        keys = parse_qs(scope["query_string"].decode("latin-1")).get("key", [""])
        return self.keys.exchanged(keys[0]) or ""

    def _by_cookie(self, headers: list[tuple[str, str]]) -> bool:
        pairs = [
            pair.strip().partition("=") for name, value in headers if name == "cookie" for pair in value.split(";")
        ]
        return any(self.keys.holds(value) for name, _, value in pairs if name == self.cookie)

    def _set_cookie(self, cookie: str) -> str:
        return f"{self.cookie}={cookie}; Path=/; HttpOnly; SameSite=Strict" if cookie else ""


def _asked_for(scope: Scope) -> str:
    """The host of a request that was let in."""
    return str(next(value for name, value in scope["headers"] if name == b"host"), "latin-1")


def _values(headers: list[tuple[str, str]], name: str) -> list[str]:
    """Every value that a header was sent with."""
    return [value for one, value in headers if one == name]


def _declared(scope: Scope) -> int:
    """Bytes that a request says it has; 0 where it does not say."""
    found = [value for name, value in scope["headers"] if name == b"content-length"]
    return int(found[0]) if found and found[0].isdigit() and len(found[0]) < 20 else 0


class TooLarge(Exception):  # noqa: N818 - an end, not an error of ours
    """More came than is taken."""


@dataclass
class _Counted:
    """Takes in no more than so many bytes."""

    receive: Receive
    most: int
    declared: int
    """What the request says of itself: nothing is taken in of one that says that it is larger."""
    taken: int = 0

    async def __call__(self) -> Message:
        if self.declared > self.most:
            raise TooLarge
        message = await self.receive()
        if message["type"] == "http.request":
            self.taken += len(message.get("body", b""))
        if self.taken > self.most:
            raise TooLarge
        return message


def policy(host: str) -> str:
    """What a browser may do with anything of ours. `host` is for browsers to whom 'self' is no socket."""
    return (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:;"
        f" connect-src 'self' ws://{host}; manifest-src 'self'; form-action 'none'; base-uri 'none';"
        " frame-ancestors 'none'"
    )


def _with_headers(send: Send, host: str, set_cookie: str) -> Send:
    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            message["headers"] = [*message.get("headers", ()), *_headers(host, set_cookie)]
        await send(message)

    return sent


def _headers(host: str, set_cookie: str = "") -> list[tuple[bytes, bytes]]:
    found = {
        "content-security-policy": policy(host),
        "x-content-type-options": "nosniff",
        "referrer-policy": "no-referrer",
        "cross-origin-opener-policy": "same-origin",
        "cross-origin-resource-policy": "same-origin",
        "cache-control": "no-store",
        "permissions-policy": "camera=(), microphone=(), geolocation=()",
    }
    if set_cookie:
        found["set-cookie"] = set_cookie
    return [(name.encode(), value.encode()) for name, value in found.items()]


async def _refused(scope: Scope, receive: Receive, send: Send, status: int, words: str) -> None:
    """One line, and nothing of the page."""
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": 1008})
        return
    headers = [(b"content-type", b"text/plain; charset=utf-8"), *_headers("127.0.0.1")]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": f"{words}\n".encode()})
