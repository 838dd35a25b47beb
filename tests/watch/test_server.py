"""Who may ask for what: real sockets, with headers written by hand."""

from __future__ import annotations

import json
import re
import socket
import threading
from contextlib import ExitStack, contextmanager
from typing import NamedTuple

import pytest

from preprocess.errors import UserError
from preprocess.watch.hub import Hub
from preprocess.watch.messages import Began, Drawn, Finished, Named, View
from preprocess.watch.page import WatchPage
from preprocess.watch.server import STREAMS, WatchServer
from tests.watch.fakes import SAFETY

PICTURE = b'<svg xmlns="http://www.w3.org/2000/svg"><title>frond</title></svg>'
POLICY = "default-src 'none'; script-src 'sha256-abc'"


class Answer(NamedTuple):
    status: int
    headers: dict[str, str]
    body: bytes


@contextmanager
def serving(port=0):
    hub = Hub()
    with WatchServer(hub, WatchPage(b"<!DOCTYPE html>", POLICY), port) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        try:
            yield server
        finally:
            hub.close()
            server.shutdown()


@pytest.fixture(scope="module")
def server():
    with serving() as made:
        for message in (Began(), Named("fern.svg"), Drawn(View.CHANGES, PICTURE), Finished()):
            made.hub.put(message)
        yield made


def sent(server, text: str) -> bytes:
    """All that comes back for these bytes, until the server closes or we have asked it to."""
    with socket.create_connection(("127.0.0.1", server.server_port), SAFETY) as connection:
        connection.sendall(text.encode("latin-1"))
        with connection.makefile("rb") as file:
            return file.read()


def asked(server, path: str | None = None, method: str = "GET", **headers: str) -> Answer:
    """The answer to a request; HOST and TOKEN stand for the right ones, no text for no header."""
    named = {"Host": "HOST", "Connection": "close", **headers}
    lines = [f"{name.replace('_', '-')}: {value}" for name, value in named.items() if value]
    request = "\r\n".join([f"{method} {'/TOKEN/' if path is None else path} HTTP/1.1", *lines])
    request = request.replace("HOST", f"127.0.0.1:{server.server_port}")
    request = request.replace("TOKEN", server.door.token)
    return parsed(sent(server, request + "\r\n\r\n"))


def parsed(data: bytes) -> Answer:
    head, _, body = data.partition(b"\r\n\r\n")
    first, *lines = head.decode("latin-1").split("\r\n")
    headers = dict(line.split(": ", 1) for line in lines)
    return Answer(int(first.split()[1]), headers, body)


def test_the_page_comes_to_who_knows_the_token(server):
    answer = asked(server)
    assert (answer.status, answer.body) == (200, b"<!DOCTYPE html>")
    assert answer.headers["Content-Security-Policy"] == POLICY
    assert asked(server, Host=f"localhost:{server.server_port}").status == 200


def test_the_token_has_192_bits(server):
    assert re.fullmatch(r"[\w-]{32}", server.door.token)  # 6 bits to a character
    with serving() as other:
        assert other.door.token != server.door.token


def test_it_listens_on_this_machine_alone(server):
    assert server.socket.getsockname()[0] == "127.0.0.1"


