"""Third storey: what must hold between tables."""

from __future__ import annotations

import difflib
import functools
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from cropdata.catalog.layer_sources import is_memory, is_source_name
from cropdata.errors import CropdataError, UnknownCropError
from cropdata.tabular.descriptor import Descriptor, Table
from cropdata.tabular.rows import Row
from cropdata.validation.fast import CodedColumns
from cropdata.validation.files import Chunk
from cropdata.validation.report import Finding

if TYPE_CHECKING:
    from cropdata.catalog.names import NameIndex

Numbered = list[tuple[int, Row]]
Tables = Mapping[str, list[tuple[int, Row]]]
Known = Mapping[str, Mapping[tuple[str, ...], set[str]]]


def _near(text: str, known: set[str]) -> str | None:
    close = difflib.get_close_matches(text, known, n=2)
    return f"did you mean {' or '.join(close)}?" if close else "add it there first, or correct the spelling"


def link_findings(chunk: Chunk, table: Table, file: str, known: Known, *, layer: bool = False) -> Iterator[Finding]:
    """Cells that must stand in another table and do not. `known`: table -> columns -> ids.

    `layer`: a source may be named in words, and a crop that is known by another name is told by its id.
    """
    for key in table.foreign_keys:
        allowed = known.get(key.table, {}).get(key.to_fields)
        column = chunk.cells.get(key.fields[0])
        if allowed is None or column is None:
            continue
        broken = set(chunk.distinct(key.fields[0])) - allowed - {""}
        if layer:  # blanks at the ends are told as such
            broken = {text for text in broken if text.strip() not in allowed}
        if broken and layer and key.table == "sources":
            broken = {text for text in broken if not is_source_name(text, allowed)}
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
                    _crop_meant(text, allowed) if layer and key.table == "crops" else _near(text, allowed),
                )


@functools.cache
def _release_names() -> NameIndex:
    from cropdata.catalog import open_catalog

    return open_catalog(installed=False).names()


def _crop_meant(text: str, allowed: set[str]) -> str | None:
    """The id of the crop that a grower calls so."""
    try:
        return f"the id of {text} is {_release_names()(text)}"
    except UnknownCropError as error:
        close = difflib.get_close_matches(text, allowed, n=2) or error.suggestions[:3]
    except CropdataError:
        close = ()
    return f"did you mean {' or '.join(close)}?" if close else "add it to crops.csv, or correct the spelling"


def known_ids(tables: Tables, descriptor: Descriptor) -> dict[str, dict[tuple[str, ...], set[str]]]:
    """The ids that links may point to."""
    known: dict[str, dict[tuple[str, ...], set[str]]] = {}
    for table in descriptor.tables.values():
        for key in table.foreign_keys:
            ids = known.setdefault(key.table, {})
            if key.to_fields not in ids:
                ids[key.to_fields] = {row.get(key.to_fields[0], "") for _, row in tables.get(key.table, [])} - {""}
    return known


def _slug(title: str) -> str:
    from cropdata.catalog.layer_sources import source_slug

    return source_slug(title)


def source_findings(rows: Numbered, file: str, cited: set[str], known: set[str]) -> Iterator[Finding]:
    """Sources that are neither `cited` nor the original of another, and lineages that are none of the `known` sources."""
    own = [
        (number, row.get("source_id") or _slug(row.get("title", "")), row.get("lineage", "")) for number, row in rows
    ]
    titles = {row.get("title", "").casefold(): source_id for (_, row), (_, source_id, _) in zip(rows, own, strict=True)}
    # A layer may cite by title.
    cited = cited | {
        titles.get(text.casefold()) or _slug(text) for text in cited - {source_id for _, source_id, _ in own}
    }
    originals = {lineage for _, source_id, lineage in own if lineage != source_id}
    for number, source_id, lineage in own:
        if source_id and source_id not in cited and source_id not in originals:
            yield Finding(file, number, "source_id", "source-not-cited", "warning", source_id, "a source that some row cites",
                          "is described and cited nowhere", "delete it, or cite it")  # fmt: skip
        if lineage and lineage not in known and not lineage.endswith("_original"):
            yield Finding(file, number, "lineage", "lineage-unknown", "error", lineage, "an id of sources, or a name that ends in _original",
                          "names no source", _near(lineage, known))  # fmt: skip


def crop_findings(rows: Numbered, file: str, crops: Mapping[str, Row], *, layer: bool = False) -> Iterator[Finding]:
    """Parents of another species or generation, retired crops without a successor. `crops`: all of them by id.

    `layer`: a grower's variety may be one of a type, such as a pole bean.
    """
    for number, row in rows:
        parent = crops.get(row.get("parent_id", ""))
        if parent is not None:
            above = crops.get(parent.get("parent_id", ""), {}) if layer else parent
            if parent is row or above.get("parent_id"):
                yield Finding(file, number, "parent_id", "parent-has-parent", "error", row["parent_id"], "a crop without parent",
                              "the parent has a parent itself", "name the parent's parent, or none")  # fmt: skip
            if _species(row) and _species(row) != _species(parent):
                yield Finding(file, number, "parent_id", "parent-other-species", "error", row["parent_id"], "a crop of the same species",
                              f"{row['scientific_name']} cannot inherit from {parent['scientific_name']}", "leave parent_id empty")  # fmt: skip
        if row.get("status") == "retired" and _is_gone(row.get("replaced_by", ""), crops):
            yield Finding(file, number, "replaced_by", "retired-without-successor", "error", row.get("replaced_by") or None, "the id of an active crop",
                          "a retired crop names the crop to use instead", None)  # fmt: skip


