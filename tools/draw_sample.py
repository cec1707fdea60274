"""Draws evidence rows at random for a second reading, without their figures.

    python tools/draw_sample.py COUNT [SEED] > sample.csv

Whoever reads again, without looking at ours, fills `value` from the source; what was read stands in
tests/release/rekeyed.csv, and tests/release/test_rekeyed.py compares. One figure is asked for each row drawn; tables
are drawn in proportion to their rows, each at least five times.
"""

from __future__ import annotations

import csv
import random
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from cropdata.catalog import Catalog, open_catalog  # noqa: E402

LEAST_OF_A_TABLE = 5
CONDITIONS = ("temperature", "unit", "outcome", "event", "counted_from", "meaning", "practice", "jurisdiction")


def sample(catalog: Catalog, count: int, seed: int) -> list[dict[str, str]]:
    """Rows with crop, source, place and condition; `field` names the printed figure asked for."""
    draw = random.Random(seed)
    tables = {table.name: table for table in catalog.descriptor.evidence}
    asked = []
    rows_of = {
        name: [row for row in catalog.table(name).astype(str).to_dict("records") if row["basis"] == "published"]
        for name in tables
    }
    total = sum(map(len, rows_of.values()))
    for name, rows in rows_of.items():
        printed = [field.name for field in tables[name].fields if field.type in ("number", "integer")]
        canonical = {field.name for field in tables[name].fields if field.converted_from or field.rank_of}
        for row in draw.sample(rows, min(len(rows), max(LEAST_OF_A_TABLE, round(count * len(rows) / total)))):
            fields = [
                field for field in printed if field not in canonical and row[field] not in ("", "nan", "None", "<NA>")
            ]
            fields = [field for field in fields if field != "temperature"] or ["printed"]
            asked.append(
                {
                    "table": name,
                    "row_id": row["row_id"],
                    "crop_id": row["crop_id"],
                    "source_id": row["source_id"],
                    "locator": row["locator"],
                    "condition": "; ".join(f"{part} {row[part]}" for part in CONDITIONS if part in row),
                    "field": draw.choice(fields),
                    "value": "",
                }
            )
    return asked


def main() -> int:
    """Print the sample."""
    count, seed = int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 1
    rows = sample(open_catalog(installed=False), count, seed)
    writer = csv.DictWriter(sys.stdout, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
