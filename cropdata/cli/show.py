"""`cropdata show`: one crop."""

from __future__ import annotations

import json
from argparse import Namespace
from typing import Any

from cropdata.catalog import HEADLINE, Catalog, Crop, GerminationTemperature, Range, open_catalog
from cropdata.cli.growing import growing_object, raising_lines, season_lines
from cropdata.cli.wording import TRAIT_WORDS, columns, range_words, sureness, temperature_words, wrapped

CAUTION = "The label, local rules and qualified advice come first."


def run(options: Namespace) -> int:
    """Print the crop; exit status 0."""
    catalog = open_catalog(layers=options.layer)
    crop = catalog.crop(" ".join(options.crop))
    if options.json:
        print(json.dumps(as_object(catalog, crop), indent=2, ensure_ascii=False))
    else:
        print("\n".join(as_text(catalog, crop)))
    return 0


def _ordered_traits(catalog: Catalog) -> list[str]:
    traits = list(catalog.descriptor.traits)
    return [*HEADLINE, *(name for name in traits if name not in HEADLINE)]


def _trait_object(crop: Crop, name: str) -> dict[str, Any]:
    answer = crop.trait(name)
    shown: dict[str, Any] = {"status": crop.status(name)}
    if isinstance(answer, GerminationTemperature):
        shown |= {
            "minimum": answer.minimum, "optimum_low": answer.optimum_low, "optimum_high": answer.optimum_high, "maximum": answer.maximum,
            "low": answer.minimum, "high": answer.maximum,
        }  # fmt: skip
    elif answer is not None:
        shown |= {
            "low": answer.low, "high": answer.high, "envelope_low": answer.envelope_low, "envelope_high": answer.envelope_high,
            "open_low": answer.open_low, "open_high": answer.open_high, "derived_from": list(answer.derived_from),
            "lineages": answer.lineages,
        }  # fmt: skip
    else:
        shown |= {"low": None, "high": None}
    source: Range | GerminationTemperature | None = answer or crop.not_done(name)
    shown |= {
        "unit": answer.unit if answer else None,
        "agreement": source.agreement if source else None,
        "basis": source.basis if source else None,
        "sources": list(source.sources) if source else [],
        "layer": source.layer if source else None,
        "inherited_from": source.inherited_from if source else None,
    }
    return shown


def _emergence_table(catalog: Catalog, crop: Crop) -> list[dict[str, Any]]:
    rows = catalog.emergence_rows(crop)
    return [
        {
            "temperature_c": float(row["temperature_c"]),
            "days": float(row["days"]) if row["days"] else None,
            "outcome": row["outcome"],
            "source": row["source_id"],
        }
        for row in sorted(rows, key=lambda row: (row["source_id"], float(row["temperature_c"])))
    ]


def as_object(catalog: Catalog, crop: Crop) -> dict[str, Any]:
    """The JSON object of `show`, format 1."""
    return {
        "format": 1,
        "crop_id": crop.id,
        "name": crop.name,
        "scientific_name": crop.scientific_name,
        "family": crop.family,
        "group": crop.group,
        "parent_id": crop.parent_id,
        "data_version": catalog.version,
        "traits": {name: _trait_object(crop, name) for name in _ordered_traits(catalog)},
        "emergence_by_temperature": _emergence_table(catalog, crop),
        **growing_object(catalog, crop),
        "cautions": [
            {
                "kind": row["kind"],
                "part": row["part"],
                "hazard": row["hazard"],
                "source": row["source_id"],
                "locator": row["locator"],
            }
            for row in crop.cautions
        ],
    }


def _trait_line(catalog: Catalog, crop: Crop, name: str) -> tuple[str, str, str]:
    answer = crop.trait(name)
    title = TRAIT_WORDS.get(name, catalog.descriptor.traits[name].title)
    if isinstance(answer, GerminationTemperature):
        return title, temperature_words(answer), sureness(answer)
    if answer is not None:
        return title, range_words(name, answer), sureness(answer)
    saying = crop.not_done(name)
    if saying is not None:
        return title, "not done", sureness(saying)
    if crop.status(name) == "recorded":
        return title, "by temperature, below", ""
    return title, "not recorded", ""


def _days_by_temperature(catalog: Catalog, crop: Crop) -> list[str]:
    rows = catalog.emergence_rows(crop)
    if not rows:
        return []
    from cropdata.catalog.emergence_points import lineage_points

    lines = []
    for lineage, points in lineage_points(catalog, rows).items():
        temps = [f"{temp:.0f}" for temp, _ in points]
        days = ["none" if day == float("inf") else f"{day:g}" for _, day in points]
        lines += [
            "",
            f"Days to emergence by soil temperature ({lineage.removesuffix('_original').replace('_', ' ')}):",
        ]
        lines += columns([["soil °C", *temps], ["days", *days]], indent="  ")
    return lines


def as_text(catalog: Catalog, crop: Crop) -> list[str]:
    """The lines of `show`."""
    kind = ", ".join(filter(None, (crop.group.replace("_", " "), crop.life_cycle)))
    parent = f", a type of {catalog.crop(crop.parent_id).name.lower()}" if crop.parent_id else ""
    lines = [f"{crop.name}: {crop.scientific_name}, {crop.family} ({kind}{parent})", ""]
    names = _ordered_traits(catalog)
    rows = [_trait_line(catalog, crop, name) for name in names]
    headline, rest = rows[: len(HEADLINE)], [row for row in rows[len(HEADLINE) :] if row[1] != "not recorded"]
    table = columns([*headline, *rest])
    lines += table[: len(headline)]
    if rest:
        lines += ["", *table[len(headline) :]]
    lines += _days_by_temperature(catalog, crop)
    lines += raising_lines(crop)
    lines += season_lines(catalog, crop)
    lines += _who(catalog, crop)
    if crop.cautions:
        lines += ["", "Cautions:"]
        for row in crop.cautions:
            part = f" ({row['part']})" if row["part"] else ""
            lines += wrapped(f"- {row['kind']}: {row['hazard']}{part} [{row['source_id']}]", hang="  ")
        lines.append(f"  {CAUTION}")
    lines += ["", f"Data {catalog.version}. What each source printed: cropdata why {crop.id} sowing_depth"]
    return lines


def _who(catalog: Catalog, crop: Crop) -> list[str]:
    used: dict[str, None] = {}
    for name in HEADLINE:
        answer = crop.trait(name) or crop.not_done(name)
        used.update(dict.fromkeys(answer.sources if answer else ()))
    used.update(dict.fromkeys(row["source_id"] for row in catalog.emergence_rows(crop)))
    lines = ["", "Who says so (the five figures at the top and the table):"]
    for source_id in sorted(used):
        source = catalog.sources[source_id]
        lines += wrapped(f"- {source_id}: {source.title}{f', {source.year}' if source.year else ''}", hang="  ")
    return lines if used else []
