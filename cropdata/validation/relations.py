"""Third storey: what must hold between tables."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from cropdata.tabular.descriptor import Descriptor, Table
from cropdata.tabular.rows import Row
from cropdata.validation.files import Chunk
from cropdata.validation.report import Finding

Tables = Mapping[str, list[tuple[int, Row]]]
Known = Mapping[str, Mapping[tuple[str, ...], set[str]]]


def _near(text: str, known: set[str]) -> str | None:
    import difflib

    close = difflib.get_close_matches(text, known, n=2)
    return f"did you mean {' or '.join(close)}?" if close else "add it there first, or correct the spelling"


def link_findings(chunk: Chunk, table: Table, file: str, known: Known) -> Iterator[Finding]:
    """Cells that must stand in another table and do not. `known`: table -> columns -> ids."""
    for key in table.foreign_keys:
        allowed = known.get(key.table, {}).get(key.to_fields)
        column = chunk.cells.get(key.fields[0])
        if allowed is None or column is None:
            continue
        broken = chunk.distinct(key.fields[0]) - allowed - {""}
        for number, text in zip(chunk.numbers, column, strict=True) if broken else ():
            if text in broken:
                yield Finding(
                    file,
                    number,
                    key.fields[0],
                    "link-broken",
                    "error",
                    text[:200],
                    f"an id of {key.table}",
                    f"is not in {key.table}",
                    _near(text, allowed),
                )


def known_ids(tables: Tables, descriptor: Descriptor) -> dict[str, dict[tuple[str, ...], set[str]]]:
    """The ids that links may point to."""
    known: dict[str, dict[tuple[str, ...], set[str]]] = {}
    for table in descriptor.tables.values():
        for key in table.foreign_keys:
            rows = tables.get(key.table, [])
            known.setdefault(key.table, {})[key.to_fields] = {row.get(key.to_fields[0], "") for _, row in rows} - {""}
    return known


def source_findings(tables: Tables, cited: set[str], descriptor: Descriptor) -> Iterator[Finding]:
    """Sources that are described and not `cited` anywhere, and lineages that name no source."""
    ids = {row.get("source_id", "") for _, row in tables.get("sources", [])}
    file = descriptor.tables["sources"].path
    for number, row in tables.get("sources", []):
        lineage = row.get("lineage", "")
        if row.get("source_id") not in cited and not any(
            other.get("lineage") == row.get("source_id") for _, other in tables["sources"]
        ):
            yield Finding(file, number, "source_id", "source-not-cited", "warning", row.get("source_id"), None,
                          "is described and cited nowhere", "delete it, or cite it")  # fmt: skip
        if lineage and lineage not in ids and not lineage.endswith("_original"):
            yield Finding(file, number, "lineage", "lineage-unknown", "error", lineage, "an id of sources, or a name that ends in _original",
                          "names no source", None)  # fmt: skip


def crop_findings(tables: Tables, descriptor: Descriptor) -> Iterator[Finding]:
    """Parents of another species or generation, retired crops without successor or still with evidence."""
    crops = {row.get("crop_id", ""): row for _, row in tables.get("crops", [])}
    file = descriptor.tables["crops"].path
    for number, row in tables.get("crops", []):
        parent = crops.get(row.get("parent_id", ""))
        if parent is not None:
            if parent.get("parent_id"):
                yield Finding(file, number, "parent_id", "parent-has-parent", "error", row["parent_id"], "a crop without parent",
                              "the parent has a parent itself", None)  # fmt: skip
            if row["scientific_name"].split()[:2] != parent["scientific_name"].split()[:2]:
                yield Finding(file, number, "parent_id", "parent-other-species", "error", row["parent_id"], "a crop of the same species",
                              f"{row['scientific_name']} cannot inherit from {parent['scientific_name']}", None)  # fmt: skip
        if row.get("status") == "retired" and not row.get("replaced_by"):
            yield Finding(file, number, "replaced_by", "retired-without-successor", "error", None, "the id of another crop",
                          "a retired crop names the crop to use instead", None)  # fmt: skip
    retired = {crop_id for crop_id, row in crops.items() if row.get("status") == "retired"}
    for table in descriptor.evidence:
        for number, row in tables.get(table.name, []):
            if row.get("crop_id") in retired:
                yield Finding(table.path, number, "crop_id", "evidence-for-retired", "error", row["crop_id"], "an active crop",
                              "the crop is retired", f"use {crops[row['crop_id']].get('replaced_by')}")  # fmt: skip


def decision_findings(tables: Tables, descriptor: Descriptor) -> Iterator[Finding]:
    """Decisions about rows that do not exist."""
    file = descriptor.tables["decisions"].path
    for number, row in tables.get("decisions", []):
        rows = tables.get(row.get("table", ""))
        if rows is None:
            yield Finding(
                file,
                number,
                "table",
                "decision-unknown-table",
                "error",
                row.get("table"),
                "an evidence table",
                "no such table",
                None,
            )
        elif not any(other.get("row_id") == row.get("row_id") for _, other in rows):
            yield Finding(file, number, "row_id", "decision-unknown-row", "error", row.get("row_id"), f"a row_id of {row['table']}",
                          "no such row", "delete the decision, or correct its row_id")  # fmt: skip
