"""First storey: the bytes and the shape of a CSV file."""

from __future__ import annotations

import csv
import os
from collections.abc import Iterator
from typing import NamedTuple

from cropdata.tabular.rows import Row
from cropdata.validation.report import Finding

LARGEST_CELL = 10_000


class ReadTable(NamedTuple):
    """A file as read: header, rows by their spreadsheet number, and what is wrong with it."""

    header: list[str]
    rows: list[tuple[int, Row]]
    findings: list[Finding]


def whole_file(
    file: str,
    rule: str,
    message: str,
    *,
    found: str | None = None,
    allowed: str | None = None,
    hint: str | None = None,
) -> Finding:
    """An error about a file as a whole."""
    return Finding(file, None, None, rule, "error", found, allowed, message, hint)


def _byte_findings(data: bytes, file: str, release: bool) -> Iterator[Finding]:
    if b"\0" in data:
        yield whole_file(
            file, "file-nul-byte", "holds NUL bytes; it is no text table", hint="save it again as CSV, UTF-8"
        )
    if release:
        if data.startswith(b"\xef\xbb\xbf"):
            yield whole_file(file, "file-bom", "begins with a byte-order mark", hint="save as UTF-8 without BOM")
        if b"\r" in data:
            yield whole_file(
                file,
                "file-line-ends",
                "has carriage returns",
                allowed="LF line ends",
                hint="python tools/build.py rewrites them",
            )
        if data and not data.endswith(b"\n"):
            yield whole_file(
                file,
                "file-final-line-end",
                "does not end with a line end",
                hint="python tools/build.py adds it",
            )


def read_file(path: str, file: str, *, release: bool) -> ReadTable:
    """Read a CSV file strictly. In the release BOM and CRLF are errors; in a layer they are accepted."""
    findings: list[Finding] = []
    try:
        with open(path, "rb") as stream:
            data = stream.read()
    except OSError as error:
        return ReadTable([], [], [whole_file(file, "file-unreadable", f"cannot be read: {error.strerror}")])
    findings += _byte_findings(data, file, release)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        findings.append(Finding(file, line, None, "file-encoding", "error", repr(data[error.start : error.start + 4]), "UTF-8",
                                "is not UTF-8", "save it again with encoding UTF-8"))  # fmt: skip
        return ReadTable([], [], findings)
    if not text.strip():
        findings.append(whole_file(file, "file-empty", "is empty", hint="it needs at least its header"))
        return ReadTable([], [], findings)
    if "\0" in text:
        return ReadTable([], [], findings)
    return _parsed(text, file, findings)


def _parsed(text: str, file: str, findings: list[Finding]) -> ReadTable:
    csv.field_size_limit(max(LARGEST_CELL * 10, csv.field_size_limit()))
    rows: list[tuple[int, Row]] = []
    try:
        reader = csv.reader(text.splitlines(keepends=True), strict=True)
        header = next(reader)
        if len(header) == 1 and ";" in header[0]:
            findings.append(whole_file(file, "file-delimiter", "columns are parted by semicolons", found=header[0][:60], allowed="commas",
                                       hint="save as CSV with commas and a decimal point"))  # fmt: skip
            return ReadTable(header, [], findings)
        for number, cells in enumerate(reader, start=2):
            if not cells or not any(cells):
                findings.append(
                    Finding(
                        file,
                        number,
                        None,
                        "file-blank-row",
                        "error",
                        None,
                        None,
                        "is a blank row",
                        "delete it",
                    )
                )
            elif cells[0].startswith("#"):
                continue
            elif len(cells) != len(header):
                findings.append(Finding(file, number, None, "file-ragged-row", "error", f"{len(cells)} cells", f"{len(header)} cells",
                                        "has another number of cells than the header", "look for a stray or missing comma"))  # fmt: skip
            else:
                rows.append((number, dict(zip(header, cells, strict=True))))
    except csv.Error as error:
        findings.append(
            whole_file(
                file,
                "file-quotes",
                f"cannot be parted into cells: {error}",
                hint="look for an unclosed quote",
            )
        )
        return ReadTable([], [], findings)
    return ReadTable(header, rows, findings)


def shown(path: str, base: str) -> str:
    """A path as it is shown: relative to the folder that was checked."""
    return os.path.relpath(path, base) if path.startswith(base) else path
