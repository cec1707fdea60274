"""The values that sources dispute most, with who prints what.

    python tools/disputed.py [COUNT]

Measured by the gap between the two furthest lineages that do not meet: as a ratio, or in °C and weeks as a
difference over 10 °C or 4 weeks. Published rows in use only.
"""

from __future__ import annotations

import math
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from cropdata.catalog import Catalog, open_catalog  # noqa: E402
from cropdata.catalog.answers import printed_rows  # noqa: E402
from cropdata.catalog.consensus import join  # noqa: E402

SCALE = {"°C": 10.0, "weeks": 4.0}
LEAST_RATIO = 0.5  # a zero (on the surface) is read as this, so that a ratio exists


def gap(ranges: list[tuple[float, float]], unit: str) -> float:
    """How far the two furthest ranges stand apart; 0 where all meet."""
    ends = max(low for low, _ in ranges), min(high for _, high in ranges)
    if ends[0] <= ends[1]:
        return 0.0
    if unit in SCALE:
        return (ends[0] - ends[1]) / SCALE[unit]
    return math.log(max(ends[0], LEAST_RATIO) / max(ends[1], LEAST_RATIO))


def disputes(catalog: Catalog) -> list[tuple[float, str, str, str, list[tuple[str, float, float]]]]:
    """Gap, crop id, trait, unit, and source with its range; the widest gap first."""
    found = []
    for trait in catalog.descriptor.traits.values():
        for quantity, columns in trait.quantities.items():
            for crop_id in catalog:
                used = [row for row in catalog.used_rows(trait.name, crop_id) if row["basis"] == "published"]
                rows = printed_rows(used, columns, lambda source: catalog.sources[source].lineage)
                joined = {
                    lineage: join([row for row in rows if row.lineage == lineage])
                    for lineage in sorted({row.lineage for row in rows})
                }
                sides = [(answer.sources[0], answer.low, answer.high) for answer in joined.values() if answer]
                if len(sides) > 1 and trait.unit != "rank":
                    wide = gap([(low, high) for _, low, high in sides], trait.unit)
                    found.append((wide, crop_id, f"{trait.name} {quantity}".strip(), trait.unit, sides))
    return sorted(found, key=lambda item: (-item[0], item[1], item[2]))


def main() -> int:
    """Print them."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    for place, (_, crop_id, trait, unit, sides) in enumerate(disputes(open_catalog(installed=False))[:count], start=1):
        print(f"{place:2}. {crop_id}, {trait} ({unit})")
        for source, low, high in sorted(sides, key=lambda side: side[1:]):
            print(f"      {low:g}" + (f" to {high:g}" if high != low else "") + f"  {source}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
