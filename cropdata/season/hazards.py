"""Cautions that apply to a season's crops, seed, mixes and devices."""

from __future__ import annotations

from collections.abc import Iterable

from cropdata.catalog import Catalog, Crop
from cropdata.season.plan import Caution, PlannedSowing
from cropdata.season.season_parts import Season

HEAT_MAT, LAMP = "heat mat", "lamp"


def cautions_of(
    sowings: Iterable[PlannedSowing], crops: Iterable[Crop], season: Season, catalog: Catalog
) -> tuple[Caution, ...]:
    """Crops in the order of their names, then materials; silence is no promise."""
    return (*_of_crops(crops), *_of_materials(tuple(sowings), season, catalog))


def _of_crops(crops: Iterable[Crop]) -> list[Caution]:
    found = []
    for crop in sorted(crops, key=lambda each: each.name):
        by_kind: dict[str, list[str]] = {}
        sources: dict[str, list[str]] = {}
        for row in crop.cautions:
            kind = str(row["kind"])
            by_kind.setdefault(kind, []).append(str(row["hazard"]))
            sources.setdefault(kind, []).append(str(row["source_id"]))
        for kind, hazards in by_kind.items():
            told = "; ".join(dict.fromkeys(hazards))
            found.append(Caution(crop.name, f"{kind}: {told}", tuple(dict.fromkeys(sources[kind]))))
    return found


def _of_materials(sowings: tuple[PlannedSowing, ...], season: Season, catalog: Catalog) -> list[Caution]:
    """Those of the methods used; of a mix those of its components, of any mix where none is named."""
    methods = frozenset(line.method for line in sowings if line.method is not None)
    components = tuple(each.component for each in catalog.media[season.kit.mix].components) if season.kit.mix else None
    found = []
    for caution in catalog.materials.cautions:
        if not caution.concerns(methods, components):
            continue
        if caution.about == "device" and HEAT_MAT in caution.applies_to and not season.place.mats:
            continue
        about = caution.applies_to.replace(";", ",")
        found.append(
            Caution(about[:1].upper() + about[1:], f"{caution.hazard}. {caution.advice}.", (caution.source_id,))
        )
    return found
