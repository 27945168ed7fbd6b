"""How a job begins at the page: files handed in, looked at, and begun with."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from embellish.workbench.asking import (
    BEGIN_DRAWING,
    BEGIN_WORDS,
    BRING,
    LOOK_DRAWING,
    LOOK_WORDS,
    read_asked,
)
from embellish.workbench.bench import Bench
from embellish.workbench.first_look import look_at_catalogue, look_at_drawing, look_at_words
from embellish.workbench.handed import HandedFile, HandedIn
from embellish.workbench.starting import brought_job, drawing_job, example_job, words_job

_SHIPPED = ("shipped:", "single-line:")


class Beginning:
    """What the page is answered while nothing is begun yet, one method a request."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._handed = HandedIn()

    async def hand_in(self, request: Request) -> Response:
        """Take a file into memory; nothing is written."""
        name = request.query_params.get("name", "")[:300]
        key, file = self._handed.take(name, await request.body())
        return JSONResponse({"key": key, "name": file.told})

    async def look_drawing(self, request: Request) -> Response:
        """Tell what a drawing holds, at the width asked."""
        asked = read_asked(await request.body(), LOOK_DRAWING)
        drawing = self._handed.file(asked["drawing"])
        return JSONResponse(
            await run_in_threadpool(look_at_drawing, drawing, asked["width_mm"] or None)
        )

    async def look_words(self, request: Request) -> Response:
        """Tell how large words are, and what their font lacks."""
        asked = read_asked(await request.body(), LOOK_WORDS)
        font = self._file(asked["font"])
        return JSONResponse(
            await run_in_threadpool(look_at_words, asked["text"], font, asked["cap_height_mm"])
        )

    async def look_catalogue(self, request: Request) -> Response:
        """Tell what a list of pieces holds."""
        asked = read_asked(await request.body(), {"catalogue": str})
        file = self._handed.file(asked["catalogue"])
        return JSONResponse(await run_in_threadpool(look_at_catalogue, file))

    async def begin_drawing(self, request: Request) -> Response:
        """Begin a job with a drawing."""
        asked = read_asked(await request.body(), BEGIN_DRAWING)
        drawing, catalogue = self._handed.file(asked["drawing"]), self._file(asked["catalogue"])
        width = asked["width_mm"] or None
        job = await run_in_threadpool(drawing_job, self._bench.shelf, drawing, width, catalogue)
        await run_in_threadpool(self._bench.open, job)
        return await self._state()

    async def begin_words(self, request: Request) -> Response:
        """Begin a job with words."""
        asked = read_asked(await request.body(), BEGIN_WORDS)
        job = await run_in_threadpool(
            words_job,
            self._bench.shelf,
            asked["text"],
            self._file(asked["font"]),
            asked["cap_height_mm"],
            self._file(asked["catalogue"]),
        )
        await run_in_threadpool(self._bench.open, job)
        return await self._state()

    async def begin_brought(self, request: Request) -> Response:
        """Open a job that is brought from elsewhere."""
        asked = read_asked(await request.body(), BRING)
        files = [self._handed.file(key) for key in asked["files"]]
        job = await run_in_threadpool(brought_job, self._bench.shelf, files)
        await run_in_threadpool(self._bench.open, job)
        return await self._state()

    async def demo(self, _request: Request) -> Response:
        """Open the example."""
        job = await run_in_threadpool(example_job, self._bench.shelf)
        await run_in_threadpool(self._bench.open, job)
        return await self._state()

    def _file(self, named: str) -> HandedFile | str:
        """Return what is shipped by its name, or a file that was handed in."""
        return named if named.startswith(_SHIPPED) else self._handed.file(named)

    async def _state(self) -> Response:
        return JSONResponse(await run_in_threadpool(self._bench.state))
