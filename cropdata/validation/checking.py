"""The check of a package, a layer folder, one CSV file or a frame: every storey, every finding, one report."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Any

from cropdata.errors import CropdataError, InputError
from cropdata.tabular.descriptor import Descriptor, Table, read_descriptor
from cropdata.tabular.location import DESCRIPTOR, shipped_package
from cropdata.tabular.rows import Row
from cropdata.validation import plausibility, relations, tables
from cropdata.validation.files import Chunk, shape_of, whole_file
from cropdata.validation.reading import chunks
from cropdata.validation.report import Finding, Report, ordered

if TYPE_CHECKING:
    import pandas as pd

LAYER_FILE = "layer.yaml"
LAYERED = ("crops", "crop_names", "sources")
# Rows are held for the rules that look across rows only up to this many; bigger files are checked chunk by chunk.
MOST_HELD = 100_000
Progress = Callable[[int], None]
Peers = dict[tuple[str, str], dict[str, tuple[float, float]]]


def check(
    source: str | os.PathLike[str] | pd.DataFrame,
    *,
    table: str | None = None,
    standard: bool = True,
    progress: Progress | None = None,
) -> Report:
    """Check a data package (folder or descriptor), a layer folder, one CSV file named after a table, or a frame.

    Args:
        source: what to check.
        table: for a DataFrame, the name of its table.
        standard: for a package, ask frictionless for the standard's verdict too.
        progress: called with the number of rows read so far.

    Returns a Report with every finding. Raises InputError where there is nothing that can be checked.
    """
    if not isinstance(source, (str, os.PathLike)):
        return _Single(progress).of_frame(source, table)
    text = os.fspath(source)
    if os.path.basename(text) == DESCRIPTOR:
        text = os.path.dirname(text) or "."
    if os.path.isdir(text):
        if os.path.isfile(os.path.join(text, DESCRIPTOR)):
            return _Package(text, progress).report(standard=standard)
        if os.path.isfile(os.path.join(text, LAYER_FILE)):
            return _Layer(text, progress).report()
        raise InputError(
            "neither a data package nor a layer",
            file=text,
            allowed=f"a folder with {DESCRIPTOR} or {LAYER_FILE}, or a CSV file",
        )
    if os.path.isfile(text):
        return _Single(progress).of_file(text)
    raise InputError("no such file or folder", file=text)


class _Check:
    """What the three kinds of check share: reading files through the storeys."""

    layer = True

    def __init__(self, progress: Progress | None) -> None:
        self.progress = progress
        self.findings: list[Finding] = []
        self.held: dict[str, list[tuple[int, Row]]] = {}
        self.cited: set[str] = set()
        self.files = 0
        self.rows = 0

    def read(self, path: str, file: str, table: Table, known: relations.Known | None) -> None:
        """One file through files, tables, links and the rules of a row."""
        self.files += 1
        shape = shape_of(path, file, release=not self.layer)
        self.findings += shape.findings
        if shape.header:
            parts = chunks(path, file, shape.header, self.findings, comments=self.layer)
            self.read_chunks(parts, shape.header, file, table, known)

    def read_chunks(
        self, parts: Iterable[Chunk], header: list[str], file: str, table: Table, known: relations.Known | None
    ) -> None:
        """Rows, wherever they come from, through every storey above the file."""
        self.findings += tables.header_findings(header, table, file, layer=self.layer)
        if len(set(header)) < len(header):
            return
        rules = tables.rules_for(table, header, layer=self.layer)
        keys = None if self.layer else tables.Keys(table, header)
        held = self.held.setdefault(table.name, [])
        left_out = 0
        for chunk in parts:
            self.rows += len(chunk.numbers)
            self._chunk(chunk, table, file, rules, keys, known)
            if table.is_evidence and len(held) + len(chunk.numbers) > MOST_HELD:
                left_out += len(chunk.numbers)
            else:
                columns = list(chunk.cells.values())
                held += [
                    (number, dict(zip(header, cells, strict=True)))
                    for number, *cells in zip(chunk.numbers, *columns, strict=True)
                ]
            if self.progress:
                self.progress(self.rows)
        if left_out:
            self.findings.append(
                Finding(file, None, None, "rows-not-compared", "warning", f"{left_out} rows", f"{MOST_HELD} rows in one table",
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
        self.findings += tables.cell_findings(chunk, rules, file, layer=self.layer)
        if table.name != "sources" and "source_id" in chunk.cells:
            self.cited |= chunk.distinct("source_id")
        if keys is not None:
            self.findings += keys.findings(chunk, file)
        self.findings += plausibility.order_findings(chunk, table, file)
        self.findings += plausibility.canonical_findings(chunk, table, file)
        if known is not None:
            self.findings += relations.link_findings(chunk, table, file, known)

    def peers(
        self, file: str, table: Table, known: Peers, lineage_of: Mapping[str, str], best_c: Mapping[str, float]
    ) -> None:
        """Rules that hold a row against what other sources print."""
        rows = self.held.get(table.name, [])
        self.findings += plausibility.peer_findings(rows, table, file, known, lineage_of)
        if table.name == "emergence_by_temperature":
            self.findings += plausibility.warmer_but_slower(rows, file, best_c)

    def leave_decided(self, decided: set[tuple[str, str]], table_of: Mapping[str, str]) -> None:
        """A row that a decision sets aside is kept as printed, slips included: no plausibility finding for it.

        `decided`: (table, row_id); `table_of`: the table's name by its file.
        """
        ids = {name: {number: row.get("row_id", "") for number, row in rows} for name, rows in self.held.items()}

        def is_decided(item: Finding) -> bool:
            name = table_of.get(item.file, "")
            return item.rule in plausibility.RULES and (name, ids.get(name, {}).get(item.row or 0, "")) in decided

        self.findings = [item for item in self.findings if not is_decided(item)]

    def done(self) -> Report:
        """The report, findings in order, those of one place and rule once."""
        return Report(ordered(dict.fromkeys(self.findings)), self.files, self.rows)


def _decided(rows: list[tuple[int, Row]]) -> set[tuple[str, str]]:
    return {(row.get("table", ""), row.get("row_id", "")) for _, row in rows}


def _peers_of(
    rows: list[tuple[int, Row]], table: Table, lineage_of: Mapping[str, str], aside: set[tuple[str, str]]
) -> Peers:
    """What each lineage says of each crop and figure, from canonical cells that can be read."""
    found: Peers = {}
    if table.trait is None:
        return found
    for _, row in rows:
        if row.get("basis") != "published" or (table.name, row.get("row_id", "")) in aside:
            continue
        for quantity, columns in table.trait.quantities.items():
            numbers = [float(row[name]) for name in columns if _is_number(row.get(name))]
            if numbers:
                spans = found.setdefault((row.get("crop_id", ""), quantity), {})
                lineage = lineage_of.get(row.get("source_id", ""), row.get("source_id", ""))
                low, high = spans.get(lineage, (numbers[0], numbers[0]))
                spans[lineage] = (min(low, *numbers), max(high, *numbers))
    return found


def _is_number(text: str | None) -> bool:
    try:
        return bool(text) and float(text or "") == float(text or "")
    except ValueError:
        return False


def _best_temperatures(rows: list[tuple[int, Row]]) -> dict[str, float]:
    found: dict[str, float] = {}
    for _, row in rows:
        for name in ("optimum_low_c", "optimum_c"):
            if _is_number(row.get(name)):
                crop = row.get("crop_id", "")
                found[crop] = min(found.get(crop, 99.0), float(row[name]))
                break
    return found


class _Package(_Check):
    """A data package."""

    layer = False

    def __init__(self, folder: str, progress: Progress | None) -> None:
        super().__init__(progress)
        self.folder = folder
        self.files = 1  # the descriptor

    def report(self, *, standard: bool) -> Report:
        """Every storey over every table."""
        try:
            descriptor = read_descriptor(self.folder)
        except CropdataError as error:
            return Report((whole_file(DESCRIPTOR, "descriptor", str(error)),), 1, 0)
        unsafe = [table for table in descriptor.tables.values() if _leaves(table.path)]
        self.findings += [whole_file(DESCRIPTOR, "path-outside", "a path leaves the package or is no local file", found=table.path, allowed="a path inside the folder")
                          for table in unsafe]  # fmt: skip
        safe = [table for table in descriptor.tables.values() if table not in unsafe]
        pointed_at = {key.table for table in safe for key in table.foreign_keys}
        # What links point at is read first and held whole, so that every later row's links are checked as it is read.
        for table in safe:
            if table.name in pointed_at:
                self.read(os.path.join(self.folder, table.path), table.path, table, None)
        known = relations.known_ids(self.held, descriptor)
        for table in safe:
            if table.name in pointed_at:
                rows = _as_chunk(self.held.get(table.name, []))
                self.findings += relations.link_findings(rows, table, table.path, known)
            else:
                self.read(os.path.join(self.folder, table.path), table.path, table, known)
        self.findings += relations.source_findings(self.held, self.cited, descriptor)
        self.findings += relations.crop_findings(self.held, descriptor)
        self.findings += relations.decision_findings(self.held, descriptor)
        self._peers(descriptor)
        self.leave_decided(
            _decided(self.held.get("decisions", [])), {table.path: table.name for table in descriptor.tables.values()}
        )
        if standard and not unsafe:
            from cropdata.validation.standard import standard_findings

            self.findings += standard_findings(self.folder)
        return self.done()

    def _peers(self, descriptor: Descriptor) -> None:
        lineage_of = {row.get("source_id", ""): row.get("lineage", "") for _, row in self.held.get("sources", [])}
        aside = _decided(self.held.get("decisions", []))
        best_c = _best_temperatures(self.held.get("germination_temperature", []))
        for table in descriptor.evidence:
            known = _peers_of(self.held.get(table.name, []), table, lineage_of, aside)
            self.peers(table.path, table, known, lineage_of, best_c)


def _leaves(path: str) -> bool:
    return os.path.isabs(path) or ".." in path.split("/") or "\\" in path or "://" in path or path.startswith("~")


def _as_chunk(rows: list[tuple[int, Row]]) -> Chunk:
    names = list(rows[0][1]) if rows else []
    return Chunk([number for number, _ in rows], {name: [row.get(name, "") for _, row in rows] for name in names})


class _Release:
    """Ids and figures of the shipped release, for what is laid over it. Read only where asked for."""

    def __init__(self) -> None:
        self.folder = shipped_package()
        self.descriptor = read_descriptor(self.folder)
        self.by_file = {
            os.path.basename(table.path): table
            for table in self.descriptor.tables.values()
            if table.is_evidence or table.name in LAYERED
        }

    def rows(self, name: str) -> list[tuple[int, Row]]:
        """Rows of a table."""
        from cropdata.tabular.rows import read_rows

        return list(enumerate(read_rows(os.path.join(self.folder, self.descriptor.tables[name].path)), start=2))

    def known(self) -> dict[str, dict[tuple[str, ...], set[str]]]:
        """Ids of crops and sources."""
        return relations.known_ids({name: self.rows(name) for name in ("crops", "sources")}, self.descriptor)

    def peers(self, table: Table) -> tuple[Peers, dict[str, str]]:
        """What the release's lineages say, and the lineage of each source."""
        lineage_of = {row["source_id"]: row["lineage"] for _, row in self.rows("sources")}
        return _peers_of(self.rows(table.name), table, lineage_of, self.decided()), lineage_of

    def decided(self) -> set[tuple[str, str]]:
        """Rows that a decision of the release is about, as (table, row_id)."""
        return _decided(self.rows("decisions"))


