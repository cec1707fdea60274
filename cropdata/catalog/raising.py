"""How a crop is raised from emergence to planting out, aspect by aspect, joined by the consensus rule."""

from __future__ import annotations

from cropdata.catalog.answers import RELEASE, layers_behind
from cropdata.catalog.catalog import Catalog
from cropdata.catalog.consensus import Printed, join
from cropdata.catalog.crop import Crop
from cropdata.catalog.records import Range
from cropdata.tabular.rows import Row
from cropdata.tabular.units import canonical

_CANONICAL = {"in": "cm"}


def raising_of(catalog: Catalog, crop: Crop) -> dict[str, Range]:
    """Ranges by aspect of the table `raising`, in its order: °C for warmth, cm for heights and widths, else the
    printed unit. A type takes from its parent the aspects on which it has no row.
    """
    by_aspect: dict[str, list[Row]] = {}
    for row in catalog.raising_rows(crop):
        by_aspect.setdefault(row["aspect"], []).append(row)
    field = catalog.descriptor.tables["raising"].field("aspect")
    ranges = {}
    for aspect in field.enum if field else ():
        rows = by_aspect.get(aspect, [])
        joined = join(_printed(row, catalog) for row in rows)
        if joined is not None:
            ranges[aspect] = Range(
                joined.low, joined.high, _unit(rows[0]), sources=joined.sources, agreement=joined.agreement,
                basis=joined.basis, lineages=joined.lineages, envelope_low=joined.envelope_low,
                envelope_high=joined.envelope_high, open_low=joined.open_low, open_high=joined.open_high,
                layer=next((name for name in joined.layers if name != RELEASE), RELEASE),
                layer_rows=layers_behind(rows)[1],
                inherited_from=rows[0]["crop_id"] if rows[0]["crop_id"] != crop.id else None,
            )  # fmt: skip
    return ranges


def _unit(row: Row) -> str:
    return _CANONICAL.get(row["unit"], row["unit"]) or "°C"


def _printed(row: Row, catalog: Catalog) -> Printed:
    unit, layer = _unit(row), row.get("layer", RELEASE)
    columns = ("temperature_low_c", "temperature_high_c") if unit == "°C" else ("low", "high")
    low, high = (canonical(float(row[name]), row["unit"] or unit, unit) if row[name] else None for name in columns)
    lineage = catalog.sources[row["source_id"]].lineage if layer == RELEASE else f"{layer}/{row['source_id']}"
    return Printed(low, high, row["basis"], row["source_id"], lineage, layer)
