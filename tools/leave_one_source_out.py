"""Whether what several sources say together holds for the next source.

    python tools/leave_one_source_out.py

Each lineage is left out in turn and the rest are joined; then it is asked whether the range that the rest gives
meets the one left out. Four rules side by side: ours (cropdata/catalog/consensus.py), the median of the lows and
of the highs alone, the widest span alone, and ours with the nearer readings only (grades a and b where there are
any). A rule that answers "0 to 100" always meets, so the width stands beside it: high over low of the middle case
(for weeks from frost and temperatures, high minus low).
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from cropdata.catalog import Catalog, open_catalog  # noqa: E402
from cropdata.catalog.answers import printed_rows  # noqa: E402
from cropdata.catalog.consensus import Printed, join  # noqa: E402

Interval = tuple[float, float]
Rule = Callable[[list[Printed], Catalog], Interval]
LEAST = 3  # lineages that a value must rest on: two must be left to join
BY_DIFFERENCE = ("°C", "weeks")


def ours(rows: list[Printed], catalog: Catalog) -> Interval:
    """The rule of the release."""
    joined = join(rows)
    assert joined is not None
    return joined.low, joined.high


def _by_lineage(rows: list[Printed]) -> list[Interval]:
    answers = []
    for lineage in sorted({row.lineage for row in rows}):
        joined = join([row for row in rows if row.lineage == lineage])
        assert joined is not None
        answers.append((joined.low, joined.high))
    return answers


def medians(rows: list[Printed], catalog: Catalog) -> Interval:
    """Median of the lows to median of the highs, whether or not the lineages agree."""
    lows, highs = zip(*_by_lineage(rows), strict=True)
    return median(lows), median(highs)


def widest(rows: list[Printed], catalog: Catalog) -> Interval:
    """Lowest low to highest high."""
    lows, highs = zip(*_by_lineage(rows), strict=True)
    return min(lows), max(highs)


def nearer(rows: list[Printed], catalog: Catalog) -> Interval:
    """Our rule over the readings of grade a and b, where there are any."""
    good = [row for row in rows if catalog.sources[row.source_id].grade != "c"]
    return ours(good or rows, catalog)


RULES: dict[str, Rule] = {"ours": ours, "medians": medians, "widest": widest, "grades a, b": nearer}


def values(catalog: Catalog) -> Iterator[tuple[str, str, list[Printed]]]:
    """Trait with quantity, unit, and the published rows of one crop, set-aside rows left out."""
    for trait in catalog.descriptor.traits.values():
        if trait.unit == "rank":
            continue
        for quantity, columns in trait.quantities.items():
            for crop_id in catalog:
                used = [row for row in catalog.used_rows(trait.name, crop_id) if row["basis"] == "published"]
                rows = printed_rows(used, columns, lambda source: catalog.sources[source].lineage)
                rows = [row for row in rows if row.low is not None or row.high is not None]
                if len({row.lineage for row in rows}) >= LEAST:
                    yield f"{trait.name} {quantity}".strip(), trait.unit, rows


def width(interval: Interval, unit: str) -> float:
    """High minus low, or high over low where figures are compared by ratio."""
    low, high = interval
    if unit in BY_DIFFERENCE:
        return high - low
    return high / low if low > 0 else float("inf")


def lines(catalog: Catalog) -> list[str]:
    """The report."""
    met: dict[str, dict[str, list[bool]]] = {}
    wide: dict[str, dict[str, list[float]]] = {}
    units = {}
    for name, unit, rows in values(catalog):
        units[name] = unit
        for lineage in {row.lineage for row in rows}:
            rest = [row for row in rows if row.lineage != lineage]
            left = ours([row for row in rows if row.lineage == lineage], catalog)
            for label, rule in RULES.items():
                answer = rule(rest, catalog)
                hit = answer[0] <= left[1] and left[0] <= answer[1]
                met.setdefault(name, {}).setdefault(label, []).append(hit)
                wide.setdefault(name, {}).setdefault(label, []).append(width(answer, unit))
    shown = [f"{'share met (width of the middle case)':34}{'left out':>9}" + "".join(f"{label:>16}" for label in RULES)]
    for name, by_rule in met.items():
        count = len(by_rule["ours"])
        sign = "" if units[name] in BY_DIFFERENCE else "×"
        cells = [f"{sum(by_rule[label]) / count:.0%} ({sign}{median(wide[name][label]):.1f})" for label in RULES]
        shown.append(f"{name:34}{count:9}" + "".join(f"{cell:>16}" for cell in cells))
    total = {label: [hit for by_rule in met.values() for hit in by_rule[label]] for label in RULES}
    shown.append(
        f"{'all':34}{len(total['ours']):9}" + "".join(f"{sum(hits) / len(hits):>16.1%}" for hits in total.values())
    )
    return shown


def main() -> int:
    """Print it."""
    print("\n".join(lines(open_catalog(installed=False))))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
