"""Access to the page: this machine by its own name; any other only with the token in the printed address."""

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
LARGEST_BODY = 1_000_000  # largest request; own choice [byte]
# Nothing from elsewhere is loaded, nobody may show the page inside theirs, and the token leaves with no link. The
# page's library compiles its parts in the browser, hence the two "unsafe" of the page's own.
HEADERS = [(b"content-security-policy",
            b"default-src 'self' 'unsafe-inline' 'unsafe-eval' data: blob:; connect-src 'self'; "
            b"frame-ancestors 'none'; form-action 'self'; base-uri 'self'"),
           (b"referrer-policy", b"no-referrer"), (b"x-content-type-options", b"nosniff")]


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
        asked = parse_qs(scope.get("query_string", b"").decode("latin-1")).get("token", [""])[0]
        if self.token is not None and not self._known(asked, headers):
            await _refuse(scope, receive, send, "The address lacks its token: take the one that wheelsim printed.")
            return
        if not _short(headers.get("content-length", "0")):
            await _refuse(scope, receive, send, f"At most {LARGEST_BODY} bytes at once.", 413)
            return
        cookie = f"{COOKIE}={self.token}; HttpOnly; SameSite=Strict; Path=/" if self.token and asked else None
        await self.app(scope, _limited(receive) if scope["type"] == "http" else receive, _with_headers(send, cookie))

    def _known(self, asked: str, headers: dict[str, str]) -> bool:
        """Whether the token comes along, in the address or in the cookie."""
        cookie = SimpleCookie(headers.get("cookie", ""))
        known = cookie[COOKIE].value if COOKIE in cookie else ""
        return any(hmac.compare_digest(one.encode(), str(self.token).encode()) for one in (asked, known))

    def _allowed(self, headers: dict[str, str]) -> bool:
        if headers.get("host", "").lower() not in self.hosts:
            return False
        origin = headers.get("origin")
        return origin is None or urlsplit(origin).netloc.lower() in self.hosts


def _short(length: str) -> bool:
    return length.isascii() and length.isdigit() and len(length) < 20 and int(length) <= LARGEST_BODY


def _limited(receive: Receive) -> Receive:
    """A body sent without its length is cut off as a disconnect once it exceeds ``LARGEST_BODY``."""
    taken = 0

    async def limited() -> MutableMapping[str, Any]:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        return message if taken <= LARGEST_BODY else {"type": "http.disconnect"}

    return limited


def _with_headers(send: Send, cookie: str | None) -> Send:
    async def sent(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            more = [*HEADERS, *([(b"set-cookie", cookie.encode())] if cookie else [])]
            message["headers"] = [*message.get("headers", []), *more]
        await send(message)

    return sent


async def _refuse(scope: Scope, receive: Receive, send: Send, words: str, status: int = 403) -> None:
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": 1008})
        return
    body = words.encode()
    await send({"type": "http.response.start", "status": status,
                "headers": [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", b"%d" % len(body))]})
    await send({"type": "http.response.body", "body": body})
