"""The printed points of days to emergence by temperature, one table for each lineage."""

from __future__ import annotations

from cropdata.catalog.catalog import Catalog

TYPE_CHECKING = False
if TYPE_CHECKING:
    from cropdata.tabular.rows import Row


def _one_copy(catalog: Catalog, cells: list[tuple[str, str]]) -> str:
    """Among the copies of one printed cell that of the source nearest to the original; ties by the commonest reading."""
    texts = [text for _, text in cells]
    ranked = [(catalog.sources[source].grade, -texts.count(text), source, text) for source, text in cells]
    return min(ranked)[3]


def lineage_points(catalog: Catalog, rows: list[Row]) -> dict[str, list[tuple[float, float]]]:
    """Temperature in °C and days (`inf`: none came up) by lineage: copies of one table are read cell by cell."""
    cells: dict[str, dict[float, list[tuple[str, str]]]] = {}
    for row in rows:
        if row["outcome"] == "not_tested":
            continue
        layer = row.get("layer")
        lineage = f"{layer}/{row['source_id']}" if layer else catalog.sources[row["source_id"]].lineage
        text = row["days"] if row["outcome"] == "emerged" else "inf"
        cells.setdefault(lineage, {}).setdefault(float(row["temperature_c"]), []).append((row["source_id"], text))
    return {
        lineage: [(temp, float(_one_copy(catalog, points[temp]))) for temp in sorted(points)]
        for lineage, points in cells.items()
    }
