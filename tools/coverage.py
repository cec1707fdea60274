"""How much is known: crops by headline trait, with the number of independent lineages behind each answer.

    python tools/coverage.py                    every crop, the thinnest first, then the totals
    python tools/coverage.py --totals           the totals alone; 1 when one has fallen below coverage_floor.csv
    python tools/coverage.py --draw FILE.svg    crops and traits as a picture (needs the extra `pictures`)
    python tools/coverage.py --set-floor        take today's totals as the floor

A lineage counts once however often it was reprinted; rows set aside and rows from memory count for none. Where an
answer is reckoned from two parts, it rests on as many lineages as the weaker part.
"""

from __future__ import annotations

import argparse
import csv
import sys
from collections import Counter
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from cropdata.catalog import HEADLINE, Catalog, Crop, open_catalog  # noqa: E402

GROUPS = ("vegetable", "herb", "flower", "green_manure")
FLOOR = ROOT / "tools" / "coverage_floor.csv"
SHORT = dict(zip(HEADLINE, ("depth", "warmth", "days", "weeks", "life"), strict=True))


class Known(NamedTuple):
    """What stands behind one crop's headline trait."""

    status: str  # recorded, not_applicable or not_recorded
    lineages: int  # independent published lineages; 0 when remembered only


def _inherited(crop: Crop, trait: str) -> bool:
    answer = crop.facts().get(trait)
    return answer is not None and answer.inherited_from is not None


def known(catalog: Catalog, crop: Crop, trait: str) -> Known:
    """Status and lineages of one answer."""
    status = crop.status(trait)
    by_table: dict[str, set[str]] = {}
    for row in crop.evidence(trait):
        if row["basis"] == "published" and not row["set_aside"]:
            by_table.setdefault(str(row["table"]), set()).add(catalog.sources[str(row["source_id"])].lineage)
    saying = by_table.pop("not_applicable", set())
    if status == "recorded" and not any(by_table.values()) and _inherited(crop, trait):
        return known(catalog, catalog.crop(crop.parent_id or ""), trait)
    if status == "not_applicable":
        parent = catalog.crop(crop.parent_id) if crop.parent_id and not saying else None
        return known(catalog, parent, trait) if parent else Known(status, len(saying))
    answer = crop.weeks_before_last_frost if trait == "weeks_before_last_frost" else None
    if answer is not None and answer.derived_from:
        return Known(status, min(len(by_table.get(part, set())) for part in answer.derived_from))
    return Known(status, len(set().union(*by_table.values())))


def survey(catalog: Catalog) -> dict[Crop, list[Known]]:
    """Every crop's five headline answers, the thinnest crops first."""
    found = {crop: [known(catalog, crop, trait) for trait in HEADLINE] for crop in map(catalog.crop, catalog)}

    def thinness(crop: Crop) -> tuple[int, int, int, str]:
        row = found[crop]
        return (
            -sum(item.status == "not_recorded" for item in row),
            -sum(item.lineages == 0 for item in row),
            sum(min(item.lineages, 3) for item in row),
            crop.id,
        )

    return {crop: found[crop] for crop in sorted(found, key=thinness)}


def totals(found: dict[Crop, list[Known]]) -> dict[str, float]:
    """The figures that may not fall: crops, shares answered by group and trait, shares on two and three lineages."""
    result: dict[str, float] = {"crops": len(found)}
    for group in GROUPS:
        crops = [crop for crop in found if crop.group == group]
        result[f"{group} crops"] = len(crops)
        for place, trait in enumerate(HEADLINE):
            answered = sum(found[crop][place].status != "not_recorded" for crop in crops)
            result[f"{group} {trait} %"] = round(100 * answered / len(crops), 1)
        values = [item for crop in crops for item in found[crop]]
        for least in (1, 2, 3):
            share = sum(item.lineages >= least for item in values) / len(values)
            result[f"{group} values on {least} or more lineages %"] = round(100 * share, 1)
    result["complete crops"] = sum(all(item.status != "not_recorded" for item in row) for row in found.values())
    result["complete crops, all published"] = sum(all(item.lineages for item in row) for row in found.values())
    return result