def own_crop_findings(rows: Numbered, file: str, crops: Mapping[str, Row]) -> Iterator[Finding]:
    """A layer's crops under an id that another crop has, in the layer or in the release. `crops`: the release's by id."""
    first: dict[str, int] = {}
    for number, row in rows:
        crop_id = row.get("crop_id", "")
        if not crop_id or row.get("action") == "hide":
            continue
        if first.setdefault(crop_id, number) != number:
            yield Finding(file, number, "crop_id", "key-twice", "error", crop_id, "each crop once",
                          f"the crop stands in row {first[crop_id]} already", "delete one row, or give one another id")  # fmt: skip
        elif crop_id in crops and row.get("action") != "override":
            yield Finding(file, number, "crop_id", "key-twice", "error", crop_id, "an id that no crop has yet",
                          "the release has a crop of this id", "give yours another id, or write override under action to change that crop")  # fmt: skip


def _species(row: Row) -> list[str]:
    return row.get("scientific_name", "").split()[:2]


def _is_gone(crop_id: str, crops: Mapping[str, Row]) -> bool:
    return not crop_id or (crop_id in crops and crops[crop_id].get("status") == "retired")


def retired_findings(rows: Iterable[tuple[int, Row]], file: str, crops: Mapping[str, Row]) -> Iterator[Finding]:
    """Evidence for a crop that is retired."""
    retired = {crop_id: row for crop_id, row in crops.items() if row.get("status") == "retired"}
    for number, row in rows if retired else ():
        if row.get("crop_id") in retired:
            yield Finding(file, number, "crop_id", "evidence-for-retired", "error", row["crop_id"], "an active crop",
                          "the crop is retired", f"use {retired[row['crop_id']].get('replaced_by') or 'the crop that replaces it'}")  # fmt: skip


def name_findings(rows: Numbered, file: str, all_names: Numbered) -> Iterator[Finding]:
    """Common names that stand for two crops in one language. Scientific names of a whole genus may."""
    crops_of: dict[tuple[str, str], set[str]] = {}
    for _, row in all_names:
        if row.get("kind", "common") == "common":
            crops_of.setdefault(_name_key(row), set()).add(row.get("crop_id", ""))
    for number, row in rows:
        others = crops_of.get(_name_key(row), set()) - {row.get("crop_id", "")}
        if others and row.get("kind", "common") == "common":
            yield Finding(file, number, "name", "name-two-crops", "warning", row["name"], "a name of one crop only",
                          f"also stands for {', '.join(sorted(others))}", "delete one, or make the name longer")  # fmt: skip


def _name_key(row: Row) -> tuple[str, str]:
    return row.get("name", "").casefold(), row.get("language", "")


def label_findings(chunk: Chunk, file: str, known: Known, *, in_order: bool = False) -> Iterator[Finding]:
    """Row ids that speak of another crop or source than their row; kinds of statement that do not fit the source.

    A misspelt crop or source is a broken link and not told twice. `in_order`: the chunk's row ids are known to rise.
    """
    if "source_id" not in chunk.cells:
        return
    if "row_id" in chunk.cells and "crop_id" in chunk.cells:
        ids = set().union(*(ids for name in ("crops", "sources") for ids in known.get(name, {}).values()))
        crops, sources, row_ids = (chunk.cells[name] for name in ("crop_id", "source_id", "row_id"))
        places: Sequence[int] = range(len(row_ids))
        if in_order and isinstance(chunk.cells, CodedColumns):
            # Whatever stands between two ids that begin alike begins so too, so the ends of a run speak for it.
            places = chunk.cells.ends_of_runs(("crop_id", "source_id"))
        fit = all(row_ids[place].startswith(f"{crops[place]}.{sources[place]}.") for place in places)
        for number, row_id, crop, source in () if fit else zip(chunk.numbers, row_ids, crops, sources, strict=True):
            start = f"{crop}.{source}."
            if row_id and crop in ids and source in ids and not row_id.startswith(start):
                yield Finding(file, number, "row_id", "row-id-other", "warning", row_id, f"{start} and a number",
                              "names another crop or source than the row", "correct whichever is wrong")  # fmt: skip
    recalled = set(filter(is_memory, chunk.distinct("source_id"))) if "basis" in chunk.cells else set()
    if recalled:
        for number, source, basis in zip(chunk.numbers, chunk.cells["source_id"], chunk.cells["basis"], strict=True):
            if source in recalled and basis == "published":
                yield Finding(file, number, "basis", "basis-against-source", "warning", "published", "from_memory or common_practice",
                              "what is only remembered is not published", "name the page, or say from_memory")  # fmt: skip


def vanished_findings(crops: Mapping[str, Row], file: str, shipped: Iterable[str]) -> Iterator[Finding]:
    """Crops of the `shipped` release that are gone: an id is permanent."""
    for crop_id in sorted(set(shipped) - set(crops)):
        yield Finding(file, None, "crop_id", "id-vanished", "error", crop_id, "every id of the release before",
                      f"the crop {crop_id} is gone", "keep its row with status retired and replaced_by, or raise the major version")  # fmt: skip


def decision_findings(rows: Numbered, file: str, ids: Mapping[str, Container[str]]) -> Iterator[Finding]:
    """Decisions about rows that do not exist. `ids`: those of the rows that decisions may be about, by table."""
    for number, row in rows:
        name, row_id = row.get("table", ""), row.get("row_id")
        if name not in ids:
            yield Finding(file, number, "table", "decision-unknown-table", "error", name, "an evidence table", "no such table", _near(name, set(ids)))  # fmt: skip
        elif row_id not in ids[name]:
            yield Finding(file, number, "row_id", "decision-unknown-row", "error", row_id, f"a row_id of {name}",
                          "no such row", "delete the decision, or correct its row_id")  # fmt: skip
