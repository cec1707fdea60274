"""First storey: the bytes and the shape of a CSV file, before its rows are read."""

from __future__ import annotations

import csv
import os
import stat
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from cropdata.validation.fast import CodedColumns
from cropdata.validation.report import Finding

LARGEST_CELL = 10_000
MOST_COLUMNS = 500
MOST_FINDINGS = 100_000  # in one file: beyond, it is no table with mistakes but something else, and reading stops
LONGEST_ROW = MOST_COLUMNS * LARGEST_CELL
CHUNK_ROWS = 20_000
_CHUNK_BYTES = 16_000_000
_BLOCK = 1 << 20
_SHORT_LINE = 400
_DELIMITERS = {";": "semicolons", "\t": "tabs"}


class Chunk:
    """Some rows by column: `numbers` are the rows as a spreadsheet counts, `cells` texts by column name.

    `bytes_read`: how far into the file the chunk reaches.
    """

    __slots__ = ("_distinct", "_figures", "_stated", "bytes_read", "cells", "numbers")

    def __init__(self, numbers: Sequence[int], cells: Mapping[str, list[str]], bytes_read: int = 0) -> None:
        self.numbers = numbers
        self.cells = cells
        self.bytes_read = bytes_read
        self._distinct: dict[str, Collection[str]] = {}
        self._figures: Combined | None = None
        self._stated: Combined | None = None

    def distinct(self, name: str) -> Collection[str]:
        """The distinct texts of a column, in the order of the rows, each once."""
        if name not in self._distinct:
            cells, figures = self.cells, self._figures
            if isinstance(cells, CodedColumns):
                self._distinct[name] = cells.texts(name)
                return self._distinct[name]
            if figures is not None and name in figures.names:
                place = figures.names.index(name)
                texts: Iterable[str] = [row[place] for row in figures.distinct]
            else:
                texts = cells[name]
            self._distinct[name] = dict.fromkeys(texts).keys()
        return self._distinct[name]

    def share(self, subject: Sequence[str], figures: Sequence[str]) -> None:
        """Go through the rows once for these columns; `combined` of some of them then goes through the distinct ones.

        `figures` stand in many rows, and are put together first; `subject` tells of what and by whom they are.
        """
        self._figures = self._gone_through(figures)
        self._stated = self._gone_through(subject, self._figures)

    def stated(self) -> tuple[Combined, Combined]:
        """What `share` found: distinct subjects with the place of their figures, and these figures."""
        assert self._stated is not None and self._figures is not None
        return self._stated, self._figures

    def combined(self, names: Sequence[str]) -> tuple[list[tuple[Any, ...]], Iterable[int]]:
        """The distinct combinations of some columns' texts, and for each row the place of its own among them."""
        for shared in (self._figures, self._stated):
            if shared is not None and set(names) <= set(shared.names):
                return shared.narrowed(names)
        made = self._gone_through(names)
        return made.distinct, made.which

    def _gone_through(self, names: Sequence[str], inner: Combined | None = None) -> Combined:
        if isinstance(self.cells, CodedColumns):
            more = [] if inner is None else [inner.which]
            return Combined(tuple(names), *self.cells.combined(names, more))
        places: dict[tuple[Any, ...], int] = {}
        columns = [self.cells[name] for name in names]
        rows = zip(*columns, strict=True) if inner is None else zip(*columns, inner.which, strict=True)
        which = [places.setdefault(row, len(places)) for row in rows]
        return Combined(tuple(names), list(places), which)


class Combined(NamedTuple):
    """Distinct combinations of the columns `names`, and for each row the place of its own among them."""

    names: tuple[str, ...]
    distinct: list[tuple[Any, ...]]
    which: Sequence[int]

    def narrowed(self, names: Sequence[str]) -> tuple[list[tuple[Any, ...]], Narrowed]:
        """The same for some of the columns."""
        if not names:
            return [()], Narrowed([0] * len(self.distinct), self.which)
        columns = [[row[place] for row in self.distinct] for place in map(self.names.index, names)]
        places: dict[tuple[Any, ...], int] = {}
        narrow = [places.setdefault(row, len(places)) for row in zip(*columns, strict=True)]
        return list(places), Narrowed(narrow, self.which)


