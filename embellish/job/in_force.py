"""What is in force for a job, and where each setting came from: the job, or built in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from pydantic import BaseModel

from embellish.job.lay_records import lay_record
from embellish.job.model import Job
from embellish.job.sorts import Sorts

Origin = Literal["job", "built-in", "from the pieces"]


@dataclass(frozen=True, slots=True)
class InForce:
    """One setting: its key as a job writes it, its value as JSON holds it, and its origin."""

    key: str
    value: Any
    origin: Origin


def settings_in_force(job: Job, sorts: Sorts) -> tuple[InForce, ...]:
    """Return every setting of a job, table by table, with where it came from.

    Parameters
    ----------
    sorts
        What the job sets: how a lay is set and marked follows from its pieces where the job does
        not say.
    """
    found: list[InForce] = []
    for name in type(job).model_fields:
        value = getattr(job, name)
        if name == "lay":
            for lay in value:
                record = lay_record(lay, sorts)
                derived = {"set_by": record.set_by, "mark": record.mark}
                found += _of_table(lay, f"lay.{lay.id}", derived, leave_out=("settings",))
                found += _of_table(lay.settings, f"lay.{lay.id}", {})
        elif isinstance(value, BaseModel):
            found += _of_table(value, name, {})
        else:
            origin: Origin = "job" if name in job.model_fields_set else "built-in"
            found.append(InForce(name, job.model_dump(mode="json", include={name})[name], origin))
    return tuple(found)


def _of_table(
    table: BaseModel, prefix: str, derived: Mapping[str, str], leave_out: tuple[str, ...] = ()
) -> Iterator[InForce]:
    values = table.model_dump(mode="json")
    for name in type(table).model_fields:
        if name in leave_out:
            continue
        if values[name] is None and name in derived:
            yield InForce(f"{prefix}.{name}", derived[name], "from the pieces")
        else:
            origin: Origin = "job" if name in table.model_fields_set else "built-in"
            yield InForce(f"{prefix}.{name}", values[name], origin)
