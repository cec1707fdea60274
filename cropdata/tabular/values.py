"""Strict reading of one cell.

Stricter than the standard's own readers on purpose: no digit grouping, no exponent, no infinity, no blanks
around a number, dates only as YYYY-MM-DD.
"""

from __future__ import annotations

import re

_NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?\Z")
_INTEGER = re.compile(r"-?[0-9]+\Z")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}\Z")

# Signs that XML 1.0 cannot hold (https://www.w3.org/TR/xml/#charsets), and so no workbook.
NOT_IN_XML = re.compile(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

ALLOWED = {
    "number": "a number with a point, such as 12.5",
    "integer": "a whole number",
    "boolean": "true or false",
    "date": "a date as YYYY-MM-DD",
    "string": "text",
}

# What the patterns of the descriptor ask for, in words.
_FORMS = {
    "(?:[a-z][a-z0-9]*(?:-[a-z0-9]+)*)": "small letters a to z and digits, words parted by hyphens, such as bean-pole",
    "(?:[a-z][a-z0-9]*(?:_[a-z0-9]+)*)": "small letters a to z and digits, words parted by underscores, such as shed_book",
    r"(?:[a-z][a-z0-9-]*\.[a-z0-9_]+\.[0-9]{2})": "crop, source and two digits parted by points, such as onion.shed_book.01",
    "(?:[A-Z][a-z]+aceae)": "the Latin name of a family, such as Fabaceae",
    "(?:(?:0[1-9]|1[0-2])-(?:0[1-9]|[12][0-9]|3[01]))": "month and day, such as 09-15",
    "(?:[A-Z]{3})": "a currency of three capital letters, such as EUR",
}


def form_words(pattern: str) -> str:
    """What a text must look like to fit a pattern of the descriptor, in words where there are some."""
    return _FORMS.get(pattern, pattern)


def in_form(text: str, pattern: str) -> str | None:
    """The text written so that it fits the pattern: Pea Tall as pea-tall. None where no plain rewriting does."""
    words = re.findall(r"[A-Za-z0-9]+", text)
    tried = ("-".join(words).lower(), "_".join(words).lower(), "".join(words).upper(), " ".join(words).capitalize())
    return next((form for form in tried if re.fullmatch(pattern, form)), None) if text.isascii() else None


_RUN = re.compile(r"[=@\t\r]|[+-](?![0-9.])(?=.)|[+-].*(?:[|!=]|[A-Za-z]\()", re.DOTALL)


def is_formula(text: str) -> bool:
    """True where a spreadsheet that opens the cell would run it. A signed number, or a range of such, is none."""
    return _RUN.match(text) is not None


def harmless(text: str) -> str:
    """The text as a cell that no spreadsheet runs: a formula gets an apostrophe before it, as spreadsheets write text."""
    return f"'{text}" if is_formula(text) else text


LONGEST_NUMBER = 300  # characters; one of more digits would be read as infinite

Value = str | float | int | bool | None


def parse(text: str, kind: str) -> Value:
    """The cell's value, None for an empty one. Raises ValueError where the text is not of that kind."""
    if text == "":
        return None
    if kind == "string":
        return text
    if kind == "number" and _NUMBER.match(text) and len(text) <= LONGEST_NUMBER:
        return float(text)
    if kind == "integer" and _INTEGER.match(text) and len(text) <= LONGEST_NUMBER:
        return int(text)
    if kind == "boolean" and text in ("true", "false"):
        return text == "true"
    if kind == "date" and _DATE.match(text):
        import datetime

        datetime.date.fromisoformat(text)
        return text
    raise ValueError(f"not {ALLOWED.get(kind, kind)}")