class _Layer(_Check):
    """A layer folder."""

    def __init__(self, folder: str, progress: Progress | None) -> None:
        super().__init__(progress)
        self.folder = folder
        self.files = 1  # layer.yaml

    def report(self) -> Report:
        """Every storey, with fewer columns allowed; then what only shows when it is laid over the release."""
        release = _Release()
        known = release.known()
        places = self._places(release)
        for path, _, table in places:
            if table.name in ("crops", "sources"):
                self._own_ids(path, table, known)
        for path, file, table in places:
            self.read(path, file, table, known)
            if table.is_evidence and table.trait is not None and self.held.get(table.name):
                peers, lineage_of = release.peers(table)
                self.peers(file, table, peers, lineage_of, {})
        excused = self._exceptions()
        if not self.findings:
            self.findings += self._opening(release)
        self.findings = [
            item if not _excused(item, excused) else item._replace(severity="excused") for item in self.findings
        ]
        return self.done()

    def _places(self, release: _Release) -> list[tuple[str, str, Table]]:
        found = []
        for place, _, names in sorted(os.walk(self.folder)):
            for name in sorted(names):
                file = os.path.relpath(os.path.join(place, name), self.folder)
                if not name.endswith(".csv"):
                    continue
                if name in release.by_file:
                    found.append((os.path.join(place, name), file, release.by_file[name]))
                else:
                    self.findings.append(
                        whole_file(
                            file,
                            "file-unknown-table",
                            "is named after no table",
                            found=name,
                            allowed=", ".join(sorted(release.by_file)),
                        )
                    )
        return found

    def _own_ids(self, path: str, table: Table, known: dict[str, dict[tuple[str, ...], set[str]]]) -> None:
        shape = shape_of(path, path, release=False)
        for chunk in chunks(path, path, shape.header, [], comments=True) if shape.header else ():
            for ids in known.get(table.name, {}).values():
                ids.update(chunk.cells.get(table.primary_key[0], []))

    def _settings(self) -> dict[str, Any]:
        import yaml

        try:
            with open(os.path.join(self.folder, LAYER_FILE), encoding="utf-8-sig") as stream:
                read = yaml.safe_load(stream.read(1_000_000))
        except (OSError, UnicodeDecodeError, yaml.YAMLError, RecursionError):
            return {}
        return read if isinstance(read, dict) else {}

    def _exceptions(self) -> list[dict[str, Any]]:
        """Reasoned exceptions of layer.yaml: file, row, rule, reason. One without a reason does not count."""
        listed = self._settings().get("exceptions", [])
        return (
            [item for item in listed if isinstance(item, dict) and item.get("reason")]
            if isinstance(listed, list)
            else []
        )

    def _opening(self, release: _Release) -> list[Finding]:
        from cropdata.catalog import open_catalog
        from cropdata.catalog.layers import read_layer

        try:
            read_layer(self.folder, release.descriptor)
            open_catalog(layers=[self.folder])
        except CropdataError as error:
            return [whole_file(LAYER_FILE, "layer-does-not-fit", str(error))]
        return []


