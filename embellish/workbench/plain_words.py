"""Findings as the page says them: a control by what stands on it, not by its key in the file."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any, Final

from embellish.findings import Finding
from embellish.workbench.controls import controls
from embellish.workbench.order_controls import order_controls

_KEY: Final = re.compile(r"(?P<key>[a-z]+(?:_[a-z0-9]+)+)(?: = (?P<value>'[^']*'|[\w.-]*\w))?")
_TABLE: Final = re.compile(r"\[(?P<table>[a-z]+)\]")


def shown(finding: Finding) -> dict[str, Any]:
    """Return a finding for the page."""
    said = finding.as_json()
    return {
        **said,
        "message": in_plain_words(finding.message),
        "mend": in_plain_words(finding.mend),
    }


def in_plain_words(text: str) -> str:
    """Return a sentence with keys and tables of the job file told as they stand on the page.

    What the page has no control for stands as it is: it is set in the file.
    """
    return _TABLE.sub(_table, _KEY.sub(_key, text))


def _key(found: re.Match[str]) -> str:
    control = _labels().get(found["key"])
    if control is None:
        return found[0]
    if found["value"] is None:
        return f"‘{control['label']}’"
    value = found["value"].strip("'")
    told = {"true": "yes", "false": "no"} | {
        str(choice["value"]): choice["words"] for choice in control.get("choices", [])
    }
    return f"‘{control['label']}’: {told.get(value, value)}"


def _table(found: re.Match[str]) -> str:
    label = {each["key"]: each["label"] for each in order_controls()}.get(found["table"])
    return found[0] if label is None else f"‘{label}’ in Order"


@lru_cache(maxsize=1)
def _labels() -> dict[str, dict[str, Any]]:
    """Return controls by their key; of lays rather than of the order, where both have one."""
    every = [
        *(control for section in order_controls() for control in section["controls"]),
        *(control for way in controls()["ways"] for control in way["controls"]),
        *controls()["common"],
    ]
    return {control["key"]: control for control in every}
