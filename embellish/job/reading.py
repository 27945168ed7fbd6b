"""A job file's bytes read into a Job, or one clear sentence about what is wrong with it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel

from embellish.errors import JobError
from embellish.findings import Finding
from embellish.formats.nearest import close_to, nearest
from embellish.formats.tables import checked, homes_of, parsed_toml
from embellish.formats.value_words import shown
from embellish.job.model import Job, LayTable
from embellish.job.upgrading import upgraded
from embellish.layout.ways.table import WAYS
from embellish.layout.ways.way import Way, WaySettings


def read_job(data: bytes, name: str) -> Job:
    """Read a job file, as `read_job_told` does, without what changed since its version."""
    return read_job_told(data, name)[0]


def read_job_told(data: bytes, name: str) -> tuple[Job, tuple[Finding, ...]]:
    """Read a job file, and tell what changed since its version, where that is an older one.

    Parameters
    ----------
    data
        The file's bytes.
    name
        The file as the user knows it, for messages.

    Raises
    ------
    JobError
        For the first thing that is wrong: file, table, key and mend.
    """
    table = parsed_toml(data, name, JobError)
    _refuse_others(table, name)
    table, told = upgraded(table, name)
    lays = table.get("lay")
    if isinstance(lays, dict):
        raise JobError(
            "[lay] stands in single brackets",
            file=name,
            mend="Write [[lay]], with double brackets.",
        )
    if not lays:
        whole = {key: value for key, value in table.items() if key != "lay"}
        known = _known_wrong(whole)
        if known:
            raise JobError(f"unknown key '{known}'", file=name, mend="Did you mean [[lay]]?")
        raise JobError(
            "there is no lay in this job", file=name, mend="Add a [[lay]] with id, shapes and way."
        )
    if not isinstance(lays, list):
        raise JobError("a lay is a table", file=name, item="lay", mend="Write it as [[lay]].")
    homes = homes_of(Job, ("settings",))
    read = [_read_lay(lay, index, name, homes) for index, lay in enumerate(lays)]
    _refuse_twins(read, name)
    whole = {**table, "lay": tuple(read)}
    return checked(Job, whole, file=name, item=None, error=JobError, homes=homes), told


def _refuse_others(table: dict[str, Any], name: str) -> None:
    """Raise where the file is no job at all."""
    if not table:
        raise JobError(
            "there is nothing in this file",
            file=name,
            mend="Write a first job with: embellish new ARTWORK.",
        )
    if "lay" not in table and "artwork" not in table:
        for key in ("catalogue", "family", "piece", "hoop", "sheet", "press", "kept"):
            if key in table and "version" not in table:
                kind = "a kept layout" if key == "kept" else "a catalogue"
                raise JobError(f"this is {kind}, not a job", file=name, mend="Name the job's file.")


def _known_wrong(table: dict[str, Any]) -> str | None:
    """Return the key by which 'lay' was misspelt, or None."""
    return next(
        (key for key in table if key not in Job.model_fields and close_to(key, ["lay"])), None
    )


def _read_lay(table: Any, index: int, name: str, homes: Mapping[str, str]) -> LayTable:
    label = f"lay {index + 1}"
    if not isinstance(table, dict):
        raise JobError("a lay is a table", file=name, item=label, mend="Write it as [[lay]].")
    if isinstance(table.get("id"), str) and table["id"]:
        label = f"lay '{table['id']}'"
    if "settings" in table:
        raise JobError(
            "unknown key 'settings'",
            file=name,
            item=label,
            mend="Write the way's settings straight into the lay.",
        )
    way_name = table.get("way")
    common = {key: value for key, value in table.items() if key in LayTable.model_fields}
    own = {key: value for key, value in table.items() if key not in common}
    if not isinstance(way_name, str) or way_name not in WAYS:
        if way_name is None:
            misspelt = close_to("way", own)
            raise JobError(
                f"unknown key '{misspelt}'" if misspelt else "this lay has no way",
                file=name,
                item=label,
                mend="Did you mean 'way'?" if misspelt else f"Add way = one of {_ways()}.",
            )
        raise JobError(
            f"there is no way {shown(way_name)}",
            file=name,
            item=label,
            mend=nearest(str(way_name), WAYS),
        )
    way = WAYS[way_name]
    settings = checked(
        way.settings,
        own,
        file=name,
        item=label,
        error=JobError,
        known=[key for key in LayTable.model_fields if key != "settings"],
        homes={**homes, **_of_other_ways(way)},
    )
    lay = checked(
        LayTable, _with(common, settings), file=name, item=label, error=JobError, homes=homes
    )
    if lay.shares is not None and not way.mixes:
        raise JobError(
            f"way '{way.name}' sets a sequence, not a mix",
            file=name,
            item=label,
            mend='Write the pieces as a list, such as pieces = ["A", "B"].',
        )
    if lay.edge_mm and not way.edges:
        beside = "offset_mm" in way.settings.model_fields
        raise JobError(
            f"way '{way.name}' lays on lines and points, so edge_mm does nothing",
            file=name,
            item=label,
            mend="To lay beside the line write offset_mm; else leave edge_mm out."
            if beside
            else "Leave edge_mm out.",
        )
    return lay


def _of_other_ways(way: Way) -> dict[str, str]:
    """Return what to do with settings that other ways have and this one has not."""
    having: dict[str, list[str]] = {}
    for other in WAYS.values():
        for key in other.settings.model_fields:
            having.setdefault(key, []).append(f"'{other.name}'")
    return {
        key: f"It is a setting of way {' or '.join(names)}; this lay's way is '{way.name}'."
        for key, names in having.items()
        if key not in way.settings.model_fields
    }


def _with(common: dict[str, Any], settings: BaseModel) -> dict[str, Any]:
    assert isinstance(settings, WaySettings)  # noqa: S101 - tells the type checker what `checked` gave
    return {**common, "settings": settings}


def _ways() -> str:
    return ", ".join(f'"{name}"' for name in WAYS)


def _refuse_twins(lays: list[LayTable], name: str) -> None:
    seen: set[str] = set()
    for lay in lays:
        if lay.id in seen:
            raise JobError(
                f"two lays have the id '{lay.id}'",
                file=name,
                mend="Give each lay an id of its own.",
            )
        seen.add(lay.id)
