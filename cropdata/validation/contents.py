"""What the rows of an evidence table state, each distinct content once: rules across rows judge it once for all."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from cropdata.tabular.descriptor import Table
from cropdata.tabular.rows import Row
from cropdata.validation.files import Chunk
from cropdata.validation.report import Finding


class Contents:
    """Iterates over (row, cells), the first row of each content standing for all; `spread` gives the others theirs.

    Free text is left out, as no rule across rows reads it, and so is a row's id, unless a decision is about it.
    `most`: contents that are held; rows of any others are counted in `left_out`.
    """

    def __init__(self, table: Table, decided: Iterable[tuple[str, str]], most: int) -> None:
        links = {name for key in table.foreign_keys for name in key.fields}
        self.names = [
            field.name for field in table.fields if field.type != "string" or field.enum or field.name in links
        ]
        self.decided = frozenset(row_id for name, row_id in decided if name == table.name)
        self.most = most
        self.left_out = 0
        self.ids: dict[int, str] = {}  # rows that decisions are about
        self._rows: dict[tuple[str, ...], list[int]] = {}

    def add(self, chunk: Chunk) -> None:
        """Take up the rows of a chunk."""
        count = len(chunk.numbers)
        shown = [""] * count
        if "row_id" in chunk.cells and not self.decided.isdisjoint(chunk.distinct("row_id")):
            shown = [row_id if row_id in self.decided else "" for row_id in chunk.cells["row_id"]]
            self.ids.update((number, text) for number, text in zip(chunk.numbers, shown, strict=True) if text)
        columns = [shown, *(chunk.cells.get(name) or [""] * count for name in self.names)]
        rows = self._rows
        for number, content in zip(chunk.numbers, zip(*columns, strict=True), strict=True):
            numbers = rows.get(content)
            if numbers is not None:
                numbers.append(number)
            elif len(rows) < self.most:
                rows[content] = [number]
            else:
                self.left_out += 1

    def __iter__(self) -> Iterator[tuple[int, Row]]:
        return ((numbers[0], self._row(content)) for content, numbers in self._rows.items())

    def every_row(self) -> list[tuple[int, Row]]:
        """All rows that are held, in their order."""
        return sorted(
            ((number, self._row(content)) for content, numbers in self._rows.items() for number in numbers),
            key=lambda row: row[0],
        )

    def _row(self, content: tuple[str, ...]) -> Row:
        return dict(zip(("row_id", *self.names), content, strict=True))

    def __len__(self) -> int:
        return len(self._rows)

    def spread(self, findings: Iterable[Finding]) -> Iterator[Finding]:
        """Each finding for every row of the same content."""
        same = {numbers[0]: numbers for numbers in self._rows.values() if len(numbers) > 1}
        for item in findings:
            for number in same.get(item.row or 0, (item.row,)):
                yield item._replace(row=number)
