"""What stands between the page and the rest of the machine, before any request is answered.

The address is one of this machine's own (else 421), changes come from the page itself (else 403),
every request carries the secret of this start (else 403), bodies have a limit however they come
(else 413), and no answer lets the page load anything from elsewhere.
"""

from __future__ import annotations

import hmac
from collections.abc import Iterable
from http.cookies import CookieError, SimpleCookie
from typing import Final

from starlette.requests import ClientDisconnect
from starlette.types import ASGIApp, Message, Receive, Scope, Send

COOKIE: Final = "embellish-bench"

_POLICY: Final = (
    "default-src 'self'; img-src 'self' blob:; style-src 'self'; script-src 'self';"
    " connect-src 'self'; object-src 'none'; base-uri 'none'; form-action 'none';"
    " frame-ancestors 'none'"
)
_HEADERS: Final = (
    (b"content-security-policy", _POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cache-control", b"no-store"),
)
_OURS: Final = {name for name, _ in _HEADERS}
_SAFE: Final = frozenset({"GET", "HEAD"})


class Guards:
    """Answer only what the page of this start may ask.

    Parameters
    ----------
    app
        What answers.
    port
        The port it is served at.
    token
        The secret of this start.
    most_bytes
        The longest body taken.
    """

    def __init__(self, app: ASGIApp, *, port: int, token: str, most_bytes: int) -> None:
        self._app = app
        self._hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        self._origins = {f"http://{host}" for host in self._hosts}
        # A cookie knows no port: two workbenches on one machine each have their own.
        self.cookie = f"{COOKIE}-{port}"
        self._token = token
        self._most = most_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        headers = _Headers(scope["headers"])
        refused = self._refused(scope, headers)
        if refused is not None:
            await _answer(send, *refused)
            return
        token = _asked_token(scope["query_string"])
        if scope["path"] == "/" and token is not None:
            if not hmac.compare_digest(token.encode(), self._token.encode()):
                await _answer(send, 403, "This address is of another start of the workbench.")
                return
            cookie = f"{self.cookie}={self._token}; HttpOnly; SameSite=Strict; Path=/"
            await _answer(
                send, 303, "", [(b"location", b"/"), (b"set-cookie", cookie.encode("ascii"))]
            )
            return
        if not self._known(headers):
            await _answer(
                send, 403, "Open the workbench by the address it printed when it was started."
            )
            return
        await self._within(scope, receive, send)

    def _refused(self, scope: Scope, headers: _Headers) -> tuple[int, str] | None:
        hosts = headers.all(b"host")
        if len(hosts) != 1 or hosts[0] not in self._hosts:
            return 421, "This is not the address of the workbench."
        origins = headers.all(b"origin")
        if scope["method"] in _SAFE:
            if any(origin not in self._origins for origin in origins):
                return 403, "Another page may not ask the workbench."
        elif len(origins) != 1 or origins[0] not in self._origins:
            return 403, "Only the workbench's own page may change anything."
        lengths = headers.all(b"content-length")
        if any(not length.isdigit() or int(length) > self._most for length in lengths):
            return 413, "This is larger than the workbench takes."
        return None

    def _known(self, headers: _Headers) -> bool:
        for held in headers.all(b"cookie"):
            try:
                morsel = SimpleCookie(held).get(self.cookie)
            except CookieError:
                continue
            if morsel and hmac.compare_digest(morsel.value.encode(), self._token.encode()):
                return True
        return False

    async def _within(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer with the headers that keep the page to itself, and no longer body than allowed."""
        seen = 0
        begun = over = False

        async def counted() -> Message:
            nonlocal seen, over
            message = await receive()
            seen += len(message.get("body", b""))
            over = over or seen > self._most
            # Whoever reads it must stop, and whatever that says is not passed on.
            return {"type": "http.disconnect"} if over else message

        async def headed(message: Message) -> None:
            nonlocal begun
            if over and not begun:
                return
            if message["type"] == "http.response.start":
                begun = True
                theirs = [(k, v) for k, v in message["headers"] if k.lower() not in _OURS]
                message = {**message, "headers": [*theirs, *_HEADERS]}
            await send(message)

        try:
            await self._app(scope, counted, headed)
        except ClientDisconnect:
            if not over:
                raise
        if over and not begun:
            await _answer(send, 413, "This is larger than the workbench takes.")


class _Headers:
    def __init__(self, headers: Iterable[tuple[bytes, bytes]]) -> None:
        self._held = [(name.lower(), value.decode("latin-1")) for name, value in headers]

    def all(self, name: bytes) -> list[str]:
        return [value for held, value in self._held if held == name]


def _asked_token(query: bytes) -> str | None:
    for part in query.decode("latin-1").split("&"):
        key, _, value = part.partition("=")
        if key == "token":
            return value
    return None


async def _answer(
    send: Send, status: int, words: str, more: Iterable[tuple[bytes, bytes]] = ()
) -> None:
    body = words.encode()
    headers = [
        (b"content-type", b"text/plain; charset=utf-8"),
        (b"content-length", str(len(body)).encode()),
        *_HEADERS,
        *more,
    ]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
