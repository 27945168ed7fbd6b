"""``embellish check`` and ``embellish count``: a job looked at without making anything."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from embellish.cli.telling import ProgressLine, print_findings, print_json, print_table
from embellish.findings import counted

CHECK_HELP = """Lay and check a job without writing anything.

Example: embellish check moth.toml

Exits with 1 where a check found an error.
"""

COUNT_HELP = """Count what a job takes and what to buy, without writing anything.

Example: embellish count moth.toml
"""


def register(app: typer.Typer) -> None:
    """Add the commands."""

    @app.command(help=CHECK_HELP, short_help="Lay and check a job.")
    def check(
        job: Annotated[Path, typer.Argument(help="The job file (TOML).", show_default=False)],
        as_json: Annotated[bool, typer.Option("--json", help="Print the facts as JSON.")] = False,
    ) -> None:
        from embellish.job.files import open_job
        from embellish.job.partners import checked_job, sides_of

        with ProgressLine() as progress:
            checked = checked_job(open_job(job), progress.stage)
        if as_json:
            print_json(checked.summary())
        else:
            print_findings(checked.findings)
            state = "an error stands" if checked.stopped else "no error"
            for side in sides_of(checked):
                name = f" {side.opened.side}" if side.opened.side else ""
                print(
                    f"{side.opened.job.title}{name}: {counted(len(side.layout), 'seat')}, {state}"
                )
        raise typer.Exit(1 if checked.stopped else 0)

    @app.command(help=COUNT_HELP, short_help="Count pieces and packs.")
    def count(
        job: Annotated[Path, typer.Argument(help="The job file (TOML).", show_default=False)],
        as_json: Annotated[bool, typer.Option("--json", help="Print the facts as JSON.")] = False,
    ) -> None:
        import json

        from embellish.job.files import open_job
        from embellish.job.partners import checked_job, materials_of, sides_of
        from embellish.outputs.materials import materials_json

        with ProgressLine() as progress:
            checked = checked_job(open_job(job), progress.stage)
        facts = json.loads(materials_json(materials_of(checked)))
        if as_json:
            print_json(facts)
            return
        rows = [
            [
                line["code"],
                str(line["per_garment"]),
                str(line["count"]),
                str(line["spare"]),
                str(line["from_stock"]),
                " + ".join(f"{pack['quantity']} × {pack['pieces']}" for pack in line["packs"])
                or "-",
                line["cost"] or "-",
            ]
            for line in facts["lines"]
        ]
        one = "a pair" if len(sides_of(checked)) > 1 else "a garment"
        head = ["code", one, "all", "spare", "from stock", "packs", facts["currency"]]
        print_table(head, rows, right={1, 2, 3, 4, 6})
        print(f"total: {facts['total'] or 'not known'} {facts['currency']}")
