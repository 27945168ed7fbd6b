"""``embellish freeze``: keep a job as it is made today."""

from __future__ import annotations

from typing import Annotated

import typer

from embellish.cli.options import AsJson, JobFile
from embellish.cli.telling import ProgressLine, print_json

SHORT = "Keep a layout, to make it again later."
HELP = """Keep the layout of a job beside it, as JOB.kept.toml, to make the same piece again later.
The layouts of its sizes are kept as JOB.SIZE.kept.toml.

Example: embellish freeze moth.toml

While the job and its artwork are unchanged, places come from it; sizes of pieces always do; prices
come from the catalogue of the day. 'embellish make --thaw' lays anew.
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def freeze(
        job: JobFile,
        thaw: Annotated[
            bool, typer.Option("--thaw", help="Lay anew first, and keep that instead.")
        ] = False,
        as_json: AsJson = False,
    ) -> None:
        from embellish.job.files import open_job
        from embellish.job.freezing import kept_jobs, kept_text
        from embellish.job.making import check_job
        from embellish.job.placing import replace_file

        opened = open_job(job, thaw=thaw)
        texts = {}
        facts = []
        with ProgressLine() as progress:
            for path, each in kept_jobs(opened, thaw=thaw):
                checked = check_job(each, progress.stage)
                texts[path] = kept_text(checked)
                fact = {
                    "kept": str(path),
                    "seats": len(checked.layout),
                    "fingerprint": checked.plans.title.fingerprint,
                }
                facts.append(fact | ({"size": each.size} if each.size else {}))
        for path, text in texts.items():
            replace_file(path, text)
        if as_json:
            print_json({**facts[0], "sizes": facts[1:]})
            return
        for fact in facts:
            size = f" (size {fact['size']})" if "size" in fact else ""
            what = f"{fact['seats']} seats of layout {fact['fingerprint']}{size}"
            print(f"Kept {what} in {fact['kept']}.")
