"""The rows of a CSV file in chunks, so that memory stays bounded, by column, so that distinct texts are judged once.

There is one way of checking and there are two readers of plain blocks: the standard library's, and pyarrow's where
the extra `fast` is installed and the file is large. What a block holds that is not plain goes to the first.
"""

from __future__ import annotations

import csv
import io
import itertools
import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING, BinaryIO, TypeVar

from cropdata.validation.fast import Coded, CodedColumns, closed, plain_reader
from cropdata.validation.files import LONGEST_ROW, MOST_FINDINGS, Chunk, Shape, bad_byte, stopped, unquoted
from cropdata.validation.report import Finding

if TYPE_CHECKING:
    from concurrent.futures import Future, ThreadPoolExecutor

_Made = TypeVar("_Made")
BLOCK = 1 << 22
TOGETHER = 500  # rows turned into columns at a time


def _blocks(stream: BinaryIO) -> Iterator[bytes]:
    """The file in blocks of whole lines, without a byte-order mark."""
    rest = b""
    while block := stream.read(BLOCK):
        if stream.tell() == len(block):
            block = block.removeprefix(b"\xef\xbb\xbf")
        cut = block.rfind(b"\n") + 1
        if cut:
            yield rest + block[:cut]
            rest = block[cut:]
        else:
            rest += block
    if rest:
        yield rest


def _texts(blocks: Iterable[bytes]) -> Iterator[io.StringIO]:
    """Blocks as texts, up to the line that is no UTF-8, which raises UnicodeDecodeError."""
    for block in blocks:
        try:
            yield io.StringIO(block.decode("utf-8"), newline="")
        except UnicodeDecodeError as error:
            good = block.rfind(b"\n", 0, error.start) + 1
            yield io.StringIO(block[:good].decode("utf-8"), newline="")
            raise


def _ahead(
    pool: ThreadPoolExecutor, work: Callable[[bytes], _Made], blocks: Iterator[bytes]
) -> Iterator[tuple[bytes, _Made]]:
    """Each block with what `work` makes of it; the first is begun at once, the next while one is used."""
    begun: deque[tuple[bytes, Future[_Made]]] = deque()

    def begin() -> None:
        if (block := next(blocks, None)) is not None:
            begun.append((block, pool.submit(work, block)))

    def drawn() -> Iterator[tuple[bytes, _Made]]:
        begin()
        while begun:
            block, made = begun.popleft()
            yield block, made.result()
            begin()

    begin()
    return drawn()


