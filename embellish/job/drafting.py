"""A job as it is laid for a first look: what settles or searches long is left out."""

from __future__ import annotations

from embellish.job.model import Job, LayTable
from embellish.layout.ways.rings import RingsSettings
from embellish.layout.ways.scatter import ScatterSettings

_EVERY_RING = 1_000_000


def drafted(job: Job) -> Job | None:
    """Return a job that is laid quickly and looks much the same, or None where this one is quick.

    The draft is for the eye: what is counted, cut and sewn comes of the job itself.
    """
    lays = tuple(_drafted(lay) for lay in job.lay)
    if all(new is old for new, old in zip(lays, job.lay, strict=True)):
        return None
    return job.model_copy(update={"lay": lays})


def _drafted(lay: LayTable) -> LayTable:
    settings = lay.settings
    quick: dict[str, object] = {}
    if isinstance(settings, ScatterSettings) and settings.density != "random":
        quick["density"] = "random"
    if isinstance(settings, RingsSettings) and settings.rows is None:
        # Given a number of rows, rings neither fill nor even out their middle.
        quick["rows"] = _EVERY_RING
    if settings.settle:
        quick["settle"] = 0.0
    if not quick:
        return lay
    return lay.model_copy(update={"settings": settings.model_copy(update=quick)})
