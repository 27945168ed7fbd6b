"""``embellish again``: only some of a job once more."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from embellish.cli.options import Anyway, AsJson, JobFile, OutFolder
from embellish.cli.telling import ProgressLine, print_findings, print_json

if TYPE_CHECKING:
    from embellish.job.making import Made
    from embellish.job.partners import MadePair

SHORT = "Make a garment or a template once more."
HELP = """Make only some of a job again: a garment that was ruined, a template that was lost.

Example: embellish again moth.toml --garments 1 --out moth-again

Example: embellish again moth.toml --template template-2 --out template-again

Everything stands where it stood; only what is made again is counted and bought. Where a delivery
was recorded, another layout and another lot are told.
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def again(
        job: JobFile,
        out: OutFolder,
        garments: Annotated[
            int | None, typer.Option("--garments", min=1, max=100_000, help="How many garments.")
        ] = None,
        template: Annotated[
            list[str] | None,
            typer.Option("--template", help="A template by its name; may be given again."),
        ] = None,
        size: Annotated[
            str, typer.Option("--size", help="Which size, where the job has several.")
        ] = "",
        side: Annotated[str, typer.Option("--side", help="Of a pair: LEFT or RIGHT alone.")] = "",
        anyway: Anyway = False,
        as_json: AsJson = False,
    ) -> None:
        from embellish.errors import JobError
        from embellish.job.again import garments_again, of_side, of_size, templates_again
        from embellish.job.files import open_job
        from embellish.job.placing import place, refuse_beside

        refuse_beside(out, job)
        if (garments is None) == (not template):
            raise JobError(
                "say what to make again",
                mend="Give --garments N, or --template NAME; one of them at a time.",
            )
        opened = of_size(open_job(job), size)
        made: Made | MadePair
        with ProgressLine() as progress:
            if garments is not None:
                made = garments_again(
                    opened, garments, side, anyway=anyway, progress=progress.stage
                )
            else:
                opened = of_side(opened, side)
                made = templates_again(
                    opened, template or [], anyway=anyway, progress=progress.stage
                )
            progress.stage(f"putting the files into {out}")
            place(made.files, out)
        checked = made.checked
        if as_json:
            print_json({**checked.summary(), "out": str(out), "files": sorted(made.files)})
        else:
            print_findings(checked.findings)
            print(made.words(str(out)))
        raise typer.Exit(1 if checked.stopped else 0)
