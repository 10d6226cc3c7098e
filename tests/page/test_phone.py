"""What a phone scans, and that its key is spent by the first who uses it. Nothing here speaks to a network."""

from __future__ import annotations

import asyncio

import numpy as np
import pytest
from clearance_cli.page.gate import Gate, Keys
from clearance_cli.page.serve import code_of

import clearance


def asked(gate: Gate, host: str, query: str) -> tuple[int, dict[str, str]]:
    """Status and headers of one request for the page."""
    sent: list[dict] = []

    async def receive() -> dict:
        return {"type": "http.request", "body": b""}

    async def send(message: dict) -> None:
        sent.append(message)

    scope = {
        "type": "http",
        "method": "GET",
        "path": "/",
        "query_string": query.encode(),
        "headers": [(b"host", host.encode())],
    }
    asyncio.run(gate(scope, receive, send))
    return sent[0]["status"], {name.decode(): value.decode() for name, value in sent[0]["headers"]}


async def page(_scope, _receive, send) -> None:
    await send({"type": "http.response.start", "status": 200, "headers": []})


def test_the_phones_key_is_spent_by_the_first_who_uses_it():
    keys = Keys(link="L" * 43, once={"P" * 43})
    gate = Gate(app=page, hosts=("127.0.0.1:5000", "198.51.100.7:5001"), keys=keys, cookie="clearance-5000")
    status, headers = asked(gate, "198.51.100.7:5001", f"key={'P' * 43}")
    assert status == 200
    assert "ws://198.51.100.7:5001" in headers["content-security-policy"]
    assert asked(gate, "198.51.100.7:5001", f"key={'P' * 43}")[0] == 403
    # the link of the terminal is good as long as the server runs
    assert [asked(gate, "127.0.0.1:5000", f"key={'L' * 43}")[0] for _ in range(2)] == [200, 200]


def test_the_code_says_the_link_module_by_module():
    """Read back against segno's own matrix: every half of every sign."""
    segno = pytest.importorskip("segno", reason="the page's extra is not installed")
    link = "http://198.51.100.7:5001/?key=" + "k" * 43
    wanted = np.array([list(row) for row in segno.make(link, error="l", micro=False).matrix_iter(border=2)])
    halves = {"\u2588": (0, 0), "\u2580": (0, 1), "\u2584": (1, 0), " ": (1, 1)}
    lines = code_of(link).split("\n")
    read = np.array([[halves[sign][half] for sign in line] for line in lines for half in (0, 1)])
    assert np.array_equal(read[: len(wanted)], wanted)
    assert all(len(line) <= 60 for line in lines)


def test_without_a_network_it_says_so(monkeypatch):
    from clearance_cli.page import serve

    monkeypatch.setattr(serve, "address_here", lambda: "203.0.113.9")
    with pytest.raises(clearance.InputError, match="nothing can listen on"):
        serve.on_network(Keys())
