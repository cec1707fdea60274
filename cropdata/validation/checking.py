"""The check of a package, a layer folder or one CSV file: every storey, every finding, one report."""

from __future__ import annotations

import os
from collections.abc import Iterable

from cropdata.catalog.layers import LAYER_FILE, read_layer
from cropdata.errors import CropdataError, InputError
from cropdata.tabular.descriptor import Descriptor, Table, read_descriptor
from cropdata.tabular.location import DESCRIPTOR, shipped_package
from cropdata.tabular.rows import Row
from cropdata.validation import plausibility, relations, tables
from cropdata.validation.files import read_file, whole_file
from cropdata.validation.report import Finding, Report, ordered


def check(path: str | os.PathLike[str], *, standard: bool = True) -> Report:
    """Check a data package (folder or descriptor), a layer folder or one CSV file named after a table.

    Args:
        path: what to check.
        standard: for a package, ask frictionless for the standard's verdict too.

    Returns a Report with every finding. Raises InputError where there is nothing that can be checked.
    """
    text = os.fspath(path)
    if os.path.basename(text) == DESCRIPTOR:
        text = os.path.dirname(text) or "."
    if os.path.isdir(text):
        if os.path.isfile(os.path.join(text, DESCRIPTOR)):
            return _check_package(text, standard=standard)
        if os.path.isfile(os.path.join(text, LAYER_FILE)):
            return _check_layer(text)
        raise InputError(
            "neither a data package nor a layer",
            file=text,
            allowed=f"a folder with {DESCRIPTOR} or {LAYER_FILE}, or a CSV file",
        )
    if os.path.isfile(text):
        return _check_single(text)
    raise InputError("no such file or folder", file=text)


def _table_findings(
    rows: list[tuple[int, Row]], header: list[str], table: Table, file: str, *, layer: bool
) -> Iterable[Finding]:
    yield from tables.header_findings(header, table, file, layer=layer)
    present = table._replace(
        fields=tuple(field for field in table.fields if field.name in header or (layer and field.name == "crop_id"))
    )
    yield from tables.cell_findings(rows, present, file, layer=layer)
    if not layer:
        yield from tables.key_findings(rows, table, file)
    yield from plausibility.order_findings(rows, table, file)
    yield from plausibility.canonical_findings(rows, table, file)


def _check_package(folder: str, *, standard: bool) -> Report:
    try:
        descriptor = read_descriptor(folder)
    except CropdataError as error:
        return Report((whole_file(DESCRIPTOR, "descriptor", str(error)),), 1, 0)
    findings: list[Finding] = []
    read: dict[str, list[tuple[int, Row]]] = {}
    for table in descriptor.tables.values():
        if os.path.isabs(table.path) or ".." in table.path.split("/"):
            findings.append(whole_file(DESCRIPTOR, "path-outside", "a path leaves the package", found=table.path))
            continue
        result = read_file(os.path.join(folder, table.path), table.path, release=True)
        findings += result.findings
        read[table.name] = result.rows
        if result.header:
            findings += _table_findings(result.rows, result.header, table, table.path, layer=False)
    findings = _without_decided(findings, read, descriptor)
    known = relations.known_ids(read, descriptor)
    for name, rows in read.items():
        findings += relations.link_findings(rows, descriptor.tables[name], descriptor.tables[name].path, known)
    findings += relations.source_findings(read, descriptor)
    findings += relations.crop_findings(read, descriptor)
    findings += relations.decision_findings(read, descriptor)
    if standard:
        from cropdata.validation.standard import standard_findings

        findings += standard_findings(folder)
    return Report(ordered(findings), len(read) + 1, sum(len(rows) for rows in read.values()))


def _without_decided(
    findings: list[Finding], read: dict[str, list[tuple[int, Row]]], descriptor: Descriptor
) -> list[Finding]:
    """A row that a decision sets aside is kept as printed, slips included: no plausibility finding for it."""
    decided = {(row.get("table"), row.get("row_id")) for _, row in read.get("decisions", [])}
    files = {
        descriptor.tables[name].path: (name, {number: row.get("row_id") for number, row in rows})
        for name, rows in read.items()
    }

    def is_decided(item: Finding) -> bool:
        name, row_ids = files.get(item.file, (None, {}))
        return item.rule in plausibility.RULES and (name, row_ids.get(item.row or 0)) in decided

    return [item for item in findings if not is_decided(item)]


def _release_ids(descriptor: Descriptor) -> dict[str, dict[tuple[str, ...], set[str]]]:
    folder = shipped_package()
    rows = {
        name: read_file(os.path.join(folder, descriptor.tables[name].path), name, release=True).rows
        for name in ("crops", "sources")
    }
    return relations.known_ids(rows, descriptor)


def _layer_tables(descriptor: Descriptor) -> dict[str, Table]:
    return {os.path.basename(table.path): table for table in descriptor.tables.values() if not table.is_derived}


def _check_layer(folder: str) -> Report:
    descriptor = read_descriptor(shipped_package())
    by_file = _layer_tables(descriptor)
    known = _release_ids(descriptor)
    findings: list[Finding] = []
    read: list[tuple[str, Table, list[tuple[int, Row]]]] = []
    for place, _, names in sorted(os.walk(folder)):
        for name in sorted(names):
            if not name.endswith(".csv"):
                continue
            file = os.path.relpath(os.path.join(place, name), folder)
            table = by_file.get(name)
            if table is None:
                findings.append(
                    whole_file(
                        file,
                        "file-unknown-table",
                        "is named after no table",
                        found=name,
                        allowed=", ".join(sorted(by_file)),
                    )
                )
                continue
            result = read_file(os.path.join(place, name), file, release=False)
            findings += result.findings
            if result.header:
                findings += _table_findings(result.rows, result.header, table, file, layer=True)
                read.append((file, table, result.rows))
    for _, table, rows in read:
        if table.name in ("crops", "sources"):
            for ids in known.get(table.name, {}).values():
                ids.update(row.get(table.primary_key[0], "") for _, row in rows)
    for file, table, rows in read:
        findings += relations.link_findings(rows, table, file, known)
    if not findings:
        findings += _opening_findings(folder, descriptor)
    return Report(ordered(findings), len(read) + 1, sum(len(rows) for _, _, rows in read))


def _opening_findings(folder: str, descriptor: Descriptor) -> list[Finding]:
    """What only shows when the layer is laid over the release."""
    from cropdata.catalog import open_catalog

    try:
        read_layer(folder, descriptor)
        open_catalog(layers=[folder])
    except CropdataError as error:
        return [whole_file(LAYER_FILE, "layer-does-not-fit", str(error))]
    return []


def _check_single(path: str) -> Report:
    descriptor = read_descriptor(shipped_package())
    by_file = _layer_tables(descriptor)
    name = os.path.basename(path)
    table = by_file.get(name)
    if table is None:
        raise InputError(
            "is named after no table",
            file=path,
            allowed=", ".join(sorted(by_file)),
            hint="a single CSV is checked by its name",
        )
    result = read_file(path, name, release=False)
    findings = list(result.findings)
    if result.header:
        findings += _table_findings(result.rows, result.header, table, name, layer=True)
        findings += relations.link_findings(result.rows, table, name, _release_ids(descriptor))
    return Report(ordered(findings), 1, len(result.rows))
