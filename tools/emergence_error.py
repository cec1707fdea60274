"""How well one place's table of days to emergence predicts what another place printed.

    python tools/emergence_error.py

Every plain printed time that comes with a temperature, from a lineage other than the table's, is set against the
table at that temperature. The 10 % and 90 % points of the ratio are the rules `emergence_error_low` and
`emergence_error_high` in reference/rules.csv.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from cropdata.agronomy.emergence import days_at  # noqa: E402
from cropdata.catalog import open_catalog  # noqa: E402
from cropdata.catalog.emerging import lineage_tables  # noqa: E402


def ratios() -> list[tuple[str, str, float, float, float]]:
    """Crop, source, temperature in °C, printed middle in days, printed over table."""
    catalog = open_catalog(installed=False)
    found = []
    for crop_id in catalog:
        crop = catalog.crop(crop_id)
        tables = lineage_tables(catalog, catalog.emergence_rows(crop))
        if not tables:
            continue
        lineage, table = max(tables.items(), key=lambda item: item[1].temperature_c.size)
        for row in catalog.evidence_rows("days_to_emergence", crop_id):
            low, high, cool, warm = (
                row[name] for name in ("low_days", "high_days", "temperature_low_c", "temperature_high_c")
            )
            if (
                row["set_aside"]
                or row["basis"] != "published"
                or catalog.sources[str(row["source_id"])].lineage == lineage
            ):
                continue
            if all(isinstance(value, float) for value in (low, high, cool, warm)):
                temp, printed = (cool + warm) / 2, (low + high) / 2  # type: ignore[operator]
                expected = float(days_at(temp, table))
                if np.isfinite(expected):
                    found.append((crop_id, str(row["source_id"]), temp, printed, printed / expected))
    return found


def main() -> int:
    """Print the ratios and their spread."""
    found = ratios()
    for crop_id, source, temp, printed, ratio in found:
        print(f"{crop_id:14} {source:28} {temp:5.1f} °C  printed {printed:5.1f} days  over table {ratio:.2f}")
    low, middle, high = np.quantile([ratio for *_, ratio in found], [0.1, 0.5, 0.9])
    print(f"{len(found)} values: 10 % {low:.2f}, median {middle:.2f}, 90 % {high:.2f}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
