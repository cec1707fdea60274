"""Plain blocks of a large CSV file by pyarrow, the extra `fast`.

Plain is what both readers part into the same cells. Whatever might be read in two ways, or needs a finding of its
own, is not plain and is left to the standard library: so a check says the same with and without this extra.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from numpy.typing import NDArray


def closed(block: bytes) -> bool:
    """True when every quote of a block of whole lines opens or closes a cell, and none is left open at its end."""
    import numpy as np

    signs = np.frombuffer(b"\n" + block + b"\n", dtype=np.uint8)
    places = np.flatnonzero(signs == ord('"'))
    if len(places) % 2:
        return False
    opening, closing = places[0::2], places[1::2]
    inner = opening[1:] == closing[:-1] + 1  # a quote written twice inside a cell
    opens = np.isin(signs[opening - 1], (ord(","), ord("\n")))
    closes = np.isin(signs[closing + 1], (ord(","), ord("\n"), ord("\r")))
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

    def combined(self, names: Sequence[str]) -> tuple[list[tuple[str, ...]], Sequence[int]]:
        """As `Chunk.combined`, by numbers in place of texts."""
        import numpy as np

        columns = [self._coded[name] for name in names]
        which = np.zeros(len(columns[0].places), dtype=np.int64)
        size = 1
        for column in columns:
            if size * len(column.texts) > 2**62:
                which = np.unique(which, return_inverse=True)[1].reshape(-1)
                size = len(which)
            which = which * len(column.texts) + column.places
            size *= len(column.texts)
        _, first, which = np.unique(which, return_index=True, return_inverse=True)
        cells = ([column.texts[place] for place in column.places[first].tolist()] for column in columns)
        return list(zip(*cells, strict=True)), which.reshape(-1).tolist()


class PlainReader:
    """Parts plain blocks of a table of `width` columns; `comments` as in `reading.chunks`."""

    def __init__(self, width: int, comments: bool) -> None:
        import pyarrow as pa
        import pyarrow.csv

        names = [str(place) for place in range(width)]
        self.comments = comments
        self.read_csv = pyarrow.csv.read_csv
        self.options: dict[str, Any] = {
            "read_options": pyarrow.csv.ReadOptions(column_names=names, use_threads=False, block_size=1 << 30),
            "parse_options": pyarrow.csv.ParseOptions(newlines_in_values=True, ignore_empty_lines=False),
            "convert_options": pyarrow.csv.ConvertOptions(
                column_types=dict.fromkeys(names, pa.string()), strings_can_be_null=False
            ),
        }

    def columns(self, block: bytes) -> list[Coded] | None:
        """The cells by column, or None where the block is not plain."""
        import numpy as np
        import pyarrow as pa

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
            table = self.read_csv(pa.BufferReader(block), **self.options)
        except pa.ArrowInvalid:  # rows of another width, or no UTF-8
            return None
        if table.num_rows != lines:  # a line break inside a cell
            return None
        encoded = (column.combine_chunks().dictionary_encode() for column in table.columns)
        columns = [Coded(column.dictionary.to_pylist(), np.from_dlpack(column.indices)) for column in encoded]
        return None if "" in columns[0].texts else columns


def plain_reader(width: int, comments: bool) -> PlainReader | None:
    """A reader of plain blocks, or None where the extra `fast` is not installed."""
    return PlainReader(width, comments) if importlib.util.find_spec("pyarrow") else None
