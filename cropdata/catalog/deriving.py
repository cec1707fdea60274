"""The derived tables: what is concluded for each crop, long (consensus) and wide (profiles).

The build writes them from the release; a catalog with layers reckons them anew for `Catalog.table`, where rows that
rest on a layer name it (`layer`, and `at` for its file and row).
"""

from __future__ import annotations

from typing import Any

from cropdata.catalog.answers import RELEASE, Answers
from cropdata.catalog.catalog import Catalog
from cropdata.catalog.records import Range
from cropdata.tabular.descriptor import Descriptor, Trait
from cropdata.tabular.rows import Row
from cropdata.tabular.units import number_text

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable

_UNIT_SUFFIX = {
    "mm": "mm",
    "cm": "cm",
    "°C": "c",
    "days": "days",
    "weeks": "weeks",
    "years": "years",
    "rank": "rank",
    "per gram": "per_gram",
    "%": "percent",
}
IDENTITY = ("crop_id", "name", "scientific_name", "family", "group", "parent_id")


def _flag(value: bool) -> str:
    return "true" if value else "false"


def _number(value: float) -> str:
    return number_text(round(value, 2))


def _consensus_row(crop_id: str, trait: str, quantity: str, status: str, answer: Range) -> Row:
    recorded = status == "recorded"
    return {
        "crop_id": crop_id, "trait": trait, "quantity": quantity, "status": status,
        "low": _number(answer.low) if recorded else "", "high": _number(answer.high) if recorded else "",
        "unit": answer.unit,
        "open_low": _flag(answer.open_low), "open_high": _flag(answer.open_high),
        "agreement": answer.agreement, "basis": answer.basis, "lineages": str(answer.lineages),
        "envelope_low": _number(answer.envelope_low) if recorded else "",
        "envelope_high": _number(answer.envelope_high) if recorded else "",
        "sources": " ".join(answer.sources), "derived_from": " ".join(answer.derived_from),
        "inherited_from": answer.inherited_from or "",
    } | ({} if answer.layer == RELEASE else {"layer": answer.layer, "at": "; ".join(answer.layer_rows)})  # fmt: skip


def consensus_rows(catalog: Catalog, answers_of: Callable[[str], Answers]) -> list[Row]:
    """One row for each crop, trait and figure, in the order of the key; `answers_of` a crop's id gives its answers."""
    rows = []
    for crop_id in catalog:
        answers = answers_of(crop_id)
        for (trait, quantity), answer in answers.ranges.items():
            rows.append(_consensus_row(crop_id, trait, quantity, "recorded", answer))
        for trait, saying in answers.not_applicable.items():
            rows.append(_consensus_row(crop_id, trait, "", "not_applicable", saying))
    return sorted(rows, key=lambda row: (row["crop_id"], row["trait"], row["quantity"]))


def _stem(trait: Trait, quantity: str) -> str:
    return f"{trait.name}_{quantity}" if quantity else trait.name


def profile_fields(descriptor: Descriptor) -> list[dict[str, Any]]:
    """Columns of derived/profiles.csv, made from the traits of the descriptor."""
    crops = descriptor.tables["crops"]
    raw = {
        field["name"]: field
        for resource in descriptor.raw["resources"]
        if resource["name"] == "crops"
        for field in resource["schema"]["fields"]
    }
    fields: list[dict[str, Any]] = [raw[name] for name in IDENTITY if crops.field(name)]
    for trait in descriptor.traits.values():
        fields.append({
            "name": f"{trait.name}_status", "type": "string",
            "description": f"{trait.title}: `recorded`, `not_applicable` (known not to be done) or `not_recorded`.",
            "constraints": {"required": True, "enum": ["recorded", "not_applicable", "not_recorded"]},
        })  # fmt: skip
        for quantity in trait.quantities:
            stem, suffix = _stem(trait, quantity), _UNIT_SUFFIX[trait.unit]
            title = f"{trait.title}{', ' + quantity if quantity else ''}"
            for end, what in (
                ("low", "lower end"), ("high", "upper end"),
                ("envelope_low", "lowest figure of any source"), ("envelope_high", "highest figure of any source"),
            ):  # fmt: skip
                fields.append(
                    {
                        "name": f"{stem}_{end}_{suffix}",
                        "type": "number",
                        "description": f"{title}: {what}.",
                        "unit": trait.unit,
                    }
                )
            fields.append(
                {
                    "name": f"{stem}_lineages",
                    "type": "integer",
                    "description": f"{title}: independent lineages joined.",
                }
            )
            fields.append({"name": f"{stem}_agreement", "type": "string", "description": f"{title}: how far they agree.",
                           "constraints": {"enum": ["single source", "agree", "partly", "disagree"]}})  # fmt: skip
            fields.append({"name": f"{stem}_basis", "type": "string", "description": f"{title}: kind of statement.",
                           "constraints": {"enum": ["published", "common_practice", "from_memory", "derived"]}})  # fmt: skip
    return fields


def profile_rows(catalog: Catalog, consensus: list[Row]) -> list[Row]:
    """One wide row for each crop."""
    descriptor = catalog.descriptor
    by_crop: dict[str, dict[tuple[str, str], Row]] = {}
    for row in consensus:
        by_crop.setdefault(row["crop_id"], {})[row["trait"], row["quantity"]] = row
    rows = []
    for crop in catalog.crop_rows().values():
        if crop["status"] != "active":
            continue
        known = by_crop.get(crop["crop_id"], {})
        wide: Row = {name: crop[name] for name in IDENTITY}
        for trait in descriptor.traits.values():
            statuses = {row["status"] for (name, _), row in known.items() if name == trait.name}
            wide[f"{trait.name}_status"] = (
                catalog.crop(crop["crop_id"]).status(trait.name) if not statuses else max(statuses)
            )
            for quantity in trait.quantities:
                found = known.get((trait.name, quantity))
                if found and found["status"] == "recorded":
                    stem, suffix = _stem(trait, quantity), _UNIT_SUFFIX[trait.unit]
                    for end in ("low", "high", "envelope_low", "envelope_high"):
                        wide[f"{stem}_{end}_{suffix}"] = found[end]
                    for name in ("lineages", "agreement", "basis"):
                        wide[f"{stem}_{name}"] = found[name]
        if laid := [row for row in (crop, *known.values()) if row.get("layer")]:
            itself = [f"{crop['layer']}: {crop['at']}"] if crop.get("layer") else []
            places = dict.fromkeys([*itself, *(row["at"] for row in laid if row is not crop)])
            wide |= {"layer": _topmost(catalog, laid), "at": "; ".join(places)}
        rows.append(wide)
    return rows


def _topmost(catalog: Catalog, rows: list[Row]) -> str:
    names = {row["layer"] for row in rows}
    return next(layer.name for layer in reversed(catalog.layers) if layer.name in names)
