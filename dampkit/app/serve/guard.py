"""What every request passes first: for this machine's names only, from our own pages, not too large, by who was let in."""

from __future__ import annotations

import asyncio
import secrets
from http.cookies import CookieError, SimpleCookie
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.formparsers import MultiPartException
from starlette.responses import PlainTextResponse, RedirectResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from dampkit.app.serve.door import STAY_S, Door
from dampkit.bench.gate import Limit
from dampkit.frozen import frozen

BODY = Limit("DAMPKIT_MOST_UPLOAD_BYTES", 2**29, "bytes sent at once")
STALLED_S = 60.0  # how long nothing may come of what is being sent
READING, SENDING = ("GET", "HEAD"), "POST"
OPEN = ("/door", "/static/")  # without a session
POLICY = (
    "default-src 'none'; style-src 'self' 'nonce-{nonce}'; script-src 'self'; img-src 'self' data: blob:; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
ALWAYS = {
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), geolocation=(), microphone=()",
}


@frozen
class Names:
    """`here` are the hosts, with their port, that this page answers to; `proxied` those of a TLS proxy in front of it."""

    here: frozenset[str]
    proxied: frozenset[str] = frozenset()

    def known(self, host: str) -> bool:
        return host.lower() in self.here | self.proxied

    def ours(self, origin: str) -> bool:
        """Whether a page of this origin is one of ours: plain HTTP from here, HTTPS through the proxy."""
        parts = urlsplit(origin.lower())
        return (parts.scheme == "http" and parts.netloc in self.here) or (
            parts.scheme == "https" and parts.netloc in self.proxied
        )


class Unsendable(MultiPartException):
    """More came than may be sent at once, or no more came; of this kind, so that what has come of a form is closed."""

    def __init__(self, status: int, message: str) -> None:
        super().__init__(message)
        self.status = status


@frozen
class Guard:
    """In front of the pages, as ASGI middleware. `scope` then holds `session` and `nonce`."""

    app: ASGIApp
    door: Door
    names: Names

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        scope["nonce"] = secrets.token_urlsafe(16)
        headers = Headers(scope=scope)
        session = self._session(headers)
        fresh = "" if session or self.door.code else self.door.session()
        scope["session"] = session or fresh
        guarded = _with_headers(
            send, scope["nonce"], cookie_header(fresh, headers.get("host", ""), self.names) if fresh else ""
        )
        refused = self._refusal(scope, headers)
        if refused is not None:
            await refused(scope, receive, guarded)
            return
        await self.app(scope, _counted(receive, BODY.most) if scope["method"] == SENDING else receive, guarded)

    def _refusal(self, scope: Scope, headers: Headers) -> PlainTextResponse | RedirectResponse | None:
        method, path = scope["method"], scope["path"]
        if not self.names.known(headers.get("host", "")):
            return PlainTextResponse("This page does not answer to that name.\n", 421)
        if method not in (*READING, SENDING):
            return PlainTextResponse("Only reading and sending forms.\n", 405, {"allow": "GET, HEAD, POST"})
        if method == SENDING and not self.names.ours(headers.get("origin", "")):
            return PlainTextResponse("This was not sent from a page of dampkit.\n", 403)
        length = headers.get("content-length", "0")
        if not length.isascii() or not length.isdigit() or int(length) > BODY.most:
            return PlainTextResponse(f"More than {BODY.most} {BODY.what}; {BODY.do()}.\n", 413)
        if scope["session"] or path.startswith(OPEN):
            return None
        if method == SENDING or path == "/events":
            return PlainTextResponse("Come in with the code first: open the start page.\n", 403)
        return RedirectResponse("/door", 303)

    def _session(self, headers: Headers) -> str:
        """The session of a request; empty where it has none that is known."""
        try:
            held = SimpleCookie(headers.get("cookie", "")).get(cookie_name(headers.get("host", "")))
        except CookieError:
            return ""
        return held.value if held is not None and held.value.isascii() and self.door.knows(held.value) else ""


def cookie_name(host: str) -> str:
    """One for each port, as a browser does not tell two servers of one machine apart."""
    port = host.partition(":")[2]
    return f"dampkit-{port}" if port.isdecimal() else "dampkit"


def cookie_header(session: str, host: str, names: Names) -> str:
    """The header that hands a session to a browser; for HTTPS alone where a proxy is in front."""
    secure = "; Secure" if host.lower() in names.proxied else ""
    return f"{cookie_name(host)}={session}; Path=/; HttpOnly; SameSite=Strict; Max-Age={int(STAY_S)}{secure}"


def _with_headers(send: Send, nonce: str, cookie: str) -> Send:
    async def guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in ALWAYS.items():
                headers[name] = value
            headers.setdefault("content-security-policy", POLICY.format(nonce=nonce))
            headers.setdefault("cache-control", "no-store")
            if cookie:
                headers.append("set-cookie", cookie)
        await send(message)

    return guarded


def _counted(receive: Receive, most: int) -> Receive:
    """Bytes are counted as they come, as no header has to say how many there are; and they have to come."""
    seen, whole = 0, False

    async def counted() -> Message:
        nonlocal seen, whole
        try:
            message = await (receive() if whole else asyncio.wait_for(receive(), STALLED_S))
        except TimeoutError:
            raise Unsendable(408, f"Nothing more came for {STALLED_S:.0f} seconds; send it again.") from None
        seen += len(message.get("body", b""))
        whole = not message.get("more_body", False)
        if seen > most:
            raise Unsendable(413, f"More than {most} {BODY.what}; {BODY.do()}.")
        return message

    return counted
