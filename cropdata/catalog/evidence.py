"""A row of evidence, as the catalog hands it out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

_set = object.__setattr__


class Evidence(Mapping[str, object]):
    """One row of evidence as printed: a read-only mapping whose columns are attributes too."""

    __slots__ = ("_cells",)

    def __init__(self, cells: Mapping[str, object]) -> None:
        _set(self, "_cells", dict(cells))

    def __getitem__(self, column: str) -> object:
        return self._cells[column]

    def __iter__(self) -> Iterator[str]:
        return iter(self._cells)

    def __len__(self) -> int:
        return len(self._cells)

    def __getattr__(self, column: str) -> Any:
        if column.startswith("_"):
            raise AttributeError(column)
        try:
            return self._cells[column]
        except KeyError:
            raise AttributeError(f"this row has no column {column!r}; it has {', '.join(self._cells)}") from None

    def __setattr__(self, column: str, value: object) -> None:
        raise AttributeError(f"a row of evidence is frozen; {column!r} cannot be set")

    def __hash__(self) -> int:
        return hash(tuple(self._cells.items()))

    def __repr__(self) -> str:
        return f"Evidence({self._cells!r})"

    def __reduce__(self) -> tuple[object, ...]:
        return (Evidence, (self._cells,))
