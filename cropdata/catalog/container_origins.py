"""Who says each figure of a container that layers were laid over: a price of one layer, a life of another, the release."""

from __future__ import annotations

from cropdata.catalog.records import Record, _set

TYPE_CHECKING = False
if TYPE_CHECKING:
    from cropdata.catalog.catalog import Catalog
    from cropdata.catalog.material_records import Container
    from cropdata.tabular.rows import Row

# Figures of a container by the columns that hold them; a layer that gives one column answers for the figure.
FIGURES = {
    "method": ("method_id",), "name": ("name",), "units": ("units_per_tray",), "volume": ("volume_low", "volume_high", "volume_unit"),
    "size": ("depth", "tray_length", "tray_width", "length_unit"), "plastic": ("plastic_low", "plastic_high", "plastic_unit"),
    "life": ("life_low", "life_high"), "price": ("price_low", "price_high", "currency"),
}  # fmt: skip


class Said(Record):
    """Who says a figure: `source_id`, `locator` (its own, and the layer's file and row), `basis`, `layer`."""

    __slots__ = ("basis", "layer", "locator", "source_id")

    source_id: str
    locator: str
    basis: str
    layer: str

    def __init__(self, source_id: str, locator: str, basis: str, layer: str) -> None:
        _set(self, "source_id", source_id)
        _set(self, "locator", locator)
        _set(self, "basis", basis)
        _set(self, "layer", layer)


def origins(catalog: Catalog, container: Container) -> dict[str, Said]:
    """Who says each of `FIGURES` of a container, from the uppermost layer down; those that nobody states are the row's own."""
    found: dict[str, Said] = {}
    if container.layer != "release":
        for layer in reversed(catalog.layers):
            for row in reversed(layer.rows.get("containers", [])):
                if row["container_id"] != container.container_id:
                    continue
                said = _said(row, layer.name)
                for what, columns in FIGURES.items():
                    if row["action"] == "add" or any(row[column] for column in columns):
                        found.setdefault(what, said)
                if row["action"] == "add":
                    return found
        for row in catalog.reference_rows("containers", layers=False):
            if row["container_id"] == container.container_id:
                said = Said(row["source_id"], row["locator"], row["basis"], "release")
                return dict.fromkeys(FIGURES, said) | found
    return dict.fromkeys(FIGURES, Said(container.source_id, container.locator, container.basis, container.layer))


def _said(row: Row, layer: str) -> Said:
    locator = "; ".join(filter(None, [row["locator"], row["at"]]))
    return Said(row["source_id"] or layer, locator, row["basis"] or "published", layer)
