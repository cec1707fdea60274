"""Days to maturity from one starting point, joined by the consensus rule."""

from __future__ import annotations

from cropdata.catalog.catalog import Catalog
from cropdata.catalog.consensus import Joined, Printed, join
from cropdata.catalog.crop import Crop


def days_from(catalog: Catalog, crop: Crop, counted_from: str) -> Joined | None:
    """Days from "sowing" or "planting" to harvest; never inherited, since types differ in it. None where not recorded."""
    rows = [row for row in catalog.maturity_rows(crop) if row["counted_from"] == counted_from]
    return join(
        Printed(
            float(row["low_days"]) if row["low_days"] else None,
            float(row["high_days"]) if row["high_days"] else None,
            row["basis"],
            row["source_id"],
            catalog.sources[row["source_id"]].lineage,
            row.get("layer", "release"),
        )
        for row in rows
    )
