"""The server: the page, its pictures and a stream of states, on this machine alone. Read only."""

from __future__ import annotations

import json
import secrets
import sys
import threading
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from socketserver import TCPServer
from typing import TYPE_CHECKING, Any

from preprocess.errors import wrong
from preprocess.watch.door import HERE, Door
from preprocess.watch.messages import View
from preprocess.watch.state import state_data

if TYPE_CHECKING:
    from preprocess.watch.hub import Hub
    from preprocess.watch.page import WatchPage

STREAMS = 8
"""Pages that may listen at once; each holds a connection."""

_TOKEN_BYTES = 24
"""192 bits, which nobody guesses."""

_PULSE = 5.0
"""Seconds after which a silent stream sends a blank comment: a page that has gone is noticed."""

_HEADERS = {
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}
_NOTHING = (
    "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; sandbox"
)
_FRAMED = {
    "Content-Security-Policy": "sandbox allow-scripts; frame-ancestors 'self'",
    "X-Frame-Options": "SAMEORIGIN",
}
"""For a page that says by itself which script it runs: in our frame, as if of another site."""

_SVG = "image/svg+xml"
_HTML = "text/html; charset=utf-8"


class WatchServer(ThreadingHTTPServer):
    """Serves one job; each request has a thread of its own, so that idle ones block nobody."""

    daemon_threads = True
    allow_reuse_address = sys.platform != "win32"  # there it would share the port with others
    allow_reuse_port = False
    request_queue_size = 128  # a browser opens several at once; the library's five make it wait

    def __init__(self, hub: Hub, page: WatchPage, port: int = 0) -> None:
        """Listen at a port of this machine; 0 for any that is free.

        Raises:
            UserError: the port is taken, or not allowed.
        """
        try:
            super().__init__((HERE, port), _Handler)
        except OSError as error:
            reason = (error.strerror or "unknown reason").lower()
            remedy = "leave --port out to take any that is free"
            raise wrong(f"port {port} cannot be used ({reason})", remedy) from error
        self.hub, self.page = hub, page
        self.door = Door(self.server_port, secrets.token_urlsafe(_TOKEN_BYTES))
        self.streams = threading.BoundedSemaphore(STREAMS)

    def server_bind(self) -> None:
        """Bind without asking a name server what this machine is called."""
        TCPServer.server_bind(self)
        self.server_name, self.server_port = HERE, self.server_address[1]

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Let a page go that has gone away in the middle of an answer; tell all else."""
        if not isinstance(sys.exception(), OSError):
            super().handle_error(request, client_address)


class _Handler(BaseHTTPRequestHandler):
    server: WatchServer
    protocol_version = "HTTP/1.1"
    server_version, sys_version = "evenmark", ""
    timeout = 30  # seconds that a silent connection is kept

    def do_GET(self) -> None:
        door = self.server.door
        refused = door.refusal(self.headers, self.path)
        if refused is not None:
            self.send_error(refused)
            return
        name = door.name_in(self.path)
        if name == "":
            page = self.server.page
            self._answer(page.data, _HTML, {"Content-Security-Policy": page.policy})
        elif name == "states":
            self._stream()
        else:
            self._picture(name or "")

    def _picture(self, name: str) -> None:
        data = self.server.hub.picture(name)
        if data is None:
            self.send_error(HTTPStatus.NOT_FOUND)
        elif name.startswith(f"{View.PLAYBACK}/"):
            self._answer(data, _HTML, _FRAMED)
        else:
            self._answer(data, _SVG, {})

    def _stream(self) -> None:
        """States as server-sent events, each whole, for as long as the page listens."""
        if not self.server.streams.acquire(blocking=False):
            self.send_error(HTTPStatus.SERVICE_UNAVAILABLE)
            return
        try:
            self._head(HTTPStatus.OK, {"Content-Type": "text/event-stream", "Connection": "close"})
            self._send_states()
        except OSError:
            pass  # the page has gone
        finally:
            self.server.streams.release()

    def _send_states(self) -> None:
        hub, version = self.server.hub, -1
        while not hub.is_closed:
            newest, state = hub.wait(version, _PULSE)
            text = ":\n\n"
            if newest != version:
                version = newest
                text = f"id: {version}\ndata: {json.dumps(state_data(state))}\n\n"
            self.wfile.write(text.encode())
            self.wfile.flush()

    def _answer(self, data: bytes, kind: str, headers: dict[str, str]) -> None:
        size = {"Content-Type": kind, "Content-Length": str(len(data))}
        self._head(HTTPStatus.OK, {**size, **headers})
        self.wfile.write(data)

    def _head(self, status: HTTPStatus, headers: dict[str, str]) -> None:
        self.send_response(status)
        framed = {"X-Frame-Options": "DENY", "Content-Security-Policy": _NOTHING}
        for name, value in {**_HEADERS, **framed, **headers}.items():
            self.send_header(name, value)
        self.end_headers()

    def send_error(self, code: int, *_: Any, **__: Any) -> None:
        """Refuse with the same headers, no words, and the end of the connection."""
        nothing = {"Content-Type": "text/plain", "Content-Length": "0", "Connection": "close"}
        self._head(HTTPStatus(code), nothing)

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002 - as the library calls it
        """Say nothing: addresses hold the token."""
