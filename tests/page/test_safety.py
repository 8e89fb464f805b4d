"""Nobody else gets in: other hosts and origins, the websocket, paths, what is too large, other machines' visitors."""

import http.client
import socket
import urllib.error
import urllib.request
from urllib.parse import urlsplit

import pytest

from tests.page.serving import Served, sample_into

pytest.importorskip("nicegui", reason="the page's library is not installed: pip install -e '.[bench,browser]'")
SOCKET = "/_nicegui_ws/socket.io/?EIO=4&transport="


def handshake(port, host, origin, cookie=None):
    """First line of the answer to a websocket's opening."""
    lines = [f"GET {SOCKET}websocket HTTP/1.1", f"Host: {host}", "Upgrade: websocket", "Connection: Upgrade",
             "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==", "Sec-WebSocket-Version: 13",
             *([f"Origin: {origin}"] if origin else []), *([f"Cookie: {cookie}"] if cookie else [])]
    with socket.create_connection(("127.0.0.1", port), timeout=10) as one:
        one.sendall(("\r\n".join(lines) + "\r\n\r\n").encode())
        return one.recv(4096).decode("latin-1").split("\r\n")[0]


def status(address, **headers):
    try:
        return urllib.request.urlopen(urllib.request.Request(address, headers=headers), timeout=10).status
    except urllib.error.HTTPError as refused:
        return refused.code


def raw(port, path, method="GET", body=None):
    """Status and body for a path sent as it stands, dots and all."""
    one = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    one.request(method, path, body=body)
    answer = one.getresponse()
    return answer.status, answer.read()


@pytest.mark.parametrize("headers", [{"Host": "evil.example"}, {"Origin": "http://evil.example"}, {"Origin": "null"}])
@pytest.mark.parametrize("path", ["", "practise", "shelf", "gallery/which_way.svg", SOCKET[1:] + "polling"])
def test_other_hosts_and_origins_are_refused(served_long, path, headers):
    assert status(served_long.address + path) == 200
    assert status(served_long.address + path, **headers) == 403


def test_the_websocket_asks_too(served_long):
    port = served_long.port
    here = f"127.0.0.1:{port}"
    assert " 101 " in handshake(port, here, f"http://{here}")
    assert " 403 " in handshake(port, here, "http://evil.example")
    assert " 403 " in handshake(port, "evil.example", f"http://{here}")
    assert " 403 " in handshake(port, here, f"http://127.0.0.1:{port + 1}")


@pytest.mark.parametrize("path", [
    "/../../../../etc/passwd", "/gallery/../../../../../etc/passwd", "/gallery/..%2f..%2f..%2f..%2fetc%2fpasswd",
    "/gallery/%2fetc%2fpasswd", "/gallery/README.md", "/gallery/bench_tablet.png", "/_nicegui/../../../etc/passwd",
    "/_nicegui/3.18.0/static/..%2f..%2f..%2f..%2f..%2fetc%2fpasswd", "/%2e%2e/%2e%2e/etc/passwd",
    "/_nicegui/3.18.0/components/..%2f..%2f..%2f..%2fetc%2fpasswd"])
def test_no_way_out(served_long, path):
    code, body = raw(served_long.port, path)
    assert code in (400, 404)
    assert b"root:" not in body


def test_what_is_too_large_is_refused(served_long):
    assert raw(served_long.port, "/", "POST", b"x" * 1_000_001)[0] == 413
    assert raw(served_long.port, "/", "POST", b"x")[0] == 405  # nothing takes an upload


def test_other_machines_need_the_token(tmp_path):
    served = Served(sample_into(tmp_path), "--host", "0.0.0.0")
    try:
        told = urlsplit(served.said.split()[-1])
        token = told.query.removeprefix("token=")
        assert len(token) > 20
        assert status(served.address) == 403
        assert status(f"{served.address}?token=wrong") == 403
        assert " 403 " in handshake(served.port, f"127.0.0.1:{served.port}", None)
        answer = urllib.request.urlopen(f"{served.address}?token={token}", timeout=10)
        cookie = answer.headers["Set-Cookie"].split(";")[0]
        assert status(served.address, Cookie=cookie) == 200
        assert " 101 " in handshake(served.port, f"127.0.0.1:{served.port}", None, cookie)
        assert status(f"{served.address}?token={token}", Host="evil.example") == 403
    finally:
        served.kill()


def test_loopback_alone_is_told_without_a_token(served_long):
    assert "token" not in served_long.said
    # Not reached by this machine's other addresses.
    for one in {entry[4][0] for entry in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}:
        if not one.startswith("127."):
            with pytest.raises((ConnectionError, TimeoutError)):
                socket.create_connection((one, served_long.port), timeout=2)
