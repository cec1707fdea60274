"""The packets and materials of a season file."""

from __future__ import annotations

import re
from typing import Any

from cropdata.catalog import Catalog
from cropdata.errors import CropdataError, InputError
from cropdata.season import season_fields as fields
from cropdata.season.season_fields import Mistakes, optional
from cropdata.season.season_parts import MAKES, METHODS, UNDER_COVER, Kit, Packet, Place

_PACKET_KEYS = (
    "crop", "variety", "packed", "plants", "method", "tested", "seeds", "price", "sow", "sowings", "every_days", "autumn",
    "container", "per_cell", "id",
)  # fmt: skip
_MOST_SOWINGS = 52
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


def _tested(value: Any, where: str, mistakes: Mistakes) -> tuple[int, int] | None:
    if value is None:
        return None
    if not isinstance(value, dict) or set(value) != {"germinated", "sown"}:
        mistakes.add(where, f"found {value!r}; allowed: {{germinated: 8, sown: 10}}")
        return None
    sown = fields.whole(value["sown"], f"{where}.sown", mistakes, 1, 100_000)
    germinated = fields.whole(value["germinated"], f"{where}.germinated", mistakes, 0, 100_000)
    if sown is None or germinated is None:
        return None
    if germinated > sown:
        mistakes.add(where, f"{germinated} germinated of {sown} sown; allowed: at most as many as were sown")
        return None
    return germinated, sown


def packet_of(
    value: Any, number: int, year: int | None, place: Place | None, catalog: Catalog, mistakes: Mistakes
) -> Packet | None:
    """The packet; None where its crop is not known."""
    where = f"packets[{number}]"
    if not isinstance(value, dict):
        mistakes.add(where, f"found {value!r}; allowed: a list entry with crop: and the rest")
        return None
    fields.check_keys(value, _PACKET_KEYS, where, mistakes)
    name = value.get("crop")
    crop = None
    if not isinstance(name, str):
        mistakes.add(f"{where}.crop", f"found {name!r}; allowed: the name of a crop")
    else:
        try:
            crop = catalog.crop(name)
        except CropdataError as error:
            mistakes.add(f"{where}.crop", str(error))
    method = value.get("method")
    if method is not None and method not in METHODS:
        mistakes.add(f"{where}.method", f"found {method!r}; allowed: {', '.join(METHODS)}")
        method = None
    sowings = optional(fields.whole, value, "sowings", where, mistakes, 1, _MOST_SOWINGS) or 1
    every = optional(fields.whole, value, "every_days", where, mistakes, 1, 180)
    if (sowings > 1) != (value.get("every_days") is not None):
        mistakes.add(where, "sowings (2 or more) and every_days belong together; give both or neither")
    container = _container(value.get("container"), method, f"{where}.container", catalog, mistakes)
    autumn = fields.truth(value.get("autumn"), f"{where}.autumn", mistakes)
    if autumn and place is not None and place.autumn is None:
        mistakes.add(f"{where}.autumn", "is counted back from the first frost; give place.first_autumn_frost")
    packet = Packet(
        crop,  # type: ignore[arg-type]  # a packet without its crop is not returned
        fields.line(value.get("variety"), f"{where}.variety", mistakes),
        optional(fields.whole, value, "packed", where, mistakes, 1950, year or 2200),
        optional(fields.whole, value, "plants", where, mistakes, 1, 1_000_000),
        method or (container and catalog.containers[container].method_id),
        _tested(value.get("tested"), f"{where}.tested", mistakes),
        optional(fields.whole, value, "seeds", where, mistakes, 0, 10_000_000),
        optional(fields.number, value, "price", where, mistakes, 0, 100_000, "money"),
        optional(fields.date, value, "sow", where, mistakes, year),
        sowings, every, autumn,
        container,
        optional(fields.whole, value, "per_cell", where, mistakes, 1, 50),
        _id(value.get("id"), f"{where}.id", mistakes),
    )  # fmt: skip
    return None if crop is None else packet


def _id(value: Any, where: str, mistakes: Mistakes) -> str | None:
    """A name for the packet that the records and the calendar use."""
    if value is not None and not _ID.fullmatch(str(value)):
        mistakes.add(where, f"found {value!r}; allowed: small letters, digits and hyphens, such as lettuce-early")
        return None
    return None if value is None else str(value)


def _container(
    value: Any, method: str | None, where: str, catalog: Catalog, mistakes: Mistakes
) -> str | None:  # fmt: skip
    """The id of a container that goes with the method; from a towel seedlings go to any but a towel."""
    if value is None:
        return None
    try:
        container = catalog.materials.container(str(value))
    except InputError as error:
        mistakes.add(where, str(error))
        return None
    fits = container.method_id != "towel" if method == "towel" else method in (None, container.method_id)
    if not fits:
        mistakes.add(where, f"{value} ({container.name}) goes with method {container.method_id}, not with {method}")
        return None
    return str(container.container_id)


def kit_of(value: Any, catalog: Catalog, mistakes: Mistakes) -> Kit:
    """The materials; the usual ones where none are named."""
    if value is None:
        return Kit()
    if not isinstance(value, dict):
        mistakes.add("materials", f"found {value!r}; allowed: containers, mix and make, indented under materials:")
        return Kit()
    fields.check_keys(value, ("containers", "mix", "make"), "materials", mistakes)
    named = value.get("containers")
    if named is not None and not isinstance(named, dict):
        mistakes.add(
            "materials.containers", f"found {named!r}; allowed: container ids by method, such as {{tray: tray-72}}"
        )
    chosen = []
    for method, container in (named if isinstance(named, dict) else {}).items():
        where = f"materials.containers.{method}"
        if method not in UNDER_COVER:
            mistakes.add(where, f"no method of that name; allowed: {', '.join(UNDER_COVER)}")
        elif (read := _container(container, method, where, catalog, mistakes)) is not None:
            chosen.append((str(method), read))
    mix = value.get("mix")
    if mix is not None and mix not in catalog.media:
        mistakes.add("materials.mix", f"found {mix!r}; allowed: {', '.join(catalog.media)}")
        mix = None
    make = value.get("make")
    if make is not None and make not in MAKES:
        mistakes.add("materials.make", f"found {make!r}; allowed: {', '.join(MAKES)}")
        make = None
    return Kit(tuple(chosen), mix, make)
