"""What the rows of an evidence table state, each distinct content once: rules across rows judge it once for all."""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Iterator, Sequence

from cropdata.tabular.descriptor import Table
from cropdata.tabular.rows import Row
from cropdata.validation.files import Chunk
from cropdata.validation.report import Finding

_NOT_HELD = -1


class Contents:
    """Iterates over (place, cells) of each distinct content; `spread` turns places into the rows that state them.

    Only what rules across rows read is held: numbers, units, links and the kind of statement; a row's id only where a
    decision is about it. `most`: contents that are held; rows of any others are counted in `left_out`.
    """

    def __init__(self, table: Table, decided: Iterable[tuple[str, str]], most: int) -> None:
        links = {name for key in table.foreign_keys for name in key.fields}
        wanted = {"basis", *links, *(field.unit_field for field in table.fields)}
        self.names = [field.name for field in table.fields if field.type != "string" or field.name in wanted]
        self.decided = frozenset(row_id for name, row_id in decided if name == table.name)
        self.most = most
        self.left_out = 0
        self.ids: dict[int, str] = {}  # rows that decisions are about
        self._places: dict[tuple[str, ...], int] = {}
        self._rows: list[tuple[Sequence[int], array[int]]] = []

    def add(self, chunk: Chunk) -> None:
        """Take up the rows of a chunk."""
        self.names = [name for name in self.names if name in chunk.cells]
        if not self.names:
            return
        if "row_id" in chunk.cells and not self.decided.isdisjoint(chunk.distinct("row_id")):
            shown = [row_id if row_id in self.decided else "" for row_id in chunk.cells["row_id"]]
            self.ids.update((number, text) for number, text in zip(chunk.numbers, shown, strict=True) if text)
            chunk = Chunk(chunk.numbers, {"row_id": shown, **{name: chunk.cells[name] for name in self.names}})
            distinct, which = chunk.combined(["row_id", *self.names])
        else:
            distinct, which = chunk.combined(self.names)
            distinct = [("", *content) for content in distinct]
        places = [self._place(content) for content in distinct]
        rows = array("i", map(places.__getitem__, which))
        self._rows.append((chunk.numbers, rows))
        if _NOT_HELD in places:
            self.left_out += rows.count(_NOT_HELD)

    def _place(self, content: tuple[str, ...]) -> int:
        place = self._places.get(content, _NOT_HELD)
        if place == _NOT_HELD and len(self._places) < self.most:
            place = self._places[content] = len(self._places)
        return place

    def _row(self, content: tuple[str, ...]) -> Row:
        return dict(zip(("row_id", *self.names), content, strict=True))

    def __iter__(self) -> Iterator[tuple[int, Row]]:
        return ((place, self._row(content)) for content, place in self._places.items())

    def __len__(self) -> int:
        return len(self._places)

    def every_row(self) -> list[tuple[int, Row]]:
        """All rows that are held."""
        contents = list(self._places)
        return [
            (number, self._row(contents[place]))
            for numbers, places in self._rows
            for number, place in zip(numbers, places, strict=True)
            if place != _NOT_HELD
        ]

    def spread(self, findings: Iterable[Finding]) -> Iterator[Finding]:
        """Each finding, whose row is the place of a content, for every row that states it."""
        found: dict[int, list[Finding]] = {}
        for item in findings:
            found.setdefault(item.row or 0, []).append(item)
        for numbers, places in self._rows if found else ():
            for number, place in zip(numbers, places, strict=True):
                for item in found.get(place, ()):
                    yield item._replace(row=number)
