"""``embellish fit``: a job made to meet a budget."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from embellish.cli.options import AsJson, JobFile
from embellish.cli.telling import ProgressLine, print_json, print_table

if TYPE_CHECKING:  # --help starts without numpy
    from embellish.job.fitting import Fit


class Change(StrEnum):
    """What may change of a job."""

    gap = "gap"
    cheaper = "cheaper"
    size = "size"


SHORT = "Make a job meet a budget."
HELP = """Find the least change with which a job keeps to a budget: pieces, cost of materials,
minutes of work and machine, or stitches. Gaps grow, unless --by names what else may change: a
cheaper piece of that size and nearly that colour takes places in a mix, or pieces become another
size. Each --by is tried alone, in the order given.
Nothing is changed unless a new job is asked for.

Example: embellish fit moth.toml --count 600 --picture both.png
Example: embellish fit moth.toml --cost 40 --by cheaper --write cheaper.toml
Example: embellish fit moth.toml --count 600 --only fill --only edge --in-turn

Pieces and stitches are of one garment, or one pair; cost and minutes of all. Never over what is
allowed. Of several sizes it is the one named that keeps to it; of a pair, both sides together.
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def fit(
        job: JobFile,
        count: Annotated[int | None, typer.Option(min=1, help="Pieces at most.")] = None,
        cost: Annotated[str | None, typer.Option(help="Cost of materials at most.")] = None,
        minutes: Annotated[str | None, typer.Option(help="Minutes at most.")] = None,
        stitches: Annotated[int | None, typer.Option(min=1, help="Stitches at most.")] = None,
        only: Annotated[
            list[str] | None,
            typer.Option("--only", help="A lay that may change, by its id; may be given again."),
        ] = None,
        by: Annotated[
            list[Change] | None,
            typer.Option(
                "--by",
                help="What may change; may be given again: the next where one is not enough.",
            ),
        ] = None,
        in_turn: Annotated[
            bool, typer.Option("--in-turn", help="Change lays one by one, as --only names them.")
        ] = False,
        most_wider_mm: Annotated[
            float, typer.Option(min=0.01, max=100, help="The most a gap may be widened.")
        ] = 5.0,
        most: Annotated[
            list[str] | None,
            typer.Option("--most", help="The most for one lay's gap.", metavar="LAY=MM"),
        ] = None,
        most_colour_apart: Annotated[
            float,
            typer.Option(min=0, max=100, help="How unlike a cheaper piece may look (CIEDE2000)."),
        ] = 10.0,
        size: Annotated[
            str, typer.Option("--size", help="Which size, where the job has several.")
        ] = "",
        write: Annotated[
            Path | None, typer.Option("--write", help="A new job file with the change.")
        ] = None,
        picture: Annotated[
            Path | None, typer.Option("--picture", help="Before and after, .png.", metavar="PNG")
        ] = None,
        as_json: AsJson = False,
    ) -> None:
        from embellish.job.again import of_size
        from embellish.job.courses import Bounds
        from embellish.job.files import open_job, refuse_to_overwrite
        from embellish.job.fitting import budget_of, fitted

        budget = budget_of({"count": count, "cost": cost, "minutes": minutes, "stitches": stitches})
        bounds = Bounds(
            tuple(only or ()), in_turn, most_wider_mm, _own_most(most or ()), most_colour_apart
        )
        _refuse(job, write, picture)
        opened = of_size(open_job(job, thaw=True), size, thaw=True)
        if picture is not None:
            refuse_to_overwrite(picture, opened, over=False)
        with ProgressLine() as progress:
            found = fitted(
                opened, budget, bounds, [each.value for each in by or [Change.gap]], progress.stage
            )
            if picture is not None:
                progress.stage("drawing the picture")
                _draw(found, picture)
        if write is not None:
            _write(found, job, write)
        _tell(found, write, picture, as_json=as_json)


def _own_most(given: Sequence[str]) -> dict[str, float]:
    """Return by lay how far its gap may be widened."""
    from math import isfinite

    from embellish.errors import EmbellishError

    found = {}
    for each in given:
        lay, _, value = each.partition("=")
        try:
            most = float(value)
        except ValueError:
            most = -1.0
        if not lay or not isfinite(most) or not 0 <= most <= 100:
            raise EmbellishError(
                f"'{each}' is not a lay and the mm its gap may be widened, 0 to 100",
                item="--most",
                mend="Write it such as --most edge=0.4.",
            )
        found[lay] = most
    return found


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
    from embellish.job.comparing import pictures_of
    from embellish.job.placing import replace_file
    from embellish.outputs.side_by_side import side_by_side_png

    shown = [
        picture
        for words, each in (("before", found.before), ("after", found.after))
        for picture in pictures_of(words, each)
    ]
    replace_file(picture, side_by_side_png(shown))


def _write(found: Fit, job: Path, write: Path) -> None:
    """Write a new job, as the old one is written but for what had to change."""
    from embellish.job.placing import create_file
    from embellish.job.text.changes import SetValue
    from embellish.job.text.document import changed

    changes = [
        SetValue(do="set", at=["lay", lay, "gap_mm"], value=gap)
        for lay, gap in found.gaps_mm.items()
    ]
    for lay, pieces in found.pieces.items():
        value = dict(pieces) if isinstance(pieces, dict) else list(pieces)
        changes.append(SetValue(do="set", at=["lay", lay, "pieces"], value=value))
    text = changed(job.read_text(encoding="utf-8"), changes, str(job))
    create_file(write, text.encode(), "Name another.")


def _tell(found: Fit, write: Path | None, picture: Path | None, *, as_json: bool) -> None:
    from embellish.job.comparing import compared, figures_of

    figures = [figures_of(found.before), figures_of(found.after)]
    if as_json:
        print_json(
            {
                "by": found.by,
                "gaps_mm": found.gaps_mm,
                "pieces": found.pieces,
                "tried": found.tried,
                "all_closer_tried": found.all_closer,
                "notes": list(found.notes),
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
    for lay, pieces in found.pieces.items():
        print(f"{lay}: pieces = {_as_written(pieces)}")
    for sentence in found.sentences:
        print(sentence)
    rows = [[name, *values] for name, values in compared(figures)]
    print_table(["", "before", "after"], rows, right={1, 2})
    for path in (picture, write):
        if path is not None:
            print(f"Wrote {path}.")


def _as_written(pieces: tuple[str, ...] | dict[str, float]) -> str:
    if not isinstance(pieces, dict):
        return "[" + ", ".join(f'"{code}"' for code in pieces) + "]"
    return "{ " + ", ".join(f'"{code}" = {share:g}' for code, share in pieces.items()) + " }"