class _Reader:
    """One file on its way into chunks; rows that are none go to `findings`."""

    def __init__(self, file: str, shape: Shape, findings: list[Finding], comments: bool) -> None:
        self.file, self.header, self.findings, self.comments = file, shape.header, findings, comments
        self.delimiter, self.rows = shape.delimiter, shape.chunk_rows
        # Rows taken at a time: fewer than would wake Python's garbage collector, and where lines are long fewer still.
        self.together = max(1, min(TOGETHER, self.rows, LONGEST_ROW // max(1, shape.longest)))
        self.size = 0  # of the blocks taken up for these
        self.odd = 0
        self.started = False
        self.number = 0
        self._empty()

    def _empty(self) -> None:
        self.numbers: list[int] = []
        self.columns: list[list[str]] = [[] for _ in self.header]

    def read(self, blocks: Iterable[bytes]) -> Iterator[Chunk]:
        """Chunks of blocks that begin at the beginning of a row; the last one may be short."""
        lines = itertools.chain.from_iterable(_texts(self._guarded(blocks)))
        rows = csv.reader(lines, delimiter=self.delimiter, strict=True)
        broken: Exception | None = None
        while broken is None:
            some: list[list[str]] = []
            self.size = 0
            try:
                some.extend(itertools.islice(rows, self.together))
            except (csv.Error, UnicodeDecodeError) as error:
                broken = error  # the rows before it stand in `some`
            if not some and broken is None:
                return
            self._take(some)
            if self.stopped:
                self.findings.append(stopped(self.file, self.number))
                return
            if len(self.numbers) >= self.rows:
                yield self.chunk()
        raise broken

    def _guarded(self, blocks: Iterable[bytes]) -> Iterator[bytes]:
        """The csv module joins lines without end inside quotes: what it takes up at a time is bounded."""
        for block in blocks:
            self.size += len(block)
            if self.size > 2 * LONGEST_ROW + BLOCK:  # the rows taken together, and the block in which the last ends
                raise csv.Error("a row of millions of signs")
            yield block

    def _take(self, some: list[list[str]]) -> None:
        """Take up rows, all at once where all are whole."""
        width, start = len(self.header), self.number + 1
        firsts = [cells[0] if cells else "" for cells in some]
        remarks = self.comments and "\n#" in "\n".join(["", *firsts])
        if self.started and all(firsts) and not remarks and set(map(len, some)) == {width}:
            self.number += len(some)
            self._turn(range(start, start + len(some)), some)
            return
        numbers, whole = [], []
        for number, cells in enumerate(some, start=start):
            self.number = number
            if len(cells) == width and self.started and any(cells) and not (self.comments and cells[0].startswith("#")):
                numbers.append(number)
                whole.append(cells)
            else:
                self._odd(number, cells)
                if self.stopped:
                    break
        self._turn(numbers, whole)

    def _odd(self, number: int, cells: list[str]) -> None:
        """A row that is the header, a remark, blank or ragged."""
        if self.comments and cells and cells[0].startswith("#"):
            return
        if not self.started:
            self.started = True
            return
        self.odd += 1
        if not cells or not any(cells):
            severity = "warning" if self.comments else "error"  # a grower's layer passes them over
            self.findings.append(
                Finding(self.file, number, None, "file-blank-row", severity, None, None, "is a blank row", "delete it")
            )
        else:
            self.findings.append(
                Finding(self.file, number, None, "file-ragged-row", "error", f"{len(cells)} cells", f"{len(self.header)} cells",
                        "has another number of cells than the header", _ragged_hint(cells, len(self.header)))
            )  # fmt: skip

    @property
    def stopped(self) -> bool:
        """True where so many rows are none that it is no table."""
        return self.odd > MOST_FINDINGS

    def _turn(self, numbers: Iterable[int], rows: list[list[str]]) -> None:
        self.numbers += numbers
        for column, part in zip(self.columns, zip(*rows, strict=True), strict=False):
            column += part

    def chunk(self) -> Chunk:
        """What was read since the last chunk."""
        made = Chunk(self.numbers, dict(zip(self.header, self.columns, strict=True)))
        self._empty()
        return made

    def plain(self, columns: list[Coded]) -> Chunk:
        """A chunk of whole columns."""
        numbers = range(self.number + 1, self.number + 1 + len(columns[0].places))
        self.number = numbers[-1]
        return Chunk(numbers, CodedColumns(self.header, columns))


def _ragged_hint(cells: list[str], width: int) -> str:
    """A decimal comma without quotes is the usual reason for one cell too many."""
    if len(cells) < width:
        return "look for a missing comma"
    for one, other in itertools.pairwise(cells):
        if one.lstrip("-").isdigit() and other.isdigit():
            return f"a decimal comma? if {one},{other} is one number, write {one}.{other}"
    return "look for a stray comma; a text with a comma in it stands in quotes"


def chunks(path: str, file: str, shape: Shape, findings: list[Finding], *, comments: bool) -> Iterator[Chunk]:
    """The rows in chunks; blank and ragged ones, and bytes that are no text, go to `findings`.

    `comments`: rows that begin with # are passed over, as in a grower's layer; in the release they are rows.
    """
    reader = _Reader(file, shape, findings, comments)
    try:
        with open(path, "rb") as stream:
            for chunk in _read(reader, _blocks(stream)):
                chunk.bytes_read = stream.tell()
                yield chunk
    except csv.Error as error:
        findings.append(unquoted(file, error))
    except UnicodeDecodeError:
        findings.append(bad_byte(path, file))
    if reader.numbers:
        last = reader.chunk()
        last.bytes_read = os.path.getsize(path)
        yield last


def _read(reader: _Reader, blocks: Iterator[bytes]) -> Iterator[Chunk]:
    """The first block by the standard library, as it holds the header; later ones by pyarrow where they are plain."""
    first = next(blocks, b"")
    second = next(blocks, None)
    rest = blocks if second is None else itertools.chain([second], blocks)
    plain = (
        plain_reader(len(reader.header), reader.comments) if second is not None and reader.delimiter == "," else None
    )
    if plain is None or not closed(first):
        yield from reader.read(itertools.chain([first], rest))
        return
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor(1) as pool:
        parted = _ahead(pool, plain.parted, rest)
        yield from reader.read([first])
        for block, table in itertools.takewhile(lambda _: not reader.stopped, parted):
            columns = plain.columns(table)
            if columns is not None:
                if reader.numbers:
                    yield reader.chunk()
                yield reader.plain(columns)
            elif closed(block):
                yield from reader.read([block])
            else:
                yield from reader.read(itertools.chain([block], (later for later, _ in parted)))
                return
