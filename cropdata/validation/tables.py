"""Second storey: header, types, required cells, lists, limits, patterns and keys, from the descriptor.

Each distinct text of a column is judged once and the verdict mapped to its rows: that is what makes a check of a
million rows fast without a second engine.
"""

from __future__ import annotations

import functools
import itertools
import re
import unicodedata
from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import Any

from cropdata.catalog.layer_rows import LAYER_COLUMNS, allowed_in, lacks, needed_fields, needs
from cropdata.tabular.descriptor import Field, Table
from cropdata.tabular.values import ALLOWED, Value, form_words, in_form, is_formula, parse
from cropdata.validation.files import LARGEST_CELL, Chunk
from cropdata.validation.report import Finding, rows_named

# Columns of reference tables that a layer may leave out or leave empty.
_LAYER_OPTIONAL = ("printed", "source_id", "language", "locator", "basis", "name", "scientific_name", "family", "group", "status",
                   "lineage", "grade", "kind", "licence_note", "title", "method_id", "recipe_name", "use")  # fmt: skip
_INVISIBLE = {"\u200b", "\u200c", "\u200d", "\u2060", "\ufeff", "\u00ad", "\u00a0", "\u202f"}
_UNIT_IN_CELL = re.compile(
    r"-?[0-9]+(?:[.,][0-9]+)?\s*(?:mm|cm|in|inch|inches|\"|°?[CF]|days?|weeks?|years?|%)\Z", re.IGNORECASE
)
_SHEET_DATE = re.compile(r"[0-9]{1,2}[-/. ](?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\Z|(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*[-/.][0-9]{1,2}\Z|[0-9]{1,2}[./][0-9]{1,2}[./][0-9]{2,4}\Z|[0-9]{4}-[0-9]{2}-[0-9]{2}(?:[ T]00:00(?::00)?)?\Z", re.IGNORECASE)  # fmt: skip

# A pattern of literal signs and plain classes, which no line end fits: over joined texts it says what it says of each.
_WITHIN_A_LINE = re.compile(r"(?:[A-Za-z0-9_-]|\\[.]|\[[A-Za-z0-9_.-]+\]|\(\?:|[()|]|[?*+]|\{[0-9,]+\})*")
_PRINTABLE = bytes(range(0x20, 0x7F))
# Allowed texts of one column that are remembered from chunk to chunk.
_MOST_REMEMBERED = 200_000
_MANY = 1_000  # texts for which a pattern over all of them pays

Verdict = tuple[str, str, str, str | None]


def header_findings(header: list[str], table: Table, file: str, *, layer: bool) -> Iterator[Finding]:
    """Columns that are missing, unknown, twice or, in the release, in another order."""
    names = [field.name for field in table.fields]
    for whole_name in dict.fromkeys(header):
        name = whole_name[:200]
        if header.count(whole_name) > 1:
            yield Finding(file, 1, name, "header-twice", "error", name, None, "the column stands twice", "keep one")
        if name not in names and not (layer and name in LAYER_COLUMNS):
            yield Finding(
                file,
                1,
                name,
                "header-unknown",
                "error",
                name,
                ", ".join(names),
                "no such column",
                _near(name, names),
            )
    needed = names
    if layer:  # as few columns as a grower likes, but a row must say what it is about
        needed = ["crop_id"] if "crop_id" in names else list(table.primary_key)
        if table.name == "sources" and "title" in header:
            needed = ["title"]  # a name is enough
    missing = [name for name in needed if name not in header]
    for name in missing:
        yield Finding(
            file,
            1,
            name,
            "header-missing",
            "error",
            None,
            ", ".join(names),
            "the column is missing",
            "add it, in its place",
        )
    if not layer and not missing and header != names and sorted(header) == sorted(names):
        yield Finding(
            file,
            1,
            None,
            "header-order",
            "error",
            ", ".join(header)[:500],
            ", ".join(names),
            "columns stand in another order",
            "python tools/build.py puts them in order",
        )


