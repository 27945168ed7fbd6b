"""A job file's bytes read into a Job, or one clear sentence about what is wrong with it."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from embellish.errors import JobError
from embellish.formats.tables import checked, nearest, parsed_toml
from embellish.job.model import JOB_VERSION, Job, LayTable
from embellish.layout.ways.table import WAYS
from embellish.layout.ways.way import WaySettings


def read_job(data: bytes, name: str) -> Job:
    """Read a job file.

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
    version = table.get("version")
    if isinstance(version, int) and version > JOB_VERSION:
        raise JobError(
            f"this job is of version {version}; this program reads up to {JOB_VERSION}",
            file=name,
            mend="Use a newer embellish.",
        )
    lays = table.get("lay")
    if not isinstance(lays, list) or not lays:
        raise JobError(
            "there is no lay in this job", file=name, mend="Add a [[lay]] with id, shapes and way."
        )
    read = [_read_lay(lay, index, name) for index, lay in enumerate(lays)]
    _refuse_twins(read, name)
    return checked(Job, {**table, "lay": tuple(read)}, file=name, item=None, error=JobError)


def _read_lay(table: Any, index: int, name: str) -> LayTable:
    label = f"lay {index + 1}"
    if not isinstance(table, dict):
        raise JobError("a lay is a table", file=name, item=label, mend="Write it as [[lay]].")
    if isinstance(table.get("id"), str):
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
    if not isinstance(way_name, str) or way_name not in WAYS:
        if way_name is None:
            raise JobError(
                "this lay has no way", file=name, item=label, mend=f"Add way = one of {_ways()}."
            )
        raise JobError(
            f"there is no way '{way_name}'",
            file=name,
            item=label,
            mend=nearest(str(way_name), WAYS),
        )
    way = WAYS[way_name]
    own = {key: value for key, value in table.items() if key not in common}
    settings = checked(
        way.settings, own, file=name, item=label, error=JobError, known=LayTable.model_fields
    )
    lay = checked(LayTable, _with(common, settings), file=name, item=label, error=JobError)
    if lay.shares is not None and not way.mixes:
        raise JobError(
            f"way '{way.name}' sets a sequence, not a mix",
            file=name,
            item=label,
            mend='Write the pieces as a list, such as pieces = ["A", "B"].',
        )
    return lay


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
