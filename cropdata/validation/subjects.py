"""What can be checked: a data package, a layer folder, one CSV file, a frame; every storey, every finding, one report."""

from __future__ import annotations

import functools
import os
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from cropdata.errors import CropdataError, InputError
from cropdata.tabular.descriptor import Descriptor, Table, parse_descriptor, read_descriptor
from cropdata.tabular.location import DESCRIPTOR, LAYER_FILE, shipped_package
from cropdata.tabular.rows import Row, read_rows
from cropdata.validation import relations
from cropdata.validation.checking import Check, Progress
from cropdata.validation.comparing import Evidence
from cropdata.validation.contents import statements_of
from cropdata.validation.exceptions import Exceptions
from cropdata.validation.files import Chunk, shape_of, whole_file
from cropdata.validation.reading import chunks
from cropdata.validation.report import Finding, Report
from cropdata.validation.shape import read_raw
from cropdata.validation.trust import KEPT_FROM_LIBRARIES, descriptor_findings, is_outside

if TYPE_CHECKING:
    import pandas as pd


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
        progress: called with the file, the rows read so far, and the share of the file that is read (None: unknown).

    Returns a Report with every finding. Raises InputError where there is nothing that can be checked.
    """
    if not isinstance(source, (str, os.PathLike)):
        return _Single(progress).of_frame(source, table)
    text = os.fspath(source)
    if os.path.basename(text) in (DESCRIPTOR, LAYER_FILE):
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


def _decided(rows: list[tuple[int, Row]]) -> set[tuple[str, str]]:
    return {(row.get("table", ""), row.get("row_id", "")) for _, row in rows}


class _Package(Check):
    """A data package."""

    layer = False

    def __init__(self, folder: str, progress: Progress | None) -> None:
        super().__init__(progress)
        self.folder = self.root = folder
        self.files = 1  # the descriptor

    def report(self, *, standard: bool) -> Report:
        """Every storey over every table."""
        raw, self.findings = read_raw(self.folder)
        if raw:
            self.findings += descriptor_findings(raw)
        if self.findings and any(item.rule in ("descriptor", "descriptor-reference") for item in self.findings):
            return self.done()  # nothing can be read by it
        try:
            descriptor = parse_descriptor(raw)
        except CropdataError as error:
            self.findings.append(whole_file(DESCRIPTOR, "descriptor", str(error).removeprefix(f"{DESCRIPTOR}: ")))
            return self.done()
        safe = [table for table in descriptor.tables.values() if not is_outside(table.path)]
        self._tables(descriptor, safe)
        if standard and not any(item.rule in KEPT_FROM_LIBRARIES for item in self.findings):
            from cropdata.validation.standard import standard_findings

            if self.progress:
                self.progress("the standard's own verdict, by frictionless", self.rows, None)
            self.findings += standard_findings(self.folder)
        return self.done()

    def _tables(self, descriptor: Descriptor, safe: list[Table]) -> None:
        pointed_at = {key.table for table in safe for key in table.foreign_keys}
        # What links point at is read first and held whole, so that every later row's links are checked as it is read.
        for table in safe:
            if table.name in pointed_at:
                self.read(os.path.join(self.folder, table.path), table.path, table, None)
        known = relations.known_ids(self.held, descriptor)
        # Decisions come before the rows that they are about.
        for table in sorted(safe, key=lambda table: table.name != "decisions"):
            if table.name in pointed_at:
                rows = _as_chunk(self.held.get(table.name, []))
                self.findings += relations.link_findings(rows, table, table.path, known)
            else:
                self.read(os.path.join(self.folder, table.path), table.path, table, known)
                self.decided = _decided(self._rows("decisions"))
        self._between(descriptor)
        self._compared(descriptor)

    def _rows(self, name: str) -> list[tuple[int, Row]]:
        return self.held.get(name, [])

    def _between(self, descriptor: Descriptor) -> None:
        """Rules between tables."""
        paths = {name: table.path for name, table in descriptor.tables.items()}
        crops = {row.get("crop_id", ""): row for _, row in self._rows("crops")}
        sources = {row.get("source_id", "") for _, row in self._rows("sources")}
        if "sources" in paths:
            self.findings += relations.source_findings(
                self._rows("sources"), paths["sources"], self.cited - {""}, sources
            )
        if "crops" in paths:
            self.findings += relations.crop_findings(self._rows("crops"), paths["crops"], crops)
            shipped = _Release()
            if _same_major(descriptor, shipped.descriptor) and not os.path.samefile(self.folder, shipped.folder):
                before = [row["crop_id"] for _, row in shipped.rows("crops")]
                self.findings += relations.vanished_findings(crops, paths["crops"], before)
        if "crop_names" in paths:
            names = self._rows("crop_names")
            self.findings += relations.name_findings(names, paths["crop_names"], names)
        for name, contents in self.contents.items():
            self.findings += contents.spread(relations.retired_findings(contents, paths[name], crops))
        if "decisions" in paths:
            named = {name: set(contents.ids.values()) for name, contents in self.contents.items()}
            self.findings += relations.decision_findings(self._rows("decisions"), paths["decisions"], named)

    def _compared(self, descriptor: Descriptor) -> None:
        evidence = Evidence()
        evidence.add_crops(self._rows("crops"))
        evidence.add_sources(self._rows("sources"))
        for name, contents in self.contents.items():
            evidence.add(descriptor.tables[name], contents.statements(), self.decided)
        for table in descriptor.tables.values():
            self.across_rows(table, table.path, evidence)
        self.leave_decided({table.path: table.name for table in descriptor.tables.values()})


def _same_major(one: Descriptor, other: Descriptor) -> bool:
    return one.raw.get("name") == other.raw.get("name") and one.version.split(".")[0] == other.version.split(".")[0]


def _as_chunk(rows: list[tuple[int, Row]]) -> Chunk:
    names = list(rows[0][1]) if rows else []
    return Chunk([number for number, _ in rows], {name: [row.get(name, "") for _, row in rows] for name in names})


class _Release:
    """Ids and figures of the shipped release, for what is laid over it. Read only where asked for."""

    def __init__(self) -> None:
        self.folder = shipped_package()
        self.descriptor = read_descriptor(self.folder)
        self._read: dict[str, list[tuple[int, Row]]] = {}

    @functools.cached_property
    def by_file(self) -> dict[str, Table]:
        """The tables that a layer may hold, by the name of their file."""
        from cropdata.catalog.layers import layer_tables

        return layer_tables(self.descriptor)

    def rows(self, name: str) -> list[tuple[int, Row]]:
        """Rows of a table."""
        if name not in self._read:
            path = os.path.join(self.folder, self.descriptor.tables[name].path)
            self._read[name] = list(enumerate(read_rows(path), start=2))
        return self._read[name]

    def known(self) -> dict[str, dict[tuple[str, ...], set[str]]]:
        """Ids of crops, sources and methods: all that a layer's rows may link to."""
        return relations.known_ids({name: self.rows(name) for name in ("crops", "sources", "methods")}, self.descriptor)

    def evidence(self, table: Table, varieties: Mapping[str, str]) -> Evidence:
        """What the release knows that a row of `table` can be held against.

        `varieties`: a layer's own crops and their parents; a variety is held against the nearest that has figures.
        """
        evidence = Evidence()
        evidence.add_crops(self.rows("crops"))
        evidence.add_crops(enumerate(self._related(table, varieties)))
        evidence.add_sources(self.rows("sources"))
        wanted = {"sowing_depth": "seeds_per_gram", "emergence_by_temperature": "germination_temperature"}
        for name in {table.name, wanted.get(table.name, table.name)}:
            evidence.add(self.descriptor.tables[name], statements_of(self.rows(name)), self.decided())
        return evidence

    def _related(self, table: Table, varieties: Mapping[str, str]) -> Iterator[Row]:
        crops = {row["crop_id"]: row for _, row in self.rows("crops")} if varieties else {}
        told = {row["crop_id"] for _, row in self.rows(table.name)} if varieties else set()
        for crop_id, parent_id in varieties.items():
            line = [parent_id]
            while line[-1] not in told and (
                above := varieties.get(line[-1]) or crops.get(line[-1], {}).get("parent_id")
            ):
                if above in line:
                    break
                line.append(above)
            yield crops.get(line[-1], {}) | {"crop_id": crop_id, "parent_id": line[-1]}

    def decided(self) -> set[tuple[str, str]]:
        """Rows that a decision of the release is about, as (table, row_id)."""
        return _decided(self.rows("decisions"))