def _near(name: str, names: list[str]) -> str:
    import difflib

    plain = re.sub(r"[^a-z]+", "_", name.casefold()).strip("_")
    close = [plain] if plain in names else difflib.get_close_matches(plain, names, n=1)
    return f"did you mean {close[0]}?" if close else "delete the column, or put what it says into note"


def _mixed_scripts(text: str) -> bool:
    """Latin letters beside look-alikes of another alphabet within one word."""
    for word in text.split():
        scripts = {name.split()[0] for sign in word if sign.isalpha() and (name := unicodedata.name(sign, ""))}
        if "LATIN" in scripts and scripts & {"CYRILLIC", "GREEK", "ARMENIAN", "CHEROKEE"}:
            return True
    return False


def text_fault(text: str) -> Verdict | None:
    """What is wrong with any text, whatever its column."""
    if text != text.strip():
        return "cell-blanks", "no blanks at the ends", "has blanks at its ends", "take the blanks away"
    if "\n" in text or "\r" in text:
        return "cell-line-break", "one line", "holds a line break", "write it on one line"
    if len(text) > LARGEST_CELL:
        return "cell-long", f"up to {LARGEST_CELL} characters", "is far too long", None
    if is_formula(text):
        return "cell-formula", "no formula", "begins like a formula", "write the value; a spreadsheet would run it"
    if text.isascii():
        return None
    if any(sign in _INVISIBLE for sign in text):
        return "cell-invisible", "visible signs", "holds an invisible sign or a no-break blank", "type it again"
    if unicodedata.normalize("NFC", text) != text:
        return (
            "cell-unicode-form",
            "composed letters (NFC)",
            "has letters in parts",
            "type it again, or normalise the text to NFC",
        )
    if _mixed_scripts(text):
        return (
            "cell-look-alike",
            "letters of one alphabet in a word",
            "mixes look-alike letters of two alphabets",
            "type it again",
        )
    return None


def _plain(joined: str, number: int) -> bool:
    """True when none of `number` texts can have a `text_fault` but for their length; looked at all together, as one is
    rarely to blame. `joined`: the texts with a line end before and after each.
    """
    signs = joined.encode("utf-8", "replace")
    return signs.translate(None, _PRINTABLE) == b"\n" * (number + 1) and not any(
        sign in signs for sign in (b"\n\n", b"\n ", b" \n", b"\n=", b"\n@", b"\n+", b"\n-")
    )


