"""The engine: rows of a file or a frame through every storey, chunk by chunk."""

from __future__ import annotations

import functools
import gc
import os
from collections.abc import Callable, Iterable, Mapping
from typing import ParamSpec

from cropdata.tabular.descriptor import Table
from cropdata.tabular.rows import Row
from cropdata.validation import comparing, plausibility, print_check, relations, slips, tables
from cropdata.validation.contents import Contents
from cropdata.validation.files import MOST_FINDINGS, Chunk, shape_of, stopped, whole_file
from cropdata.validation.reading import chunks
from cropdata.validation.report import Finding, Report, ordered
from cropdata.validation.rules import is_excusable

# Different rows of an evidence table that are held for the rules that look across rows. A reference table is held whole.
MOST_HELD = 300_000
_P = ParamSpec("_P")
_HELD_BYTES = 600_000_000
LARGEST_REFERENCE = 100_000_000
# Called with the file, the rows read so far of all files, and the share of this one that is read, None where unknown.
Progress = Callable[[str, int, float | None], None]


def _uncollected(work: Callable[_P, None]) -> Callable[_P, None]:
    """`work` without Python's garbage collector: it would go through millions of texts that stay, a fifth of the time."""

    @functools.wraps(work)
    def done(*arguments: _P.args, **named: _P.kwargs) -> None:
        enabled = gc.isenabled()
        gc.disable()
        try:
            work(*arguments, **named)
        finally:
            if enabled:
                gc.enable()

    return done


