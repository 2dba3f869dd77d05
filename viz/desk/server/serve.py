"""The server of the page: loopback only, fixed names only, and nothing computed here."""

from __future__ import annotations

import asyncio
import json
import secrets
import signal
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from grading.errors import Problem, SiteError
from viz.desk.asked.survey import INCOMING
from viz.desk.server.answered import answered
from viz.desk.server.door import LARGEST_BODY, Door, Rights
from viz.desk.server.hub import Hub
from viz.desk.server.making import made_file
from viz.desk.server.window import Window
from viz.desk.web_files import web_files
from viz.desk.written.journal import FOLDER
from viz.desk.written.state import State

if TYPE_CHECKING:
    from aiohttp import web

LARGEST_SURVEY = 400_000_000
"""Of a survey that is brought in. [bytes]"""

_TYPES = {
    ".html": "text/html", ".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml",
    ".png": "image/png",
}  # fmt: skip


def open_page(
    folder: Path, port: int, tell: Callable[[str], None], show: Callable[[str], None] | None,
    share: Rights | None = None,
) -> None:  # fmt: skip
    """Serve the page of a site until it is stopped.

    Parameters
    ----------
    folder : Path
        Of the site.
    port : int
        0 for any that is free.
    tell : callable
        Told the address, once it listens.
    show : callable or None
        Opens the address in a browser.
    share : "view" or "field", optional
        Opens a door to the local network too, for one browser, with these rights.

    Raises
    ------
    SiteError
        The port is taken, or the folder cannot be written.
    """
    state = State(folder)
    with suppress(asyncio.CancelledError):
        asyncio.run(_serve(state, port, tell, show, share))


async def _serve(
    state: State, port: int, tell: Callable[[str], None], show: Callable[[str], None] | None,
    share: Rights | None,
) -> None:  # fmt: skip
    hub = Hub(state)
    stopped = asyncio.Event()
    loop = asyncio.get_running_loop()
    for each in (signal.SIGINT, signal.SIGTERM):
        with suppress(
            NotImplementedError, ValueError
        ):  # not so on Windows, nor off the main thread
            loop.add_signal_handler(each, stopped.set)
    async with _listening(hub, Door(set()), "127.0.0.1", port) as address:
        await hub.start()
        tell(address)
        if show is not None:
            await asyncio.to_thread(show, address)
        try:
            if share is None:
                await stopped.wait()
            else:
                door = Door(set(), share, once=True)
                async with _listening(hub, door, "0.0.0.0", 0) as shared:
                    tell(f"for {share} on this network, one browser: {shared}")
                    await stopped.wait()
        finally:
            await hub.stop()


@asynccontextmanager
async def _listening(hub: Hub, door: Door, host: str, port: int) -> AsyncIterator[str]:
    """Listen at one door, and give the address with its key."""
    from aiohttp import web

    runner = web.AppRunner(application(hub, door), access_log=None, shutdown_timeout=1)
    await runner.setup()
    site = web.TCPSite(runner, host, port)
    try:
        await site.start()
    except OSError as error:
        await runner.cleanup()
        found = f"port {port}, which is taken" if port else str(error)
        mend = "Give another one, or leave --port away for any that is free."
        raise SiteError([Problem("--port", found, "a free port", mend)]) from None
    listening = runner.addresses[0][1]
    names = ("127.0.0.1", "localhost") if host == "127.0.0.1" else _own_addresses()
    door.hosts = {f"{name}:{listening}" for name in names}
    try:
        yield f"http://{names[0]}:{listening}/?key={door.key}"
    finally:
        await runner.cleanup()


def _own_addresses() -> tuple[str, ...]:
    """Return the addresses of this machine on its network, the likeliest first."""
    import socket

    found = []
    with suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.connect(("192.0.2.1", 9))  # nothing is sent: it only tells which way it would go
        found.append(probe.getsockname()[0])
    with suppress(OSError):
        found += socket.gethostbyname_ex(socket.gethostname())[2]
    return tuple(dict.fromkeys([*found, "127.0.0.1"]))


