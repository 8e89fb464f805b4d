"""Who may speak to the page: this machine by its own name; another only with the token of the address that was told."""

import hmac
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import SimpleCookie
from typing import Any
from urllib.parse import parse_qs, urlsplit

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

COOKIE = "wheelsim-token"


class Guard:
    """ASGI middleware: refuses other hosts' and origins' requests, on the websocket too, and those without the token.

    Parameters
    ----------
    app : callable
        The application behind it.
    hosts : set of str
        Host headers that may stand, such as ``127.0.0.1:8417``.
    token : str or None
        Asked for where the page is open to other machines: in the address once, then in a cookie.
    """

    def __init__(self, app: App, hosts: set[str], token: str | None = None) -> None:
        self.app, self.hosts, self.token = app, {one.lower() for one in hosts}, token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        headers = {name.decode("latin-1").lower(): value.decode("latin-1") for name, value in scope["headers"]}
        if not self._allowed(headers):
            await _refuse(scope, receive, send, "This page answers its own address only.")
            return
        if self.token is None:
            await self.app(scope, receive, send)
            return
        asked = parse_qs(scope.get("query_string", b"").decode("latin-1")).get("token", [""])[0]
        cookie = SimpleCookie(headers.get("cookie", ""))
        known = cookie[COOKIE].value if COOKIE in cookie else ""
        if not any(hmac.compare_digest(one.encode(), self.token.encode()) for one in (asked, known)):
            await _refuse(scope, receive, send, "The address lacks its token: take the one that wheelsim printed.")
            return

        async def with_cookie(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start" and asked:
                value = f"{COOKIE}={self.token}; HttpOnly; SameSite=Strict; Path=/".encode()
                message["headers"] = [*message.get("headers", []), (b"set-cookie", value)]
            await send(message)

        await self.app(scope, receive, with_cookie)

    def _allowed(self, headers: dict[str, str]) -> bool:
        if headers.get("host", "").lower() not in self.hosts:
            return False
        origin = headers.get("origin")
        return origin is None or urlsplit(origin).netloc.lower() in self.hosts


async def _refuse(scope: Scope, receive: Receive, send: Send, words: str) -> None:
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": 1008})
        return
    body = words.encode()
    await send({"type": "http.response.start", "status": 403,
                "headers": [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", b"%d" % len(body))]})
    await send({"type": "http.response.body", "body": body})
