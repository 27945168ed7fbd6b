"""``embellish rough``: a price before there is any artwork."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from embellish.cli.options import AsJson
from embellish.cli.telling import print_json, print_table

SHORT = "A rough price before there is any artwork."
HELP = """Price work roughly, from its size and a piece, or from words and their height.

Example: embellish rough R-SS10-CLEAR --size 120x80 --coverage 0.6
Example: embellish rough R-SS10-CLEAR --text ANA --quantity 12

Rates are the built-in ones, which are examples, or those of a job of yours (--rates JOB).
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def rough(
        piece: Annotated[str, typer.Argument(help="The code of a piece.", show_default=False)],
        size: Annotated[str, typer.Option(help="Width x height in mm, as 120x80.")] = "",
        coverage: Annotated[
            float, typer.Option(min=0.01, max=1.0, help="Share of that frame that is filled.")
        ] = 1.0,
        text: Annotated[str, typer.Option(help="Words, with pieces along their lines.")] = "",
        cap_height_mm: Annotated[
            float, typer.Option("--cap-height-mm", min=1, max=2000, help="Height of capitals.")
        ] = 50.0,
        gap_mm: Annotated[
            float, typer.Option("--gap-mm", min=0, max=100, help="Gap between pieces.")
        ] = 0.9,
        quantity: Annotated[int, typer.Option(min=1, max=100_000, help="Garments.")] = 1,
        catalogue: Annotated[
            str, typer.Option(help="A catalogue; all the shipped ones if left out.")
        ] = "",
        rates: Annotated[Path | None, typer.Option(help="A job whose [price] holds.")] = None,
        as_json: AsJson = False,
    ) -> None:
        from embellish.errors import EmbellishError
        from embellish.job.catalogue_files import open_catalogues
        from embellish.job.files import open_job
        from embellish.job.rough import rough_price
        from embellish.plans.price_settings import PriceSettings

        if bool(size) == bool(text):
            raise EmbellishError(
                "a rough price is of one thing",
                item="embellish rough",
                mend="Give --size 120x80, or --text ANA with --cap-height-mm.",
            )
        found = rough_price(
            open_catalogues(catalogue),
            piece,
            gap_mm,
            PriceSettings() if rates is None else open_job(rates).job.price,
            area_mm=_size(size) if size else None,
            coverage=coverage,
            text=text,
            cap_height_mm=cap_height_mm,
            quantity=quantity,
        )
        quote, materials = found.quote, found.materials
        if as_json:
            print_json(
                {
                    "piece": piece,
                    "about": found.count,
                    "how": found.how,
                    "quantity": quantity,
                    "materials": None if materials.total is None else str(materials.total),
                    "labour_minutes": str(quote.labour_minutes),
                    "price_per_garment": (
                        None if quote.price_per_garment is None else str(quote.price_per_garment)
                    ),
                    "currency": quote.currency,
                }
            )
            return
        print(f"About {found.count} × {piece} a garment: {found.how}.")
        rows = [[line.name, str(line.amount), line.rule] for line in quote.lines]
        print_table(["", quote.currency, "how"], rows, right={1})
        if any(line.default for line in quote.lines):
            print("Rates that nobody entered are examples: name a job with yours, --rates JOB.")
        print("A rough price: lay it on the artwork before you give your word.")


def _size(words: str) -> tuple[float, float]:
    from embellish.errors import EmbellishError

    parts = words.lower().replace("×", "x").replace("mm", "").split("x")
    try:
        width, height = (float(part) for part in parts)
    except ValueError:
        width = height = 0.0
    if not (0.0 < width <= 10_000.0 and 0.0 < height <= 10_000.0):
        raise EmbellishError(
            f"'{words}' is no size", item="--size", mend="Write width x height, as 120x80."
        )
    return width, height