def application(hub: Hub, door: Door) -> web.Application:
    """Return what answers requests at one door."""
    from aiohttp import web

    app = web.Application(middlewares=[door.middleware()], client_max_size=LARGEST_BODY)

    async def page(request: web.Request) -> web.StreamResponse:
        return _file(web_files()["desk.html"].read_bytes(), ".html")

    async def part(request: web.Request) -> web.StreamResponse:
        name = request.match_info["name"]
        kind = Path(name).suffix
        if name not in web_files() or kind not in _TYPES or kind == ".html":
            raise web.HTTPNotFound
        return _file(web_files()[name].read_bytes(), kind)

    async def live(request: web.Request) -> web.StreamResponse:
        socket = web.WebSocketResponse(max_msg_size=8_000_000, heartbeat=30)
        await socket.prepare(request)
        await _converse(hub, door, socket)
        return socket

    async def made(request: web.Request) -> web.StreamResponse:
        name = f"{request.match_info['what']}/{request.match_info['name']}"
        file = made_file(hub.state.folder, name)
        if file is None or door.rights != "all":
            raise web.HTTPNotFound
        inline = file.suffix in (".pdf", ".png", ".svg", ".txt")
        way = "inline" if inline else "attachment"
        return web.FileResponse(
            file, headers={"Content-Disposition": f'{way}; filename="{file.name}"'}
        )

    async def survey(request: web.Request) -> web.StreamResponse:
        if door.rights != "all" or hub.state.read_only:
            raise web.HTTPForbidden
        token = await _taken_in(request, hub.state.folder)
        return web.json_response({"file": token})

    async def away(request: web.Request) -> web.StreamResponse:
        home = door.rights == "view" or request.query.get("for") == "home"
        whose = "homeowner" if home and door.rights != "field" else "crew"
        try:
            told = await answered(hub, "take-away", {"for": whose})
        except TimeoutError:
            raise web.HTTPServiceUnavailable from None
        if not told.get("text"):
            words = str(told.get("words") or "not now")
            return web.Response(status=409, text=words)
        # As a file: read from here the page would be held to the rules of this one.
        response = _file(str(told["text"]).encode(), ".html")
        response.headers["Content-Disposition"] = f'attachment; filename="{told["name"]}"'
        return response

    app.router.add_get("/", page)
    app.router.add_get("/take-away.html", away)
    app.router.add_get("/web/{name:[a-z_./]+}", part)
    app.router.add_get("/live", live)
    app.router.add_get("/made/{what}/{name}", made)
    app.router.add_post("/survey", survey)
    return app


def _file(data: bytes, kind: str) -> web.Response:
    from aiohttp import web

    return web.Response(body=data, content_type=_TYPES[kind], charset="utf-8")


async def _converse(hub: Hub, door: Door, socket: web.WebSocketResponse) -> None:
    from aiohttp import WSMsgType

    async def send(message: str | bytes) -> None:
        if isinstance(message, bytes):
            await socket.send_bytes(message)
        else:
            await socket.send_str(message)

    window = Window(send, door.rights)
    await hub.enter(window)
    try:
        async for message in socket:
            if message.type is not WSMsgType.TEXT:
                break
            try:
                told: Any = json.loads(message.data)
            except ValueError:
                break
            if not isinstance(told, dict):
                break
            hub.take(window, told)
    finally:
        hub.leave(window)


async def _taken_in(request: web.Request, folder: Path) -> str:
    """Write a survey that is sent into a file of its own; return its name."""
    from aiohttp import web

    home = folder / FOLDER / INCOMING
    home.mkdir(parents=True, exist_ok=True)
    ending = Path(request.query.get("name", "")).suffix.lower()
    token = secrets.token_hex(8) + (ending if ending[1:].isalnum() and len(ending) < 9 else "")
    size, file = 0, home / token
    try:
        with file.open("wb") as stream:
            async for chunk in request.content.iter_chunked(1 << 18):
                size += len(chunk)
                if size > LARGEST_SURVEY:
                    raise web.HTTPRequestEntityTooLarge(LARGEST_SURVEY, size)
                stream.write(chunk)
    except BaseException:
        file.unlink(missing_ok=True)
        raise
    return token
