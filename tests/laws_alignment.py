"""The law of alignment: registration holes of all templates and sewn crosses are the same points.

Read from a made folder's files alone.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
from lxml import etree

SVG = "{http://www.w3.org/2000/svg}"
Facts = dict[str, Any]


def check_alignment(out: Path, facts: Facts) -> None:
    """Check templates.json's registration points against holes drawn and crosses sewn."""
    points = np.array(facts["registration_mm"]).reshape(-1, 2)
    for template in facts["templates"]:
        seen = np.zeros(len(points), dtype=bool)
        for part in template.get("alone", template["parts"]):
            holes = _circles(out / "templates" / part["file"], "register")
            near = _apart(holes, _mapped(part["to_template"], points))
            # Each hole drawn is one of the points, in its place on this part.
            assert (near.min(axis=1, initial=np.inf) < 1e-5).all(), part["file"]
            seen |= (near < 1e-5).any(axis=0)
        assert seen.all() or len(template["parts"]) > 1, template["name"]
    marks = out / "marks" / "marks.json"
    if len(points) and marks.exists():
        _check_crosses(out, json.loads(marks.read_text(encoding="utf-8")), points)


def _check_crosses(out: Path, facts: Facts, points: np.ndarray) -> None:
    sewn = [
        np.linalg.solve(_linear(hooping["to_stitch"]), np.array(mark["centre"]) - _shift(hooping))
        for hooping in facts["hoopings"]
        for mark in hooping["marks"]
        if mark["kind"] == "cross"
    ]
    findings = json.loads((out / "findings.json").read_text(encoding="utf-8"))
    if not sewn or "cross-outside-hoop" in {finding["code"] for finding in findings}:
        return
    assert (_apart(points, np.array(sewn)).min(axis=1) < 1e-5).all()


def _circles(path: Path, layer: str) -> np.ndarray:
    root = etree.parse(path).getroot()
    found = [
        [float(str(circle.get("cx"))), float(str(circle.get("cy")))]
        for group in root.iter(f"{SVG}g")
        if group.get("id") == layer
        for circle in group.iter(f"{SVG}circle")
    ]
    return np.array(found).reshape(-1, 2)


def _linear(affine: list[float]) -> np.ndarray:
    a, b, c, d, _, _ = affine
    return np.array([[a, c], [b, d]])


def _shift(hooping: Facts) -> np.ndarray:
    return np.array(hooping["to_stitch"][4:])


def _mapped(affine: list[float], points: np.ndarray) -> np.ndarray:
    return np.asarray(points @ _linear(affine).T + np.array(affine[4:]))


def _apart(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    return np.asarray(np.hypot(*np.moveaxis(one[:, None] - two[None], -1, 0)))
