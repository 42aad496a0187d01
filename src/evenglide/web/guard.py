"""Who may ask, and for how much: host, origin, size of a request, headers of every answer."""

from __future__ import annotations

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
            await PlainTextResponse(refused[1], status_code=refused[0], headers=HEADERS)(scope, receive, send)
            return
        await self._app(scope, _limited(receive), _with_headers(send))

    def _refused(self, scope: Scope) -> tuple[int, str] | None:
        headers = Headers(scope=scope)
        if headers.get("host", "").lower() not in self._hosts:
            return 421, "This server does not go by that name."
        origin = headers.get("origin")
        if scope["method"] in UNSAFE and origin is not None and not self._own(origin):
            return 403, "Another site may not write here."
        if headers.get("sec-fetch-site") == "cross-site" and scope["method"] in UNSAFE:
            return 403, "Another site may not write here."
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > LARGEST_BODY:
            return 413, "That is more than this server takes in one request."
        return None

    def _own(self, origin: str) -> bool:
        parts = urlsplit(origin)
        return parts.scheme in ("http", "https") and parts.netloc.lower() in self._hosts


class TooLargeError(Exception):
    """More came than was announced and than is allowed."""


def _limited(receive: Receive) -> Receive:
    """Stop reading a body that grows past the limit, announced or not."""
    total = 0

    async def limited() -> Message:
        nonlocal total
        message = await receive()
        if message["type"] == "http.request":
            total += len(message.get("body", b""))
            if total > LARGEST_BODY:
                raise TooLargeError
        return message

    return limited


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("Cache-Control", "no-store")
        await send(message)

    return sending
