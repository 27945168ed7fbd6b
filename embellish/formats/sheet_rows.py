"""Rows of a list as texts, from CSV or from a spreadsheet (XLSX, ISO/IEC 29500)."""

from __future__ import annotations

import io
import zipfile
from datetime import date, datetime
from typing import Any, Final

from embellish.errors import EmbellishError
from embellish.formats.csv_lists import csv_rows, unguarded
from embellish.formats.extras import extra
from embellish.formats.nearest import nearest

MOST_ROWS: Final = 100_000
_MOST_UNPACKED: Final = 500_000_000

Rows = list[tuple[int, list[str]]]


def read_rows(data: bytes, file: str, error: type[EmbellishError], sheet: str = "") -> Rows:
    """Return the rows that hold anything, each with its number and its cells as texts.

    Parameters
    ----------
    data
        The file's bytes; what it is they tell themselves.
    file
        Its name as the user knows it.
    error
        The kind of error to raise.
    sheet
        Which sheet of a spreadsheet, the first where none is named.

    Raises
    ------
    EmbellishError
        Of that kind, where it is no list, or too long a one.
    """
    rows = _sheet(data, file, error, sheet) if data[:2] == b"PK" else _csv(data, file, error)
    if len(rows) > MOST_ROWS:
        raise error(
            f"there are more than {MOST_ROWS} rows in this list", file=file, mend="Split it."
        )
    if not rows:
        raise error("there is nothing in this list", file=file, mend="Name another file or sheet.")
    return rows


def _csv(data: bytes, file: str, error: type[EmbellishError]) -> Rows:
    rows = csv_rows(data, file, what="pieces", error=error, most_rows=MOST_ROWS)
    return [(line, [unguarded(cell) for cell in cells]) for line, cells in rows]


def _sheet(data: bytes, file: str, error: type[EmbellishError], sheet: str) -> Rows:
    library = extra("openpyxl")
    book: Any = None
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            unpacked = sum(each.file_size for each in packed.infolist())
        if unpacked <= _MOST_UNPACKED:
            book = library.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
    except Exception as wrong:  # a damaged file fails in the library's every way
        raise error(
            "this spreadsheet is damaged or of another kind",
            file=file,
            mend="Save it again as .xlsx or CSV.",
        ) from wrong
    if book is None:
        raise error("this spreadsheet unpacks to over 500 MB", file=file, mend="Split it.")
    if sheet and sheet not in book.sheetnames:
        mend = nearest(sheet, book.sheetnames)
        raise error(f"there is no sheet '{sheet}'", file=file, mend=mend)
    page = book[sheet] if sheet else book.worksheets[0]
    rows: Rows = []
    for number, cells in enumerate(page.iter_rows(values_only=True), 1):
        if len(rows) > MOST_ROWS:
            break
        texts = [_text(cell) for cell in cells]
        if any(texts):
            rows.append((number, texts))
    return rows


def _text(cell: Any) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() else repr(cell)
    if isinstance(cell, (date, datetime)):
        return cell.isoformat()
    return unguarded(str(cell).strip())
