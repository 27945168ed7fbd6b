"""Catalogues as lists: rows of a spreadsheet, a row for each pack of a piece."""
