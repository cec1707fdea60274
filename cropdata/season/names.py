"""Names that a plan shows beside ids: of containers, and of the crop that a layer's variety belongs to."""

from __future__ import annotations

from collections.abc import Iterable

from cropdata.catalog import Catalog
from cropdata.season.plan import PlannedSowing


def with_names(sowings: Iterable[PlannedSowing], catalog: Catalog) -> tuple[PlannedSowing, ...]:
    """The same sowings with the names of their containers and, for a variety that a layer adds as a crop, of its crop."""
    containers = catalog.containers
    return tuple(
        line._replace(
            container_name=containers[line.container].name if line.container is not None else None,
            parent=_parent(line.crop_id, catalog),
        )
        for line in sowings
    )


def _parent(crop_id: str, catalog: Catalog) -> str | None:
    crop = catalog.crop(crop_id)
    if crop.parent_id is None or crop.layer == "release":
        return None
    return catalog.crop(crop.parent_id).name
