"""First storey: the bytes and the shape of a CSV file, before its rows are read."""

from __future__ import annotations

import csv
import os
from collections.abc import Sequence
from typing import NamedTuple

from cropdata.validation.report import Finding

LARGEST_CELL = 10_000
MOST_COLUMNS = 500
_BLOCK = 1 << 20


class Chunk:
    """Some rows by column: `numbers` are the rows as a spreadsheet counts, `cells` texts by column name.

    `bytes_read`: how far into the file the chunk reaches.
    """

    __slots__ = ("_distinct", "bytes_read", "cells", "numbers")

    def __init__(self, numbers: Sequence[int], cells: dict[str, list[str]], bytes_read: int = 0) -> None:
        self.numbers = numbers
        self.cells = cells
        self.bytes_read = bytes_read
        self._distinct: dict[str, frozenset[str]] = {}

    def distinct(self, name: str) -> frozenset[str]:
        """The distinct texts of a column."""
        if name not in self._distinct:
            self._distinct[name] = frozenset(self.cells[name])
        return self._distinct[name]


class Shape(NamedTuple):
    """What is known of a file before its rows: header and findings about the file as a whole."""

    header: list[str]
    findings: list[Finding]


def whole_file(
    file: str, rule: str, message: str, *, found: str | None = None, allowed: str | None = None, hint: str | None = None
) -> Finding:
    """An error about a file as a whole."""
    return Finding(file, None, None, rule, "error", found, allowed, message, hint)


def _lint(path: str, file: str, release: bool) -> tuple[list[Finding], bool]:
    """Findings in the bytes, and whether the file can be read on. One pass in blocks."""
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
            lengths = list(map(len, block.split(b"\n")))
            lengths[0] += current
            longest, current = max(longest, max(lengths)), lengths[-1]
            if longest > MOST_COLUMNS * LARGEST_CELL:
                return [
                    *findings,
                    whole_file(
                        file,
                        "file-long-line",
                        "has a line of millions of bytes; it is no table",
                        allowed=f"cells up to {LARGEST_CELL} bytes",
                    ),
                ], False
    if size == 0:
        return [whole_file(file, "file-empty", "is empty", hint="it needs at least its header")], False
    if first.startswith((b"PK\x03\x04", b"\x1f\x8b", b"%PDF", b"\xd0\xcf\x11\xe0")):
        return [
            whole_file(
                file, "file-not-text", "is no text but a packed or binary file", hint="save the sheet as CSV, UTF-8"
            )
        ], False
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
        return findings, False
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
    return findings, True


def _header(path: str, file: str, comments: bool) -> tuple[list[str], list[Finding]]:
    with open(path, encoding="utf-8-sig", newline="") as stream:
        for row in csv.reader(stream, strict=True):
            if comments and row and row[0].startswith("#"):
                continue
            if len(row) == 1 and ";" in row[0]:
                return row, [
                    whole_file(file, "file-delimiter", "columns are parted by semicolons", found=row[0][:60], allowed="commas",
                               hint="save as CSV with commas between cells and a decimal point")
                ]  # fmt: skip
            if len(row) > MOST_COLUMNS:
                return row[:MOST_COLUMNS], [
                    whole_file(file, "file-columns", f"has {len(row)} columns", allowed=f"up to {MOST_COLUMNS}")
                ]
            return row, []
    return [], [whole_file(file, "file-empty", "is empty", hint="it needs at least its header")]


def shape_of(path: str, file: str, *, release: bool) -> Shape:
    """Header and findings about the file; an empty header where it cannot be read on. Symbolic links are refused."""
    if os.path.islink(path):
        return Shape([], [whole_file(file, "path-link", "is a symbolic link", hint="put the file itself there")])
    csv.field_size_limit(MOST_COLUMNS * LARGEST_CELL)
    try:
        findings, readable = _lint(path, file, release)
        if not readable:
            return Shape([], findings)
        header, more = _header(path, file, not release)
    except OSError as error:
        return Shape([], [whole_file(file, "file-unreadable", f"cannot be read: {error.strerror}")])
    except UnicodeDecodeError:
        return Shape([], [*findings, bad_byte(path, file)])
    except csv.Error as error:
        return Shape(
            [],
            [
                *findings,
                whole_file(
                    file, "file-quotes", f"cannot be parted into cells: {error}", hint="look for an unclosed quote"
                ),
            ],
        )
    return Shape([] if more else header, [*findings, *more])


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
