"""`cropdata show`: one crop."""

from __future__ import annotations

import json
from argparse import Namespace
from collections.abc import Mapping, Sequence
from typing import Any

from cropdata.catalog import HEADLINE, Catalog, Crop, GerminationTemperature, Range
from cropdata.cli.growing import growing_object, raising_lines, season_lines
from cropdata.cli.opening import crop_named, layer_objects, opened
from cropdata.cli.wording import TRAIT_WORDS, columns, range_words, sureness, temperature_words, wrapped
from cropdata.tabular.units import figure

CAUTION = "The label, local rules and qualified advice come first."


def run(options: Namespace) -> int:
    """Print the crop; exit status 0."""
    catalog = opened(options)
    crop = crop_named(catalog, options.crop)
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
        "layer_rows": list(source.layer_rows) if source else [],
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
        "layer": crop.layer,
        "layer_row": crop.layer_row,
        "data_version": catalog.version,
        "layers": layer_objects(catalog),
        "traits": {name: _trait_object(crop, name) for name in _ordered_traits(catalog)},
        "emergence_by_temperature": _emergence_table(catalog, crop),
        **growing_object(catalog, crop),
        "packets": [
            {
                name: row[name]
                for name in (
                    "habit",
                    "seeds_in_packet",
                    "low_days",
                    "high_days",
                    "counted_from",
                    "packed_year",
                    "note",
                    "layer",
                    "layer_row",
                )
            }
            for row in crop.packets
        ],
        "cautions": [
            {
                "kind": row["kind"],
                "part": row["part"],
                "hazard": row["hazard"],
                "source": row["source_id"],
                "locator": row["locator"],
                "crop_id": row["crop_id"],
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
    from cropdata.catalog.emergence_points import lineage_cells, points_of

    lines = []
    for lineage, at in lineage_cells(catalog, rows).items():
        points = points_of(catalog, at)
        temps = [f"{temp:.0f}" for temp, _ in points]
        days = ["none" if day == float("inf") else f"{day:g}" for _, day in points]
        own = [
            f"{temp:.0f} °C from layer {row['layer']}"
            for temp, cell in at.items()
            for row in cell
            if row.get("in_place_of")
        ]
        whose = ", ".join([lineage.removesuffix("_original").replace("_", " "), *own])
        lines += ["", f"Days to emergence by soil temperature ({whose}){_taken(crop, rows)}:"]
        lines += columns([["soil °C", *temps], ["days", *days]], indent="  ")
    return lines


def _taken(crop: Crop, rows: Sequence[Mapping[str, Any]]) -> str:
    """Whose rows they are, where not the crop's own."""
    return f", from {rows[0]['crop_id']}" if rows[0]["crop_id"] != crop.id else ""


def _packet_lines(crop: Crop) -> list[str]:
    lines = ["", "Packets:"] if crop.packets else []
    for row in crop.packets:
        days = "–".join(
            dict.fromkeys(figure(end) for end in (row["low_days"], row["high_days"]) if isinstance(end, float))
        )
        start = {"sowing": " from sowing", "planting": " from planting out"}.get(str(row["counted_from"]), "")
        said = (
            row["habit"], f"{row['seeds_in_packet']} seeds" if row["seeds_in_packet"] else None,
            f"{days} days to harvest{start}" if days else None,
            f"packed {row['packed_year']}" if row["packed_year"] else None, row["note"],
        )  # fmt: skip
        lines += wrapped(f"- {'; '.join(str(part) for part in said if part)} [layer {row['layer']}: {row['layer_row']}]", hang="  ")  # fmt: skip
    return lines


def _inheritance(catalog: Catalog, crop: Crop) -> list[str]:
    """For a type or variety: what it takes from its parents and what it never does."""
    if not crop.parents:
        return []
    never = [
        TRAIT_WORDS.get(table.name, table.title).lower() for table in catalog.descriptor.evidence
        if not table.inherit and not table.may_be_empty
    ]  # fmt: skip
    names = " and ".join(crop.parents)
    return ["", *wrapped(f"What is marked so is taken from {names}, of the same species. Never taken, as types differ: {', '.join(never)}.")]  # fmt: skip


def as_text(catalog: Catalog, crop: Crop) -> list[str]:
    """The lines of `show`."""
    kind = ", ".join(filter(None, (crop.group.replace("_", " "), crop.life_cycle)))
    parent = f", a type of {catalog.crop(crop.parent_id).name.lower()}" if crop.parent_id else ""
    own = f", layer {crop.layer}: {crop.layer_row}" if crop.layer_row else ""
    lines = [f"{crop.name}: {crop.scientific_name}, {crop.family} ({kind}{parent}{own})", ""]
    names = _ordered_traits(catalog)
    rows = [_trait_line(catalog, crop, name) for name in names]
    headline, rest = rows[: len(HEADLINE)], [row for row in rows[len(HEADLINE) :] if row[1] != "not recorded"]
    table = columns([*headline, *rest])
    lines += table[: len(headline)]
    if rest:
        lines += ["", *table[len(headline) :]]
    lines += _days_by_temperature(catalog, crop)
    lines += _packet_lines(crop)
    lines += raising_lines(crop)
    lines += season_lines(catalog, crop)
    lines += _who(catalog, crop)
    if crop.cautions:
        lines += ["", "Cautions:"]
        for row in crop.cautions:
            part = f" ({row['part']})" if row["part"] else ""
            lines += wrapped(
                f"- {row['kind']}: {row['hazard']}{part} [{row['source_id']}{_taken(crop, [row])}]", hang="  "
            )
        lines.append(f"  {CAUTION}")
    lines += _inheritance(catalog, crop)
    if catalog.layers:
        lines += [
            "",
            *wrapped(f"Laid over the release: {'; '.join(layer.label() for layer in catalog.layers)}.", hang="  "),
        ]
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
