"""What only shows when a layer is laid over the release: an override of nothing, an old value that has changed.

Opening stops at the first mistake. So a copy of the layer is opened without the rows that are to blame, again and again,
until it opens: each mistake is told with its file, row and column, whatever else is wrong.
"""

from __future__ import annotations

import csv
import os
import tempfile
from collections.abc import Iterator, Sequence

from cropdata.catalog import open_catalog
from cropdata.catalog.layers import csv_files, opened
from cropdata.errors import CropdataError, LayerError
from cropdata.tabular.location import LAYER_FILE
from cropdata.validation.files import whole_file
from cropdata.validation.report import Finding

MOST_TOLD = 20  # openings of one layer
LARGEST_COPY = 20_000_000  # bytes of tables that are copied
# Cells that name a row elsewhere: told when the row is gone only because it was left out here. Links have their own rule.
_LINKS = ("crop_id", "parent_id", "source_id", "lineage")
# One finding that speaks for many rows of its file.
_OF_A_FILE = ("cell-decimal-comma", "file-delimiter", "file-stopped", "file-quotes")


def laid(folder: str, told: Sequence[Finding]) -> Iterator[Finding]:
    """Findings of the layer in `folder` that opening makes beside the errors `told`."""
    if not told:
        error = _opened(folder)
        if not isinstance(error, CropdataError):
            yield from error
            return
        yield _finding(error, folder)
        told = [_finding(error, folder)]
    blamed = {(item.file, 1 if item.rule in _OF_A_FILE else item.row or 1) for item in told}
    if any(file == LAYER_FILE for file, _ in blamed):
        return
    with tempfile.TemporaryDirectory() as copy:
        try:
            _copied(folder, copy, blamed)
        except (LayerError, OSError, ValueError, csv.Error):
            return  # what cannot be read is told already
        for _ in range(MOST_TOLD):
            error = _opened(copy)
            if not isinstance(error, LayerError) or error.file is None or error.row is None:
                return
            if error.column not in _LINKS:
                yield _finding(error, copy)
            _write(error.file, _read(error.file), {error.row})


def _opened(folder: str) -> CropdataError | list[Finding]:
    """Why it cannot be opened, or what is worth knowing of it as it can be."""
    try:
        catalog = open_catalog(layers=[folder], installed=False)
    except CropdataError as error:
        return error
    return [
        whole_file(LAYER_FILE, "layer-made-for-later", note.replace(f" ({folder})", ""), allowed=f"up to {catalog.version}")._replace(severity="warning")
        for note in catalog.notes
    ]  # fmt: skip


def _finding(error: CropdataError, folder: str) -> Finding:
    if not isinstance(error, LayerError) or error.file is None:
        return whole_file(LAYER_FILE, "layer-does-not-fit", _plain(str(error), folder))
    file = os.path.relpath(error.file, folder).replace(os.sep, "/")
    return Finding(file, error.row, error.column, "layer-does-not-fit", "error", None, None, _plain(error.fault, folder), None)  # fmt: skip


def _plain(text: str, folder: str) -> str:
    return text.replace(folder + os.sep, "").replace(f" ({folder})", "")


def _copied(folder: str, copy: str, blamed: set[tuple[str, int]]) -> None:
    """The layer's settings and tables without the rows to blame; a table with a blamed header is left out."""
    size = 0
    for path in (os.path.join(folder, LAYER_FILE), *csv_files(folder)):
        size += os.path.getsize(path)
        if size > LARGEST_COPY:
            raise ValueError
        file = os.path.relpath(path, folder)
        rows = {row for other, row in blamed if other == file.replace(os.sep, "/")}
        target = os.path.join(copy, file)
        os.makedirs(os.path.dirname(target), exist_ok=True)
        if file == LAYER_FILE:
            with opened(path) as stream, open(target, "w", encoding="utf-8") as written:
                written.write(stream.read())
        elif 1 not in rows:
            _write(target, _read(path), rows)


def _read(path: str) -> list[list[str]]:
    with opened(path) as stream:
        return list(csv.reader(stream, strict=True))


def _write(path: str, lines: list[list[str]], left_out: set[int]) -> None:
    """The rows, with a remark in place of those left out: the others keep their numbers."""
    with open(path, "w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows(["#"] if n in left_out else cells for n, cells in enumerate(lines, start=1))
