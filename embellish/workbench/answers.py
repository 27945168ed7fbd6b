"""Each request of the page answered: a few lines about one method of `Bench`."""

from __future__ import annotations

import asyncio
import io
import zipfile
from collections.abc import AsyncIterator
from functools import partial
from importlib import resources
from pathlib import Path
from typing import Any, Final

import numpy as np
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse

from embellish.errors import OutputError
from embellish.job.making import Made
from embellish.job.partners import MadePair
from embellish.job.placing import place
from embellish.job.text.changes import read_changes
from embellish.job.touching import Touch
from embellish.workbench.asking import (
    ADD,
    FIT,
    PLACE,
    TOUCH,
    TRY,
    asked_number,
    asked_whole,
    read_asked,
)
from embellish.workbench.bench import Bench
from embellish.workbench.controls import controls
from embellish.workbench.course_controls import course_controls
from embellish.workbench.order_controls import order_controls
from embellish.workbench.pictures import picture_for

_KINDS: Final = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".json": "application/json",
    ".csv": "text/csv; charset=utf-8",
    ".pdf": "application/pdf",
}
_BEAT_S: Final = 15.0


class Answers:
    """What the page is answered, one method a request."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._pages = _page_files()
        self._made: Made | MadePair | None = None

    async def page(self, request: Request) -> Response:
        """Return a file of the page."""
        name = request.path_params.get("name", "index.html")
        # Only what was found in the package at the start: no name leads anywhere else.
        if name not in self._pages:
            return Response("There is no such page.", 404)
        return Response(self._pages[name], headers={"content-type": _kind(name)})

    async def state(self, _request: Request) -> Response:
        """Return what the page must know at once."""
        return JSONResponse(await run_in_threadpool(self._bench.state))

    async def ways(self, _request: Request) -> Response:
        """Return what can be set on a lay, and on the whole order."""
        held = await run_in_threadpool(controls)
        order = await run_in_threadpool(order_controls)
        return JSONResponse({**held, "order": order, "courses": course_controls()})

    async def layout(self, _request: Request) -> Response:
        """Return what the newest layout is drawn with."""
        drawn = self._bench.drawn()
        return Response(status_code=204) if drawn is None else _bytes(drawn)

    async def facts(self, _request: Request) -> Response:
        """Return what plans and checks found."""
        return _or_later(await run_in_threadpool(self._bench.facts))

    async def sprite(self, request: Request) -> Response:
        """Return the picture of a piece."""
        code, angle = request.query_params.get("code", ""), asked_number(request, "angle", 0.0)
        picture = await run_in_threadpool(self._bench.sprite, code, angle)
        if picture is None:
            return Response(status_code=404)
        return Response(picture, media_type="image/svg+xml")

    async def tray(self, request: Request) -> Response:
        """Return the pieces a search finds."""
        return JSONResponse(await run_in_threadpool(self._bench.tray, request.query_params))

    async def photo(self, _request: Request) -> Response:
        """Return what is seen of the garment's photo."""
        picture = await run_in_threadpool(self._bench.photo)
        return Response(picture, 404 if picture is None else 200, media_type="image/jpeg")

    async def sheets(self, _request: Request) -> Response:
        """Return what sheets there are."""
        found = await run_in_threadpool(self._bench.sheets)
        return _or_later(None if found is None else {"sheets": [each.facts() for each in found]})

    async def sheet(self, request: Request) -> Response:
        """Return the picture of one sheet, by its number."""
        found = await run_in_threadpool(self._bench.sheets) or ()
        which = asked_whole(request, "which")
        if not 0 <= which < len(found):
            return Response(status_code=404)
        picture = await run_in_threadpool(found[which].svg)
        return Response(picture, media_type="image/svg+xml")

    async def picture(self, request: Request) -> Response:
        """Put a picture beside the job, for the garment's photo or for a lay to go by."""
        asked = request.query_params
        await run_in_threadpool(
            self._bench.set_picture,
            picture_for(asked.get("for", ""), asked.get("lay", "")),
            asked.get("name", "")[:300],
            await request.body(),
        )
        return await self.state(request)

    async def photo_place(self, request: Request) -> Response:
        """Place the garment's photo by two points, or by its width where none are given."""
        asked = read_asked(await request.body(), PLACE)
        await run_in_threadpool(
            self._bench.place_photo, asked["number"], asked["seen_mm"], asked["wanted_mm"]
        )
        return await self.state(request)

    async def changes(self, request: Request) -> Response:
        """Make changes to the job."""
        asked = read_changes(await request.body())
        await run_in_threadpool(self._bench.change, asked.changes, asked.words)
        return await self.state(request)

    async def undo(self, request: Request) -> Response:
        """Take the last step back."""
        await run_in_threadpool(self._bench.go, -1)
        return await self.state(request)

    async def redo(self, request: Request) -> Response:
        """Make the step again that was taken back."""
        await run_in_threadpool(self._bench.go, 1)
        return await self.state(request)

    async def put_back(self, request: Request) -> Response:
        """Put the last good state on disk again."""
        await run_in_threadpool(self._bench.put_back)
        return await self.state(request)

    async def touch(self, request: Request) -> Response:
        """Do something to seats by hand."""
        asked = read_asked(await request.body(), TOUCH)
        hand = Touch(
            np.array(asked["rows"], dtype=np.int64),
            asked["do"],
            asked["dx_mm"],
            asked["dy_mm"],
            asked["turn_deg"],
            asked["piece"],
        )
        await run_in_threadpool(self._bench.touch, asked["number"], hand, asked["words"])
        return await self.state(request)

    async def add(self, request: Request) -> Response:
        """Set one more piece by hand."""
        asked = read_asked(await request.body(), ADD)
        where = (asked["x_mm"], asked["y_mm"])
        await run_in_threadpool(
            self._bench.add_piece,
            asked["number"],
            asked["lay"],
            asked["piece"],
            where,
            asked["angle_deg"],
        )
        return await self.state(request)

    async def trying(self, request: Request) -> Response:
        """Tell how seats would stand elsewhere."""
        asked = read_asked(await request.body(), TRY)
        found = await run_in_threadpool(
            self._bench.tried,
            asked["number"],
            asked["rows"],
            (asked["dx_mm"], asked["dy_mm"]),
            asked["turn_deg"],
            asked["snap_mm"],
        )
        return JSONResponse(
            {
                "gap_mm": found.gap_mm,
                "asked_mm": found.asked_mm,
                "outside_mm": found.outside_mm,
                "snap_mm": list(found.snap_mm),
                "fits": found.fits,
                "between": found.between,
            }
        )

    async def opened(self, request: Request) -> Response:
        """Open one of the folder's jobs."""
        asked = read_asked(await request.body(), {"job": str})
        await run_in_threadpool(self._bench.open_named, asked["job"])
        return await self.state(request)

    async def make(self, request: Request) -> Response:
        """Make every output."""
        asked = read_asked(await request.body(), {"anyway": bool, "folder": bool})
        desk = self._bench.desk
        out = _made_beside(desk.path) if desk is not None and asked["folder"] else None
        done = await run_in_threadpool(self._bench.make, anyway=asked["anyway"])
        self._made = done
        if out is not None:
            await run_in_threadpool(partial(place, done.files, out))
        return JSONResponse(
            {
                "files": [
                    {"name": name, "bytes": len(content)}
                    for name, content in sorted(done.files.items())
                ],
                "withheld": done.withheld,
                "folder": None if out is None else out.name,
            }
        )

    async def fit(self, request: Request) -> Response:
        """Search a fit to a budget; nothing is changed."""
        asked = read_asked(await request.body(), FIT)
        found = await run_in_threadpool(
            self._bench.fit, asked["number"], asked["what"], asked["most"]
        )
        return JSONResponse(found)

    async def fit_stop(self, _request: Request) -> Response:
        """Give up the search."""
        self._bench.fits.stop()
        return Response(status_code=204)

    async def fit_use(self, request: Request) -> Response:
        """Change the job to the fit that was found."""
        asked = read_asked(await request.body(), {"number": int})
        await run_in_threadpool(self._bench.use_fit, asked["number"])
        return await self.state(request)

    async def fit_layout(self, request: Request) -> Response:
        """Return what the fit is drawn with."""
        number = asked_whole(request, "number")
        return _bytes(await run_in_threadpool(self._bench.fits.drawn, number))

    async def made_zip(self, _request: Request) -> Response:
        """Return all that was made, as one zip."""
        if self._made is None:
            return Response("Nothing is made yet.", 404)
        content = await run_in_threadpool(_zipped, self._made.files)
        name = self._bench.desk.path.stem if self._bench.desk else "made"
        return Response(
            content,
            media_type="application/zip",
            headers={"content-disposition": f'attachment; filename="{_plain(name)}.zip"'},
        )

    async def made_file(self, request: Request) -> Response:
        """Return one of the files that were made."""
        name = request.path_params["name"]
        files = self._made.files if self._made else {}
        if name not in files:
            return Response("Nothing of this name is made.", 404)
        headers = {"content-type": _kind(name)}
        if name.endswith(".html"):
            # A page of its own, that can be printed and runs nothing.
            headers["content-security-policy"] = "sandbox"
        return Response(files[name], headers=headers)

    async def events(self, request: Request) -> Response:
        """Tell what happens, as it happens."""
        queue = self._bench.listeners.join()

        async def lines() -> AsyncIterator[str]:
            try:
                yield "retry: 1000\n\n"
                while not await request.is_disconnected():
                    try:
                        yield await asyncio.wait_for(queue.get(), _BEAT_S)
                    except TimeoutError:
                        yield ": still here\n\n"
            finally:
                self._bench.listeners.leave(queue)

        return StreamingResponse(lines(), media_type="text/event-stream")