class CellRule:
    """What one column allows."""

    def __init__(self, field: Field) -> None:
        self.field = field
        self._pattern = re.compile(field.pattern) if field.pattern else None
        self._enum = frozenset(field.enum)
        self._allowed: set[str] = set()

    @functools.cached_property
    def _lines(self) -> re.Pattern[str] | None:
        """The pattern over many texts at once, as a million ids differ all and each look has its cost.

        What fits it is plain but for being empty or beginning with a minus. Where it does not fit, each text is looked
        at by itself.
        """
        pattern = self.field.pattern
        return re.compile(f"\n(?:(?:{pattern})\n)*+") if pattern and _WITHIN_A_LINE.fullmatch(pattern) else None

    def faults(self, distinct: Collection[str]) -> dict[str, Verdict]:
        """The texts that are not allowed, and why; the allowed ones are remembered for the next chunk."""
        new = [text for text in distinct if text not in self._allowed] if self._allowed else distinct
        if self.field.type == "string" and not self._enum:
            joined = "\n".join(["", *new, ""])
            lines = self._lines if len(new) > _MANY else None
            fits = lines is not None and lines.fullmatch(joined) and not ("\n-" in joined or "\n\n" in joined)
            if (fits or _plain(joined, len(new))) and max(map(len, new), default=0) <= LARGEST_CELL:
                other = [] if fits else self._of_another_form(new)
                return {text: verdict for text in other if (verdict := self.judge(text)) is not None}
        bad = {text: verdict for text in new if (verdict := self.judge(text)) is not None}
        if len(self._allowed) < _MOST_REMEMBERED:
            self._allowed.update(text for text in new if text not in bad)
        return bad

    def _of_another_form(self, texts: Iterable[str]) -> list[str]:
        """Among plain texts, those that still need a look."""
        if self._pattern:
            return list(itertools.filterfalse(self._pattern.fullmatch, texts))
        return list(filter(_SHEET_DATE.fullmatch, texts)) if self.field.name == "printed" else []

    def judge(self, text: str) -> Verdict | None:
        """None when the text is allowed, else (rule, allowed, message, hint)."""
        field = self.field
        if text == "":
            return ("cell-required", "a value", "the cell is empty", None) if field.required else None
        fault = text_fault(text)
        if fault is not None:
            return fault
        try:
            value = parse(text, field.type)
        except ValueError:
            return self._type_fault(text)
        if self._enum and text not in self._enum:
            near = _meant(text, field.enum)
            return "cell-enum", ", ".join(field.enum), "is not in the list", f"write {near}" if near else None
        if self.field.name == "printed" and _SHEET_DATE.fullmatch(text):
            return "cell-sheet-date", "the text as printed, such as 7-10", "is a date that a spreadsheet made out of a range", "format the column as text, then type it again"  # fmt: skip
        if self._pattern and not self._pattern.fullmatch(text):
            near = in_form(text, self._pattern.pattern)
            return "cell-pattern", form_words(self._pattern.pattern), "has another form", f"write {near}" if near else None  # fmt: skip
        return self._limits(value)

    def _type_fault(self, text: str) -> Verdict:
        allowed = ALLOWED.get(self.field.type, self.field.type)
        if self.field.type in ("number", "integer"):
            if re.fullmatch(r"-?[0-9]{1,3}(?:,[0-9]{3})+", text) and (
                self.field.type == "integer" or text.count(",") > 1
            ):
                return "cell-type", allowed, "has a comma between thousands", f"write {text.replace(',', '')}"
            if re.fullmatch(r"-?[0-9]+,[0-9]+", text):
                thousand = re.fullmatch(r"-?[1-9][0-9]{0,2},[0-9]{3}", text)
                other = f"; where a thousand is meant, {text.replace(',', '')}" if thousand else ""
                return "cell-decimal-comma", allowed, "has a decimal comma", f"write a point{other}; numbers are never read by locale"  # fmt: skip
            if (fraction := _fraction(text)) is not None:
                return "cell-type", allowed, "is a fraction", f"write {fraction:.4g}"
            if _SHEET_DATE.fullmatch(text):
                return (
                    "cell-sheet-date",
                    allowed,
                    "is a date that a spreadsheet made out of a range",
                    "write low and high in their own columns, as text",
                )
            if _UNIT_IN_CELL.fullmatch(text):
                return "cell-unit-inside", allowed, "holds its unit", "put the unit into the column unit"
            if re.fullmatch(r"-?[0-9.]+\s*(?:-|–|to)\s*[0-9.]+", text):
                return "cell-range-inside", allowed, "holds a range", "write low and high in their own columns"
        if self.field.type == "date" and (hint := _date_hint(text)):
            return "cell-date-order", allowed, "is a date in another order", hint
        return "cell-type", allowed, f"is no {self.field.type}", None

    def _limits(self, value: Value) -> Verdict | None:
        field = self.field
        if not isinstance(value, (int, float)) or isinstance(value, bool):
            return None
        low, high, above = field.minimum, field.maximum, field.exclusive_minimum
        if (
            (low is not None and value < low)
            or (high is not None and value > high)
            or (above is not None and value <= above)
        ):
            bottom = f"above {above}" if above is not None else f"{low}"
            return "cell-limits", f"{bottom} to {high}", "is outside the limits", None
        return None


# Words for units as people write them.
_UNIT_WORDS = {
    "inch": "in", "inches": "in", '"': "in", "foot": "ft", "feet": "ft", "celsius": "C", "°c": "C", "fahrenheit": "F", "°f": "F",
    "millimetre": "mm", "millimetres": "mm", "centimetre": "cm", "centimetres": "cm", "yrs": "years", "yr": "years", "wk": "weeks", "wks": "weeks",
}  # fmt: skip


