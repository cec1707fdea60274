"""The containers of a season: which one a sowing stands in, how many trays and how much mix, how long it may stay."""

from __future__ import annotations

from typing import NamedTuple

from cropdata.agronomy import materials
from cropdata.catalog import Catalog, Crop, Range
from cropdata.catalog.material_records import Container
from cropdata.season.season_parts import Kit, Packet
from cropdata.season.words import Words

# Taken where the grower names none and no source says how many cells a tray the crop is raised in.
USUAL = {"tray": "tray-72", "block": "block-50mm", "pot": "pot-9cm", "flat": "flat-28x54cm", "towel": "tray-72"}
Pair = tuple[float, float]


class Choice(NamedTuple):
    """A container and why it is the one: a sentence to say, or None where the grower named it."""

    container: Container
    because: str | None
    sources: tuple[str, ...]


class Standing(NamedTuple):
    """What one sowing stands in: whole trays, and loose mix in litres (None where the volume is not recorded)."""

    trays: int | None
    mix_litres: Pair | None


class Stay(NamedTuple):
    """How long seedlings may stay in their cell: days, why, sources."""

    days: float
    because: str
    sources: tuple[str, ...]


class Equipment:
    """The catalog's containers and the grower's choice among them, looked up once."""

    def __init__(self, catalog: Catalog, kit: Kit, words: Words) -> None:
        self.materials, self.kit, self.words = catalog.materials, kit, words
        self._stays: dict[tuple[str, str], Stay | None] = {}
        self._chosen: dict[tuple[str, str], Choice | None] = {}
        settled = self.materials.span("settling", medium="mix in cells")
        pressed = self.materials.span("pressing", method="block")
        hold = self.materials.span("usable", method="block")
        self._settling: Pair = (settled.low / 100, settled.high / 100) if settled else (0.0, 0.0)
        self._pressing = materials.share_lost_in_pressing(pressed.ends) if pressed else None
        self._blocks_hold: Pair = (hold.low / 100, hold.high / 100) if hold else (1.0, 1.0)

    def choose(self, packet: Packet, crop: Crop, raising: dict[str, Range], method: str | None) -> Choice | None:
        """The packet's container, the season's for that method, one by the printed cells a tray, or a usual one."""
        if method is None or method == "in_place":
            return None
        named = packet.container or self.kit.container_of(method)
        if named is not None:
            return Choice(self.materials.container(named), None, ())
        key = (crop.id, method)
        if key not in self._chosen:
            self._chosen[key] = self._usual(raising.get("cells_per_tray"), method)
        return self._chosen[key]

    def _usual(self, cells: Range | None, method: str) -> Choice | None:
        usual = self.materials.containers.get(USUAL[method])  # a layer may hide it
        if method in ("tray", "towel") and cells is not None:
            trays = [
                each for each in self.materials.containers.values() if each.method_id == "tray" and each.volume_low_ml
            ]
            fitting = [each for each in trays if cells.low <= (each.units_per_tray or 0) <= cells.high]
            if fitting:
                # The largest cells that sources raise it in: room for the roots.
                best = min(fitting, key=lambda each: (each.units_per_tray or 0, each.container_id))
                asked = f"{cells.low:.0f}" if cells.low == cells.high else f"{cells.low:.0f} to {cells.high:.0f}"
                return Choice(best, f"Taken for want of a container: {best.name}; sources raise it in {asked} cells to a tray.", cells.sources)  # fmt: skip
        return None if usual is None else Choice(usual, f"Taken for want of a container: {usual.name}.", ())

    def standing(self, container: Container, cells: int | None) -> Standing:
        """Trays and mix for so many cells, blocks or pots; for a flat, so many seedlings."""
        if cells is None:
            return Standing(None, None)
        low, high = cells, cells
        if container.method_id == "block":
            low, high = (round(cells / share + 0.5) for share in (self._blocks_hold[1], self._blocks_hold[0]))
        each = container.units_per_tray
        trays = int(materials.trays_needed(cells, each)) if each else None
        lost = self._pressing if container.method_id == "block" else self._settling
        least, most = container.filled_litres(low, trays or 0), container.filled_litres(high, trays or 0)
        if least is None or most is None or lost is None:
            return Standing(trays, None)
        return Standing(trays, materials.loose_mix_litres((least[0], most[1]), lost))

    def stay(self, crop: Crop, raising: dict[str, Range], container: Container | None) -> Stay | None:
        """The shorter of the stay that the crop's sources print and that of such a cell; None where nothing is known."""
        printed = raising.get("longest_stay")
        found = []
        if printed is not None:
            found.append(Stay(7 * printed.high, f"no longer than {printed.high:g} weeks in its pot", printed.sources))
        if container is not None and container.volume_of == "unit" and container.volume_low_ml:
            key = (crop.id, container.container_id)
            if key not in self._stays:
                self._stays[key] = self._in_cell(crop, container)
            if (by_cell := self._stays[key]) is not None:
                found.append(by_cell)
        return min(found, key=lambda each: each.days, default=None)

    def _in_cell(self, crop: Crop, container: Container) -> Stay | None:
        stay = self.materials.stay(crop, container.volume_low_ml or 0.0)
        if stay.limit_weeks is None:
            return None
        basis = "" if stay.basis == "published" else f", {(stay.basis or '').replace('_', ' ')}"
        return Stay(
            7 * stay.limit_weeks, f"its roots are bound after {stay.limit_weeks:g} weeks in cells of {self.words.cell(container.volume_low_ml or 0.0)}{basis}",
            stay.sources,
        )  # fmt: skip
