"""What the rows of an evidence table state, each distinct content once: rules across rows judge it once for all."""

from __future__ import annotations

import itertools
from array import array
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from cropdata.tabular.descriptor import Table
from cropdata.tabular.rows import Row
from cropdata.validation.files import Chunk
from cropdata.validation.report import Finding

_NOT_HELD = -1
_SUBJECT = ("row_id", "crop_id", "source_id")
_Key = tuple[str, str, str, int]


class Statements(NamedTuple):
    """Who states what: (place, row_id, crop_id, source_id, place among `figures`).

    A million rows hold few different figures, so whatever hangs on the figures alone is worked out once for each.
    """

    rows: Sequence[tuple[int, str, str, str, int]]
    figures: Sequence[Row]


def statements_of(rows: Iterable[tuple[int, Row]]) -> Statements:
    """The statements of plain rows."""
    numbered = list(rows)
    said = [
        (number, row.get("row_id", ""), row.get("crop_id", ""), row.get("source_id", ""), place)
        for place, (number, row) in enumerate(numbered)
    ]
    return Statements(said, [row for _, row in numbered])


class Contents:
    """Iterates over (place, cells) of each distinct content; `spread` turns places into the rows that state them.

    Only what rules across rows read is held: numbers, units, links and the kind of statement; a row's id only where a
    decision is about it. `most`: contents that are held; rows of any others are counted in `left_out`.
    """

    def __init__(self, table: Table, decided: Iterable[tuple[str, str]], most: int) -> None:
        links = {name for key in table.foreign_keys for name in key.fields}
        wanted = {"basis", *links, *(field.unit_field for field in table.fields)}
        read = [field.name for field in table.fields if field.type != "string" or field.name in wanted]
        self.subject = [name for name in _SUBJECT[1:] if name in read]
        self.names = [name for name in read if name not in _SUBJECT]
        self.decided = frozenset(row_id for name, row_id in decided if name == table.name)
        self.most = most
        self.left_out = 0
        self.ids: dict[int, str] = {}  # rows that decisions are about
        self._figures: dict[tuple[str, ...], int] = {}
        self._places: defaultdict[_Key, int] = defaultdict()
        self._places.default_factory = self._places.__len__  # each new content gets the next place
        self._rows: list[tuple[Sequence[int], array[int]]] = []
        self._statements: Statements | None = None

    def share(self, chunk: Chunk) -> None:
        """Have the chunk go through its rows once for what nearly every rule reads."""
        names = [name for name in ("printed", *self.names) if name in chunk.cells]
        subject = [name for name in self.subject if name in chunk.cells]
        if subject:
            chunk.share(subject, names or subject)

    def add(self, chunk: Chunk) -> None:
        """Take up the rows of a chunk."""
        self.names = [name for name in self.names if name in chunk.cells]
        subject = [name for name in self.subject if name in chunk.cells]
        if not subject or not chunk.numbers:
            return
        if "row_id" in chunk.cells and not self.decided.isdisjoint(chunk.distinct("row_id")):
            shown = [row_id if row_id in self.decided else "" for row_id in chunk.cells["row_id"]]
            self.ids.update((number, text) for number, text in zip(chunk.numbers, shown, strict=True) if text)
            chunk = Chunk(chunk.numbers, {"row_id": shown, **{n: chunk.cells[n] for n in (*subject, *self.names)}})
            subject.insert(0, "row_id")
            chunk.share(subject, self.names or subject)
        stated, figures = chunk.stated()
        distinct, narrow = figures.narrowed(self.names)
        known = [self._figures.setdefault(cells, len(self._figures)) for cells in distinct]
        known = [known[place] for place in narrow.narrow]
        columns = dict(zip((*subject, ""), zip(*stated.distinct, strict=True), strict=True))
        keys = zip(
            *(columns.get(name) or itertools.repeat("", len(stated.distinct)) for name in _SUBJECT),
            map(known.__getitem__, columns[""]),
            strict=True,
        )
        held = self._places
        if len(held) + len(stated.distinct) <= self.most:
            places = list(map(held.__getitem__, keys))
        else:
            places = [held[key] if key in held or len(held) < self.most else _NOT_HELD for key in keys]
        rows = array("i", map(places.__getitem__, stated.which))
        self._rows.append((chunk.numbers, rows))
        if _NOT_HELD in places:
            self.left_out += rows.count(_NOT_HELD)

    def statements(self) -> Statements:
        """Who states what, by place."""
        if self._statements is None or len(self._statements.rows) < len(self):
            figures = [dict(zip(self.names, cells, strict=False)) for cells in self._figures]
            self._statements = Statements([(place, *key) for key, place in self._places.items()], figures)
        return self._statements

    def _row(self, key: _Key, figures: Sequence[tuple[str, ...]]) -> Row:
        return dict(zip((*_SUBJECT, *self.names), (*key[:3], *figures[key[3]]), strict=False))

    def __iter__(self) -> Iterator[tuple[int, Row]]:
        figures = list(self._figures)
        return ((place, self._row(key, figures)) for key, place in self._places.items())

    def __len__(self) -> int:
        return len(self._places)

    def every_row(self) -> list[tuple[int, Row]]:
        """All rows that are held."""
        keys, figures = list(self._places), list(self._figures)
        return [
            (number, self._row(keys[place], figures))
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