def _meant(text: str, words: Sequence[str]) -> str | None:
    """The word of the list that was probably meant: Days is days, year is years, inch is in."""
    plain = text.strip().casefold().replace(" ", "_").replace("-", "_")
    tried = (plain, f"{plain}s", plain.removesuffix("s"), _UNIT_WORDS.get(plain.rstrip("."), "").casefold())
    return next((word for form in tried for word in words if word.casefold() == form), None)


def _fraction(text: str) -> float | None:
    """A fraction of an inch as people write it, such as 1/2 or 1 1/4. None for any other text, a date among them."""
    parts = re.fullmatch(r"(?:([0-9]{1,3})[ -])?([0-9]{1,2})/(2|3|4|8|16)", text)
    if parts is None or int(parts[2]) >= int(parts[3]):
        return None
    return int(parts[1] or 0) + int(parts[2]) / int(parts[3])


def _date_hint(text: str) -> str | None:
    """How to write a date whose parts stand in another order, or None where it is no such date."""
    parts = re.fullmatch(r"([0-9]{1,4})[./-]([0-9]{1,2})[./-]([0-9]{1,4})", text)
    if parts is None:
        return None
    numbers = [int(part) for part in parts.groups()]
    if len(parts[1]) == 4:  # a year first: day and month have changed places
        year, days_and_months = numbers[0], [(numbers[2], numbers[1]), (numbers[1], numbers[2])]
    else:
        year, days_and_months = numbers[2], [(numbers[0], numbers[1]), (numbers[1], numbers[0])]
    shown = [f"{year:04}-{month:02}-{day:02}" for day, month in days_and_months if 1 <= month <= 12 and 1 <= day <= 31]
    return f"write {' or '.join(dict.fromkeys(shown))}, whichever is meant" if shown else "write YYYY-MM-DD"


def rules_for(table: Table, header: list[str], *, layer: bool) -> dict[str, CellRule]:
    """A rule for each column that the file has; a layer may leave cells empty that the build or the layer fills."""
    found = {}
    for field in table.fields:
        if field.name not in header:
            continue
        optional = layer and (table.is_evidence or field.written_by_build or field.name in _LAYER_OPTIONAL)
        if optional and field.name != "crop_id":  # what a row of evidence must fill in a layer: needed_findings
            field = field._replace(required=False)
        found[field.name] = CellRule(field)
    return found


def needed_findings(chunk: Chunk, table: Table, file: str, said: set[str]) -> Iterator[Finding]:
    """Cells that a layer's row must fill and does not; a column that is not there is told once. `said`: those told."""
    names = [name for name in ("action", "days", "percent") if name in chunk.cells]
    for field in needed_fields(table):
        there = field.name in chunk.cells
        if there and "" not in chunk.distinct(field.name):
            continue
        columns = [chunk.cells[name] for name in (*names, *([field.name] if there else []))]
        for number, *cells in zip(chunk.numbers, *columns, strict=True) if field.name not in said else ():
            row = dict(zip((*names, field.name), cells, strict=False))
            if not needs(row.get("action", ""), table) or not lacks(row, field):
                continue
            if there:
                yield Finding(file, number, field.name, "cell-required", "error", "", allowed_in(field), "the cell is empty", None)  # fmt: skip
            else:
                said.add(field.name)
                yield Finding(file, 1, field.name, "header-missing", "error", None, allowed_in(field), "the column is missing, and rows need it", f"add it, and fill it in each row that {'does not hide' if table.is_evidence else 'adds'}")  # fmt: skip
                break


def cell_findings(chunk: Chunk, rules: dict[str, CellRule], file: str, *, layer: bool) -> Iterator[Finding]:
    """Findings of every cell of a chunk."""
    hidden = [action == "hide" for action in chunk.cells.get("action", [])] if layer else []
    for name, rule in rules.items():
        bad = rule.faults(chunk.distinct(name))
        for place, text in enumerate(chunk.cells[name]) if bad else ():
            if text in bad and not (text == "" and hidden and hidden[place]):
                found, allowed, message, hint = bad[text]
                yield Finding(file, chunk.numbers[place], name, found, "error", text[:200], allowed, message, hint)
    if layer and "action" in chunk.cells:
        for place, text in enumerate(chunk.cells["action"]):
            if text not in ("", "add", "override", "hide"):
                yield Finding(
                    file,
                    chunk.numbers[place],
                    "action",
                    "cell-enum",
                    "error",
                    text,
                    "add, override, hide",
                    "is not in the list",
                    None,
                )


