"""The rule that joins what several sources printed into one answer.

1. Only the best kind of statement counts: published, else common practice, else from memory.
2. A source's figure is the span of its rows; a lineage's figure the median of its sources, so that reprints of
   one table count once.
3. Low is the median of the lineages' lows, high the median of their highs.
4. Agreement: `single source`; `agree`, one value lies in every range; `partly`, the ranges overlap in a chain;
   `disagree`, they do not. Where they disagree the answer is the envelope, lowest low to highest high.

Pure functions of numbers and texts; the build and the layers use the same code.
"""

from __future__ import annotations

from cropdata.catalog.records import Record

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable

BASIS_RANK = {"published": 0, "common_practice": 1, "from_memory": 2}

_set = object.__setattr__


class Printed(Record):
    """One row's figure for one quantity, canonical. A bound is None where the print was open there."""

    __slots__ = ("basis", "high", "layer", "lineage", "low", "source_id")

    low: float | None
    high: float | None
    basis: str
    source_id: str
    lineage: str
    layer: str

    def __init__(
        self,
        low: float | None,
        high: float | None,
        basis: str,
        source_id: str,
        lineage: str,
        layer: str = "release",
    ) -> None:
        _set(self, "low", low)
        _set(self, "high", high)
        _set(self, "basis", basis)
        _set(self, "source_id", source_id)
        _set(self, "lineage", lineage)
        _set(self, "layer", layer)


class Joined(Record):
    """The answer of the rule; fields as in Range."""

    __slots__ = (
        "agreement", "basis", "envelope_high", "envelope_low", "high", "layers", "lineages", "low",
        "open_high", "open_low", "sources",
    )  # fmt: skip

    low: float
    high: float
    open_low: bool
    open_high: bool
    agreement: str
    basis: str
    lineages: int
    envelope_low: float
    envelope_high: float
    sources: tuple[str, ...]
    layers: frozenset[str]

    def __init__(self, **values: object) -> None:
        for name in self.__slots__:
            _set(self, name, values[name])


def median(values: Iterable[float]) -> float:
    """The middle value, or the mean of the two middle ones."""
    ordered = sorted(values)
    middle = len(ordered) // 2
    if len(ordered) % 2:
        return ordered[middle]
    return (ordered[middle - 1] + ordered[middle]) / 2


def agreement_of(ranges: list[tuple[float, float]]) -> str:
    """The agreement class of the lineages' ranges."""
    if len(ranges) == 1:
        return "single source"
    if max(low for low, _ in ranges) <= min(high for _, high in ranges):
        return "agree"
    reach = None
    for low, high in sorted(ranges):
        if reach is not None and low > reach:
            return "disagree"
        reach = high if reach is None else max(reach, high)
    return "partly"


class _Span:
    """Lowest low and highest high of some rows, remembering which ends were open."""

    def __init__(self, rows: list[Printed]) -> None:
        lows = [row.low if row.low is not None else row.high for row in rows]
        highs = [row.high if row.high is not None else row.low for row in rows]
        self.low = min(value for value in lows if value is not None)
        self.high = max(value for value in highs if value is not None)
        self.open_low = any(row.low is None for row in rows)
        self.open_high = any(row.high is None for row in rows)


def join(rows: Iterable[Printed]) -> Joined | None:
    """Join the rows of one crop, trait and quantity. None when no row holds a number."""
    usable = [row for row in rows if row.low is not None or row.high is not None]
    if not usable:
        return None
    best = min(BASIS_RANK[row.basis] for row in usable)
    used = [row for row in usable if BASIS_RANK[row.basis] == best]

    by_lineage: dict[str, dict[str, list[Printed]]] = {}
    for row in used:
        by_lineage.setdefault(row.lineage, {}).setdefault(row.source_id, []).append(row)
    spans = [[_Span(rows) for rows in sources.values()] for sources in by_lineage.values()]
    ranges = [(median(span.low for span in lineage), median(span.high for span in lineage)) for lineage in spans]

    envelope_low = min(span.low for lineage in spans for span in lineage)
    envelope_high = max(span.high for lineage in spans for span in lineage)
    agreement = agreement_of(ranges)
    low, high = median(low for low, _ in ranges), median(high for _, high in ranges)
    if agreement == "disagree":
        low, high = envelope_low, envelope_high

    def mostly(end: str) -> bool:
        flags = [any(getattr(span, end) for span in lineage) for lineage in spans]
        return 2 * sum(flags) >= len(flags) and any(flags)

    return Joined(
        low=low,
        high=high,
        open_low=mostly("open_low"),
        open_high=mostly("open_high"),
        agreement=agreement,
        basis=used[0].basis,
        lineages=len(by_lineage),
        envelope_low=envelope_low,
        envelope_high=envelope_high,
        sources=tuple(sorted({row.source_id for row in used})),
        layers=frozenset(row.layer for row in used),
    )
