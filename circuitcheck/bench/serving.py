"""The bench served to this machine alone: one page, its data, and a stream of what changes.

Who may ask: only who knows the secret in the address, by the name of this machine (`Host`), and for what changes
anything only a page that came from here (`Origin`). The page may load nothing from elsewhere (`POLICY`).
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import secrets
import socket
import sys
import time
import webbrowser
from collections.abc import AsyncIterator, Callable, Iterator
from importlib.resources import files
from typing import Any

import uvicorn
from starlette.applications import Starlette
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.types import ASGIApp, Receive, Scope, Send

from circuitcheck.bench.calls import answered
from circuitcheck.bench.following import Follower, verdicts_of
from circuitcheck.bench.layout_search import LayoutSearch
from circuitcheck.bench.searching import keep_searching
from circuitcheck.bench.workbench import Known, Workbench
from circuitcheck.bench.worked import Stopped
from circuitcheck.report.lines import safe

HERE = "127.0.0.1"
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; connect-src 'self'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "Cache-Control": "no-store",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Resource-Policy": "same-origin",
}
SCRIPTS = ("bench", "build", "layers", "light", "making", "marks", "search", "stream", "timing")
SHIPPED = {"bench.html": "text/html", "bench.css": "text/css", **{f"{name}.js": "text/javascript" for name in SCRIPTS}}
A_FRAME = 1 / 30
"""The seconds between two pictures, at least."""
ALIVE = 5.0
"""After how many seconds without news a page hears that all is well; after some more it takes the bench to be gone."""
ENDS_AFTER = 20.0
"""How many seconds after its last page has been closed a bench ends."""
LONGEST_ASKED = 10_000
"""How many bytes may be asked in one call."""
A_STRETCH = 0.05
"""The seconds that time passes before the bench looks at what else is asked."""
MOST_IN_A_STRETCH = 1_000
LOOKS_EVERY = 0.5
"""How often, in seconds, the file is looked at."""


class Guard:
    """Turns away who does not come from this machine, or not from a page of this bench."""

    def __init__(self, app: ASGIApp, port: int) -> None:
        self._app = app
        self._hosts = {f"{name}:{port}" for name in (HERE, "localhost")}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answers a call, or turns it away."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        request = Request(scope)
        host, origin = request.headers.get("host", ""), request.headers.get("origin")
        ours = host in self._hosts
        if origin is not None or request.method != "GET":
            ours = ours and origin is not None and origin == f"http://{host}"
        if ours:
            await self._app(scope, receive, send)
            return
        await PlainTextResponse("this bench answers its own pages only\n", 403, HEADERS)(scope, receive, send)


class Bench:
    """A session, those who look at it, and its clock."""

    def __init__(self, session: Workbench, follower: Follower) -> None:
        self.session = session
        self._follower = follower
        self._news = asyncio.Condition()
        self._looking = 0
        self._left_at: float | None = None
        self.ended = asyncio.Event()

    # For pages.

    async def stream(self) -> AsyncIterator[str]:
        """What changes, as server-sent events, for one page; at most a picture in each frame."""
        self._looking += 1
        known = Known()
        try:
            while not self.ended.is_set():
                begun = time.monotonic()  # telling takes its time too: counted from its end, frames would be longer
                told, known = self.session.since(known)
                yield f"data: {json.dumps(told, separators=(',', ':'))}\n\n"
                await asyncio.sleep(max(0.0, begun + A_FRAME - time.monotonic()))
                while not await self._news_beyond(known):
                    yield "event: alive\ndata: {}\n\n"
        finally:
            self._looking -= 1
            self._left_at = time.monotonic()

    async def _news_beyond(self, known: Known) -> bool:
        """Waits until there is something that is not known, or the end; False if neither has come for long."""
        try:
            async with self._news:
                news = self._news.wait_for(lambda: self.ended.is_set() or self.session.differs(known))
                return await asyncio.wait_for(news, ALIVE)
        except TimeoutError:
            return False

    async def do(self, asked: dict[str, Any]) -> tuple[int, dict[str, Any]]:
        """Does what a page asks for: a status of HTTP and the answer."""
        try:
            answer = answered(self.session, asked)
            status = 200
        except Stopped as stopped:
            answer, status = {"stopped": safe(str(stopped))}, 409
        await self.tell()
        return status, answer

    async def tell(self) -> None:
        """Tells all pages that something is new."""
        async with self._news:
            self._news.notify_all()

    # Clocks.

    async def run(self) -> None:
        """Lets time pass while it is to, and looks after the file, until nobody looks any more."""
        searching = keep_searching(self.session.search, self.tell)
        tasks = [asyncio.create_task(each) for each in (self._pass_time(), self._follow(), self._judge(), searching)]
        try:
            while not self.ended.is_set():
                await asyncio.sleep(0.2)
                gone = self._left_at is not None and time.monotonic() - self._left_at > ENDS_AFTER
                if self._looking == 0 and gone:
                    self.ended.set()
                if any(task.done() for task in tasks):
                    self.ended.set()
        finally:
            for task in tasks:
                task.cancel()
            for task in tasks:
                with contextlib.suppress(asyncio.CancelledError):
                    await task
            self.ended.set()
            await self.tell()

    async def _pass_time(self) -> None:
        passed, since = 0, time.monotonic()
        while True:
            session, speed = self.session, self.session.speed
            if session.waits:
                self._let_pass(MOST_IN_A_STRETCH)
                await self.tell()
                await asyncio.sleep(0)
            elif speed:
                due = int((time.monotonic() - since) * speed) - passed
                if due > 0:
                    gone = self._let_pass(due)
                    passed += gone
                    await self.tell()
                    if due - gone > speed:
                        passed, since = 0, time.monotonic()  # what it is late by for over a second is not made up for
                next_due = since + (passed + 1) / speed - time.monotonic()
                await asyncio.sleep(max(0.001, min(A_FRAME, next_due)))
                continue
            else:
                await asyncio.sleep(A_FRAME)
            passed, since = 0, time.monotonic()

    def _let_pass(self, count: int) -> int:
        """Lets at most so many gt pass, for a stretch. Returns how many have passed."""
        end = time.monotonic() + A_STRETCH
        for gone in range(count):
            try:
                if not self.session.pass_time(1):
                    return gone
            except Stopped as stopped:
                self.session.stand_still()
                self.session.said = safe(str(stopped))
                return gone
            if time.monotonic() > end:
                return gone + 1
        return count

    async def _follow(self) -> None:
        while True:
            await asyncio.sleep(LOOKS_EVERY)
            if self._follower.changed():
                self.session.read_again()
                self._follower.look_at(self.session.sources)
                await self.tell()

    async def _judge(self) -> None:
        """Has the file verified beside, each time that it was read."""
        judged = -1
        while True:
            if judged != self.session.revision:
                judged = self.session.revision
                self.session.verdicts = [("", "being verified …")]
                await self.tell()
                found = await verdicts_of(self.session.path, self.session.root)
                if judged == self.session.revision:
                    self.session.verdicts = found
                    await self.tell()
            await asyncio.sleep(LOOKS_EVERY)


def application(bench: Bench, secret: str, port: int) -> ASGIApp:
    """What answers calls, below the secret."""

    async def plan(_request: Request) -> Response:
        return JSONResponse(bench.session.plan(), headers=HEADERS)

    async def layer(request: Request) -> Response:
        return _answer(lambda: bench.session.layer(request.path_params["number"]))

    async def build(request: Request) -> Response:
        return _answer(lambda: bench.session.build(request.query_params))

    async def light(request: Request) -> Response:
        return _answer(lambda: bench.session.light(request.path_params["number"]))

    async def news(_request: Request) -> Response:
        return StreamingResponse(bench.stream(), media_type="text/event-stream", headers=HEADERS)

    async def do(request: Request) -> Response:
        try:
            body = await _body(request)
            asked = json.loads(body)
        except (ValueError, RecursionError, ClientDisconnect):
            asked = None
        if not isinstance(asked, dict):
            return JSONResponse({"stopped": "that can't be understood"}, 400, HEADERS)
        status, answer = await bench.do(asked)
        return JSONResponse(answer, status, HEADERS)

    routes = [
        Route(f"/{secret}/", _shipped("bench.html")),
        *(Route(f"/{secret}/{name}", _shipped(name)) for name in SHIPPED),
        Route(f"/{secret}/plan", plan),
        Route(f"/{secret}/layer/{{number:int}}", layer),
        Route(f"/{secret}/build", build),
        Route(f"/{secret}/light/{{number:int}}", light),
        *_of_search(bench.session.search, f"/{secret}/search"),
        Route(f"/{secret}/news", news),
        Route(f"/{secret}/do", do, methods=["POST"]),
    ]
    return Guard(Starlette(routes=routes), port)


def _of_search(search: LayoutSearch, path: str) -> Iterator[Route]:
    """What answers calls for the search for a layout."""

    async def state(_request: Request) -> Response:
        return JSONResponse(search.state(), headers=HEADERS)

    async def build(request: Request) -> Response:
        return _answer(lambda: search.build(request.query_params))

    async def layer(request: Request) -> Response:
        return _answer(lambda: search.layer(request.path_params["number"]))

    yield Route(path, state)
    yield Route(f"{path}/build", build)
    yield Route(f"{path}/layer/{{number:int}}", layer)


def serve(session: Workbench, port: int, opens: bool, say: Callable[[str], None]) -> None:
    """Serves until it is ended, or its last page has been closed for a while. Raises OSError for a taken port."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    with contextlib.closing(listening):
        if sys.platform != "win32":
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((HERE, port))
        listening.listen()
        secret = secrets.token_urlsafe(24)
        address = f"http://{HERE}:{listening.getsockname()[1]}/{secret}/"
        asyncio.run(_serve(session, listening, secret, lambda: _told(address, opens, say)))


