"""Who may ask, and for how much: host, origin, size of a request, headers of every answer."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LARGEST_BODY = 8 * 2**20
"""Of any request: a photo as a phone takes it. [bytes]"""
POLICY = (
    "default-src 'self'; script-src 'self'; style-src 'self'; font-src 'self' data:; "
    "img-src 'self' data: blob:; media-src 'self' blob:; connect-src 'self'; object-src 'none'; "
    "base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    # Not "no-referrer": with it a browser calls the origin of our own forms "null".
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
UNSAFE = frozenset({"POST", "PUT", "PATCH", "DELETE"})
ELSEWHERE = frozenset({"cross-site", "same-site"})
"""What a browser says of a request from another site, or from another port of this one."""
BEGINNINGS = frozenset({"/", "/field/"})
CLOSE = {"Connection": "close"}
"""Whoever is refused is not listened to any longer: the rest of a large body is not even read."""
TOO_LARGE = 413, "That is more than this server takes in one request."
TOO_SLOW = 408, "That took too long to come. What was recorded is kept on the phone; send it again."
LONGEST_S = 60.0
"""How long the body of a request may take: whoever sends none would keep a connection for ever. [s]"""


class Guard:
    """Refuse requests that come by another name, from another site, or are too large.

    A name that is not ours in ``Host`` means that somebody else's name was pointed at this machine; an
    ``Origin`` that is not ours means that another site's page is asking.

    Parameters
    ----------
    app : ASGIApp
    hosts : iterable of str
        Names, with port, under which this server may be addressed.
    """

    def __init__(self, app: ASGIApp, *, hosts: Iterable[str]) -> None:
        self._app = app
        self._hosts = frozenset(one.lower() for one in hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        refused = self._refused(scope)
        if refused is not None:
            answer = PlainTextResponse(refused[1], status_code=refused[0], headers={**HEADERS, **CLOSE})
            await answer(scope, receive, send)
            return
        limit = _Limit(receive, _with_headers(send))
        try:
            await self._app(scope, limit.receive, limit.send)
        except _EnoughError:
            await limit.refuse(scope)

    def _refused(self, scope: Scope) -> tuple[int, str] | None:
        headers = Headers(scope=scope)
        if headers.get("host", "").lower() not in self._hosts:
            return 421, "This server does not go by that name."
        origin = headers.get("origin")
        if scope["method"] in UNSAFE and origin is not None and not self._own(origin):
            return 403, "Another site may not write here."
        if headers.get("sec-fetch-site") in ELSEWHERE and not _arrives(scope, headers):
            return 403, "Another site may not ask here."
        length = headers.get("content-length", "0")
        if not (length.isascii() and length.isdigit()) or int(length) > LARGEST_BODY:
            return TOO_LARGE
        return None

    def _own(self, origin: str) -> bool:
        parts = urlsplit(origin)
        return parts.scheme in ("http", "https") and parts.netloc.lower() in self._hosts


def _arrives(scope: Scope, headers: Headers) -> bool:
    """Whether somebody follows a link from elsewhere to one of the two pages one begins at."""
    navigates = scope["method"] == "GET" and headers.get("sec-fetch-mode") == "navigate"
    return navigates and scope["path"] in BEGINNINGS


class _EnoughError(Exception):
    """More came than is allowed, or too slowly."""


class _Limit:
    """Stop reading a body that grows past the limit, announced or not, or takes too long; answer that."""

    def __init__(self, receive: Receive, send: Send) -> None:
        self._receive, self._send = receive, send
        self._until = asyncio.get_running_loop().time() + LONGEST_S
        self._total = 0
        self._whole = self._begun = False
        self._why: tuple[int, str] | None = None

    async def receive(self) -> Message:
        """Receive the next part; once the body is whole, only whether the connection ends is waited for."""
        try:
            async with asyncio.timeout_at(None if self._whole else self._until):
                message = await self._receive()
        except TimeoutError as error:
            self._why = TOO_SLOW
            raise _EnoughError from error
        if message["type"] == "http.request":
            self._whole = not message.get("more_body", False)
            self._total += len(message.get("body", b""))
            if self._total > LARGEST_BODY:
                self._why = TOO_LARGE
                raise _EnoughError
        return message

    async def send(self, message: Message) -> None:
        """Send on; whatever else would be answered to a body that is refused is not sent."""
        if self._why is not None and not self._begun:
            raise _EnoughError
        self._begun = True
        await self._send(message)

    async def refuse(self, scope: Scope) -> None:
        """Answer why it is refused."""
        if self._why is not None and not self._begun:
            answer = PlainTextResponse(self._why[1], status_code=self._why[0], headers=CLOSE)
            await answer(scope, self._receive, self._send)


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("Cache-Control", "no-store")
        await send(message)

    return sending
