"""Fourth storey: the figures of a row against the text that it says was printed.

Only what can be read for certain is compared: a text without numbers, or that names no unit, says nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from cropdata.tabular.descriptor import Table
from cropdata.validation.files import Chunk
from cropdata.validation.plausibility import Fault, judged, number_in
from cropdata.validation.report import Finding

# Columns whose number stands in the printed text itself. A temperature often stands in the head of the printed column.
_FIGURES = ("low", "high", "minimum", "optimum_low", "optimum", "optimum_high", "maximum", "days", "percent",
            "first_count_days", "final_count_days", "period_low", "period_high", "percent_low",
            "percent_high", "moisture", "humidity")  # fmt: skip
_DIMENSIONS = (
    ("in", "ft", "cm", "mm"),
    ("F", "C"),
    ("hours", "days", "weeks", "months", "years"),
    ("per_gram", "per_ounce"),
)
_UNIT_WORDS = {
    "in": r"\b(?:in|inch|inches)\b|[\"”″]", "ft": r"\b(?:ft|foot|feet)\b", "cm": r"\bcm\b", "mm": r"\bmm\b", "F": r"(?:°|\b)f\b|fahrenheit", "C": r"(?:°|\b)c\b|celsius",
    "hours": r"\bhours?\b", "days": r"\bdays?\b", "weeks": r"\b(?:weeks?|wks?)\b", "months": r"\bmonths?\b", "years": r"\b(?:years?|yrs?)\b",
    "per_gram": r"per gram\b|/g\b", "per_ounce": r"per (?:ounce|oz)\b|/oz\b",
}  # fmt: skip
_UNITS = {unit: re.compile(words) for unit, words in _UNIT_WORDS.items()}
_SIGNS = {"¼": 1 / 4, "½": 1 / 2, "¾": 3 / 4, "⅓": 1 / 3, "⅔": 2 / 3, "⅛": 1 / 8, "⅜": 3 / 8, "⅝": 5 / 8, "⅞": 7 / 8}
_NUMBER = re.compile(
    r"(?:(\d+)[\s-]?)?([¼½¾⅓⅔⅛⅜⅝⅞])|(?:(\d+)[\s-])?(\d+)[/⁄](\d+)|\d{1,3}(?:,\d{3})+(?!\d)|\d+,\d{1,2}(?!\d)|\d+\.?\d*|\.\d+"
)
# Numbers in words, decades ("the low 20s"), counts for another measure and dates: such a text is left to the reader.
_WORDS = re.compile(
    r"\b(?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|dozen|half|third|quarters?|eighth|single|once|first)\b|\ba (?:week|foot|month|year)\b"
    r"|\d0s\b|\bper 100\b|\b(?:jan|feb|mar|apr|may|june?|july?|aug|sept?|oct|nov|dec)[a-z]*\b"
)


def numbers_in(text: str) -> set[float]:
    """Every number that stands in a text, fractions included: `1 1/2` is 1.5, and its parts count too."""
    found: set[float] = set()
    for match in _NUMBER.finditer(text):
        whole = float(match[1] or match[3] or 0)
        if match[2]:
            found |= {whole + _SIGNS[match[2]], whole, _SIGNS[match[2]]}
        elif match[4]:
            part = float(match[4]) / float(match[5]) if float(match[5]) else 0.0
            found |= {whole + part, whole, part}
        else:
            thousands = re.fullmatch(r"\d{1,3}(?:,\d{3})+", match[0])
            found.add(float(match[0].replace(",", "" if thousands else ".")))
    return found


def units_in(text: str) -> set[str]:
    """Every unit that a text names."""
    lowered = text.lower()
    return {unit for unit, words in _UNITS.items() if words.search(lowered)}


def print_findings(chunk: Chunk, table: Table, file: str) -> Iterator[Finding]:
    """Figures that do not stand in the printed text, and units that are not the printed ones."""
    if not table.is_evidence or "printed" not in chunk.cells:
        return
    units = dict.fromkeys(field.unit_field for field in table.fields if field.converted_from)
    numbers = [
        field.name for field in table.fields if field.type in ("number", "integer") and not field.written_by_build
    ]
    names = [name for name in ("printed", *units, *numbers) if name in chunk.cells]
    if len(names) > 1:
        yield from judged(chunk, file, names, lambda cells: _faults(dict(zip(names, cells, strict=True)), list(units)))


def _faults(row: dict[str, str], units: list[str]) -> Iterator[Fault]:
    printed = row["printed"]
    named = units_in(printed)
    shown = f"the printed text, {printed[:60]!r}"
    for name in units:
        same_kind = next((set(kind) for kind in _DIMENSIONS if row.get(name) in kind), set())
        if named & same_kind and row[name] not in named:
            yield Fault(name, "unit-against-print", row[name], " or ".join(sorted(named & same_kind)), f"{shown}, names another unit",
                        "write the unit that is printed")  # fmt: skip
    stated = numbers_in(printed)
    if not stated or _WORDS.search(printed.lower()):
        return
    for name in _FIGURES:
        value = number_in(row.get(name))
        # Zero is how "surface" or "at the last frost" is written; a minus may stand as the word "before".
        if value and not _among(value, stated):
            swapped = next(
                (other for other in row if other not in _FIGURES and _among(number_in(row[other]) or -1.0, stated)),
                None,
            )
            yield Fault(name, "number-not-printed", row[name], f"a number of {shown}", "does not stand in the printed text",
                        f"is it swapped with {swapped}?" if swapped else "look at the source again", "warning")  # fmt: skip


def _among(value: float, stated: set[float]) -> bool:
    return any(abs(abs(value) - number) <= 0.006 * max(1.0, abs(value)) for number in stated)
