"""The data dictionary, datapackage/README.md, written from the descriptor."""

from __future__ import annotations

from collections import Counter
from typing import Any

from cropdata.tabular.descriptor import Descriptor, Field, Table
from cropdata.tabular.rows import Row

_RULE = """## How an answer is made

1. A row of `evidence/` is one statement of one source about one crop, as printed; the columns named after a unit
   (`low_mm`, `minimum_c` …) hold the same figure converted, written by the build.
2. Rows that `reference/decisions.csv` names are shown but left out, with the reason there.
3. Only the best kind of statement counts: `published`, else `common_practice`, else `from_memory`.
4. A source's figure is the span of its rows. Sources that reprint one table share a `lineage` and count once
   (median over its sources).
5. **Low is the median of the lineages' lows, high the median of their highs.**
6. Agreement: `single source`; `agree` (one value lies in every range); `partly` (the ranges overlap in a chain);
   `disagree`. Where they disagree the answer is the envelope: lowest low to highest high. The envelope is kept
   beside the answer in every case. With each lineage left out in turn (1823 times, `tools/leave_one_source_out.py`),
   the answer of the rest meets it 81 times in 100; medians alone 61 times, being half as wide; the widest span 91
   times, being up to twice as wide.
7. A best temperature printed as a point is used only where no source prints a best range.
8. Weeks before the last frost, where no published figure is printed: weeks to raise minus planting-out weeks,
   widest ends, basis `derived`.
9. A type (`parent_id`) takes from its parent, figure by figure, what it does not have of its own, and the whole
   trait where its own rests on a worse kind of statement; within one species only.
10. `not_applicable` means that a source says it is not done; a trait without a row is not recorded. A figure
    outweighs such a saying where its kind of statement is better, or the same with as many lineages.

Only an empty cell is missing. Ids are permanent: a crop that goes is kept as `retired` and names what replaces it.
"""


def _allowed(field: Field) -> str:
    parts = []
    if field.enum:
        parts.append(", ".join(f"`{value}`" for value in field.enum))
    if field.minimum is not None or field.maximum is not None:
        parts.append(
            f"{field.minimum if field.minimum is not None else ''} … {field.maximum if field.maximum is not None else ''}".strip()
        )
    if field.exclusive_minimum is not None:
        parts.append(f"above {field.exclusive_minimum}")
    if field.pattern:
        parts.append("pattern `" + field.pattern.replace("|", "\\|") + "`")
    if field.required:
        parts.append("required")
    return "; ".join(parts)


def _table_section(table: Table, count: int) -> list[str]:
    key = ", ".join(f"`{name}`" for name in table.primary_key)
    lines = [f"### {table.title} — `{table.path}`", "", f"{table.description} {count} rows; key {key}."]
    if table.about:
        spoken = ", ".join(f"`{field.name}`" for field in table.about)
        lines.append(
            f"A row speaks of one crop and {spoken}: a layer's override or hide replaces or removes that alone."
        )
    if table.foreign_keys:
        links = "; ".join(
            f"`{', '.join(key.fields)}` → `{key.table}.{', '.join(key.to_fields)}`" for key in table.foreign_keys
        )
        lines.append(f"Links: {links}.")
    if table.name == "profiles":
        lines += ["", "Columns: the identity of the crop, then for each trait its status and, for each figure, low, high, envelope,",
                  "number of lineages, agreement and basis. The full list stands in the descriptor.", ""]  # fmt: skip
        return lines
    lines += ["", "| column | type | meaning | allowed |", "|---|---|---|---|"]
    for field in table.fields:
        kind = field.type + (f", {field.unit}" if field.unit else "")
        lines.append(f"| `{field.name}` | {kind} | {field.description} | {_allowed(field)} |")
    return [*lines, ""]


def coverage_lines(consensus: list[Row], crops: list[Row], descriptor: Descriptor) -> list[str]:
    """A table of crops covered by trait and group."""
    group_of = {row["crop_id"]: row["group"] for row in crops if row["status"] == "active"}
    groups = ["vegetable", "herb", "flower", "green_manure"]
    sizes = Counter(group_of.values())
    lines = [
        "| trait | " + " | ".join(f"{group.replace('_', ' ')} ({sizes[group]})" for group in groups) + " |",
        "|---|" + "---:|" * len(groups),
    ]
    for trait in descriptor.traits.values():
        having = {row["crop_id"] for row in consensus if row["trait"] == trait.name}
        if trait.name == "days_to_emergence":
            having |= {row["crop_id"] for row in consensus if row["trait"] == trait.name}
        counts = Counter(group_of[crop_id] for crop_id in having if crop_id in group_of)
        lines.append(f"| {trait.title} | " + " | ".join(str(counts[group]) for group in groups) + " |")
    return lines


def dictionary(descriptor: Descriptor, counts: dict[str, int], consensus: list[Row], crops: list[Row]) -> str:
    """The text of datapackage/README.md."""
    raw: dict[str, Any] = dict(descriptor.raw)
    bases = Counter(row["basis"] for row in consensus)
    lines = [
        f"# {raw['title']}",
        "",
        "<!-- Written by `python tools/build.py` from datapackage.json; edit that, not this. -->",
        "",
        raw["description"],
        "",
        f"Edition {descriptor.version}, schema {descriptor.schema_number}. Licence: {raw['licenses'][0]['title']}; only facts and figures were taken from "
        "the sources, which are named row by row. A Data Package (version 2 of the standard): any CSV reader can use it.",
        "",
        "Read `derived/profiles.csv` if you read one file only; `derived/consensus.csv` for the same with its sources; "
        "`evidence/` for what each source printed.",
        "",
        _RULE,
        "## What is covered",
        "",
        "Crops with an answer (or known not to apply), by trait and group:",
        "",
        *coverage_lines(consensus, crops, descriptor),
        "",
        "Answers by basis: "
        + ", ".join(f"{name.replace('_', ' ')} {count}" for name, count in sorted(bases.items()))
        + ".",
        "",
        "## Cautions",
        "",
        "Figures of handbooks and leaflets are for ordinary seed and conditions. Where work can hurt someone (toxic",
        "plants, treated seed, dust, electricity near water) the label, local rules and qualified advice come first.",
        "`evidence/cautions.csv` lists what sources warn of; a crop without a row there is not thereby safe.",
        "",
        "## Tables",
        "",
    ]
    for table in descriptor.tables.values():
        lines += _table_section(table, counts[table.name])
    return "\n".join(lines).rstrip() + "\n"
