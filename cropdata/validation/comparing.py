"""Fourth storey, second half: a figure held against what others print of that crop, its kin and its seed.

A slip of the unit stays inside the allowed range, so limits never find it. It is looked for only where a figure lies
far from what is expected, and named only where undoing one plain slip brings the figure among the expected ones.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from cropdata.errors import CropdataError
from cropdata.tabular.descriptor import Field, Table
from cropdata.tabular.rows import Row
from cropdata.tabular.units import convert
from cropdata.validation.contents import Statements
from cropdata.validation.plausibility import ORDERED, number_in
from cropdata.validation.report import Finding

Numbered = Iterable[tuple[int, Row]]
Span = tuple[float, float]

_FAR = 2.0  # a positive figure so many times beyond everything expected is looked at
_FAR_FROM_ONE = 4.0  # so many times, where a single voice is all there is
_SMALL_FACTOR = 3.0  # centimetres and inches: sources differ as much, so many voices are wanted
_VOICES_FOR_SMALL = 4
_FAR_C = 12.0  # so many °C beyond
_FAR_ALONE = 8.0  # so far beyond at least three lineages that it is told without knowing the slip
_FEWEST_KIN = 3
# Units that are taken for each other, and how growers name them.
_MISTAKEN = {
    "in": ("mm", "cm"), "mm": ("in", "cm"), "cm": ("in", "mm"), "ft": ("in", "cm"), "F": ("C",), "C": ("F",),
    "hours": ("days",), "days": ("weeks", "months"), "weeks": ("days", "months"), "months": ("weeks", "years"), "years": ("months",),
    "per_gram": ("per_ounce",), "per_ounce": ("per_gram",),
}  # fmt: skip
_SAID = {
    "in": "inches", "ft": "feet", "mm": "millimetres", "cm": "centimetres", "F": "degrees Fahrenheit", "C": "degrees Celsius",
    "per_gram": "seeds a gram", "per_ounce": "seeds an ounce",
}  # fmt: skip
# Depth in seed diameters. In the release 480 printed depths of crops whose seed weight is known lie between 1.5 and 20;
# a slip between inch and millimetre is a factor of 25. Diameter of a ball of 1.1 g/cm³ (common practice, no source).
_DIAMETERS = (1.0, 30.0)
_SEED_DENSITY = 1.1


class Expected(NamedTuple):
    """What a figure should lie among, who says so, from how many, and how grave it is not to."""

    low: float
    high: float
    says: str
    voices: int
    severity: str


class Voices(NamedTuple):
    """Lowest and highest figure of some lineages, and how many they are."""

    low: float = math.inf
    high: float = -math.inf
    number: int = 0


def _together(voices: Iterable[Voices]) -> Voices:
    some = [voice for voice in voices if voice.number] or [Voices()]
    return Voices(min(v.low for v in some), max(v.high for v in some), sum(v.number for v in some))


class Evidence:
    """What is known of each crop, to hold a new row against: figures by lineage, kin, weight of a seed."""

    def __init__(self) -> None:
        self.spans: dict[tuple[str, str, str], dict[str, Span]] = {}
        self.lineage_of: dict[str, str] = {}
        self.kin: dict[str, tuple[str, str]] = {}
        self._named: dict[tuple[int, str], list[str]] = {}  # crops of a genus (0) or family (1)
        self.parent: dict[str, str] = {}
        self.best_c: dict[str, float] = {}
        self._ends: dict[tuple[str, str, str], tuple[list[float], list[float]]] = {}
        self._expected: dict[
            tuple[str, str, str], tuple[list[dict[str, Span]], dict[object, tuple[Expected, ...]]]
        ] = {}

    def add_crops(self, rows: Numbered) -> None:
        """Genus, family and parent of each crop."""
        self._named.clear()
        for _, row in rows:
            crop_id, genus = row.get("crop_id", ""), row.get("scientific_name", "").partition(" ")[0]
            if genus:
                self.kin[crop_id] = (genus, row.get("family", ""))
            if row.get("parent_id"):
                self.parent[crop_id] = row["parent_id"]

    def add_sources(self, rows: Numbered) -> None:
        """The lineage of each source: reprints of one table are one voice."""
        self.lineage_of.update({row.get("source_id", ""): row.get("lineage", "") for _, row in rows})

    def add(self, table: Table, stated: Statements, aside: set[tuple[str, str]]) -> None:
        """Published figures of a table, but for those that a decision sets `aside`."""
        self._ends.clear()
        self._expected.clear()
        spans = [_spans(row, table) for row in stated.figures]
        best = [_best(row) if table.name == "germination_temperature" else None for row in stated.figures]
        lineage_of, quantities = self.lineage_of, table.trait.quantities if table.trait else {}
        of_crop, at = dict[str, dict[str, Span]](), ""
        for _, row_id, crop_id, source_id, place in stated.rows:
            if not (of_row := spans[place]) or (row_id and (table.name, row_id) in aside):
                continue
            if at != crop_id or not of_crop:
                of_crop, at = {q: self.spans.setdefault((table.name, q, crop_id), {}) for q in quantities}, crop_id
            lineage = lineage_of.get(source_id, source_id)
            for quantity, low, high in of_row:
                by_lineage = of_crop[quantity]
                before = by_lineage.get(lineage)
                if before is None:
                    by_lineage[lineage] = (low, high)
                elif low < before[0] or high > before[1]:
                    by_lineage[lineage] = (min(low, before[0]), max(high, before[1]))
            if (figure := best[place]) is not None:
                self.best_c[crop_id] = min(self.best_c.get(crop_id, figure), figure)

    def _others(self, table: str, quantity: str, crop_id: str, lineage: str) -> Voices:
        """All lineages but one. Of each figure the two outermost are kept, one of which is not that lineage's."""
        key = (table, quantity, crop_id)
        spans = self.spans.get(key, {})
        own = spans.get(lineage)
        if len(spans) == (own is not None):
            return Voices()
        if key not in self._ends:
            self._ends[key] = sorted(s[0] for s in spans.values())[:2], sorted(s[1] for s in spans.values())[:-3:-1]
        lows, highs = self._ends[key]
        low = lows[own is not None and own[0] == lows[0]]
        high = highs[own is not None and own[1] == highs[0]]
        return Voices(low, high, len(spans) - (own is not None))

    def expected(self, table: str, quantity: str, crop_id: str, source_id: str) -> tuple[Expected, ...]:
        """What to hold a figure against, best known first: other sources, the seed's size, relatives."""
        key = (table, quantity, crop_id)
        names = (crop_id, self.parent.get(crop_id, ""))
        if key not in self._expected:
            self._expected[key] = [self.spans.get((table, quantity, name), {}) for name in names], {}
        of_names, known = self._expected[key]
        lineage = self.lineage_of.get(source_id, source_id)
        # Sources that print the same are held against the same others, but for relatives, who may be of their lineage.
        own = tuple([spans.get(lineage) for spans in of_names])
        found = known.get(own)
        if found is None:
            found = known.get(lineage)
        if found is None:
            others = _together(self._others(table, quantity, name, lineage) for name in names)
            found = tuple(self._expect(table, quantity, crop_id, lineage, others))
            known[own if others.number > 1 else lineage] = found
        return found

    def _expect(self, table: str, quantity: str, crop_id: str, lineage: str, others: Voices) -> Iterator[Expected]:
        if others.number:
            yield Expected(
                others.low, others.high, "others print", others.number, "error" if others.number > 1 else "warning"
            )
        diameter = self.seed_mm(crop_id) if table == "sowing_depth" else None
        if diameter is not None:
            yield Expected(
                diameter * _DIAMETERS[0], diameter * _DIAMETERS[1], "seed of this size goes in", 2, "warning"
            )
        if others.number < 2:
            yield from self._by_kin(table, quantity, crop_id, lineage)

    def _relatives(self, rank: int, name: str) -> list[str]:
        """Crops of a genus (rank 0) or family (rank 1)."""
        if not self._named:
            for crop_id, names in self.kin.items():
                for place, own in enumerate(names):
                    self._named.setdefault((place, own), []).append(crop_id)
        return self._named.get((rank, name), [])

    def _by_kin(self, table: str, quantity: str, crop_id: str, lineage: str) -> Iterator[Expected]:
        own = self.kin.get(crop_id)
        # Seeds of one family differ a thousandfold in weight (clover and bean), so only the genus speaks there.
        for rank in (0,) if table == "seeds_per_gram" else (0, 1):
            kin = _together(
                self._others(table, quantity, other, lineage)
                for other in self._relatives(rank, own[rank] if own else "")
                if other != crop_id
            )
            if own and kin.number >= _FEWEST_KIN:
                yield Expected(kin.low, kin.high, f"other {own[rank]} have", kin.number, "warning")
                return

    def seed_mm(self, crop_id: str) -> float | None:
        """Diameter of a seed as a ball of its weight, or None where its weight is not known."""
        for name in (crop_id, self.parent.get(crop_id, "")):
            spans = list(self.spans.get(("seeds_per_gram", "", name), {}).values())
            if spans:
                counts = sorted(value for span in spans for value in span)
                count = counts[len(counts) // 2]
                return 10 * (6 / (math.pi * _SEED_DENSITY * count)) ** (1 / 3) if count > 0 else None
        return None


def _spans(row: Row, table: Table) -> list[tuple[str, float, float]]:
    """Quantity, lowest and highest figure of a published row."""
    if table.trait is None or row.get("basis") != "published":
        return []
    found = []
    for quantity, columns in table.trait.quantities.items():
        numbers = [value for name in columns if (value := number_in(row.get(name))) is not None]
        if numbers:
            found.append((quantity, min(numbers), max(numbers)))
    return found


def _best(row: Row) -> float | None:
    return number_in(row.get("optimum_low_c")) or number_in(row.get("optimum_c"))


def _is_far(value: float, expected: Expected, celsius: bool, times: float) -> bool:
    if celsius:
        return value < expected.low - _FAR_C or value > expected.high + _FAR_C
    return value > 0 and expected.low > 0 and (value * times < expected.low or value > expected.high * times)


def _fits(value: float, expected: Expected, celsius: bool) -> bool:
    slack = 3.0 if celsius else max(abs(expected.high), abs(expected.low)) * 0.25
    return expected.low - (slack if celsius else expected.low * 0.25) <= value <= expected.high + slack


def slip_in(
    printed: float, unit: str, canonical_unit: str, expected: Expected, beside: Sequence[float] = ()
) -> tuple[str, str, float] | None:
    """The slip that makes a figure fit what is expected, as (rule, what it looks like, the figure as it was meant).

    `beside`: the other figures of the row in this unit; a unit is mistaken for all of them or for none. None where the figure does not lie far off, or no single slip explains it. Raises InputError for an unknown unit.
    """
    value = convert(printed, unit, canonical_unit)
    celsius = canonical_unit == "°C"
    times = _FAR if expected.voices > 1 else _FAR_FROM_ONE
    if not _is_far(value, expected, celsius, times):
        return None
    for real in _MISTAKEN.get(unit, ()):
        meant = convert(printed, real, canonical_unit)
        small = not celsius and 1 / _SMALL_FACTOR < meant / value < _SMALL_FACTOR
        others = [convert(figure, real, canonical_unit) for figure in beside]
        fit = _fits(meant, expected, celsius) and not any(
            _is_far(other, expected, celsius, _FAR) or (not celsius and other < 0 < expected.low) for other in others
        )
        if fit and (not small or expected.voices >= _VOICES_FOR_SMALL):
            return "slip-unit", f"looks like {_SAID.get(real, real)} typed as {_SAID.get(unit, unit)}", printed
    for factor in () if celsius else (10.0, 0.1):
        if _fits(value * factor, expected, celsius):
            return "slip-ten-times", "looks ten times off: a decimal point in the wrong place", printed * factor
    if expected.voices >= 3 and not celsius and _is_far(value, expected, False, _FAR_ALONE):
        return "far-from-others", "is far from everything expected", printed
    return None


def _ends_agree(name: str, mended: float, row: Row) -> bool:
    """Whether a mended figure still stands on its side of the row's other end: 1 to 3 was never 10 to 3."""
    for low, high in ORDERED:
        other = number_in(row.get(high if name == low else low, ""))
        if name in (low, high) and other is not None and other != number_in(row.get(name, "")):
            return mended <= other if name == low else mended >= other
    return True


def far_findings(stated: Statements, table: Table, file: str, known: Evidence) -> Iterator[Finding]:
    """Slips inside the allowed range, found beside other sources, the seed's size or relatives."""
    if table.trait is None or table.field("unit") is None:
        return
    fields = {
        quantity: [field for name in dict.fromkeys(columns) if (field := table.field(name)) and field.converted_from]
        for quantity, columns in table.trait.quantities.items()
    }
    # The same figures beside the same expectation are looked at once.
    for quantity, columns in fields.items():
        fitting: set[tuple[int, int]] = set()
        subject, spans = ("", ""), known.expected(table.name, quantity, "", "")
        for number, _, crop_id, source_id, place in stated.rows:
            if subject != (crop_id, source_id):
                subject, spans = (crop_id, source_id), known.expected(table.name, quantity, crop_id, source_id)
            if (id(spans), place) in fitting:
                continue
            for expected in spans:
                found = list(_far_in_row(number, stated.figures[place], columns, file, expected))
                yield from found
                if found:
                    break
            else:
                fitting.add((id(spans), place))


def _far_in_row(number: int, row: Row, columns: Sequence[Field], file: str, expected: Expected) -> Iterator[Finding]:
    by_seed = expected.says.startswith("seed")
    printed_in = [number_in(row.get(field.converted_from or "")) for field in columns]
    for place, field in enumerate(columns):
        name, unit, printed = field.converted_from or "", row.get(field.unit_field, ""), printed_in[place]
        if printed is None or not unit:
            continue
        beside = tuple(figure for figure in printed_in[:place] + printed_in[place + 1 :] if figure is not None)
        try:
            slip = slip_in(printed, unit, field.unit or "", expected, beside)
        except CropdataError:
            continue  # the typed pass reports the unit itself
        if not slip and not by_seed:
            continue
        value = convert(printed, unit, field.unit or unit)
        allowed = f"{expected.says} {expected.low:.3g} to {expected.high:.3g} {field.unit}"
        if slip and _ends_agree(name, slip[2], row):
            severity = "warning" if slip[0] == "far-from-others" else expected.severity
            yield Finding(file, number, name, slip[0], severity, f"{row[name]} {unit}", allowed, slip[1],
                          "look at the source again; if it is right, record an exception")  # fmt: skip
        elif by_seed and value > 0 and not expected.low <= value <= expected.high:
            yield Finding(file, number, name, "depth-against-seed", "warning", f"{row[name]} {unit}", allowed,
                          "does not fit the size of the seed", "look at the source again; if it is right, record an exception")  # fmt: skip


def warmer_but_slower(rows: Numbered, file: str, best_c: Mapping[str, float]) -> Iterator[Finding]:
    """Tables of days by temperature in which a warmer soil, below the best temperature, is slower."""
    tables: dict[tuple[str, str], list[tuple[float, float, int]]] = {}
    for number, row in rows:
        days, temp = number_in(row.get("days")), _celsius(row)
        if days is not None and temp is not None:
            tables.setdefault((row.get("crop_id", ""), row.get("source_id", "")), []).append((temp, days, number))
    for (crop_id, _), points in tables.items():
        points.sort()
        for (cool, before, _), (warm, after, number) in itertools.pairwise(points):
            if warm <= best_c.get(crop_id, 20.0) and after > before * 1.2 + 0.5:
                yield Finding(file, number, "days", "warmer-but-slower", "error", f"{after:g} days at {warm:g} °C, {before:g} at {cool:g} °C",
                              "no more days in warmer soil below the best temperature", "is slower in warmer soil",
                              "look at the column of the printed table")  # fmt: skip


def _celsius(row: Row) -> float | None:
    """Temperature of a row: as the build wrote it, else from the printed one, which is all that a layer has."""
    written, printed = number_in(row.get("temperature_c")), number_in(row.get("temperature"))
    if written is not None or printed is None or row.get("unit") not in ("C", "F"):
        return written
    return convert(printed, row["unit"], "°C")
