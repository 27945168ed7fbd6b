"""``embellish sizes``: one job in several garment sizes."""

from __future__ import annotations

import typer

from embellish.cli.options import Anyway, AsJson, JobFile, OutFolder, Thaw
from embellish.cli.telling import ProgressLine, print_findings, print_json, print_table

SHORT = "Make a job in all its garment sizes."
HELP = """Make a job in all its garment sizes, each laid afresh from the original drawing.

Pieces and gaps stay as they are; there is one table of counts and prices, and one list to buy.

Example: embellish sizes moth.toml --out moth-sizes

The job names its sizes in [[size]] tables: name, and width_mm, percent or a file of its own whose
shapes have the same ids; with its own quantity, and its own margin_mm of keep-outs and edge_mm of
lays where they differ.
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def sizes(
        job: JobFile,
        out: OutFolder,
        anyway: Anyway = False,
        thaw: Thaw = False,
        as_json: AsJson = False,
    ) -> None:
        import json

        from embellish.job.files import open_job
        from embellish.job.placing import place, refuse_beside
        from embellish.job.sizes import made_sizes

        refuse_beside(out, job)
        with ProgressLine() as progress:
            made = made_sizes(
                open_job(job, thaw=thaw), anyway=anyway, thaw=thaw, progress=progress.stage
            )
            progress.stage(f"putting the files into {out}")
            place(made.files, out)
        facts = json.loads(made.files["sizes.json"])
        if as_json:
            print_json({**facts, "out": str(out), "stopped": made.stopped})
        else:
            print_findings(dict.fromkeys(made.findings))
            rows = [
                [
                    row["size"],
                    str(row["quantity"]),
                    "-" if row["width_mm"] is None else f"{row['width_mm']:g}",
                    str(row["seats"]),
                    row["cost_bought_alone"] or "-",
                    row["price_per_garment"] or "-",
                ]
                for row in facts["sizes"]
            ]
            every = facts["all"]
            cost = every["cost"] or "-"
            rows.append(["all", str(every["quantity"]), "", str(every["seats"]), cost, ""])
            head = ["size", "garments", "width mm", "seats", "materials", "price a garment"]
            print_table(head, rows, right={1, 2, 3, 4, 5})
            print(f"{len(made.files) + 1} files in {out}")
        raise typer.Exit(1 if made.stopped else 0)