def _told(address: str, opens: bool, say: Callable[[str], None]) -> None:
    say(f"the bench stands at {address}")
    say("it ends with Ctrl-C, or when its last page has been closed for a while")
    if opens:
        webbrowser.open(address)


async def _serve(session: Workbench, listening: socket.socket, secret: str, ready: Callable[[], None]) -> None:
    bench = Bench(session, Follower(session.sources))
    app = application(bench, secret, listening.getsockname()[1])
    config = uvicorn.Config(app, log_level="critical", access_log=False, lifespan="off", timeout_graceful_shutdown=1)
    server = uvicorn.Server(config)

    async def until_ended() -> None:
        await bench.run()
        server.should_exit = True

    clocks = asyncio.create_task(until_ended())
    ready()
    await server.serve(sockets=[listening])
    bench.ended.set()
    await clocks


def _answer(asked: Callable[[], dict[str, Any]]) -> Response:
    try:
        return JSONResponse(asked(), headers=HEADERS)
    except Stopped as stopped:
        return JSONResponse({"stopped": safe(str(stopped))}, 404, HEADERS)


def _shipped(name: str) -> Callable[[Request], Any]:
    async def answer(_request: Request) -> Response:
        text = files("circuitcheck.bench").joinpath(name).read_text(encoding="utf-8")
        return Response(text, media_type=SHIPPED[name], headers=HEADERS)

    return answer


async def _body(request: Request) -> bytes:
    """What a call brings. Raises ValueError where that is too much."""
    body = b""
    async for piece in request.stream():
        body += piece
        if len(body) > LONGEST_ASKED:
            raise ValueError
    return body