class _Over(Check):
    """What is held against the shipped release: a layer, a single file, a frame."""

    def __init__(self, progress: Progress | None) -> None:
        super().__init__(progress)
        self.release = _Release()
        self.known = self.release.known()
        self.decided = self.release.decided()
        self.varieties: dict[str, str] = {}

    def compared(self, file: str, table: Table) -> None:
        """Rules between rows and tables, for the rows held of one file."""
        rows, contents = self.held.get(table.name, []), self.contents.get(table.name)
        release = self.release
        if not rows and not contents:
            return
        self.across_rows(table, file, release.evidence(table, self.varieties) if table.is_evidence else Evidence())
        crops = {row["crop_id"]: row for _, row in release.rows("crops")}
        if contents:
            self.findings += contents.spread(relations.retired_findings(contents, file, crops))
        elif table.name == "crops":
            self.findings += relations.own_crop_findings(rows, file, crops)
            own = {
                row.get("crop_id", ""): row for _, row in rows
                if row.get("crop_id") not in crops or row.get("action") == "override"
            }  # fmt: skip
            self.findings += relations.crop_findings(rows, file, crops | own, layer=True)
            names = [
                (number, {"name": row.get("name", ""), "language": language, "crop_id": row.get("crop_id", "")})
                for number, row in rows if row.get("name") for language in ("en-GB", "en-US")
            ]  # fmt: skip
            self.findings += relations.name_findings(names, file, [*release.rows("crop_names"), *names])
        elif table.name == "crop_names":
            self.findings += relations.name_findings(rows, file, [*release.rows("crop_names"), *rows])


