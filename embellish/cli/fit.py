"""``embellish fit``: a job made to meet a budget."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from embellish.cli.telling import ProgressLine, print_json, print_table

if TYPE_CHECKING:  # --help starts without numpy
    from embellish.job.fitting import Fit

SHORT = "Make a job meet a budget."
HELP = """Find the least wider gaps with which a job keeps to a budget: pieces, cost of materials,
minutes of work and machine, or stitches. Nothing is changed unless a new job is asked for.

Example: embellish fit moth.toml --count 600 --picture both.png
Example: embellish fit moth.toml --cost 40.00 --only fill --write moth-cheaper.toml

Pieces and stitches are of one garment; cost and minutes of all. Never over what is allowed.
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def fit(
        job: Annotated[Path, typer.Argument(help="The job file (TOML).", show_default=False)],
        count: Annotated[int | None, typer.Option(min=1, help="Pieces at most.")] = None,
        cost: Annotated[str | None, typer.Option(help="Cost of materials at most.")] = None,
        minutes: Annotated[str | None, typer.Option(help="Minutes at most.")] = None,
        stitches: Annotated[int | None, typer.Option(min=1, help="Stitches at most.")] = None,
        only: Annotated[
            list[str] | None,
            typer.Option("--only", help="A lay that may change, by its id; may be given again."),
        ] = None,
        most_wider_mm: Annotated[
            float, typer.Option(min=0.01, max=100, help="The most a gap may be widened.")
        ] = 5.0,
        write: Annotated[
            Path | None, typer.Option("--write", help="A new job file with these gaps.")
        ] = None,
        picture: Annotated[
            Path | None, typer.Option("--picture", help="Before and after, .png.", metavar="PNG")
        ] = None,
        as_json: Annotated[bool, typer.Option("--json", help="Print the facts as JSON.")] = False,
    ) -> None:
        from embellish.job.files import open_job, refuse_to_overwrite
        from embellish.job.fitting import budget_of, fitted

        budget = budget_of({"count": count, "cost": cost, "minutes": minutes, "stitches": stitches})
        _refuse(job, write, picture)
        opened = open_job(job, thaw=True)
        if picture is not None:
            refuse_to_overwrite(picture, opened, over=False)
        with ProgressLine() as progress:
            found = fitted(opened, budget, only or (), most_wider_mm, progress.stage)
            if picture is not None:
                progress.stage("drawing the picture")
                _draw(found, picture)
        if write is not None:
            _write(found, job, write)
        _tell(found, write, picture, as_json=as_json)


def _refuse(job: Path, write: Path | None, picture: Path | None) -> None:
    """Raise, before the work, where its results could not be put."""
    from embellish.errors import OutputError
    from embellish.formats.extras import extra

    if picture is not None and picture.suffix.lower() != ".png":
        raise OutputError(
            "this picture is a PNG", file=str(picture), mend="Name it with .png at its end."
        )
    if write is None:
        return
    extra("tomlkit")
    if write.exists():
        raise OutputError("there is a file of this name", file=str(write), mend="Name another.")
    if write.resolve().parent != job.resolve().parent:
        raise OutputError(
            "a new job stands beside the old one, so that it finds its drawing",
            file=str(write),
            mend="Name a file in the same folder.",
        )


def _draw(found: Fit, picture: Path) -> None:
    from embellish.job.making import proof_of
    from embellish.job.placing import replace_file
    from embellish.outputs.proof import picture_png
    from embellish.outputs.side_by_side import side_by_side_png

    shown = [
        (f"{words}: {len(each.layout)} pieces", picture_png(proof_of(each, alone=True), 1100))
        for words, each in (("before", found.before), ("after", found.after))
    ]
    replace_file(picture, side_by_side_png(shown))


def _write(found: Fit, job: Path, write: Path) -> None:
    """Write a new job, as the old one is written but for its gaps."""
    from embellish.job.placing import create_file
    from embellish.workbench.changes import SetValue
    from embellish.workbench.document import changed

    changes = [
        SetValue(do="set", at=["lay", lay, "gap_mm"], value=gap)
        for lay, gap in found.gaps_mm.items()
    ]
    text = changed(job.read_text(encoding="utf-8"), changes, str(job))
    create_file(write, text.encode(), "Name another.")


def _tell(found: Fit, write: Path | None, picture: Path | None, *, as_json: bool) -> None:
    from embellish.job.comparing import compared, figures_of

    figures = [figures_of(found.before), figures_of(found.after)]
    if as_json:
        print_json(
            {
                "gaps_mm": found.gaps_mm,
                "tried": found.tried,
                "before": figures[0].as_json(),
                "after": figures[1].as_json(),
                "written": str(write) if write else None,
            }
        )
        return
    if not found.changed:
        print("The job keeps to this as it is.")
    for lay, gap in found.gaps_mm.items():
        print(f"{lay}: gap_mm = {gap:g}")
    rows = [[name, *values] for name, values in compared(figures)]
    print_table(["", "before", "after"], rows, right={1, 2})
    for path in (picture, write):
        if path is not None:
            print(f"Wrote {path}.")
