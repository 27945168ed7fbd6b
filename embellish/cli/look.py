"""``embellish look``: what an artwork holds, and how big it is."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from embellish.cli.telling import print_findings, print_json, print_table

SHORT = "Look at an artwork: size, shapes, ids."
HELP = """Look at an artwork: its size, its shapes with the ids to name in a lay, and what was not
understood.

Example: embellish look moth.svg --width-mm 180
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def look(
        file: Annotated[Path, typer.Argument(help="The artwork (SVG).", show_default=False)],
        width_mm: Annotated[
            float | None,
            typer.Option("--width-mm", help="Width of the page in mm, where the file has none."),
        ] = None,
        as_json: Annotated[bool, typer.Option("--json", help="Print the facts as JSON.")] = False,
    ) -> None:
        from embellish.artwork.look import look_facts
        from embellish.artwork.sizing import sized
        from embellish.job.files import open_artwork

        artwork, findings = open_artwork(file)
        if width_mm is not None:
            artwork = sized(artwork, width_mm=width_mm)
            findings = tuple(each for each in findings if each.code != "no-physical-size")
        facts = look_facts(artwork, findings)
        if as_json:
            print_json(facts)
            return
        if facts["width_mm"] is None:
            print(f"{file}: no physical size")
        else:
            print(f"{file}: {facts['width_mm']:.1f} × {facts['height_mm']:.1f} mm")
        unit = "mm" if artwork.sized else "units"
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
            for shape in facts["shapes"]
        ]
        head = ["id", "layer", "kind", "fill", "stroke", f"area {unit}²", f"length {unit}"]
        print_table(head, rows, right={5, 6})
        print_findings(findings)