class _Layer(_Over):
    """A layer folder."""

    def __init__(self, folder: str, progress: Progress | None) -> None:
        super().__init__(progress)
        self.folder = self.root = folder
        self.files = 1  # layer.yaml

    def report(self) -> Report:
        """Every storey, with fewer columns allowed; then what only shows when it is laid over the release."""
        places = self._places()
        for path, _, table in places:
            if table.name in ("crops", "sources"):
                self._own_ids(path, table)
        described: dict[str, list[tuple[int, Row]]] = {}
        for path, file, table in places:
            self.held.pop(table.name, None)
            self.contents.pop(table.name, None)
            self.read(path, file, table, self.known)
            self.compared(file, table)
            if table.name == "sources":
                described[file] = self.held.get(table.name, [])
        ids = next(iter(self.known["sources"].values()))
        for file, rows in described.items():
            self.findings += relations.source_findings(rows, file, self.cited, ids)
        exceptions = Exceptions.read(self.folder)
        self.findings += exceptions.findings
        self.findings = [*exceptions.applied(self.findings)]
        self.findings += self._opening()
        return self.done()

    def _places(self) -> list[tuple[str, str, Table]]:
        found = []
        for place, folders, names in sorted(os.walk(self.folder)):
            for name in folders:
                if os.path.islink(os.path.join(place, name)):
                    self.findings.append(whole_file(name, "path-link", "is a symbolic link", hint="put the folder itself there"))  # fmt: skip
            for name in sorted(names):
                file = os.path.relpath(os.path.join(place, name), self.folder).replace(os.sep, "/")
                if not name.endswith(".csv"):
                    continue
                if name in self.release.by_file:
                    found.append((os.path.join(place, name), file, self.release.by_file[name]))
                else:
                    allowed = ", ".join(sorted(self.release.by_file))
                    self.findings.append(whole_file(file, "file-unknown-table", "is named after no table", found=name, allowed=allowed, hint="rename it, or move it out of the layer"))  # fmt: skip
        return found

    def _own_ids(self, path: str, table: Table) -> None:
        shape = shape_of(path, path, release=False)
        for chunk in chunks(path, path, shape, [], comments=True) if shape.header else ():
            for ids in self.known.get(table.name, {}).values():
                ids.update(chunk.cells.get(table.primary_key[0], []))
            if "parent_id" in chunk.cells and "crop_id" in chunk.cells:
                pairs = zip(chunk.cells["crop_id"], chunk.cells["parent_id"], strict=True)
                self.varieties.update((crop_id, parent_id) for crop_id, parent_id in pairs if parent_id)

    def _opening(self) -> list[Finding]:
        """What only shows when the layer is laid over the release: each such mistake, beside those that are told already."""
        from cropdata.validation.over_release import laid

        return list(laid(self.folder, [item for item in self.findings if item.severity == "error"]))


class _Single(_Over):
    """One table by itself, a CSV file or a frame, held against the shipped release."""

    def of_file(self, path: str) -> Report:
        """The file by the table it is named after."""
        name = os.path.basename(path)
        self.root = os.path.dirname(path) or "."
        table = self.release.by_file.get(name)
        if table is None:
            raise InputError(
                "is named after no table",
                file=path,
                allowed=", ".join(sorted(self.release.by_file)),
                hint="a single CSV is checked by its name",
            )
        self.read(path, name, table, self.known)
        return self._report(name, table)

    def of_frame(self, frame: pd.DataFrame, name: str | None) -> Report:
        """The frame by the table that it is said to be of; `row` counts the first data row as 2, as a sheet does."""
        from cropdata.validation.frames import texts_of

        tables_by_name = {table.name: table for table in self.release.by_file.values()}
        if name not in tables_by_name:
            raise InputError(
                "which table is the frame of?",
                found=name,
                allowed=", ".join(sorted(tables_by_name)),
                hint='check(frame, table="sowing_depth")',
            )
        table = tables_by_name[name]
        header = [str(column) for column in frame.columns]
        parts = [texts_of(frame)] if header and len(set(header)) == len(header) else []
        self.read_chunks(parts, header, name, table, self.known)
        self.files = 1
        return self._report(name, table)

    def _report(self, file: str, table: Table) -> Report:
        self.compared(file, table)
        self.leave_decided({file: table.name})
        return self.done()
