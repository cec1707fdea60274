"""Whether a method suits a crop, by what sources say of sowing in place and of transplanting; which containers to show."""

from __future__ import annotations

import math

from cropdata.catalog import Crop, Range
from cropdata.catalog.material_records import Container, CropStay, Method
from cropdata.catalog.materials import Materials
from cropdata.methods.comparison import Fit, Pair

EASY, WITH_CARE, NOT_ADVISED = 1, 2, 3
_EASE = {EASY: "easy to transplant", WITH_CARE: "to be transplanted with care", NOT_ADVISED: "not to be transplanted"}
_USUAL = {"tray": "tray-72", "block": "block-50mm", "pot": "pot-9cm", "flat": "flat-28x54cm", "towel": "towel-sheet"}


def fit_of(crop: Crop, method: Method) -> Fit:
    """What sources say of that method for the crop; "unknown" where none says anything."""
    if method.method_id == "in_place":
        return _in_place(crop)
    denied = crop.not_done("weeks_to_raise")
    if denied is not None:
        return Fit("not_done", "raising under cover is not done", denied.sources)
    ease, raised = crop.trait("transplant_ease"), crop.weeks_to_raise
    if not isinstance(ease, Range):
        if raised is None:
            return Fit("unknown", "nothing is recorded on raising it under cover", ())
        return Fit("yes", "raised under cover; ease of transplanting not recorded", raised.sources)
    low, high = round(ease.low), round(ease.high)
    saying = _EASE[low] if low == high else f"{_EASE[low]} or {_EASE[high].removeprefix('to be transplanted ')}"
    # A root that is moved bare is disturbed the most; a sprouted seed's, a few millimetres long, is not yet.
    torn = method.bare_moves_high > 0 and method.method_id != "towel" and high >= WITH_CARE
    if low >= NOT_ADVISED or (torn and high >= NOT_ADVISED):
        word = "not_advised"
    else:
        word = "with_care" if high >= WITH_CARE else "yes"
    return Fit(word, saying + (", and here the bare root is moved" if torn else ""), ease.sources)


def _in_place(crop: Crop) -> Fit:
    denied, times = crop.not_done("direct_sowing_weeks"), crop.direct_sowing_weeks
    if denied is not None:
        return Fit("not_done", "sowing in place is not done", denied.sources)
    if times is not None:
        return Fit("yes", "sources give a time for sowing in place", times.sources)
    under_cover = crop.not_done("weeks_to_raise")
    if under_cover is not None:
        return Fit("yes", "it is not raised under cover", under_cover.sources)
    return Fit("unknown", "nothing is recorded on sowing it in place", ())


def outgrown(stay: CropStay | None, raise_weeks: Pair | None) -> str | None:
    """Whether raising takes longer than the crop may stay: "no", "maybe", "yes"; None where it is not known."""
    if stay is None or raise_weeks is None:
        return None
    if stay.limit_weeks is not None and raise_weeks[0] > stay.limit_weeks:
        return "yes"
    if stay.safe_weeks is None:
        return None
    return "no" if raise_weeks[1] <= stay.safe_weeks else "maybe"


def containers_for(
    crop: Crop, method: Method, materials: Materials, raise_weeks: Pair | None
) -> list[tuple[Container, str]]:
    """The containers to show of a method, each with why: the grower's own, those that sources name, one that is roomy
    enough (or else the one that is outgrown last), or else a usual one.
    """
    every = [each for each in materials.containers.values() if each.method_id == method.method_id]
    own = [(each, f"from the layer {each.layer}") for each in every if each.layer != "release"]
    sized = [
        each for each in every if each.volume_low_ml is not None and each.units_per_tray and each.layer == "release"
    ]
    sized.sort(key=lambda each: each.volume_low_ml or 0.0)
    printed = crop.raising.get("cells_per_tray") if method.method_id == "tray" else None
    if printed is not None:
        named = [each for each in sized if printed.envelope_low <= (each.units_per_tray or 0) <= printed.envelope_high]
        fit = [each for each in named if outgrown(stay_in(materials, crop, each), raise_weeks) != "yes"] or named
        ends = fit[:1] if len(fit) < 2 else [fit[0], fit[-1]]
        if ends:
            shown = [(each, "the size is named for this crop") for each in ends]
            if all(outgrown(stay_in(materials, crop, each), raise_weeks) == "yes" for each in ends):
                shown += [found for found in _roomiest(crop, sized, materials, raise_weeks) if found[0] not in ends]
            return [*own, *shown]
    usual = materials.containers.get(_USUAL.get(method.method_id, ""))
    if method.method_id in ("tray", "block", "pot"):
        for roomy, why in _roomiest(crop, sized, materials, raise_weeks):
            if usual is not None and (usual.volume_low_ml or 0.0) < (roomy.volume_low_ml or 0.0):
                return [*own, (usual, "a usual size"), (roomy, why)]
            return [*own, (roomy, why)]
    return own or ([(usual, "a usual size")] if usual is not None else [])


def _roomiest(
    crop: Crop, sized: list[Container], materials: Materials, raise_weeks: Pair | None
) -> list[tuple[Container, str]]:
    """The smallest that the crop does not outgrow, else the smallest of those that it outgrows last; none where no stay
    is known.
    """
    stays = {each.container_id: stay_in(materials, crop, each) for each in sized}
    known = [each for each in sized if outgrown(stays[each.container_id], raise_weeks) is not None]
    for each in known:
        if outgrown(stays[each.container_id], raise_weeks) == "no":
            return [(each, "the smallest that it does not outgrow")]

    def lasts(container: Container) -> tuple[float, float]:
        stay = stays[container.container_id]
        limit, safe = (stay.limit_weeks, stay.safe_weeks) if stay else (0.0, 0.0)
        return math.inf if limit is None else limit, safe or 0.0

    return [(max(known, key=lasts), "the one that it outgrows last")] if known else []


def stay_in(materials: Materials, crop: Crop, container: Container) -> CropStay | None:
    """How long the crop may stay in that container; None where its volume is not known."""
    return None if container.volume_low_ml is None else materials.stay(crop, container.volume_low_ml)
