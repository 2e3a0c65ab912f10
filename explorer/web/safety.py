"""What keeps the local page to this computer and to itself: who may ask, and what answers carry.

A page of another site must not read ours, whatever name it gives to 127.0.0.1 (DNS
rebinding): the Host header is checked, and requests that a browser says come from another
site (Fetch Metadata, W3C) are refused. No answer is offered to other origins.
"""

from __future__ import annotations

from base64 import b64encode
from hashlib import sha256

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from explorer.report.sheet import style

LONGEST_ADDRESS = 8000  # bytes
OWN_SITES = (None, "none", "same-origin")
_SHEET = b64encode(sha256(f"\n{style()}".encode()).digest()).decode()  # that of a page alone
POLICY = (
    f"default-src 'none'; style-src 'self' 'sha256-{_SHEET}'; script-src 'self'; "
    "img-src 'self' data:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
CARRIED = {
    "content-security-policy": POLICY,
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cache-control": "private, no-cache",
}


class Guard:
    """Around the app: refuses what does not come from a page of ours on this computer."""

    def __init__(self, app: ASGIApp) -> None:
        """Around ``app``."""
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # no web sockets here: the server closes the connection

        async def carrying(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in CARRIED.items():
                    headers.setdefault(name, value)
            await send(message)

        refusal = refused(scope)
        await (refusal or self.app)(scope, receive, carrying)


def refused(scope: Scope) -> PlainTextResponse | None:
    """The answer to a request that is not let in; None for one that is."""
    headers = Headers(scope=scope)
    if headers.getlist("host") not in [[name] for name in _names(scope)]:
        return PlainTextResponse("This page answers to its own address only.", 421)
    if headers.get("sec-fetch-site") not in OWN_SITES:
        return PlainTextResponse("Another site asked for this page; type its address.", 403)
    if scope["method"] not in ("GET", "HEAD"):
        return PlainTextResponse("Pages can be asked for, no more.", 405, {"allow": "GET, HEAD"})
    if len(scope["raw_path"]) + len(scope["query_string"]) > LONGEST_ADDRESS:
        return PlainTextResponse("The address is too long; ask for less.", 414)
    return None


def _names(scope: Scope) -> list[str]:
    """What the browser may call this server."""
    _, port = scope["server"]
    names = ("127.0.0.1", "localhost")
    return [f"{name}:{port}" for name in names] + (list(names) if port == 80 else [])
