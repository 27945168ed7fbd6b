"""``embellish look``: what an artwork holds, and how big it is."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from embellish.cli.options import AsJson, OverPicture
from embellish.cli.telling import print_findings, print_json, print_table

if TYPE_CHECKING:
    from embellish.artwork.artwork import Artwork

SHORT = "Look at an artwork: size, shapes, ids."
HELP = """Look at an artwork or a job.

Of an artwork: its size, its shapes with the ids to name in a lay, and what was not understood. Of a
job: every setting in force, and whether the job says so or it is built in; its shapes, also those
of its words; and what was delivered. The picture shows each shape with its id.

Example: embellish look moth.svg --width-mm 180 --picture moth-shapes.png
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def look(
        file: Annotated[
            Path,
            typer.Argument(
                help="The artwork (SVG, DXF, stitch file, picture) or job (TOML).",
                show_default=False,
            ),
        ],
        width_mm: Annotated[
            float | None,
            typer.Option("--width-mm", help="Width of the page in mm, where the file has none."),
        ] = None,
        picture: Annotated[
            Path | None,
            typer.Option("--picture", help="Draw the shapes with their ids: a .svg or .png."),
        ] = None,
        over: OverPicture = False,
        as_json: AsJson = False,
    ) -> None:
        if file.suffix.lower() == ".toml":
            _look_at_job(file, picture, over=over, as_json=as_json)
            return
        from embellish.artwork.look import look_facts
        from embellish.job.files import open_wide, refuse_over

        artwork, findings = open_wide(file, width_mm)
        if picture is not None:
            refuse_over(picture, [file], "this is the artwork itself", over=over)
        facts = look_facts(artwork, findings)
        drawn = _draw(artwork, file, picture)
        if as_json:
            print_json(facts | drawn)
            return
        if facts["width_mm"] is None:
            print(f"{file}: no physical size")
        else:
            print(f"{file}: {facts['width_mm']:.1f} × {facts['height_mm']:.1f} mm")
        _print_shapes(facts["shapes"], "mm" if artwork.sized else "units")
        print_findings(findings)
        _print_drawn(drawn)


def _draw(artwork: Artwork, file: Path, picture: Path | None) -> dict[str, Any]:
    """Write the picture where one is asked for; return the facts of it."""
    if picture is None:
        return {}
    from embellish.job.placing import replace_file
    from embellish.outputs.proof import proof_format
    from embellish.outputs.shapes_picture import shapes_drawing

    write = proof_format(picture.name)
    drawing, unnamed = shapes_drawing(artwork, file.name)
    replace_file(picture, write(drawing))
    return {"picture": str(picture), "without_room": list(unnamed)}


def _print_drawn(drawn: dict[str, Any]) -> None:
    if not drawn:
        return
    count = len(drawn["without_room"])
    short = f", without room for {count} of the ids" if count else ""
    print(f"Wrote {drawn['picture']}{short}.")


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


def _look_at_job(file: Path, picture: Path | None, *, over: bool, as_json: bool) -> None:
    import json

    from embellish.artwork.look import look_facts
    from embellish.errors import EmbellishError
    from embellish.job.files import open_job, refuse_to_overwrite
    from embellish.job.in_force import settings_in_force
    from embellish.job.sorts import Sorts

    opened = open_job(file)
    try:
        settings = settings_in_force(opened.job, Sorts.of(opened.job, opened.catalogue))
    except EmbellishError as wrong:
        raise wrong.within(file=str(file)) from wrong
    if picture is not None:
        refuse_to_overwrite(picture, opened, over=over)
    drawn = _draw(opened.artwork, file, picture)
    if as_json:
        print_json(
            {
                "settings": [
                    {"key": each.key, "value": each.value, "from": each.origin} for each in settings
                ],
                "shapes": look_facts(opened.artwork, ())["shapes"],
                "delivered": [each.model_dump(mode="json") for each in opened.deliveries],
                "findings": [finding.as_json() for finding in opened.findings],
                **drawn,
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
    _print_drawn(drawn)
