"""Who may speak to the page: its own address, on http and the websocket alike; elsewhere only with the token."""

import asyncio
from concurrent.futures import ThreadPoolExecutor

import pytest

from wheelsim.page.guard import COOKIE, LARGEST_BODY, Guard

HERE = "127.0.0.1:8417"


def finished(talk):
    """Run a coroutine to its end; in a thread of its own, for the browser tests may have a loop running in this one."""
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(asyncio.run, talk).result()


def spoken(guard, kind="http", query=b"", **headers):
    """Status of what the guard answers, or "passed"; the websocket's close code; and the cookie that is set."""
    sent = []

    async def inner(scope, receive, send):
        if scope["type"] == "http":
            await send({"type": "http.response.start", "status": 200, "headers": []})
        sent.append("passed")

    async def receive():
        return {"type": "websocket.connect"}

    async def send(message):
        sent.append(message)

    guard.app = inner
    scope = {"type": kind, "query_string": query,
             "headers": [(name.replace("_", "-").encode(), value.encode()) for name, value in headers.items()]}
    finished(guard(scope, receive, send))
    return sent


@pytest.mark.parametrize("kind", ["http", "websocket"])
@pytest.mark.parametrize(("headers", "passes"), [
    ({"host": HERE}, True), ({"host": HERE, "origin": f"http://{HERE}"}, True), ({"host": HERE.upper()}, True),
    ({"host": "evil.example"}, False), ({"host": HERE, "origin": "http://evil.example"}, False), ({}, False),
    ({"host": "127.0.0.1:9999"}, False), ({"host": HERE, "origin": "null"}, False)])
def test_hosts_and_origins(kind, headers, passes):
    sent = spoken(Guard(None, {HERE}), kind, **headers)
    assert ("passed" in sent) == passes
    if not passes:
        assert sent[0].get("status", sent[0].get("code")) in (403, 1008)


def test_token_once_in_the_address_then_in_a_cookie():
    guard = Guard(None, {HERE}, token="secret")
    assert "passed" not in spoken(guard, host=HERE)
    assert "passed" not in spoken(guard, query=b"token=wrong", host=HERE)
    sent = spoken(guard, query=b"token=secret", host=HERE)
    assert "passed" in sent
    cookie = dict(sent[0]["headers"])[b"set-cookie"].decode()
    assert cookie.startswith(f"{COOKIE}=secret;")
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert "passed" in spoken(guard, "websocket", host=HERE, cookie=f"{COOKIE}=secret")
    assert "passed" not in spoken(guard, "websocket", host=HERE, cookie=f"{COOKIE}=other")


@pytest.mark.parametrize(("length", "passes"), [("10", True), (str(LARGEST_BODY), True), (str(LARGEST_BODY + 1), False),
                                                ("-1", False), ("9" * 30, False), ("ten", False)])
def test_what_is_sent_is_limited(length, passes):
    sent = spoken(Guard(None, {HERE}), host=HERE, content_length=length)
    assert ("passed" in sent) == passes
    if not passes:
        assert sent[0]["status"] == 413


def test_a_body_without_its_length_is_limited_too():
    taken = []

    async def inner(scope, receive, send):
        while (message := await receive())["type"] == "http.request":
            taken.append(len(message["body"]))

    async def receive():
        return {"type": "http.request", "body": b"x" * 1000, "more_body": True}

    scope = {"type": "http", "query_string": b"", "headers": [(b"host", HERE.encode())]}
    finished(Guard(inner, {HERE})(scope, receive, None))
    assert sum(taken) == LARGEST_BODY


def test_nothing_from_elsewhere_and_in_nobodys_frame():
    headers = dict(spoken(Guard(None, {HERE}), host=HERE)[0]["headers"])
    policy = headers[b"content-security-policy"].decode()
    assert "default-src 'self'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "http" not in policy
    assert headers[b"referrer-policy"] == b"no-referrer"