def total_lines(found: dict[Crop, list[Known]]) -> list[str]:
    """The totals as a table, groups down and traits across."""
    sums = totals(found)
    head = f"{'':14}{'crops':>6}" + "".join(f"{SHORT[trait]:>8}" for trait in HEADLINE) + "   on 1+, 2+, 3+ lineages"
    shown = [head]
    for group in GROUPS:
        traits = "".join(f"{sums[f'{group} {trait} %']:>7.0f}%" for trait in HEADLINE)
        lineages = ", ".join(f"{sums[f'{group} values on {least} or more lineages %']:.0f} %" for least in (1, 2, 3))
        shown.append(f"{group.replace('_', ' '):14}{sums[f'{group} crops']:>6.0f}{traits}   {lineages}")
    shown.append(
        f"{sums['crops']:.0f} crops, {sums['complete crops']:.0f} with all five headline traits, "
        f"{sums['complete crops, all published']:.0f} of them from published sources alone"
    )
    bases = Counter(row.basis for crop in found for row in crop.facts().values())
    shown.append("answers by basis: " + ", ".join(f"{name} {count}" for name, count in sorted(bases.items())))
    return shown


def crop_lines(found: dict[Crop, list[Known]]) -> list[str]:
    """One line for each crop: lineages by trait, `m` from memory only, `.` not recorded."""
    shown = [f"{'crop':24}{'group':14}" + "".join(f"{SHORT[trait]:>8}" for trait in HEADLINE)]
    for crop, row in found.items():
        cells = ["." if item.status == "not_recorded" else str(item.lineages or "m") for item in row]
        shown.append(f"{crop.id:24}{crop.group.replace('_', ' '):14}" + "".join(f"{cell:>8}" for cell in cells))
    return shown


def fallen(sums: dict[str, float]) -> list[str]:
    """Totals below the floor, in words."""
    with FLOOR.open(encoding="utf-8", newline="") as stream:
        floor = {row["total"]: float(row["least"]) for row in csv.DictReader(stream)}
    return [
        f"{name}: {sums.get(name, 0):g}, was {least:g}" for name, least in floor.items() if sums.get(name, 0) < least
    ]


def draw(found: dict[Crop, list[Known]], path: str) -> None:
    """Crops down, traits across, a darker field for more lineages; one panel for each group."""
    import matplotlib as mpl
    from matplotlib.colors import ListedColormap

    mpl.use("Agg")
    import matplotlib.pyplot as plt
    from matplotlib.patches import Rectangle

    rows = max(sum(crop.group == group for crop in found) for group in GROUPS)
    figure, panels = plt.subplots(1, len(GROUPS), figsize=(13, 0.13 * rows + 1.5))
    colours = ListedColormap(["#ffffff", "#e8dcc4", "#c9dfc0", "#8fbf86", "#4a8f4f", "#1f5f2c"])
    for panel, group in zip(panels, GROUPS, strict=True):
        crops = [crop for crop in found if crop.group == group]
        fields = [
            [0 if item.status == "not_recorded" else min(item.lineages, 4) + 1 for item in found[crop]]
            for crop in crops
        ]
        panel.imshow(fields, cmap=colours, vmin=-0.5, vmax=5.5, aspect="auto", interpolation="none")
        panel.set_yticks(range(len(crops)), [crop.id for crop in crops], fontsize=5.5)
        panel.set_xticks(range(len(HEADLINE)), [SHORT[trait] for trait in HEADLINE], fontsize=7, rotation=45)
        panel.set_title(f"{group.replace('_', ' ')} ({len(crops)})", fontsize=9)
        panel.set_ylim(rows - 0.5, -0.5)
        panel.tick_params(length=0)
        for side in panel.spines.values():
            side.set_visible(False)
    legend = [
        Rectangle((0, 0), 1, 1, facecolor=colours(place / 5), edgecolor="#999999", linewidth=0.5) for place in range(6)
    ]
    labels = ["not recorded", "from memory", "1 lineage", "2", "3", "4 or more"]
    figure.legend(legend, labels, loc="lower center", ncols=6, fontsize=8, frameon=False)
    figure.tight_layout(rect=(0, 0.02, 1, 1))
    figure.savefig(path)


def main() -> int:
    """Print, draw or compare."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--totals", action="store_true")
    parser.add_argument("--draw", metavar="FILE")
    parser.add_argument("--set-floor", action="store_true")
    options = parser.parse_args()
    found = survey(open_catalog(installed=False))
    if options.draw:
        draw(found, options.draw)
        return 0
    if options.set_floor:
        with FLOOR.open("w", encoding="utf-8", newline="") as stream:
            csv.writer(stream, lineterminator="\n").writerows([("total", "least"), *totals(found).items()])
        return 0
    print("\n".join([*([] if options.totals else [*crop_lines(found), ""]), *total_lines(found)]))
    if lower := fallen(totals(found)):
        print("\nfallen below tools/coverage_floor.csv:\n" + "\n".join(lower), file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
