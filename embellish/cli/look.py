"""``embellish look``: what an artwork holds, and how big it is."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from embellish.cli.telling import print_findings, print_json, print_table

SHORT = "Look at an artwork: size, shapes, ids."
HELP = """Look at an artwork or a job.

Of an artwork: its size, its shapes with the ids to name in a lay, and what was not understood. Of a
job: every setting in force, and whether the job says so or it is built in; its shapes, also those
of its words; and what was delivered.

Example: embellish look moth.svg --width-mm 180
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def look(
        file: Annotated[
            Path, typer.Argument(help="The artwork (SVG or DXF) or job (TOML).", show_default=False)
        ],
        width_mm: Annotated[
            float | None,
            typer.Option("--width-mm", help="Width of the page in mm, where the file has none."),
        ] = None,
        as_json: Annotated[bool, typer.Option("--json", help="Print the facts as JSON.")] = False,
    ) -> None:
        if file.suffix.lower() == ".toml":
            _look_at_job(file, as_json=as_json)
            return
        from embellish.artwork.look import look_facts
        from embellish.job.files import open_wide

        artwork, findings = open_wide(file, width_mm)
        facts = look_facts(artwork, findings)
        if as_json:
            print_json(facts)
            return
        if facts["width_mm"] is None:
            print(f"{file}: no physical size")
        else:
            print(f"{file}: {facts['width_mm']:.1f} × {facts['height_mm']:.1f} mm")
        _print_shapes(facts["shapes"], "mm" if artwork.sized else "units")
        print_findings(findings)


def _print_shapes(shapes: list[dict[str, Any]], unit: str) -> None:
    rows = [
        [
            shape["id"],
            shape["layer"] or "-",
            shape["kind"],
            shape["fill"] or "-",
            shape["stroke"] or "-",
            "-" if shape["area_mm2"] is None else f"{shape['area_mm2']:.1f}",
            f"{shape['length_mm']:.1f}",
        ]
        for shape in shapes
    ]
    head = ["id", "layer", "kind", "fill", "stroke", f"area {unit}²", f"length {unit}"]
    print_table(head, rows, right={5, 6})


def _look_at_job(file: Path, *, as_json: bool) -> None:
    import json

    from embellish.artwork.look import look_facts
    from embellish.errors import EmbellishError
    from embellish.job.files import open_job
    from embellish.job.in_force import settings_in_force
    from embellish.job.sorts import Sorts

    opened = open_job(file)
    try:
        settings = settings_in_force(opened.job, Sorts.of(opened.job, opened.catalogue))
    except EmbellishError as wrong:
        raise wrong.within(file=str(file)) from wrong
    if as_json:
        print_json(
            {
                "settings": [
                    {"key": each.key, "value": each.value, "from": each.origin} for each in settings
                ],
                "shapes": look_facts(opened.artwork, ())["shapes"],
                "delivered": [each.model_dump(mode="json") for each in opened.deliveries],
                "findings": [finding.as_json() for finding in opened.findings],
            }
        )
        return
    rows = [
        [each.key, json.dumps(each.value, ensure_ascii=False), each.origin] for each in settings
    ]
    print_table(["setting", "value", "from"], rows, right=set())
    print()
    _print_shapes(look_facts(opened.artwork, ())["shapes"], "mm")
    for each in opened.deliveries:
        print(f"delivered {each.words}")
    print_findings(opened.findings)
