"""``embellish names``: one job for each name of a list."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from embellish.cli.options import Anyway, AsJson, JobFile, OutFolder
from embellish.cli.telling import ProgressLine, print_findings, print_json, print_table

SHORT = "Make a job for each name of a list."
HELP = """Make a job once for each row of a list of names, a folder each, bought together.

Example: embellish names team.toml team.csv --out team-made

The list is a CSV file whose first row names its columns: 'name' is set in place of the job's own
words; others, such as quantity, cloth.colour, lettering.cap_height_mm or lay.fill.pieces, stand in
place of that setting; 'note' is for the sheet. names.html shows every name, to be signed off.

With --only some rows are made again, by name or line, with just their buying.
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def names(
        job: JobFile,
        list_: Annotated[
            Path, typer.Argument(metavar="LIST", help="The list (CSV).", show_default=False)
        ],
        out: OutFolder,
        only: Annotated[
            list[str] | None,
            typer.Option("--only", help="A name or line of the list; may be given again."),
        ] = None,
        anyway: Anyway = False,
        as_json: AsJson = False,
    ) -> None:
        import json

        from embellish.job.naming import made_names, refuse_fewer
        from embellish.job.placing import place, refuse_beside

        refuse_beside(out, job)
        if only:
            refuse_fewer(out)
        with ProgressLine() as progress:
            made = made_names(job, list_, only=only or (), anyway=anyway, progress=progress.stage)
            progress.stage(f"putting the files into {out}")
            place(made.files, out)
        facts = json.loads(made.files["names.json"])
        if as_json:
            print_json({**facts, "out": str(out), "stopped": made.stopped})
        else:
            print_findings(dict.fromkeys(made.findings))
            rows = [
                [
                    str(row["line"]),
                    row["name"],
                    row["folder"],
                    str(row["quantity"]),
                    str(row["seats"]),
                    f"{row['width_mm']:.0f}",
                    row["price_per_garment"] or "-",
                ]
                for row in facts["names"]
            ]
            head = ["line", "name", "folder", "garments", "seats", "width mm", "price a garment"]
            print_table(head, rows, right={0, 3, 4, 5, 6})
            print(f"{len(made.files) + 1} files in {out}; have {out}/names.html signed off.")
        raise typer.Exit(1 if made.stopped else 0)
