"""Who may come in: this machine's own browser, with the key that was printed, and nobody else.

A page of another site, open in the same browser, can send requests here too: it does not know the
key, its cookie is not sent along, and its Host or Origin is not ours.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Awaitable, Callable
from typing import TYPE_CHECKING, Literal

from msgspec import Struct, field

if TYPE_CHECKING:
    from aiohttp import web
    from aiohttp.typedefs import Middleware

    Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]

Rights = Literal["all", "view", "field"]
"""What a visitor may do: everything; look, without prices; look, and bring shots in."""

LARGEST_BODY = 64_000
"""Of a request other than a survey. [bytes]"""

HEADERS = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; "
    "img-src 'self' data: blob:; connect-src 'self'; font-src 'self'; form-action 'none'; "
    "base-uri 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}

_NO_KEY = (
    "<!doctype html><html lang=en><meta charset=utf-8><title>fallaway</title>"
    "<p>This page opens with the whole address that <code>fallaway open</code> printed, its key "
    "with it. Copy it from there once more."
)
_SPENT = (
    "<!doctype html><html lang=en><meta charset=utf-8><title>fallaway</title>"
    "<p>This address was used once already, and opens one browser only. Ask for a new one."
)


class Door(Struct):
    """The door of one address.

    Attributes
    ----------
    hosts : set of str
        What the Host of a request may be: "127.0.0.1:8321".
    rights : Rights
        Of those who come in by it.
    once : bool
        Whether its key opens one browser only.
    """

    hosts: set[str]
    rights: Rights = "all"
    once: bool = False
    key: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    _session: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    _spent: bool = False

    @property
    def cookie(self) -> str:
        """The name of its cookie: browsers keep those of one host together whatever the port."""
        return f"fallaway-{min(self.hosts).rpartition(':')[2]}-{self.rights}"

    def knows(self, request: web.Request) -> bool:
        """Return whether a request brings the cookie of one who came in."""
        return hmac.compare_digest(request.cookies.get(self.cookie, ""), self._session)

    def refuses(self, request: web.Request) -> bool:
        """Return whether a request comes by another name, or from the page of another site."""
        origin = request.headers.get("Origin")
        ours = {f"http://{host}" for host in self.hosts}
        site = request.headers.get("Sec-Fetch-Site", "none")
        # A link from elsewhere may open the page itself: it needs the key all the same.
        foreign = site not in ("none", "same-origin") and request.path != "/"
        return (
            request.headers.get("Host") not in self.hosts
            or (origin is not None and origin not in ours)
            or foreign
        )

    def middleware(self) -> Middleware:
        """Return what stands before every request."""
        from aiohttp import web

        @web.middleware
        async def guarded(request: web.Request, handler: Handler) -> web.StreamResponse:
            if self.refuses(request):
                return self._plain(403, "not for here")
            if request.method not in ("GET", "HEAD", "POST"):
                return self._plain(405, "not here")
            key = request.query.get("key")
            if request.path == "/" and key is not None:
                return self._let_in(key)
            if not self.knows(request):
                return self._page(403, _NO_KEY)
            try:
                response = await handler(request)
            except web.HTTPException as error:
                return self._plain(error.status, error.reason)
            if not response.prepared:
                for name, value in HEADERS.items():
                    response.headers.setdefault(name, value)
                if self.rights == "all":  # a browser heeds it on this machine alone
                    response.headers.setdefault("Cross-Origin-Opener-Policy", "same-origin")
            return response

        return guarded

    def _let_in(self, key: str) -> web.StreamResponse:
        from aiohttp import web

        if not hmac.compare_digest(key.encode(), self.key.encode()):
            return self._page(403, _NO_KEY)
        if self.once and self._spent:
            return self._page(403, _SPENT)
        self._spent = True
        response = web.Response(status=303, headers={**HEADERS, "Location": "/"})
        response.set_cookie(self.cookie, self._session, httponly=True, samesite="Strict", path="/")
        return response

    @staticmethod
    def _plain(status: int, words: str) -> web.Response:
        from aiohttp import web

        return web.Response(status=status, text=words, headers=HEADERS)

    @staticmethod
    def _page(status: int, page: str) -> web.Response:
        from aiohttp import web

        return web.Response(status=status, text=page, content_type="text/html", headers=HEADERS)
