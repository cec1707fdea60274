"""Slips of the hand that show only when cells or rows are held against each other: swapped, entered twice, misdated."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Iterator, Mapping, Sequence

from cropdata.tabular.descriptor import Table
from cropdata.tabular.rows import Row
from cropdata.validation.files import Chunk
from cropdata.validation.relations import Known
from cropdata.validation.report import Finding
from cropdata.validation.tables import CellRule

_WRONG_PLACE = ("cell-enum", "cell-pattern", "cell-type", "cell-limits", "link-broken")
_FAR_DAYS = 90  # a date so far from every other of its column is looked at
_FEWEST_DATES = 5


def swapped_findings(
    chunk: Chunk,
    found: Sequence[Finding],
    rules: Mapping[str, CellRule],
    table: Table,
    file: str,
    known: Known | None,
) -> Iterator[Finding]:
    """Two cells of a row that are both wrong and would both be right in each other's place."""
    links = {
        key.fields[0]: ids
        for key in table.foreign_keys
        if known and (ids := known.get(key.table, {}).get(key.to_fields)) is not None
    }

    def fits(text: str, column: str) -> bool:
        rule = rules.get(column)
        return (
            bool(text)
            and rule is not None
            and rule.judge(text) is None
            and (column not in links or text in links[column])
        )

    by_row: dict[int, dict[str, None]] = {}
    for item in found:
        if item.rule in _WRONG_PLACE and item.row is not None and item.column in rules:
            by_row.setdefault(item.row, {})[item.column or ""] = None
    places = {number: place for place, number in enumerate(chunk.numbers)} if by_row else {}
    for number, columns in by_row.items():
        for one, other in itertools.combinations(columns, 2):
            first, second = (chunk.cells[name][places[number]] for name in (one, other))
            if first != second and fits(first, other) and fits(second, one):
                yield Finding(file, number, f"{one}, {other}", "columns-swapped", "error", f"{first}, {second}", f"{second}, {first}",
                              f"{one} and {other} have changed places", "swap the two cells")  # fmt: skip


class Repeats:
    """Rows of a file that say the same as a row before, whatever their row id."""

    def __init__(self) -> None:
        self.seen: dict[int, int] = {}

    def findings(self, chunk: Chunk, file: str) -> Iterator[Finding]:
        """Findings of a chunk against all rows before it."""
        columns = [cells for name, cells in chunk.cells.items() if name != "row_id"]
        # The hash stands for the row, 64 bits for what may be millions of rows: two in 10⁷ runs over 10⁶ rows err.
        said = list(map(hash, zip(*columns, strict=True)))
        distinct = set(said)
        if len(distinct) == len(said) and self.seen.keys().isdisjoint(distinct):
            self.seen.update(zip(said, chunk.numbers, strict=True))
            return
        for number, row in zip(chunk.numbers, said, strict=True):
            first = self.seen.setdefault(row, number)
            if first != number:
                yield Finding(file, number, None, "row-twice", "warning", None, "each statement once", f"says the same as row {first}", "delete one of the two")  # fmt: skip


def date_findings(rows: Sequence[tuple[int, Row]], table: Table, file: str) -> Iterator[Finding]:
    """Dates that lie far from all others of their column, and among them once day and month are swapped."""
    for field in table.fields:
        if field.type != "date" or not rows or field.name not in rows[0][1]:
            continue
        dated = [(number, day) for number, row in rows if (day := _day(row[field.name])) is not None]
        ordered = sorted(day for _, day in dated)
        for number, day in dated if len(dated) >= _FEWEST_DATES else ():
            meant = _day(f"{day.year:04}-{day.day:02}-{day.month:02}")
            others = [other for other in (*ordered[:2], *ordered[-2:]) if other != day]
            low, high = min(others, default=day), max(others, default=day)
            if meant is None or ordered.count(day) > 1:
                continue
            distance = max((low - day).days, (day - high).days)
            if distance > min(_FAR_DAYS, 1 + (high - low).days) and low <= meant <= high:
                yield Finding(file, number, field.name, "slip-day-month", "warning", day.isoformat(), f"the other rows lie between {low} and {high}",
                              "looks like day and month swapped", f"write {meant}, if that is meant")  # fmt: skip


def _day(text: str) -> datetime.date | None:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        return None