class Keys:
    """Rows that share a primary or unique key, over all chunks of a file."""

    def __init__(self, table: Table, header: list[str]) -> None:
        keys = [table.primary_key, *table.unique_keys, *((field.name,) for field in table.fields if field.unique)]
        self.primary = table.primary_key
        self.last: Any = None
        # While the primary key rises from row to row none can stand twice, and what was read only waits.
        self.rising = True
        self.in_order = False  # whether the rows of the last chunk rise
        self.waiting: list[tuple[Sequence[Any], Sequence[int]]] = []
        self.seen: dict[tuple[str, ...], dict[object, int]] = {
            tuple(key): {}
            for key in dict.fromkeys(tuple(key) for key in keys if key)
            if all(name in header for name in key)
        }

    def findings(self, chunk: Chunk, file: str) -> Iterator[Finding]:
        """Findings of a chunk against all rows before it."""
        for key, seen in self.seen.items():
            columns = [chunk.cells[name] for name in key]
            values = columns[0] if len(key) == 1 else list(zip(*columns, strict=True))
            distinct = chunk.distinct(key[0]) if len(key) == 1 else set(values)
            if key == self.primary:
                yield from self._order(chunk, values, file)
                if self.rising and len(distinct) == len(values):
                    self.waiting.append((values, chunk.numbers))
                    continue
                self.rising = False
                for earlier, numbers in self.waiting:
                    seen.update(zip(earlier, numbers, strict=True))
                self.waiting.clear()
            if len(distinct) == len(values) and seen.keys().isdisjoint(distinct):
                seen.update(zip(values, chunk.numbers, strict=True))
                continue
            for number, value in zip(chunk.numbers, values, strict=True):
                if (not value if len(key) == 1 else not all(value)) and key != self.primary:
                    continue  # the standard leaves rows with an empty part out of unique keys
                first = seen.setdefault(value, number)
                if first != number:
                    shown = value if isinstance(value, str) else ", ".join(value)
                    yield Finding(file, number, ", ".join(key), "key-twice", "error", shown, "each key once",
                                  f"the key stands in row {first} already", "delete one row or correct its key")  # fmt: skip

    def _order(self, chunk: Chunk, values: Sequence[Any], file: str) -> Iterator[Finding]:
        """Rows that stand before the one above them in the order of the key: a look-up reads a crop's rows together."""
        before = values[:1] if self.last is None else [self.last]
        first, self.last = self.last, values[-1]
        self.in_order = list(values) == sorted(values)
        if before[0] <= values[0] and self.in_order:
            self.rising = self.rising and (first is None or first < values[0])
            return
        self.rising = False
        column = ", ".join(self.primary)
        for number, above, value in zip(chunk.numbers, [*before, *values], values, strict=False):
            if value < above:
                shown, other = (text if isinstance(text, str) else ", ".join(text) for text in (value, above))
                yield Finding(file, number, column, "row-order", "error", shown, f"rows sorted by {column}",
                              f"stands below {other}", "cropdata check --fix and the build put rows in order")  # fmt: skip


def commas_once(findings: list[Finding]) -> list[Finding]:
    """Decimal commas of a file as one finding that names every cell: a grower's locale is one mistake, not hundreds."""
    commas = [item for item in findings if item.rule == "cell-decimal-comma"]
    if len(commas) < 2:
        return findings
    rows: dict[str, list[int]] = {}
    for item in commas:
        rows.setdefault(item.column or "", []).append(item.row or 0)
    named = "; ".join(f"{column} in {rows_named(numbers)}" for column, numbers in rows.items())
    first = commas[0]._replace(message=f"has decimal commas, {len(commas)} cells: {named}")
    return [*(item for item in findings if item.rule != first.rule), first]
