"""Where the page asks for what."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Awaitable, Callable
from typing import Final

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from embellish.errors import EmbellishError
from embellish.workbench.answers import Answers
from embellish.workbench.beginning import Beginning
from embellish.workbench.bench import Bench
from embellish.workbench.plain_words import in_plain_words

MOST_BYTES: Final = 48 * 1024 * 1024
"""The longest body: a drawing; what the page says itself is far shorter."""

_WATCH_S: Final = 1.0
"""How often the job's file is looked at for changes by others."""

_ROUTES: Final = (
    ("/", "page", "GET"),
    ("/page/{name}", "page", "GET"),
    ("/api/state", "state", "GET"),
    ("/api/ways", "ways", "GET"),
    ("/api/layout", "layout", "GET"),
    ("/api/facts", "facts", "GET"),
    ("/api/sprite", "sprite", "GET"),
    ("/api/tray", "tray", "GET"),
    ("/api/photo", "photo", "GET"),
    ("/api/sheets", "sheets", "GET"),
    ("/api/sheet", "sheet", "GET"),
    ("/api/events", "events", "GET"),
    ("/api/made.zip", "made_zip", "GET"),
    ("/api/made/{name:path}", "made_file", "GET"),
    ("/api/changes", "changes", "POST"),
    ("/api/undo", "undo", "POST"),
    ("/api/redo", "redo", "POST"),
    ("/api/put-back", "put_back", "POST"),
    ("/api/touch", "touch", "POST"),
    ("/api/add", "add", "POST"),
    ("/api/try", "trying", "POST"),
    ("/api/open", "opened", "POST"),
    ("/api/hand-in", "hand_in", "POST"),
    ("/api/look/drawing", "look_drawing", "POST"),
    ("/api/look/words", "look_words", "POST"),
    ("/api/look/catalogue", "look_catalogue", "POST"),
    ("/api/begin/drawing", "begin_drawing", "POST"),
    ("/api/begin/words", "begin_words", "POST"),
    ("/api/begin/brought", "begin_brought", "POST"),
    ("/api/picture", "picture", "POST"),
    ("/api/photo/place", "photo_place", "POST"),
    ("/api/demo", "demo", "POST"),
    ("/api/make", "make", "POST"),
    ("/api/fit", "fit", "POST"),
    ("/api/fit/stop", "fit_stop", "POST"),
    ("/api/fit/use", "fit_use", "POST"),
    ("/api/fit/layout", "fit_layout", "GET"),
)
"""Path, method of `Answers` or `Beginning`, method of the request."""

Handler = Callable[[Request], Awaitable[Response]]


def bench_app(bench: Bench) -> Starlette:
    """Return what answers the page, without its guards."""
    answers, beginning = Answers(bench), Beginning(bench)

    @contextlib.asynccontextmanager
    async def lifespan(_app: Starlette) -> AsyncIterator[None]:
        watching = asyncio.create_task(_watch(bench))
        try:
            yield
        finally:
            watching.cancel()
            bench.close()

    routes = [
        Route(path, _told(_answering(name, answers, beginning)), methods=[method])
        for path, name, method in _ROUTES
    ]
    return Starlette(routes=routes, lifespan=lifespan)


def _answering(name: str, *homes: object) -> Handler:
    handler: Handler = next(getattr(home, name) for home in homes if hasattr(home, name))
    return handler


def _told(handler: Handler) -> Handler:
    """Answer what the user must mend as one sentence the page can show."""

    async def answered(request: Request) -> Response:
        try:
            return await handler(request)
        except EmbellishError as wrong:
            return JSONResponse(
                {"error": {**wrong.as_json(), "words": in_plain_words(str(wrong))}}, 422
            )

    return answered


async def _watch(bench: Bench) -> None:
    while True:
        await asyncio.sleep(_WATCH_S)
        with contextlib.suppress(EmbellishError):
            await run_in_threadpool(bench.watch)