def _excused(item: Finding, exceptions: list[dict[str, Any]]) -> bool:
    return item.rule in plausibility.RULES and any(
        str(rule.get("file")) == item.file and rule.get("row") == item.row and rule.get("rule") == item.rule
        for rule in exceptions
    )


class _Single(_Check):
    """One table by itself, a CSV file or a frame, held against the shipped release."""

    def of_file(self, path: str) -> Report:
        """The file by the table it is named after."""
        release = _Release()
        name = os.path.basename(path)
        table = release.by_file.get(name)
        if table is None:
            raise InputError(
                "is named after no table",
                file=path,
                allowed=", ".join(sorted(release.by_file)),
                hint="a single CSV is checked by its name",
            )
        self.read(path, name, table, release.known())
        return self._compared(name, table, release)

    def of_frame(self, frame: pd.DataFrame, name: str | None) -> Report:
        """The frame by the table that it is said to be of; `row` counts the first data row as 2, as a sheet does."""
        from cropdata.validation.frames import texts_of

        release = _Release()
        tables_by_name = {table.name: table for table in release.by_file.values()}
        if name not in tables_by_name:
            raise InputError(
                "which table is the frame of?",
                found=name,
                allowed=", ".join(sorted(tables_by_name)),
                hint='check(frame, table="sowing_depth")',
            )
        table = tables_by_name[name]
        header = [str(column) for column in frame.columns]
        self.read_chunks(
            [texts_of(frame)] if len(set(header)) == len(header) else [], header, name, table, release.known()
        )
        self.files = 1
        return self._compared(name, table, release)

    def _compared(self, file: str, table: Table, release: _Release) -> Report:
        if table.is_evidence and table.trait is not None and self.held.get(table.name):
            peers, lineage_of = release.peers(table)
            self.peers(file, table, peers, lineage_of, {})
        self.leave_decided(release.decided(), {file: table.name})
        return self.done()