class Check:
    """What the kinds of check share: reading files through the storeys."""

    layer = True

    def __init__(self, progress: Progress | None) -> None:
        self.progress = progress
        self.findings: list[Finding] = []
        self.held: dict[str, list[tuple[int, Row]]] = {}
        self.contents: dict[str, Contents] = {}
        self.decided: set[tuple[str, str]] = set()
        self.cited: set[str] = set()
        self.set_aside: list[Finding] = []
        self.root = ""
        self.files = 0
        self.rows = 0
        self.most_held = MOST_HELD

    def read(self, path: str, file: str, table: Table, known: relations.Known | None) -> None:
        """One file through files, tables, links and the rules of a row."""
        self.files += 1
        if self.root and not _inside(self.root, path):
            self.findings.append(whole_file(file, "path-link", "lies behind a symbolic link", hint="put the file itself there"))  # fmt: skip
            return
        shape = shape_of(path, file, release=not self.layer)
        self.findings += shape.findings
        if not shape.header:
            return
        if not table.is_evidence and os.path.getsize(path) > LARGEST_REFERENCE:
            self.findings.append(whole_file(file, "file-large", "is far larger than a table of reference", allowed=f"up to {LARGEST_REFERENCE // 1_000_000} MB", hint="look what the file really is"))  # fmt: skip
            return
        self.most_held = max(1, min(MOST_HELD, _HELD_BYTES // max(1, shape.longest)))
        parts = chunks(path, file, shape, self.findings, comments=self.layer)
        explained = self.layer and _has_remarks(path)
        self.read_chunks(parts, shape.header, file, table, known, os.path.getsize(path), explained)

    @_uncollected
    def read_chunks(
        self,
        parts: Iterable[Chunk],
        header: list[str],
        file: str,
        table: Table,
        known: relations.Known | None,
        size: int = 0,
        explained: bool = False,
    ) -> None:
        """Rows, wherever they come from, through every storey above the file. `size`: bytes of the file; `explained`: it
        says in remarks what it is for, and may have no rows yet.
        """
        self.findings += tables.header_findings(header, table, file, layer=self.layer)
        rules = tables.rules_for(table, header, layer=self.layer)
        keys = None if self.layer else tables.Keys(table, header)
        repeats = slips.Repeats() if self.layer else None
        missing: set[str] = set()
        contents = Contents(table, self.decided, min(MOST_HELD, self.most_held))
        if table.is_evidence:
            self.contents[table.name] = contents
        held = self.held.setdefault(table.name, [])
        start, before = self.rows, len(self.findings)
        for chunk in parts:
            self.rows += len(chunk.numbers)
            if table.is_evidence:
                contents.share(chunk)
            self._chunk(chunk, table, file, rules, keys, known)
            if self.layer:
                self.findings += tables.needed_findings(chunk, table, file, missing)
            if repeats is not None:
                self.findings += repeats.findings(chunk, file)
            if table.is_evidence:
                contents.add(chunk)
            else:
                names, columns = list(chunk.cells), list(chunk.cells.values())
                held += [
                    (number, dict(zip(names, cells, strict=True)))
                    for number, *cells in zip(chunk.numbers, *columns, strict=True)
                ]
            if self.progress:
                self.progress(file, self.rows, chunk.bytes_read / size if size else None)
            if len(self.findings) - before > MOST_FINDINGS:
                self.findings.append(stopped(file, chunk.numbers[-1]))
                break
        if self.layer:
            self.findings[before:] = tables.commas_once(self.findings[before:])
        if self.rows == start and len(self.findings) == before and not (table.may_be_empty or explained):
            self.findings.append(
                Finding(file, None, None, "file-no-rows", "warning" if self.layer else "error", None, "at least one row",
                        "has a header and no rows", "add rows, or delete the file")
            )  # fmt: skip
        if contents.left_out:
            self.findings.append(
                Finding(file, None, None, "rows-not-compared", "warning", f"{contents.left_out} rows", f"{contents.most} different rows in one table",
                        "each row was checked, but these were not held against the other rows and sources", "check them in smaller files")
            )  # fmt: skip

    def _chunk(
        self,
        chunk: Chunk,
        table: Table,
        file: str,
        rules: dict[str, tables.CellRule],
        keys: tables.Keys | None,
        known: relations.Known | None,
    ) -> None:
        cells = [*tables.cell_findings(chunk, rules, file, layer=self.layer)]
        if known is not None:
            cells += relations.link_findings(chunk, table, file, known, layer=self.layer)
        self.findings += cells
        self.findings += slips.swapped_findings(chunk, cells, rules, table, file, known)
        if table.name != "sources" and "source_id" in chunk.cells:
            self.cited.update(chunk.distinct("source_id"))
        if keys is not None:
            self.findings += keys.findings(chunk, file)
        self.findings += plausibility.order_findings(chunk, table, file)
        self.findings += plausibility.canonical_findings(chunk, table, file)
        self.findings += plausibility.figure_findings(chunk, table, file)
        self.findings += print_check.print_findings(chunk, table, file)
        if table.is_evidence and known is not None:
            in_order = keys is not None and keys.primary == ("row_id",) and keys.in_order
            self.findings += relations.label_findings(chunk, file, known, in_order=in_order)

    @_uncollected
    def across_rows(self, table: Table, file: str, evidence: comparing.Evidence) -> None:
        """Rules that hold a row against the others and against what other sources print."""
        contents = self.contents.get(table.name)
        if contents is not None:
            self.findings += contents.spread(comparing.far_findings(contents.statements(), table, file, evidence))
            if table.name == "emergence_by_temperature":
                self.findings += contents.spread(comparing.warmer_but_slower(contents, file, evidence.best_c))
        if any(field.type == "date" for field in table.fields):
            rows = contents.every_row() if contents is not None else self.held.get(table.name, [])
            self.findings += slips.date_findings(rows, table, file)

    def leave_decided(self, table_of: Mapping[str, str]) -> None:
        """A row that a decision sets aside is kept as printed, slips included: its findings are listed apart.

        `table_of`: the table's name by its file.
        """

        def is_decided(item: Finding) -> bool:
            contents = self.contents.get(table_of.get(item.file, ""))
            return is_excusable(item.rule) and contents is not None and item.row in contents.ids

        self.set_aside = [item for item in self.findings if is_decided(item)]
        self.findings = [item for item in self.findings if not is_decided(item)]

    def done(self) -> Report:
        """The report, findings in order, those of one place and rule once."""
        return Report(
            ordered(dict.fromkeys(self.findings)),
            self.files,
            self.rows,
            ordered(dict.fromkeys(self.set_aside)),
            self.root,
        )


def _has_remarks(path: str) -> bool:
    """True where a line near the top of the file is a remark, as in a layer begun with `cropdata layer new`."""
    with open(path, "rb") as stream:
        return b"\n#" in b"\n" + stream.read(10_000)


def _inside(root: str, path: str) -> bool:
    """True where a path, links followed, stays in its folder."""
    place = os.path.realpath(root)
    return os.path.commonpath([place, os.path.realpath(path)]) == place