REFUSED = {
    "no token": (404, {"path": "/"}),
    "a wrong token": (404, {"path": f"/{'A' * 32}/"}),
    "part of the token": (404, {"path": "/TOKEN"}),
    "more than the token": (404, {"path": "/TOKENA/"}),
    "nothing of ours": (404, {"path": "/TOKEN/fern.yaml"}),
    "a way up": (404, {"path": "/TOKEN/../../etc/passwd"}),
    "a way up in escapes": (404, {"path": "/TOKEN/%2e%2e/%2e%2e/etc/passwd"}),
    "a way up from a picture": (404, {"path": "/TOKEN/changes/../changes/1"}),
    "a picture that never was": (404, {"path": "/TOKEN/changes/999"}),
    "a number in other digits": (404, {"path": "/TOKEN/changes/%D9%A1"}),
    "a proxy's address": (404, {"path": "http://HOST/TOKEN/"}),
    "a rebound name": (421, {"Host": "evil.test"}),
    "a rebound name with our port": (421, {"Host": "evil.test:80"}),
    "our address without port": (421, {"Host": "127.0.0.1"}),
    "no Host": (421, {"Host": ""}),
    "another site": (403, {"Origin": "http://evil.test"}),
    "the same machine, another port": (403, {"Origin": "http://127.0.0.1:1"}),
    "a sandboxed frame": (403, {"Origin": "null"}),
    "a secure twin": (403, {"Origin": "https://HOST"}),
    "a link on another site": (403, {"Sec_Fetch_Site": "cross-site"}),
    "another port of this machine": (403, {"Sec_Fetch_Site": "same-site"}),
    "a form": (501, {"method": "POST"}),
    "an upload": (501, {"method": "PUT"}),
    "a removal": (501, {"method": "DELETE"}),
    "a question before a request": (501, {"method": "OPTIONS"}),
    "no HTTP at all": (400, {"method": "GET / GET"}),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_refused_is_refused_with_all_headers_and_no_words(server, case):
    status, request = REFUSED[case]
    answer = asked(server, **request)
    assert (answer.status, answer.body) == (status, b"")
    assert_closed_up(answer.headers)
    assert answer.headers["Connection"] == "close"
    assert server.door.token not in str(answer)


@pytest.mark.parametrize("path", ["/TOKEN/states", "/TOKEN/changes/1"])
@pytest.mark.parametrize("case", ["a rebound name", "another site", "a link on another site"])
def test_states_and_pictures_are_refused_like_the_page(server, path, case):
    status, request = REFUSED[case]
    assert asked(server, path, **request).status == status


def test_two_hosts_are_one_too_many(server):
    both = f"Host: 127.0.0.1:{server.server_port}\r\nHost: evil.test"
    text = f"GET /{server.door.token}/ HTTP/1.1\r\n{both}\r\nConnection: close\r\n\r\n"
    assert parsed(sent(server, text)).status == 421


def test_no_second_request_hides_behind_one_that_is_refused(server):
    inner = f"GET /{server.door.token}/ HTTP/1.1\r\nHost: 127.0.0.1:{server.server_port}\r\n\r\n"
    text = f"POST / HTTP/1.1\r\nHost: evil.test\r\nContent-Length: {len(inner)}\r\n\r\n{inner}"
    assert sent(server, text).count(b"HTTP/1.1 ") == 1


def assert_closed_up(headers):
    assert headers["Cache-Control"] == "no-store"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Content-Security-Policy"].startswith("default-src 'none'; ")
    assert headers["Server"].strip() == "evenmark"  # no version of Python
    assert not [name for name in headers if name.startswith("Access-Control")]


def test_a_picture_runs_nothing(server):
    answer = asked(server, "/TOKEN/changes/1")
    assert (answer.status, answer.body) == (200, PICTURE)
    assert answer.headers["Content-Type"] == "image/svg+xml"
    assert_closed_up(answer.headers)
    policy = answer.headers["Content-Security-Policy"].split("; ")
    assert "sandbox" in policy
    assert "frame-ancestors 'none'" in policy
    assert not [rule for rule in policy if rule.startswith(("script-src", "style-src"))]


def test_the_beam_played_back_may_stand_in_our_frame_as_if_of_another_site():
    with serving() as server:
        server.hub.put(Drawn(View.PLAYBACK, b"<!DOCTYPE html>"))
        answer = asked(server, "/TOKEN/playback/1")
        assert (answer.status, answer.body) == (200, b"<!DOCTYPE html>")
        assert (
            answer.headers["Content-Security-Policy"]
            == "sandbox allow-scripts; frame-ancestors 'self'"
        )
        assert answer.headers["X-Frame-Options"] == "SAMEORIGIN"
        assert asked(server, "/TOKEN/playback/1", Sec_Fetch_Site="cross-site").status == 403


class Listener:
    """A page that listens to states, by a socket."""

    def __init__(self, server) -> None:
        self.connection = socket.create_connection(("127.0.0.1", server.server_port), SAFETY)
        self.connection.sendall(
            f"GET /{server.door.token}/states HTTP/1.1\r\n"
            f"Host: 127.0.0.1:{server.server_port}\r\n\r\n".encode()
        )
        self.file = self.connection.makefile("rb")
        self.status = int(self.file.readline().split()[1])
        self.headers = {}
        while line := self.file.readline().strip():
            name, _, value = line.decode().partition(": ")
            self.headers[name] = value

    def state(self):
        """The next state, as the page takes it."""
        while line := self.file.readline():
            if line.startswith(b"data: "):
                return json.loads(line.removeprefix(b"data: "))
        return None

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.file.close()
        self.connection.close()


def test_states_come_whole_and_as_they_change():
    with serving() as server, Listener(server) as listener:
        assert listener.headers["Content-Type"] == "text/event-stream"
        assert_closed_up(listener.headers)
        assert listener.state()["run"] == 0
        server.hub.put(Began())
        assert listener.state()["busy"] is True
        server.hub.put(Finished())
        assert listener.state()["busy"] is False
        server.hub.close()
        assert listener.state() is None  # nothing more will come: the connection ends


def test_eight_pages_may_listen_and_a_ninth_when_one_has_gone():
    with serving() as server, ExitStack() as pages:
        first, *others = [pages.enter_context(Listener(server)) for _ in range(STREAMS)]
        assert [one.status for one in (first, *others)] == [200] * 8
        assert pages.enter_context(Listener(server)).status == 503
        assert asked(server).status == 200  # the page itself still comes
        first.__exit__()
        pause = threading.Event()
        while not server.streams.acquire(blocking=False):
            server.hub.put(Began())  # what is sent to it fails, and its place is free
            pause.wait(0.01)
        server.streams.release()
        assert pages.enter_context(Listener(server)).status == 200


def test_fifty_idle_connections_block_nobody(server):
    idle = [socket.create_connection(("127.0.0.1", server.server_port)) for _ in range(50)]
    assert asked(server).status == 200
    for one in idle:
        one.close()


def test_a_port_that_is_taken_is_told(server):
    with pytest.raises(UserError, match=f"port {server.server_port} cannot be used"):
        WatchServer(Hub(), WatchPage(b"", ""), server.server_port)
