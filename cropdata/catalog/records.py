"""The values that the catalog answers with: frozen records that cost little to make.

Plain slots instead of dataclasses or `typing.NamedTuple`: importing either costs more than a whole look-up.
"""

from __future__ import annotations

from cropdata.tabular.units import convert

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    import numpy as np
    from numpy.typing import NDArray

    Days = float | NDArray[np.float64]

_set = object.__setattr__


class Record:
    """Base of the frozen records: equal by value, hashable, readable, picklable."""

    __slots__: tuple[str, ...] = ()

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{type(self).__name__} is frozen; {name!r} cannot be set")

    def __delattr__(self, name: str) -> None:
        raise AttributeError(f"{type(self).__name__} is frozen; {name!r} cannot be deleted")

    def _values(self) -> tuple[object, ...]:
        return tuple(getattr(self, name) for name in self.__slots__)

    def as_dict(self) -> dict[str, Any]:
        """The fields by name."""
        return dict(zip(self.__slots__, self._values(), strict=True))

    def __eq__(self, other: object) -> bool:
        return type(other) is type(self) and self._values() == other._values()

    def __hash__(self) -> int:
        return hash((type(self), self._values()))

    def __repr__(self) -> str:
        fields = ", ".join(f"{name}={getattr(self, name)!r}" for name in self.__slots__)
        return f"{type(self).__name__}({fields})"

    def __reduce__(self) -> tuple[object, ...]:
        return (_restore, (type(self), self._values()))


def _restore(kind: type[Record], values: tuple[object, ...]) -> Record:
    record = kind.__new__(kind)
    for name, value in zip(kind.__slots__, values, strict=True):
        _set(record, name, value)
    return record


class Range(Record):
    """A trait's answer: how much, how sure, who says so.

    Attributes:
        low, high: finite floats in `unit`; `open_low`/`open_high` tell that the print was open on that side.
        unit: canonical unit ("mm", "days", "weeks", "years", "°C", "rank", "per gram", "%").
        sources: ids of the sources joined.
        agreement: "single source", "agree", "partly" or "disagree".
        basis: "published", "common_practice", "from_memory" or "derived" (reckoned from `derived_from`).
        lineages: number of independent lineages.
        envelope_low, envelope_high: the extremes of all sources joined, in `unit`.
        layer: "release", or the name of the layer on top.
        layer_rows: the layers' rows that the answer rests on, such as "my_notes: seed_longevity.csv row 2".
        inherited_from: the parent crop's id, or None.
    """

    __slots__ = (
        "agreement", "basis", "derived_from", "envelope_high", "envelope_low", "high", "inherited_from",
        "layer", "layer_rows", "lineages", "low", "open_high", "open_low", "sources", "unit",
    )  # fmt: skip

    low: float
    high: float
    unit: str
    sources: tuple[str, ...]
    agreement: str
    basis: str
    lineages: int
    envelope_low: float
    envelope_high: float
    open_low: bool
    open_high: bool
    layer: str
    layer_rows: tuple[str, ...]
    derived_from: tuple[str, ...]
    inherited_from: str | None

    def __init__(
        self,
        low: float,
        high: float,
        unit: str,
        *,
        sources: tuple[str, ...],
        agreement: str,
        basis: str,
        lineages: int,
        envelope_low: float,
        envelope_high: float,
        open_low: bool = False,
        open_high: bool = False,
        layer: str = "release",
        layer_rows: tuple[str, ...] = (),
        derived_from: tuple[str, ...] = (),
        inherited_from: str | None = None,
    ) -> None:
        _set(self, "low", low)
        _set(self, "high", high)
        _set(self, "unit", unit)
        _set(self, "sources", sources)
        _set(self, "agreement", agreement)
        _set(self, "basis", basis)
        _set(self, "lineages", lineages)
        _set(self, "envelope_low", envelope_low)
        _set(self, "envelope_high", envelope_high)
        _set(self, "open_low", open_low)
        _set(self, "open_high", open_high)
        _set(self, "layer", layer)
        _set(self, "layer_rows", layer_rows)
        _set(self, "derived_from", derived_from)
        _set(self, "inherited_from", inherited_from)

    def to(self, unit: str) -> Range:
        """The same answer in another unit, such as "in", "cm", "°F", "days" or "months".

        Raises InputError, naming the units that fit, when `unit` measures something else.
        """
        values = self.as_dict()
        for name in ("low", "high", "envelope_low", "envelope_high"):
            values[name] = convert(values[name], self.unit, unit)
        values["unit"] = unit
        return Range(**values)


