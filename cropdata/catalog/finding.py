"""Search over the crops of a catalog."""

from __future__ import annotations

from cropdata.catalog.catalog import Catalog
from cropdata.catalog.crop import Crop
from cropdata.catalog.names import folded
from cropdata.errors import InputError

HALF_HARDY = 3
# The limits that the descriptor sets for germination temperatures; beyond them the question is a slip.
COLDEST_C, WARMEST_C = -5, 50


def _matches_text(crop: Crop, text: str) -> bool:
    return any(text in folded(name) for name in (crop.name, crop.id.replace("-", " "), crop.scientific_name))


def _germinates(crop: Crop, temp_c: float) -> bool:
    limits = crop.germination_temperature
    if limits is None:
        return False
    low = limits.minimum if limits.minimum is not None else limits.optimum_low
    high = limits.maximum if limits.maximum is not None else limits.optimum_high
    return low is not None and high is not None and low <= temp_c <= high


def _is_hardy(crop: Crop) -> bool | None:
    rank = crop.frost_tolerance
    return None if rank is None else rank.low >= HALF_HARDY


def _under_cover(crop: Crop) -> bool | None:
    if crop.weeks_to_raise or crop.weeks_before_last_frost:
        return True
    return False if crop.status("weeks_before_last_frost") == "not_applicable" else None


def find_crops(
    catalog: Catalog,
    *,
    text: str | None,
    group: str | None,
    family: str | None,
    parent: str | None,
    life_cycle: str | None,
    recorded: tuple[str, ...],
    complete: bool | None,
    germinates_at_c: float | None,
    hardy: bool | None,
    under_cover: bool | None,
    cautions: bool | None,
) -> tuple[Crop, ...]:
    """See `Catalog.find`."""
    crops = [catalog.crop(crop_id) for crop_id in catalog]
    wanted = None if text is None else folded(text)
    if wanted == "":
        raise InputError(
            "the text to search for is empty",
            found=text,
            hint="leave it out to search by the other conditions",
        )
    for name, value in (("group", group), ("family", family), ("life_cycle", life_cycle)):
        known = {getattr(crop, name) for crop in crops}
        if value is not None and value not in known:
            raise InputError(
                f"no crop has the {name} {value!r}",
                found=value,
                allowed=", ".join(sorted(filter(None, known))),
            )
    for trait in recorded:
        catalog.require_trait(trait)
    if germinates_at_c is not None and not COLDEST_C <= germinates_at_c <= WARMEST_C:
        raise InputError("no germination temperature", found=germinates_at_c, allowed=f"{COLDEST_C} to {WARMEST_C} °C")
    parent_id = catalog.crop(parent).id if parent is not None else None

    def meets(crop: Crop) -> bool:
        return (
            (wanted is None or _matches_text(crop, wanted))
            and (group is None or crop.group == group)
            and (family is None or crop.family == family)
            and (parent_id is None or crop.parent_id == parent_id)
            and (life_cycle is None or crop.life_cycle == life_cycle)
            and all(crop.status(trait) == "recorded" for trait in recorded)
            and (complete is None or crop.is_complete() == complete)
            and (germinates_at_c is None or _germinates(crop, germinates_at_c))
            and (hardy is None or _is_hardy(crop) == hardy)
            and (under_cover is None or _under_cover(crop) == under_cover)
            and (cautions is None or bool(crop.cautions) == cautions)
        )

    return tuple(crop for crop in crops if meets(crop))
