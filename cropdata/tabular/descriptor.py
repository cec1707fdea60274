"""The descriptor, the single source of truth for tables, columns and traits, as typed records."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from cropdata.errors import DataError
from cropdata.tabular.location import DESCRIPTOR

SCHEMA_NUMBER = 1


class Field(NamedTuple):
    """One column: its type, what it may hold, and how the build fills it where it does."""

    name: str
    type: str
    description: str
    required: bool
    unique: bool
    enum: tuple[str, ...]
    minimum: float | None
    maximum: float | None
    exclusive_minimum: float | None
    pattern: str | None
    unit: str | None
    converted_from: str | None
    unit_field: str
    rank_of: str | None

    @property
    def written_by_build(self) -> bool:
        """True for a canonical column: a reader may leave it out of a layer."""
        return self.converted_from is not None or self.rank_of is not None

    def holds(self, value: float) -> bool:
        """Whether the number lies within the column's limits."""
        above = self.exclusive_minimum is None or value > self.exclusive_minimum
        return above and (self.minimum is None or value >= self.minimum) and (self.maximum is None or value <= self.maximum)  # fmt: skip

    @property
    def limits(self) -> str:
        """The column's limits in words: 0 to 300 mm."""
        least = f"above {self.exclusive_minimum:.15g}" if self.exclusive_minimum is not None else "" if self.minimum is None else f"{self.minimum:.15g}"  # fmt: skip
        most = "" if self.maximum is None else f"to {self.maximum:.15g}"
        return " ".join(filter(None, [least or "up", most or "and more", self.unit]))


class ForeignKey(NamedTuple):
    """Cells of `fields` that must stand in `to_fields` of `table`."""

    fields: tuple[str, ...]
    table: str
    to_fields: tuple[str, ...]


class Trait(NamedTuple):
    """A trait that the consensus rule answers. `quantities` maps a figure's name to its canonical columns."""

    name: str
    title: str
    unit: str
    headline: bool
    inherit: bool
    quantities: dict[str, tuple[str, ...]]


class Table(NamedTuple):
    """One resource of the package. `inherit`: whether a type takes its rows from its parent where it has none;
    `may_be_empty`: whether it may hold no row, as layers fill it; `about`: the columns that tell, beside the crop, what
    a row speaks of (raising: the aspect); none where all rows of a crop speak of one thing.
    """

    name: str
    path: str
    title: str
    description: str
    fields: tuple[Field, ...]
    primary_key: tuple[str, ...]
    unique_keys: tuple[tuple[str, ...], ...]
    foreign_keys: tuple[ForeignKey, ...]
    trait: Trait | None
    excludes: dict[str, tuple[str, ...]]
    inherit: bool
    may_be_empty: bool
    about: tuple[Field, ...]
    hash: str | None
    bytes: int | None

    @property
    def is_evidence(self) -> bool:
        """True for a table of printed values."""
        return self.path.startswith("evidence/")

    @property
    def is_derived(self) -> bool:
        """True for a table that the build writes whole."""
        return self.path.startswith("derived/")

    def field(self, name: str) -> Field | None:
        """The column of that name, or None."""
        return next((field for field in self.fields if field.name == name), None)


class Descriptor(NamedTuple):
    """The package's descriptor."""

    raw: Mapping[str, Any]
    version: str
    schema_number: int
    tables: dict[str, Table]

    @property
    def evidence(self) -> Iterator[Table]:
        """The evidence tables in the order of the descriptor."""
        return (table for table in self.tables.values() if table.is_evidence)

    @property
    def traits(self) -> dict[str, Trait]:
        """Traits with a consensus, by name."""
        return {table.trait.name: table.trait for table in self.tables.values() if table.trait}


def _field(raw: Mapping[str, Any]) -> Field:
    constraints = raw.get("constraints", {})
    return Field(
        raw["name"],
        raw.get("type", "string"),
        raw.get("description", ""),
        bool(constraints.get("required", False)),
        bool(constraints.get("unique", False)),
        tuple(constraints.get("enum", ())),
        constraints.get("minimum"),
        constraints.get("maximum"),
        constraints.get("exclusiveMinimum"),
        constraints.get("pattern"),
        raw.get("unit"),
        raw.get("convertedFrom"),
        raw.get("unitField", "unit"),
        raw.get("rankOf"),
    )


def _listed(value: str | list[str]) -> tuple[str, ...]:
    return (value,) if isinstance(value, str) else tuple(value)


def _table(raw: Mapping[str, Any]) -> Table:
    schema = raw["schema"]
    trait = raw.get("trait")
    fields = {field["name"]: _field(field) for field in schema["fields"]}
    return Table(
        raw["name"],
        raw["path"],
        raw.get("title", raw["name"]),
        raw.get("description", ""),
        tuple(fields.values()),
        _listed(schema.get("primaryKey", [])),
        tuple(tuple(key) for key in schema.get("uniqueKeys", [])),
        tuple(
            ForeignKey(
                _listed(key["fields"]),
                key["reference"].get("resource") or raw["name"],
                _listed(key["reference"]["fields"]),
            )
            for key in schema.get("foreignKeys", [])
        ),
        trait
        and Trait(
            raw["name"],
            raw["title"],
            trait["unit"],
            trait["headline"],
            trait["inherit"],
            {name: tuple(columns) for name, columns in trait["quantities"].items()},
        ),
        {practice: tuple(traits) for practice, traits in raw.get("excludes", {}).items()},
        trait["inherit"] if trait else raw.get("inherit", True),
        bool(raw.get("mayBeEmpty", False)),
        tuple(fields[name] for name in raw.get("about", ())),
        raw.get("hash"),
        raw.get("bytes"),
    )


def parse_descriptor(raw: Mapping[str, Any], where: str = DESCRIPTOR) -> Descriptor:
    """A Descriptor from its JSON object. Raises DataError where a part is missing or of a newer schema."""
    number = raw.get("schemaNumber")
    if number != SCHEMA_NUMBER:
        raise DataError(
            f"{where}: schema number {number!r}, this version of cropdata reads {SCHEMA_NUMBER}; "
            "update cropdata or use an older release of the data"
        )
    try:
        tables = {resource["name"]: _table(resource) for resource in raw["resources"]}
        return Descriptor(raw, raw["version"], number, tables)
    except (KeyError, TypeError, AttributeError) as error:
        raise DataError(f"{where}: the descriptor lacks or misstates {error}") from error


def read_descriptor(folder: str) -> Descriptor:
    """The descriptor of the package in `folder`. Raises DataError where it cannot be read."""
    path = os.path.join(folder, DESCRIPTOR)
    try:
        with open(path, encoding="utf-8") as stream:
            raw = json.load(stream)
    except OSError as error:
        raise DataError(f"{path}: {error.strerror}") from error
    except ValueError as error:
        raise DataError(f"{path}: not valid JSON in UTF-8: {error}") from error
    if not isinstance(raw, dict):
        raise DataError(f"{path}: a descriptor is a JSON object")
    return parse_descriptor(raw, path)
