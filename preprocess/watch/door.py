"""The door: which requests may come in, by their address, their Host and where they come from."""

from __future__ import annotations

import hmac
from dataclasses import dataclass
from http import HTTPStatus
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from email.message import Message

HERE = "127.0.0.1"
"""The only address that is listened at: no other machine reaches it."""

_FROM_HERE = {"none", "same-origin"}
"""What browsers say (Sec-Fetch-Site) of an address that was typed in, and of our own page."""


@dataclass(frozen=True, slots=True)
class Door:
    """Lets in who knows the token, and no page of another site."""

    port: int
    token: str

    @property
    def address(self) -> str:
        """The address of the page."""
        return f"http://{HERE}:{self.port}/{self.token}/"

    def refusal(self, headers: Message, path: str) -> HTTPStatus | None:
        """Why a request is refused; None if it may come in.

        A name of another site that leads to this machine has that site's Host; a page of another
        site that asks from here tells its Origin, or that it is another site.
        """
        hosts = {f"{HERE}:{self.port}", f"localhost:{self.port}"}
        named = headers.get_all("Host", [])
        if len(named) != 1 or named[0] not in hosts:
            return HTTPStatus.MISDIRECTED_REQUEST
        origins = {f"http://{host}" for host in hosts}
        if any(origin not in origins for origin in headers.get_all("Origin", [])):
            return HTTPStatus.FORBIDDEN
        if any(site not in _FROM_HERE for site in headers.get_all("Sec-Fetch-Site", [])):
            return HTTPStatus.FORBIDDEN
        if self.name_in(path) is None:
            return HTTPStatus.NOT_FOUND
        return None

    def name_in(self, path: str) -> str | None:
        """What is asked for behind the token; None without the token."""
        _, _, rest = path.partition("/")
        token, slash, name = rest.partition("?")[0].partition("/")
        known = hmac.compare_digest(token.encode("utf-8", "replace"), self.token.encode())
        return name if known and slash else None