def _bytes(drawn: bytes) -> Response:
    return Response(drawn, media_type="application/octet-stream")


def _or_later(held: dict[str, Any] | None) -> Response:
    return Response(status_code=204) if held is None else JSONResponse(held)


def _made_beside(job: Path) -> Path:
    """Return the folder of what is made of a job.

    Raises
    ------
    OutputError
        Where a link stands there: what is made would be put wherever it leads.
    """
    out = job.with_name(f"{job.stem}-made")
    if out.is_symlink():
        raise OutputError(
            "this folder is a link to another place",
            file=out.name,
            mend="Move the link away, or make a zip instead.",
        )
    return out


def _page_files() -> dict[str, bytes]:
    folder = resources.files("embellish.workbench") / "page"
    return {
        each.name: each.read_bytes()
        for each in folder.iterdir()
        if each.is_file() and each.name.endswith((".html", ".js", ".css", ".svg"))
    }


def _kind(name: str) -> str:
    return next(
        (kind for ending, kind in _KINDS.items() if name.endswith(ending)),
        "application/octet-stream",
    )


def _plain(name: str) -> str:
    return "".join(c if c.isascii() and (c.isalnum() or c in "-_.") else "-" for c in name)


def _zipped(files: dict[str, bytes]) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in sorted(files):
            # The same files are the same bytes, whenever they are asked for.
            archive.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), files[name])
    return held.getvalue()