class Narrowed:
    """Places among narrowed combinations, row by row: worked out only where somebody asks."""

    def __init__(self, narrow: list[int], which: Sequence[int]) -> None:
        self.narrow, self.which = narrow, which

    def __iter__(self) -> Iterator[int]:
        return map(self.narrow.__getitem__, self.which)


class Shape(NamedTuple):
    """What is known of a file before its rows: header, findings about it as a whole, how to part and chunk its rows."""

    header: list[str]
    findings: list[Finding]
    delimiter: str = ","
    longest: int = 0

    @property
    def chunk_rows(self) -> int:
        """Rows a chunk, fewer where lines are long, so that memory stays bounded."""
        return max(1, min(CHUNK_ROWS, _CHUNK_BYTES // max(1, self.longest)))


def whole_file(
    file: str, rule: str, message: str, *, found: str | None = None, allowed: str | None = None, hint: str | None = None
) -> Finding:
    """An error about a file as a whole."""
    return Finding(file, None, None, rule, "error", found, allowed, message, hint)


def _longest_within(block: bytes, start: int, stop: int) -> int:
    """The longest line between two places, or, where all are short, what none of them exceeds."""
    if all(block.find(b"\n", place, place + _SHORT_LINE) >= 0 for place in range(start, stop, _SHORT_LINE)):
        return 2 * _SHORT_LINE
    return max(map(len, block[start:stop].split(b"\n")))


def _lint(path: str, file: str, release: bool) -> tuple[list[Finding], int]:
    """Findings in the bytes, and the longest line, 0 where the file cannot be read on. One pass in blocks."""
    findings: list[Finding] = []
    returns = nul = False
    longest = current = 0
    first = last = b""
    size = 0
    with open(path, "rb") as stream:
        while block := stream.read(_BLOCK):
            first = first or block[:4]
            last = block[-1:]
            size += len(block)
            nul = nul or b"\0" in block
            returns = returns or b"\r" in block
            first_end, last_end = block.find(b"\n"), block.rfind(b"\n")
            if last_end < 0:
                current += len(block)
                longest = max(longest, current)
            else:
                longest = max(longest, current + first_end, _longest_within(block, first_end + 1, last_end))
                current = len(block) - last_end - 1
                longest = max(longest, current)
            if longest > LONGEST_ROW:
                return [
                    *findings,
                    whole_file(
                        file,
                        "file-long-line",
                        "has a line of millions of bytes; it is no table",
                        allowed=f"cells up to {LARGEST_CELL} bytes",
                        hint="look what the file really is",
                    ),
                ], 0
    if size == 0:
        return [whole_file(file, "file-empty", "is empty", hint="it needs at least its header")], 0
    if first.startswith((b"PK\x03\x04", b"\x1f\x8b", b"%PDF", b"\xd0\xcf\x11\xe0")):
        return [
            whole_file(
                file, "file-not-text", "is no text but a packed or binary file", hint="save the sheet as CSV, UTF-8"
            )
        ], 0
    if nul:
        findings.append(
            whole_file(
                file, "file-nul-byte", "holds NUL bytes; it is no text table", hint="save it again as CSV, UTF-8"
            )
        )
        if first.startswith((b"\xff\xfe", b"\xfe\xff")):
            findings.append(
                whole_file(
                    file, "file-encoding", "is UTF-16", allowed="UTF-8", hint="save it again with encoding UTF-8"
                )
            )
        return findings, 0
    if release:
        if first.startswith(b"\xef\xbb\xbf"):
            findings.append(
                whole_file(
                    file, "file-bom", "begins with a byte-order mark", hint="save it as UTF-8 without a byte-order mark"
                )
            )
        if returns:
            findings.append(
                whole_file(
                    file,
                    "file-line-ends",
                    "has carriage returns",
                    allowed="LF line ends",
                    hint="save it with LF line ends",
                )
            )
        if last != b"\n":
            findings.append(
                whole_file(
                    file,
                    "file-final-line-end",
                    "does not end with a line end",
                    hint="add a line end; python tools/build.py does",
                )
            )
    return findings, max(1, longest)


def _header(path: str, file: str, comments: bool) -> tuple[list[str], str, list[Finding]]:
    """The header, the sign that parts its cells, and findings."""
    with open(path, encoding="utf-8-sig", newline="") as stream:
        for row in csv.reader(Lines(stream), strict=True):
            if comments and row and row[0].startswith("#"):
                continue
            for sign, named in _DELIMITERS.items() if len(row) == 1 else ():
                if sign in row[0]:
                    found = whole_file(file, "file-delimiter", f"columns are parted by {named}", found=row[0][:60], allowed="commas",
                                       hint="save as CSV with commas between cells and a decimal point; cropdata check --fix parts them by commas")  # fmt: skip
                    return next(csv.reader(row, delimiter=sign, strict=True)), sign, [found]
            if len(row) > MOST_COLUMNS:
                return [], ",", [whole_file(file, "file-columns", f"has {len(row)} columns", allowed=f"up to {MOST_COLUMNS}", hint="look what the file really is")]  # fmt: skip
            if not any(row):
                return [], ",", [Finding(file, 1, None, "file-blank-row", "error", None, "the names of the columns", "begins with a blank row", "delete it")]  # fmt: skip
            return row, ",", []
    return [], ",", [whole_file(file, "file-empty", "is empty", hint="it needs at least its header")]


class Lines:
    """Lines on their way to the csv module, which would join lines without end inside quotes. Set `size` to 0 after a row."""

    def __init__(self, lines: Iterable[str]) -> None:
        self.lines = lines
        self.size = 0

    def __iter__(self) -> Iterator[str]:
        for line in self.lines:
            self.size += len(line)
            if self.size > LONGEST_ROW:
                raise csv.Error("a row of millions of signs")
            yield line


def shape_of(path: str, file: str, *, release: bool) -> Shape:
    """Header and findings about the file; an empty header where it cannot be read on. Symbolic links are refused."""
    if os.path.islink(path):
        return Shape([], [whole_file(file, "path-link", "is a symbolic link", hint="put the file itself there")])
    csv.field_size_limit(LONGEST_ROW)
    findings: list[Finding] = []
    try:
        if not stat.S_ISREG(os.stat(path).st_mode):
            return Shape([], [whole_file(file, "file-unreadable", "is no ordinary file", allowed="a CSV file")])
        findings, longest = _lint(path, file, release)
        if not longest:
            return Shape([], findings)
        header, delimiter, more = _header(path, file, not release)
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        return Shape([], [whole_file(file, "file-unreadable", f"cannot be read: {why}", hint="look whether it is there and may be read")])  # fmt: skip
    except UnicodeDecodeError:
        return Shape([], [*findings, bad_byte(path, file)])
    except csv.Error as error:
        return Shape([], [*findings, unquoted(file, error)])
    return Shape(header, [*findings, *more], delimiter, longest)


def unquoted(file: str, error: csv.Error) -> Finding:
    """A file that cannot be parted into cells."""
    return whole_file(file, "file-quotes", f"cannot be parted into cells: {error}", hint="look for an unclosed quote")


def bad_byte(path: str, file: str) -> Finding:
    """The first line that is no UTF-8."""
    with open(path, "rb") as stream:
        for number, line in enumerate(stream, start=1):
            try:
                line.decode("utf-8")
            except UnicodeDecodeError as error:
                return Finding(file, number, None, "file-encoding", "error", repr(line[error.start : error.start + 4]), "UTF-8", "is not UTF-8",
                               "save it again with encoding UTF-8")  # fmt: skip
    return whole_file(file, "file-encoding", "is not UTF-8", allowed="UTF-8", hint="save it again with encoding UTF-8")


def stopped(file: str, number: int) -> Finding:
    """Said aloud where reading stops because nearly everything is wrong."""
    return Finding(file, number, None, "file-stopped", "error", None, f"up to {MOST_FINDINGS} findings in a file", "reading stopped at this row: too many findings",
                   "mend these first, then check again")  # fmt: skip
