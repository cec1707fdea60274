"""The printed points of days to emergence by temperature, one table for each lineage."""

from __future__ import annotations

from cropdata.catalog.catalog import Catalog

TYPE_CHECKING = False
if TYPE_CHECKING:
    from cropdata.tabular.rows import Row

    Cells = dict[str, dict[float, list[Row]]]


def _text(row: Row) -> str:
    return row["days"] if row["outcome"] == "emerged" else "inf"


def _one_copy(catalog: Catalog, cells: list[Row]) -> float:
    """Among the copies of one printed cell a layer's, put in place of one of them; else that of the source nearest to
    the original; ties by the commonest reading.
    """
    texts = [_text(row) for row in cells]
    ranked = [
        (not row.get("in_place_of"), catalog.sources[row["source_id"]].grade, -texts.count(text), row["source_id"], text)
        for row, text in zip(cells, texts, strict=True)
    ]  # fmt: skip
    return float(min(ranked)[4])


def _lineage(catalog: Catalog, source: str) -> str:
    """The lineage of a source of the release; a layer's rows, named layer/source, are one of their own."""
    return source if "/" in source else catalog.sources[source].lineage


def lineage_cells(catalog: Catalog, rows: list[Row]) -> Cells:
    """Tested rows by lineage and temperature in °C.

    A row of a layer that overrides stands in the table from which it took a row, and in every table that spans its
    temperature, since it answers alone there.
    """
    cells: Cells = {}
    tested = [row for row in rows if row["outcome"] != "not_tested"]
    for row in tested:
        if not row.get("in_place_of"):
            source = f"{row['layer']}/{row['source_id']}" if row.get("layer") else row["source_id"]
            at = cells.setdefault(_lineage(catalog, source), {})
            at.setdefault(float(row["temperature_c"]), []).append(row)
    printed = {lineage: (len(at), min(at), max(at)) for lineage, at in cells.items()}
    for row in tested:
        if replaced := row.get("in_place_of"):
            temp = float(row["temperature_c"])
            spanning = {lineage for lineage, (count, low, high) in printed.items() if count > 1 and low <= temp <= high}
            named = bool(row["row_id"])  # it replaces that row, and leaves other tables as they are
            for lineage in {_lineage(catalog, source) for source in replaced.split()} | (set() if named else spanning):
                cells.setdefault(lineage, {}).setdefault(temp, []).append(row)
    return {lineage: dict(sorted(at.items())) for lineage, at in cells.items()}


def points_of(catalog: Catalog, at: dict[float, list[Row]]) -> list[tuple[float, float]]:
    """Temperature in °C and days (`inf`: none came up) of one lineage: copies of one table are read cell by cell."""
    return [(temp, _one_copy(catalog, rows)) for temp, rows in at.items()]
