"""Crops by trait and group, answers by basis, and the crops that are complete from published sources.

python tools/coverage.py
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from cropdata.catalog import HEADLINE, Catalog, Crop, open_catalog  # noqa: E402

GROUPS = ("vegetable", "herb", "flower", "green_manure")


def from_published(crop: Crop, trait: str) -> bool:
    """Recorded, or known not to be done, by published figures."""
    answer = crop.trait(trait) or crop.not_done(trait)
    if answer is None:
        return crop.status(trait) == "recorded"  # days by temperature only: all of them published
    return answer.basis in ("published", "derived")


def lines(catalog: Catalog) -> list[str]:
    """The report."""
    crops = [catalog.crop(crop_id) for crop_id in catalog]
    sizes = Counter(crop.group for crop in crops)
    shown = [f"{len(crops)} crops: " + ", ".join(f"{sizes[group]} {group.replace('_', ' ')}" for group in GROUPS)]
    for trait in HEADLINE:
        counts = Counter(crop.group for crop in crops if crop.status(trait) != "not_recorded")
        published = sum(crop.status(trait) != "not_recorded" and from_published(crop, trait) for crop in crops)
        by_group = ", ".join(f"{counts[group]} {group.replace('_', ' ')}" for group in GROUPS)
        shown.append(f"{trait:26} {sum(counts.values()):4} crops ({published} from published sources): {by_group}")
    complete = [crop for crop in crops if crop.is_complete()]
    published_too = [crop.id for crop in complete if all(from_published(crop, trait) for trait in HEADLINE)]
    shown.append(
        f"complete: {len(complete)} crops, {len(published_too)} from published sources: {', '.join(published_too)}"
    )
    bases = Counter(row.basis for crop in crops for row in crop.facts().values())
    shown.append("answers by basis: " + ", ".join(f"{name} {count}" for name, count in sorted(bases.items())))
    return shown


def main() -> int:
    """Print it."""
    print("\n".join(lines(open_catalog())))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
