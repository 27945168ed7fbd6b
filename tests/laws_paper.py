"""The laws of patterns on paper and of the trial, read from their files alone."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from typing import Any

import numpy as np
from lxml import etree
from scipy.spatial import cKDTree

SVG = "{http://www.w3.org/2000/svg}"
NUMBER = r"-?\d+(?:\.\d+)?(?:e-?\d+)?"
Facts = dict[str, Any]


def check_paper(folder: Path, layout: Facts) -> None:
    """Every hole lies on its seat to 0.01 mm, and none is nearer to another than is said.

    ``layout`` is in the state of the cloth that the patterns are for.
    """
    facts = json.loads((folder / "paper.json").read_text(encoding="utf-8"))
    assert (facts["format"], facts["version"]) == ("embellish-paper", 1)
    seats = layout["seats"]
    for pattern in facts["patterns"]:
        lays = [
            each["set_by"] in ("hand", "sewn") and each["worked_from"] == pattern["side"]
            for each in layout["lays"]
        ]
        assert all(lays[seats["lay"][row]] for row in pattern["seats"])
        a, b, c, d, e, f = pattern["to_paper"]
        assert abs(a * a + b * b - 1) <= 1e-9
        assert abs(abs(a * d - b * c) - 1) <= 1e-9
        assert (a * d - b * c < 0) == pattern["mirrored"] == (pattern["side"] == "back")
        centres = []
        for row, along in zip(pattern["seats"], pattern["along_mm"], strict=True):
            turn = math.radians(seats["angle_deg"][row])
            x = seats["x"][row] + along * math.cos(turn)
            y = seats["y"][row] + along * math.sin(turn)
            centres.append((a * x + c * y + e, b * x + d * y + f))
        wanted = np.array(centres)
        found, widths = holes_of(folder / pattern["file"], pattern["layer"])
        assert np.abs(found - wanted).max() <= 0.01
        round_ones = np.array(pattern["slot_mm"]) == 0
        assert np.abs(widths[round_ones] - pattern["hole_mm"]).max(initial=0.0) <= 1e-5
        room = pattern["hole_mm"] + pattern["apart_mm"]
        apart = (
            np.array(cKDTree(found).query(found, k=2)[0])[:, 1]
            if len(found) > 1
            else np.array([room])
        )
        assert apart.min() >= room - 1e-5
        if pattern["kind"] == "pounce":
            shown = [row for row, lay in enumerate(seats["lay"]) if lays[lay]]
            xy = np.array([(seats["x"][row], seats["y"][row]) for row in shown])
            onto = xy @ np.array([[a, b], [c, d]]) + (e, f)
            assert np.max(cKDTree(found).query(onto)[0]) < room + 1e-5


def holes_of(path: Path, layer: str) -> tuple[np.ndarray, np.ndarray]:
    """Centre and least width of each circle or path of a cut layer, in its order."""
    root = etree.parse(path).getroot()
    (group,) = [each for each in root.iter(f"{SVG}g") if each.get("id") == layer]
    assert group.getparent() is root
    assert group.get("transform") is None
    centres, widths = [], []
    for each in group:
        if each.tag == f"{SVG}circle":
            centres.append([float(str(each.get(key))) for key in ("cx", "cy")])
            widths.append(2 * float(str(each.get("r"))))
            continue
        # Ends of the segments alone: an arc's radii and flags stand before its end.
        path_data = re.sub(
            rf"A\s*({NUMBER})[\s,]+{NUMBER}[\s,]+{NUMBER}[\s,]+[01][\s,]*[01][\s,]*",
            "L",
            str(each.get("d")),
        )
        points = np.array(re.findall(NUMBER, path_data), dtype=float).reshape(-1, 2)
        corners = np.unique(np.round(points, 6), axis=0)
        # A slot is its own image turned half round, however its ends are cut into arcs.
        centres.append(corners.mean(axis=0).tolist())
        widths.append(0.0)
    return np.array(centres), np.array(widths)


def check_card(folder: Path, layout: Facts) -> None:
    """The card's holes are those that its facts tell, over the largest piece of each row."""
    facts = json.loads((folder / "test-cut-card.json").read_text(encoding="utf-8"))
    assert (facts["format"], facts["version"]) == ("embellish-test-cut-card", 1)
    most = {piece["code"]: piece["max_length_mm"] for piece in layout["pieces"]}
    _, widths = holes_of(folder / facts["file"], facts["layer"])
    told = [
        (row["codes"], clearance)
        for row in facts["rows"]
        for clearance in row["clearance_mm"]
        for _ in range(facts["repeat"])
    ]
    assert len(told) == len(widths)
    for (codes, clearance), width in zip(told, widths.tolist(), strict=True):
        for code in codes:
            if width and code in most:
                assert abs(width - most[code] - clearance) <= 1e-5
    for row in facts["rows"]:
        assert row["now_mm"] in row["clearance_mm"]
