"""`cropdata why`: the evidence behind one figure."""

from __future__ import annotations

import itertools
import json
import textwrap
from argparse import Namespace

from cropdata.catalog import Catalog, Crop, GerminationTemperature
from cropdata.catalog.evidence import Evidence
from cropdata.cli.opening import opened
from cropdata.cli.wording import TRAIT_WORDS, columns, range_words, sureness, temperature_words, wrapped

RULE = (
    "The rule: the best kind of statement only (published, else common practice, else from memory); sources that reprint one "
    "table count once; low is the median of the lows, high the median of the highs; where they disagree, the widest span."
)
_CANONICAL = (
    ("low_mm", "high_mm", "mm"), ("low_cm", "high_cm", "cm"), ("low_days", "high_days", "days"), ("low_weeks", "high_weeks", "weeks"), ("low_years", "high_years", "years"),
    ("low_c", "high_c", "°C"), ("low_per_gram", "high_per_gram", "per gram"),
)  # fmt: skip


def run(options: Namespace) -> int:
    """Print the evidence; 1 when there is none."""
    catalog = opened(options)
    crop = catalog.crop(options.crop)
    rows = crop.evidence(options.trait)
    if options.json:
        body = {
            "format": 1, "crop_id": crop.id, "trait": options.trait, "data_version": catalog.version,
            "status": crop.status(options.trait) if options.trait in catalog.descriptor.traits else None,
            "rule": RULE, "evidence": [dict(row) for row in rows],
            "sources": {str(row["source_id"]): catalog.sources[str(row["source_id"])].as_dict() for row in rows},
        }  # fmt: skip
        print(json.dumps(body, indent=2, ensure_ascii=False))
    else:
        print("\n".join(_text(catalog, crop, options.trait, rows)))
    return 0 if rows else 1


def _converted(row: Evidence) -> str:
    for name in ("aspect", "signal"):
        if name in row:
            return str(row[name]).replace("_", " ")
    for low, high, unit in _CANONICAL:
        if low in row:
            ends = [f"{value:g}" for value in (row[low], row[high]) if isinstance(value, float)]
            return f"{'–'.join(dict.fromkeys(ends))} {unit}" if ends else ""
    if isinstance(row.get("temperature_c"), float):
        days = (
            f"{row['days']:g} days"
            if isinstance(row.get("days"), float)
            else str(row.get("outcome", "")).replace("_", " ")
        )
        return f"{row['temperature_c']:.0f} °C: {days}".rstrip(": ")
    if "minimum_c" in row:
        parts = (
            ("min", "minimum_c"),
            ("best from", "optimum_low_c"),
            ("to", "optimum_high_c"),
            ("best", "optimum_c"),
            ("max", "maximum_c"),
        )
        return ", ".join(f"{word} {row[name]:.0f}" for word, name in parts if isinstance(row[name], float)) + " °C"
    if row.get("class"):
        return str(row["class"]).replace("_", " ")
    if "practice" in row:
        return f"not done: {str(row['practice']).replace('_', ' ')}"
    return ""


def _cells(printed: str, converted: str, kind: str, source: str, where: str) -> list[tuple[str, ...]]:
    """One row of evidence as lines of the table: long texts go on below, nothing is cut off."""
    texts, places = textwrap.wrap(printed, 44), textwrap.wrap(where, 60)
    pairs = itertools.zip_longest(texts, places, fillvalue="")
    (text, place), *more = [*pairs] or [("", "")]
    return [(text, converted, kind, source, place), *((text, "", "", "", place) for text, place in more)]


def _text(catalog: Catalog, crop: Crop, trait: str, rows: tuple[Evidence, ...]) -> list[str]:
    title = TRAIT_WORDS.get(trait, trait.replace("_", " "))
    lines = [f"{crop.name}: {title}", ""]
    if trait in catalog.descriptor.traits:
        answer = crop.trait(trait)
        if isinstance(answer, GerminationTemperature):
            lines.append(f"Answer: {temperature_words(answer)} ({sureness(answer)})")
        elif answer is not None:
            lines.append(f"Answer: {range_words(trait, answer)} ({sureness(answer)})")
            if answer.derived_from:
                lines.append(
                    f"Reckoned from {' and '.join(answer.derived_from)}: weeks to raise less planting-out weeks, widest ends."
                )
        else:
            lines.append(
                {
                    "not_applicable": "Answer: not done",
                    "not_recorded": "Answer: not recorded",
                    "recorded": "Answer: by temperature",
                }[crop.status(trait)]
            )
        lines.append("")
    if not rows:
        return [*lines, "No evidence is recorded."]
    table: list[tuple[str, ...]] = [("printed", "converted", "kind", "source", "where")]
    for row in rows:
        kind = str(row["basis"]).replace("_", " ") + (" *" if row["set_aside"] else "")
        where = str(row["locator"])
        if row["layer"] != "release":
            place = "" if row["layer_row"] == where else f": {row['layer_row']}"
            where = f"{where} (layer {row['layer']}{place})"
        table += _cells(str(row["printed"]), _converted(row), kind, str(row["source_id"]), where)
    lines += columns(table)
    aside = [row for row in rows if row["set_aside"]]
    if aside:
        lines += ["", "* shown, but left out of the answer:"]
        for row in aside:
            lines += wrapped(f"- {row['source_id']}: {row['set_aside']}", hang="  ")
    lines += ["", *wrapped(RULE), "", "Sources:"]
    for source_id in sorted({str(row["source_id"]) for row in rows}):
        source = catalog.sources[source_id]
        shared = f" [lineage {source.lineage}]" if source.lineage != source_id else ""
        lines += wrapped(f"- {source_id}{shared}: {source.citation}", hang="  ")
    return lines
