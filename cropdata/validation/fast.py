"""Plain blocks of a large CSV file by pyarrow, the extra `fast`.

Plain is what both readers part into the same cells. Whatever might be read in two ways, or needs a finding of its
own, is not plain and is left to the standard library: so a check says the same with and without this extra.
"""

from __future__ import annotations

import functools
import importlib.util
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    import pyarrow as pa
    from numpy.typing import NDArray


def closed(block: bytes) -> bool:
    """True when every quote of a block of whole lines opens or closes a cell, and none is left open at its end."""
    import numpy as np

    signs = np.frombuffer(block, dtype=np.uint8)
    places = np.flatnonzero(signs == ord('"'))
    if len(places) % 2:
        return False
    opening, closing = places[0::2], places[1::2]
    inner = opening[1:] == closing[:-1] + 1  # a quote written twice inside a cell
    before, after = signs[opening - 1], signs.take(closing + 1, mode="clip")
    opens = (before == ord(",")) | (before == ord("\n")) | (opening == 0)
    closes = (after == ord(",")) | (after == ord("\n")) | (after == ord("\r")) | (closing == len(signs) - 1)
    opens[1:] |= inner
    closes[:-1] |= inner
    return bool(opens.all() and closes.all())


class Coded(NamedTuple):
    """A column: its distinct texts, and for each row the place of its own among them."""

    texts: list[str]
    places: NDArray[Any]


class CodedColumns(Mapping[str, list[str]]):
    """Columns by name, written out as a list of texts only where one is asked for."""

    def __init__(self, header: list[str], columns: list[Coded]) -> None:
        self._coded = dict(zip(header, columns, strict=True))
        self._lists: dict[str, list[str]] = {}

    def __iter__(self) -> Iterator[str]:
        return iter(self._coded)

    def __len__(self) -> int:
        return len(self._coded)

    def __contains__(self, name: object) -> bool:
        return name in self._coded

    def __getitem__(self, name: str) -> list[str]:
        import numpy as np

        if name not in self._lists:
            texts, places = self._coded[name]
            whole = texts if len(texts) == len(places) else np.array(texts, dtype=object)[places].tolist()
            self._lists[name] = whole
        return self._lists[name]

    def texts(self, name: str) -> list[str]:
        """The distinct texts of a column."""
        return self._coded[name].texts

    def combined(
        self, names: Sequence[str], more: Sequence[Sequence[int]] = ()
    ) -> tuple[list[tuple[Any, ...]], Sequence[int]]:
        """As `Chunk.combined`, by numbers in place of texts; `more`: columns that hold numbers themselves."""
        import numpy as np

        columns: list[tuple[Sequence[Any], NDArray[Any]]] = [self._coded[name] for name in names]
        columns += [(range(max(numbers, default=0) + 1), np.asarray(numbers, dtype=np.int64)) for numbers in more]
        which = np.zeros(len(columns[0][1]), dtype=np.int64)
        size = 1
        for distinct, places in columns:
            if size * len(distinct) > 2**62:
                which = np.unique(which, return_inverse=True)[1].reshape(-1)
                size = len(which)
            which = which * len(distinct) + places
            size *= len(distinct)
        _, first, which = np.unique(which, return_index=True, return_inverse=True)
        cells = ([distinct[place] for place in places[first].tolist()] for distinct, places in columns)
        return list(zip(*cells, strict=True)), which.reshape(-1).tolist()

    def ends_of_runs(self, names: Sequence[str]) -> list[int]:
        """First and last row of each run of rows that agree in some columns."""
        import numpy as np

        changes = np.zeros(max(0, len(self._coded[names[0]].places) - 1), dtype=bool)
        for name in names:
            places = self._coded[name].places
            changes |= places[1:] != places[:-1]
        last = np.flatnonzero(changes)
        return [0, *last.tolist(), *(last + 1).tolist(), len(changes)]


class PlainReader:
    """Parts plain blocks of a table of `width` columns; `comments` as in `reading.chunks`.

    `parted` leaves nearly all to one call that needs no interpreter, so that it runs beside other work on a thread of
    its own: each return to the interpreter would wait for its turn. What it gives, `columns` reads.
    """

    def __init__(self, width: int, comments: bool) -> None:
        self.width, self.comments = width, comments

    @functools.cached_property
    def options(self) -> dict[str, Any]:
        """How pyarrow is told to read; worked out on the thread that reads, as the import takes a while."""
        import pyarrow as pa
        import pyarrow.csv

        names = [str(place) for place in range(self.width)]
        return {
            "read_options": pyarrow.csv.ReadOptions(column_names=names, use_threads=False, block_size=1 << 30),
            "parse_options": pyarrow.csv.ParseOptions(newlines_in_values=True, ignore_empty_lines=False),
            "convert_options": pyarrow.csv.ConvertOptions(
                column_types=dict.fromkeys(names, pa.dictionary(pa.int32(), pa.string())), strings_can_be_null=False
            ),
        }

    def parted(self, block: bytes) -> pa.Table | None:
        """The block as a table of coded columns, or None where it is not plain."""
        import pyarrow as pa
        import pyarrow.csv

        lines = block.count(b"\n")
        if (
            not block.endswith(b"\n")
            or (b"\r" in block and block.count(b"\r") != block.count(b"\r\n"))
            or not closed(block)
        ):
            return None
        if self.comments and (block.startswith((b"#", b'"#')) or b"\n#" in block or b'\n"#' in block):
            return None
        try:
            table = pyarrow.csv.read_csv(pa.BufferReader(block), **self.options)
        except pa.ArrowInvalid:  # rows of another width, or no UTF-8
            return None
        return table if table.num_rows == lines else None  # fewer: a line break inside a cell

    def columns(self, table: pa.Table | None) -> list[Coded] | None:
        """The cells by column, or None where they have to be looked at row by row."""
        import numpy as np

        if table is None:
            return None
        encoded = [column.chunk(0) if column.num_chunks == 1 else column.combine_chunks() for column in table.columns]
        columns = [Coded(column.dictionary.to_pylist(), np.from_dlpack(column.indices)) for column in encoded]
        return None if "" in columns[0].texts else columns


def plain_reader(width: int, comments: bool) -> PlainReader | None:
    """A reader of plain blocks, or None where the extra `fast` is not installed."""
    return PlainReader(width, comments) if importlib.util.find_spec("pyarrow") else None
