"""Fourth storey: whether the figures of a row can be true, alone and beside what others print."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from cropdata.errors import CropdataError
from cropdata.tabular.canonical import canonical_cells
from cropdata.tabular.descriptor import Table
from cropdata.tabular.rows import Row
from cropdata.tabular.units import convert
from cropdata.validation.files import Chunk
from cropdata.validation.report import Finding

# Findings that a decision or a recorded exception excuses: they speak of the figure, not of the form.
RULES = (
    "low-above-high",
    "temperature-order",
    "slip-unit",
    "slip-ten-times",
    "slip-swapped",
    "warmer-but-slower",
    "depth-against-seed",
)
_ORDERED = (
    ("low", "high"),
    ("temperature_low", "temperature_high"),
    ("minimum", "maximum"),
    ("optimum_low", "optimum_high"),
    ("base_low", "base_high"),
)
_TEMPERATURES = ("minimum", "optimum_low", "optimum", "optimum_high", "maximum")
# What a figure may have been typed in by mistake: printed unit -> (real unit, what is said).
_SLIPS = {
    "in": ("mm", "millimetres typed as inches"), "mm": ("in", "inches typed as millimetres"), "cm": ("in", "inches typed as centimetres"),
    "ft": ("in", "inches typed as feet"),
    "F": ("C", "degrees Celsius typed as Fahrenheit"), "C": ("F", "degrees Fahrenheit typed as Celsius"),
    "days": ("weeks", "weeks typed as days"), "weeks": ("days", "days typed as weeks"),
    "per_gram": ("per_ounce", "seeds an ounce typed as seeds a gram"), "per_ounce": ("per_gram", "seeds a gram typed as seeds an ounce"),
    "years": ("months", "months typed as years"), "months": ("years", "years typed as months"),
}  # fmt: skip
_FAR = 3.0  # a figure so many times beyond every other source is looked at


def _number(text: str | None) -> float | None:
    try:
        return float(text) if text else None
    except ValueError:
        return None


def order_findings(chunk: Chunk, table: Table, file: str) -> Iterator[Finding]:
    """Low above high; temperatures out of order. Each distinct pair is judged once."""
    for low_name, high_name in _ORDERED:
        if low_name not in chunk.cells or high_name not in chunk.cells:
            continue
        pairs = list(zip(chunk.cells[low_name], chunk.cells[high_name], strict=True))
        bad = {
            pair
            for pair in set(pairs)
            if (low := _number(pair[0])) is not None and (high := _number(pair[1])) is not None and low > high
        }
        for number, pair in zip(chunk.numbers, pairs, strict=True) if bad else ():
            if pair in bad:
                yield Finding(file, number, low_name, "low-above-high", "error", f"{pair[0]} and {pair[1]}", f"{low_name} at most {high_name}",
                              "the lower end is above the upper one", "swap the two, or look at the source again")  # fmt: skip
    if table.name == "germination_temperature":
        yield from _temperature_order(chunk, file)


def _temperature_order(chunk: Chunk, file: str) -> Iterator[Finding]:
    names = [name for name in _TEMPERATURES if name in chunk.cells]
    for place, number in enumerate(chunk.numbers):
        values = [(name, value) for name in names if (value := _number(chunk.cells[name][place])) is not None]
        for (one, below), (other, above) in itertools.pairwise(values):
            if below > above and (one, other) not in _ORDERED:
                yield Finding(file, number, one, "temperature-order", "error", f"{one} {below:g}, {other} {above:g}",
                              "minimum, best range and maximum in rising order", "temperatures are out of order", None)  # fmt: skip


def canonical_findings(chunk: Chunk, table: Table, file: str) -> Iterator[Finding]:
    """Canonical cells that are not the printed figure converted: the guard against inches taken for millimetres."""
    wanted = [field for field in table.fields if field.written_by_build and field.name in chunk.cells]
    if not wanted:
        return
    needed = list(
        dict.fromkeys(
            name
            for field in wanted
            for name in (field.converted_from, field.unit_field, field.rank_of)
            if name and name in chunk.cells
        )
    )
    names = [*needed, *(field.name for field in wanted)]
    rows = list(zip(*(chunk.cells[name] for name in names), strict=True))
    bad: dict[tuple[str, ...], list[tuple[str, str]]] = {}
    for distinct in set(rows):
        row = dict(zip(names, distinct, strict=True))
        try:
            cells = canonical_cells(row, table)
        except (CropdataError, ValueError, KeyError):
            continue  # the typed pass reports the cell itself
        wrong = [(field.name, cells[field.name]) for field in wanted if row[field.name] != cells[field.name]]
        if wrong:
            bad[distinct] = wrong
    for number, row_values in zip(chunk.numbers, rows, strict=True) if bad else ():
        for name, text in bad.get(row_values, ()):
            yield Finding(file, number, name, "not-as-printed", "error", row_values[names.index(name)], text or "empty",
                          "is not the printed figure converted", "python tools/build.py writes this column; edit the printed one")  # fmt: skip


class Peer(NamedTuple):
    """What other sources say of one crop and figure: lowest and highest, canonical, and how many lineages."""

    low: float
    high: float
    lineages: int


def _fits(value: float, peer: Peer, slack: float = 1.5) -> bool:
    spread = max(abs(peer.high), abs(peer.low), 1.0) * (slack - 1)
    return peer.low - spread <= value <= peer.high + spread


def slip_in(printed: float, unit: str, canonical_unit: str, peer: Peer) -> tuple[str, str, float] | None:
    """The slip that makes a figure fit the others, as (rule, what it was, the figure mended), or None.

    Looked for only where the figure lies far beyond every other source, at least two of them, and one plain slip
    brings it among them.
    """
    value = convert(printed, unit, canonical_unit)
    temperature = canonical_unit == "°C"
    far = (
        (value < peer.low - 12 or value > peer.high + 12)
        if temperature
        else value > 0 and peer.low > 0 and (value * _FAR < peer.low or value > peer.high * _FAR)
    )
    if peer.lineages < 2 or not far:
        return None
    real, said = _SLIPS.get(unit, (None, ""))
    if real is not None and _fits(convert(printed, real, canonical_unit), peer, 1.25 if not temperature else 1.15):
        return "slip-unit", said, printed
    for factor in () if temperature else (10.0, 0.1):
        if _fits(value * factor, peer, 1.15):
            return "slip-ten-times", "a decimal point in the wrong place", printed * factor
    return None


def _ends_agree(name: str, mended: float, row: Row) -> bool:
    """Whether a mended figure still stands on its side of the row's other end: 1 to 3 was never 10 to 3."""
    for low, high in _ORDERED:
        other = _number(row.get(high if name == low else low, ""))
        if name in (low, high) and other is not None and other != _number(row.get(name, "")):
            return mended <= other if name == low else mended >= other
    return True


