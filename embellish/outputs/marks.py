"""Mark stitches as files: the machine formats, a picture each, stops.csv, marks.json, plan.json."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from embellish.findings import Finding
from embellish.formats.csv_lists import list_bytes
from embellish.formats.stitches import encode
from embellish.layout.layout import Layout
from embellish.outputs.drawing.svg import svg_bytes
from embellish.outputs.layout import as_json_bytes
from embellish.outputs.marks_picture import marks_drawing
from embellish.plans.stitching.crosses import CROSSES
from embellish.plans.stitching.sewing import Effort
from embellish.plans.stitching.stitch import Hooping, StitchPlan, Stop
from embellish.plans.title import TitleBlock

FOLDER = "marks/"


def marks_files(
    plan: StitchPlan,
    layout: Layout,
    title: TitleBlock,
    state: Mapping[str, Any] | None = None,
) -> tuple[dict[str, bytes], tuple[Finding, ...]]:
    """Return the files of a stitch plan, name -> content, and what formats could not hold.

    Nothing is written where nothing is sewn. ``state`` has the facts of cloth stretched on a
    board, where the marks are for that.
    """
    files: dict[str, bytes] = {}
    findings: dict[tuple[str, str], Finding] = {}
    if not plan.hoopings:
        return files, ()
    for hooping in plan.hoopings:
        name = hooping.design.name
        for extension in plan.settings.formats:
            data, lost = encode(hooping.design, extension)
            files[f"{FOLDER}{name}.{extension}"] = data
            for finding in lost:
                findings.setdefault((finding.code, finding.message), finding)
        files[f"{FOLDER}{name}.svg"] = svg_bytes(marks_drawing(plan, hooping, layout, title))
    files[f"{FOLDER}stops.csv"] = stops_csv(plan)
    files[f"{FOLDER}marks.json"] = marks_json(plan, state)
    files[f"{FOLDER}plan.json"] = plan_json(plan)
    return files, tuple(findings.values())


def marks_json(plan: StitchPlan, state: Mapping[str, Any] | None = None) -> bytes:
    """Return where each mark lies in the file, for checking with a decoder of one's own.

    Where the cloth is stretched on a board, ``state.map`` leads from layout.json to the places in
    that state, and ``to_stitch``, rigid as ever, from there into the file.
    """
    first = plan.settings.formats[0]
    return as_json_bytes(
        {
            "format": "embellish-marks",
            "version": 1,
            **({"state": dict(state)} if state else {}),
            "hoopings": [_hooping_facts(hooping, first) for hooping in plan.hoopings],
        }
    )


def _hooping_facts(hooping: Hooping, extension: str) -> dict[str, Any]:
    return {
        "file": f"{hooping.design.name}.{extension}",
        "position": hooping.position,
        "mirrored": hooping.mirrored,
        "to_stitch": hooping.to_stitch.as_list(),
        "base_records": hooping.base_records,
        "base_records_after": hooping.base_records_after,
        "marks": [
            {
                "kind": mark.kind,
                "seats": list(mark.seats),
                "block": mark.block,
                "centre": list(mark.centre),
                "first": mark.first,
                "last": mark.last,
            }
            for mark in hooping.marks
        ],
    }


def stops_csv(plan: StitchPlan) -> bytes:
    """Return what to do at each stop, a line a block and file."""
    head = ("block", "colour", "code", "count", "what to do", "file", "when")
    rows = [
        (
            *(stop.block + 1, stop.hex, stop.code, stop.count, stop.words),
            *(hooping.design.name, when(plan, stop)),
        )
        for hooping in plan.hoopings
        for stop in hooping.stops
    ]
    return list_bytes(head, rows)


def when(plan: StitchPlan, stop: Stop) -> str:
    """Return when a stop's words are done."""
    if stop.base:
        return "by the machine"
    if stop.code == CROSSES:
        return "later"
    return "at this stop" if plan.sets_at_stops else "after all sewing"


def plan_json(plan: StitchPlan) -> bytes:
    """Return what sewing costs: a mark a piece, row by row; the same marks unjoined; as planned."""
    singly, before = Effort(), Effort()
    for hooping in plan.hoopings:
        singly += hooping.singly
        before += hooping.unjoined
    return as_json_bytes(
        {
            "format": "embellish-sewing-plan",
            "version": 1,
            "assumed": {
                "stitches_per_minute": plan.settings.speed_per_min,
                "seconds_a_trim": plan.settings.trim_s,
                "seconds_a_stop": plan.settings.stop_s,
            },
            "piece_by_piece": _effort_facts(singly, plan),
            "before_joining": _effort_facts(before, plan),
            "as_planned": _effort_facts(plan.effort, plan),
            "hoopings": [
                {
                    "file": hooping.design.name,
                    "hooping": hooping.number + 1,
                    "position": hooping.position,
                    "before_joining": _effort_facts(hooping.unjoined, plan),
                    "as_planned": _effort_facts(hooping.effort, plan),
                    **(
                        {"base_design": _effort_facts(hooping.base_effort, plan)}
                        if hooping.base_effort.stitches
                        else {}
                    ),
                }
                for hooping in plan.hoopings
            ],
        }
    )


def _effort_facts(effort: Effort, plan: StitchPlan) -> dict[str, Any]:
    return {
        "stitches": effort.stitches,
        "trims": effort.trims,
        "jumps": effort.jumps,
        "stops": effort.stops,
        "travel_mm": round(effort.travel_mm, 1),
        "minutes": round(effort.minutes(plan.settings), 2),
    }
