"""What scatter refuses to be asked, and what it tells of what it laid."""

from __future__ import annotations

from typing import Final, Protocol

import numpy as np
from shapely.geometry.base import BaseGeometry

from embellish.errors import JobError
from embellish.findings import Finding
from embellish.geometry.mixes import Mixed
from embellish.layout.ways.way import Kit

MOST_TIGHTEST: Final = 200


class Asked(Protocol):
    """The settings that may contradict each other."""

    @property
    def density(self) -> object: ...  # noqa: D102
    @property
    def count(self) -> int | None: ...  # noqa: D102
    @property
    def packing(self) -> str: ...  # noqa: D102
    @property
    def sizes(self) -> str: ...  # noqa: D102
    @property
    def fade(self) -> object: ...  # noqa: D102
    @property
    def blend(self) -> object: ...  # noqa: D102


def refuse(kit: Kit, settings: Asked) -> None:
    """Refuse settings that contradict each other.

    Raises
    ------
    JobError
        For the first that does.
    """
    if settings.sizes == "pave" and kit.shares is not None:
        raise JobError(
            "sizes = 'pave' lays as many of each size as fit, so shares mean nothing",
            mend="List the pieces without shares, or take sizes = 'mix'.",
        )
    if settings.sizes == "pave" and settings.density != "random":
        raise JobError(
            "sizes = 'pave' fills what is left, so it has no density",
            mend="Leave density out, or take sizes = 'mix'.",
        )
    if settings.fade is not None and (settings.sizes == "pave" or settings.density != "random"):
        raise JobError(
            "a fade sets the density itself, so neither density nor sizes = 'pave' goes with it",
            mend="Leave density and sizes out, and set the fade's least.",
        )
    if settings.count is not None and (
        settings.fade is not None or settings.sizes == "pave" or settings.density != "random"
    ):
        raise JobError(
            "count sets the number itself, so no density, fade or sizes = 'pave' goes with it",
            mend="Keep count alone, or leave it out.",
        )
    if settings.packing == "tightest" and (
        settings.count is None or settings.count > MOST_TIGHTEST
    ):
        raise JobError(
            f"packing = 'tightest' needs a count of at most {MOST_TIGHTEST}",
            mend="Give such a count; for more pieces take 'grid', 'rings' or a density.",
        )
    if settings.blend is not None and settings.sizes == "pave":
        raise JobError(
            "sizes = 'pave' lays as many of each size as fit, so its mix cannot be set by a blend",
            mend="Leave the blend out, or take sizes = 'mix'.",
        )


def not_reached(shape_id: str, region: BaseGeometry, n: int, wished: int) -> Finding:
    """Return the finding that fewer pieces stand than were asked."""
    where = region.representative_point()
    return Finding(
        code="density-not-reached",
        severity="warning",
        message=(
            f"The region '{shape_id}' holds {n:,} pieces where {wished:,} are asked; "
            f"more cannot be settled."
        ),
        where_mm=(float(where.x), float(where.y)),
        mend="Ask for fewer or a smaller gap, or lay the region by 'rings' or 'grid'.",
    )


def gap_found(shape_id: str, points: Mixed, kit: Kit) -> Finding:
    """Return the finding that tells how far apart the tightest packing stands."""
    x, y = points.xy[0].tolist()
    if len(points) < 2:
        words = f"One piece stands in '{shape_id}' where it is freest."
        return Finding("gap-found", "note", words, (x, y))
    gap = _least_gap(points, kit)
    words = (
        f"The {len(points)} pieces in '{shape_id}' stand at least {gap:.3f} mm apart, "
        f"the widest gap that was found for so many."
    )
    return Finding("gap-found", "note", words, (x, y))


def _least_gap(points: Mixed, kit: Kit) -> float:
    reach = kit.reach_mm[points.size]
    step = points.xy[:, None] - points.xy[None]
    apart = np.hypot(step[..., 0], step[..., 1]) - reach[:, None] - reach[None]
    return float(apart[np.triu_indices(len(reach), 1)].min())
