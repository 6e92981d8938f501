"""Cells that a spreadsheet would run as a formula are made plain text."""

#: What begins a formula in the spreadsheets of today; tab and carriage return are skipped by some of them first.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def harmless(text: str) -> str:
    """The text, with an apostrophe before it where a spreadsheet would take it for a formula."""
    return f"'{text}" if text.lstrip(" ").startswith(FORMULA_STARTS) else text
