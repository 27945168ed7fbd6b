"""The way ``chain``: goods sold by the length, cut and laid along lines."""

from __future__ import annotations

from typing import Annotated, Final, Literal

import numpy as np
from pydantic import Field

from embellish.artwork.flatten import lines_of
from embellish.catalogue.strung import Strung
from embellish.findings import Finding, counted
from embellish.geometry.rows.offset import lines_beside
from embellish.geometry.rows.track import Track
from embellish.geometry.streams import Stream
from embellish.geometry.strings import Link, Strings, headings_deg, strung_along
from embellish.layout.ways.fills import stacked
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, Seats, Way, WaySettings
from embellish.units import LAY_SLACK_MM


class ChainSettings(WaySettings):
    """What a lay of strung goods may say."""

    ends: Literal["on", "inset", "free"] = "inset"
    """Open lines: links on the ends, touching them from within, or half a gap left free."""
    corner_deg: Annotated[float, Field(ge=5, le=180)] = 35.0
    """A line that turns by more is a corner: the length is cut there; 180 cuts at none."""
    start: Annotated[float, Field(ge=0, le=1)] = 0.0
    """Closed lines: where round the line both ends meet, as a fraction."""
    reverse: bool = False
    """Whether it runs against the line."""
    offset_mm: Annotated[float, Field(ge=-1000, le=1000)] = 0.0
    """It runs beside its line: to the right of the way it is drawn, below 0 to the left."""


def lay_chain(
    ground: Ground, kit: Kit, settings: ChainSettings, stream: Stream, progress: Progress
) -> Laid:
    """Lay cut lengths along every line of the ground's shapes.

    Parameters
    ----------
    ground, kit, settings, stream, progress
        As every way takes them.

    Returns
    -------
    Laid
        Each cut length is a row; u is the fraction of the line. Stretches too short for a length
        are told: ``string-too-short``.
    """
    del stream  # nothing here is random
    assert kit.strung is not None  # noqa: S101 - a job lays nothing else by this way
    link = _link(kit, kit.strung)
    parts: list[Seats] = []
    findings: list[Finding] = []
    for number, shape in enumerate(ground.shapes):
        row = 0
        for line in lines_of(shape):
            for points, closed in lines_beside(line.points, line.closed, settings.offset_mm):
                track = Track.of(points[::-1] if settings.reverse else points, closed)
                if track.length <= 0.0:
                    continue
                found = strung_along(
                    track, link, settings.ends, settings.corner_deg, settings.start
                )
                for run in found.runs:
                    parts.append(_seats(track, run, number, row))
                    row += 1
                findings.extend(_bare(found, shape.id, kit.strung))
        progress((number + 1) / len(ground.shapes))
    return Laid(stacked(parts), tuple(findings))


def _link(kit: Kit, strung: Strung) -> Link:
    x0, _, x1, _ = kit.footprints[0].bounds_mm
    return Link(
        pitch_mm=strung.pitch_mm,
        half_mm=(x1 - x0) / 2.0,
        gap_mm=kit.gap_mm + LAY_SLACK_MM,
        least_bend_mm=strung.least_bend_mm,
        least_links=strung.least_links,
    )


def _seats(track: Track, run: np.ndarray, shape: int, row: int) -> Seats:
    n = len(run)
    none = np.zeros(n, dtype=np.int64)
    return Seats(
        xy=track.at(run),
        angle_deg=headings_deg(track, run),
        choice=none,
        shape=np.full(n, shape, dtype=np.int64),
        row=np.full(n, row, dtype=np.int64),
        u=np.mod(run / track.length, 1.0 + 1e-12),
        weight=np.zeros(n),
    )


def _bare(found: Strings, shape_id: str, strung: Strung) -> list[Finding]:
    if not len(found.bare):
        return []
    x, y, length = found.bare[0].tolist()
    stretches = counted(len(found.bare), "stretch", "stretches")
    return [
        Finding(
            "string-too-short",
            "warning",
            f"{stretches} of '{shape_id}' between corners, the first {length:.1f} mm long, "
            f"{'is' if len(found.bare) == 1 else 'are'} too short for a length of "
            f"{strung.least_links} links and stay bare",
            (x, y),
            mend="Raise corner_deg, or set single pieces there.",
        )
    ]


CHAIN: Final = Way(
    name="chain",
    settings=ChainSettings,
    needs="path",
    fills=False,
    edges=False,
    mixes=False,
    lay=lay_chain,
    help="goods sold by the length (stone chain, strung sequins), cut and laid along lines",
)
