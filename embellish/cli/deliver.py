"""``embellish deliver``: write down what was handed over."""

from __future__ import annotations

from functools import reduce
from typing import Annotated

import typer

from embellish.cli.options import AsJson, JobFile, Note
from embellish.cli.telling import ProgressLine, print_json

SHORT = "Write down what was handed over."
HELP = """Write down a delivery in JOB.delivered.toml beside the job, for repairs and for garments
that match: date and lots as you enter them, the layout and its counts.

Example: embellish deliver moth.toml --date 2026-11-20 --lot R-SS10-CLEAR=L7

'embellish look JOB' shows it; 'make' and 'again' tell where the layout or a lot is another.
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def deliver(
        job: JobFile,
        date: Annotated[
            str, typer.Option("--date", help="Year-month-day, as 2026-11-20.", show_default=False)
        ],
        lot: Annotated[
            list[str] | None,
            typer.Option("--lot", help="CODE=LOT of a piece; again for each piece and lot."),
        ] = None,
        size: Annotated[
            str, typer.Option("--size", help="Which size, where the job has several.")
        ] = "",
        side: Annotated[str, typer.Option("--side", help="Of a pair: LEFT or RIGHT alone.")] = "",
        garments: Annotated[
            int | None,
            typer.Option(
                "--garments", min=1, max=100_000, help="How many, where not the job's quantity."
            ),
        ] = None,
        to: Annotated[str, typer.Option("--to", help="Whom it went to.")] = "",
        note: Note = "",
        anyway: Annotated[
            bool, typer.Option("--anyway", help="Also where a check has found an error.")
        ] = False,
        as_json: AsJson = False,
    ) -> None:
        from embellish.job.again import of_side, of_size
        from embellish.job.delivering import (
            delivered_path,
            delivery_of,
            refuse_unfit,
            with_delivery,
        )
        from embellish.job.files import open_job
        from embellish.job.making import check_job
        from embellish.job.partners import in_pair
        from embellish.job.placing import change_file

        opened = of_size(open_job(job), size)
        sides = [of_side(opened, side)] if side else in_pair(opened)
        path = delivered_path(job)
        written = []
        with ProgressLine() as progress:
            for each in sides:
                checked = check_job(each, progress.stage)
                if not anyway:
                    refuse_unfit(checked.findings, each.path)
                delivery = delivery_of(
                    checked.layout,
                    date=date,
                    fingerprint=checked.plans.title.fingerprint,
                    quantity=garments or each.job.quantity,
                    lots=lot or [],
                    size=each.size,
                    side=each.side,
                    revision=each.job.revision,
                    to=to,
                    note=note,
                )
                written.append(delivery)
        change_file(path, lambda record: reduce(with_delivery, written, record))
        if as_json:
            entries = [delivery.model_dump(mode="json") for delivery in written]
            print_json({"record": str(path), "delivered": entries})
            return
        for delivery in written:
            print(delivery.words)
        print(f"Written into {path}.")
        if any(each.kept is None for each in sides):
            print("Keep the layout too, to make the same again later: embellish freeze.")