class GerminationTemperature(Record):
    """Temperatures between which seed germinates, in °C; each is None where nobody printed it.

    `agreement` is the weakest of its parts, `sources` all that any part rests on. The ranges behind the
    figures, with their own sources, are `minimum_range`, `optimum_range` and `maximum_range`.
    """

    __slots__ = ("maximum_range", "minimum_range", "optimum_range")

    minimum_range: Range | None
    optimum_range: Range | None
    maximum_range: Range | None

    def __init__(self, minimum: Range | None, optimum: Range | None, maximum: Range | None) -> None:
        _set(self, "minimum_range", minimum)
        _set(self, "optimum_range", optimum)
        _set(self, "maximum_range", maximum)

    @property
    def parts(self) -> tuple[Range, ...]:
        """The ranges that are recorded."""
        return tuple(part for part in (self.minimum_range, self.optimum_range, self.maximum_range) if part)

    @property
    def minimum(self) -> float | None:
        """Lowest temperature, °C. Where sources disagree, the warmer (cautious) end."""
        return self.minimum_range.high if self.minimum_range else None

    @property
    def optimum_low(self) -> float | None:
        """Lower end of the best range, °C."""
        return self.optimum_range.low if self.optimum_range else None

    @property
    def optimum_high(self) -> float | None:
        """Upper end of the best range, °C."""
        return self.optimum_range.high if self.optimum_range else None

    @property
    def maximum(self) -> float | None:
        """Highest temperature, °C. Where sources disagree, the cooler (cautious) end."""
        return self.maximum_range.low if self.maximum_range else None

    @property
    def unit(self) -> str:
        """Always "°C"."""
        return "°C"

    @property
    def sources(self) -> tuple[str, ...]:
        """Ids of all sources joined."""
        return tuple(sorted({source for part in self.parts for source in part.sources}))

    @property
    def agreement(self) -> str:
        """The weakest agreement among the parts."""
        order = ("disagree", "partly", "single source", "agree")
        return min((part.agreement for part in self.parts), key=order.index)

    @property
    def basis(self) -> str:
        """The weakest basis among the parts."""
        order = ("from_memory", "common_practice", "derived", "published")
        return min((part.basis for part in self.parts), key=order.index)

    @property
    def layer(self) -> str:
        """The layer on top of any part, or "release"."""
        return next((part.layer for part in self.parts if part.layer != "release"), "release")

    @property
    def layer_rows(self) -> tuple[str, ...]:
        """The layers' rows that any part rests on."""
        return tuple(dict.fromkeys(row for part in self.parts for row in part.layer_rows))

    @property
    def inherited_from(self) -> str | None:
        """The parent crop, where every part comes from it."""
        parents = {part.inherited_from for part in self.parts}
        return parents.pop() if len(parents) == 1 else None


class Estimate(Record):
    """Days to emergence at a temperature; floats, or arrays shaped like the temperatures handed in.

    Attributes:
        low, expected, high: days; `low` and `high` bound the middle seedling.
        first, last: days to 5 % and 95 % of the seedlings that come.
        percent_normal: normal seedlings in percent of seed sown at that temperature, NaN where not recorded.
        basis: "table" (printed by temperature), "range" (plain printed range) or "mixed".
        sources: ids of the sources.
        extrapolated: True where the temperature lies outside what was tested (days are NaN there).
        layer, layer_rows: as in a Range.
    """

    __slots__ = (
        "basis", "expected", "extrapolated", "first", "high", "last", "layer", "layer_rows", "low", "percent_normal",
        "sources",
    )  # fmt: skip

    low: Days
    expected: Days
    high: Days
    first: Days
    last: Days
    percent_normal: Days
    basis: str
    sources: tuple[str, ...]
    extrapolated: bool | NDArray[np.bool_]
    layer: str
    layer_rows: tuple[str, ...]

    def __init__(
        self,
        low: Days,
        expected: Days,
        high: Days,
        *,
        first: Days,
        last: Days,
        percent_normal: Days,
        basis: str,
        sources: tuple[str, ...],
        extrapolated: bool | NDArray[np.bool_],
        layer: str = "release",
        layer_rows: tuple[str, ...] = (),
    ) -> None:
        _set(self, "layer", layer)
        _set(self, "layer_rows", layer_rows)
        _set(self, "low", low)
        _set(self, "expected", expected)
        _set(self, "high", high)
        _set(self, "first", first)
        _set(self, "last", last)
        _set(self, "percent_normal", percent_normal)
        _set(self, "basis", basis)
        _set(self, "sources", sources)
        _set(self, "extrapolated", extrapolated)


class Source(Record):
    """A work that figures were taken from. `lineage` names the original that its figures come from."""

    __slots__ = (
        "authors",
        "grade",
        "kind",
        "licence_note",
        "lineage",
        "note",
        "publisher",
        "source_id",
        "title",
        "url",
        "year",
    )

    source_id: str
    title: str
    authors: str | None
    publisher: str | None
    year: int | None
    url: str | None
    kind: str
    lineage: str
    grade: str
    licence_note: str
    note: str | None

    def __init__(self, cells: Mapping[str, str]) -> None:
        for name in self.__slots__:
            text = cells.get(name) or None
            _set(self, name, int(text) if name == "year" and text else text)

    @property
    def citation(self) -> str:
        """One line to cite the work by."""
        parts = [self.authors, f"({self.year})" if self.year else None, self.title, self.publisher, self.url]
        return ". ".join(part for part in parts if part)
