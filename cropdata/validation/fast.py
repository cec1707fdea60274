"""Plain blocks of a large CSV file by pyarrow, the extra `fast`.

Plain is what both readers part into the same cells. Whatever might be read in two ways, or needs a finding of its
own, is not plain and is left to the standard library: so a check says the same with and without this extra.
"""

from __future__ import annotations

import importlib.util
from typing import Any


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

    def columns(self, block: bytes) -> list[list[str]] | None:
        """The cells by column, or None where the block is not plain."""
        import pyarrow as pa

        lines = block.count(b"\n")
        if not block.endswith(b"\n") or block.count(b"\r") != block.count(b"\r\n") or not closed(block):
            return None
        if self.comments and (block.startswith((b"#", b'"#')) or b"\n#" in block or b'\n"#' in block):
            return None
        try:
            table = self.read_csv(pa.BufferReader(block), **self.options)
        except pa.ArrowInvalid:  # rows of another width, or no UTF-8
            return None
        if table.num_rows != lines:  # a line break inside a cell
            return None
        columns = [_texts(column.combine_chunks()) for column in table.columns]
        return None if "" in columns[0] else columns


def _texts(column: Any) -> list[str]:
    """A column as texts, equal ones the same object: so they are hashed once, and take little room."""
    import numpy as np

    coded = column.dictionary_encode()
    texts: list[str] = coded.dictionary.to_pylist()
    if len(texts) == len(coded):
        return texts
    return np.array(texts, dtype=object)[np.from_dlpack(coded.indices)].tolist()  # type: ignore[no-any-return]


def plain_reader(width: int, comments: bool) -> PlainReader | None:
    """A reader of plain blocks, or None where the extra `fast` is not installed."""
    return PlainReader(width, comments) if importlib.util.find_spec("pyarrow") else None