def peer_findings(
    rows: Iterable[tuple[int, Row]],
    table: Table,
    file: str,
    peers: Mapping[tuple[str, str], Mapping[str, tuple[float, float]]],
    lineage_of: Mapping[str, str],
) -> Iterator[Finding]:
    """Slips inside the allowed range, found beside the other sources of that crop.

    `peers`: (crop, quantity) -> lineage -> (low, high), canonical. A row is held against the other lineages only.
    """
    trait = table.trait
    if trait is None or table.field("unit") is None:
        return
    for number, row in rows:
        for quantity, columns in trait.quantities.items():
            others = [
                span
                for lineage, span in peers.get((row.get("crop_id", ""), quantity), {}).items()
                if lineage != lineage_of.get(row.get("source_id", ""))
            ]
            if len(others) < 2:
                continue
            peer = Peer(min(low for low, _ in others), max(high for _, high in others), len(others))
            for column in columns:
                field = table.field(column)
                name = field.converted_from if field else None
                printed = _number(row.get(name or "", ""))
                if field is None or name is None or printed is None or not row.get(field.unit_field):
                    continue
                try:
                    slip = slip_in(printed, row[field.unit_field], field.unit or "", peer)
                except CropdataError:
                    continue
                if slip and _ends_agree(name, slip[2], row):
                    rule, said, _ = slip
                    yield Finding(file, number, name, rule, "error", f"{row[name]} {row[field.unit_field]}", f"others print {peer.low:g} to {peer.high:g} {field.unit}",
                                  f"looks like {said}", "look at the source again; if it is right, record an exception")  # fmt: skip
                    break


def warmer_but_slower(rows: Iterable[tuple[int, Row]], file: str, best_c: Mapping[str, float]) -> Iterator[Finding]:
    """Tables of days by temperature in which a warmer soil, below the best temperature, is slower."""
    tables: dict[tuple[str, str], list[tuple[float, float, int]]] = {}
    for number, row in rows:
        days, temp = _number(row.get("days")), _number(row.get("temperature_c"))
        if days is not None and temp is not None:
            tables.setdefault((row.get("crop_id", ""), row.get("source_id", "")), []).append((temp, days, number))
    for (crop_id, _), points in tables.items():
        points.sort()
        for (cool, before, _), (warm, after, number) in itertools.pairwise(points):
            if warm <= best_c.get(crop_id, 20.0) and after > before * 1.2 + 0.5:
                yield Finding(file, number, "days", "warmer-but-slower", "error", f"{after:g} days at {warm:g} °C, {before:g} at {cool:g} °C",
                              "no more days in warmer soil below the best temperature", "is slower in warmer soil", "look at the column of the printed table")  # fmt: skip
