"""Methods of starting seed, containers, mixes, the figures on them, trials and cautions of one catalog.

Read when first asked for; a layer's containers and mixes lie over the release's. No third-party import: a look-up stays
cheap.
"""

from __future__ import annotations

from types import MappingProxyType

from cropdata.catalog.container_origins import Said, origins
from cropdata.catalog.material_records import (
    BASES,
    CellStay,
    Component,
    Container,
    CropStay,
    Effect,
    Figure,
    MaterialCaution,
    Method,
    Recipe,
    Span,
)  # fmt: skip
from cropdata.catalog.stacking import origin
from cropdata.errors import InputError, LayerError
from cropdata.tabular.canonical import canonical_cells

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import Any

    from cropdata.agronomy.materials import Stay, StayFigure
    from cropdata.catalog.catalog import Catalog
    from cropdata.catalog.crop import Crop
    from cropdata.tabular.descriptor import Table
    from cropdata.tabular.rows import Row


class Materials:
    """Everything on methods and materials in one catalog, each table read when it is first asked for, then kept."""

    __slots__ = ("_catalog", "_kept")

    def __init__(self, catalog: Catalog) -> None:
        self._catalog = catalog
        self._kept: dict[str, Mapping[str, Any]] = {}

    def _by_id(self, table: str, key: str, kind: Callable[[Row], Any]) -> Mapping[str, Any]:
        kept = self._kept.get(table)
        if kept is None:
            rows = self._catalog.reference_rows(table)
            kept = self._kept[table] = MappingProxyType({row[key]: kind(row) for row in rows})
        return kept

    @property
    def methods(self) -> Mapping[str, Method]:
        """The methods by their id, in the order of the descriptor."""
        kept = self._kept.get("methods")
        if kept is None:
            rows = {row["method_id"]: row for row in self._catalog.reference_rows("methods")}
            field = self._catalog.descriptor.tables["methods"].field("method_id")
            order = field.enum if field else ()
            kept = self._kept["methods"] = MappingProxyType(
                {name: Method(rows[name]) for name in order if name in rows}
            )
        return kept

    @property
    def containers(self) -> Mapping[str, Container]:
        """The containers by their id, a layer's among them."""
        return self._by_id("containers", "container_id", Container)

    def container(self, container_id: str) -> Container:
        """The container of that id. Raises InputError with near ones."""
        containers = self.containers
        if container_id in containers:
            return containers[container_id]
        import difflib

        near = difflib.get_close_matches(str(container_id), containers, n=3, cutoff=0.5)
        raise InputError(
            f"no container is called {container_id!r}", found=container_id, allowed=", ".join(containers),
            hint=f"did you mean {' or '.join(near)}?" if near else "add it in a layer's containers.csv",
        )  # fmt: skip

    def said(self, container: Container) -> Mapping[str, Said]:
        """Who says each figure of a container ("price", "life" and so on); see `container_origins`."""
        kept = self._kept.get(f"said {container.container_id}")
        if kept is None:
            kept = self._kept[f"said {container.container_id}"] = MappingProxyType(origins(self._catalog, container))
        return kept

    @property
    def media(self) -> Mapping[str, Recipe]:
        """The recipes by their id, a layer's among them."""
        kept = self._kept.get("media")
        if kept is None:
            of: dict[str, list[Component]] = {}
            for row in self._catalog.reference_rows("media"):
                of.setdefault(row["recipe_id"], []).append(Component(row))
            kept = self._kept["media"] = MappingProxyType({name: Recipe(tuple(parts)) for name, parts in of.items()})
        return kept

    @property
    def cautions(self) -> tuple[MaterialCaution, ...]:
        """Every caution for materials, devices, cleaning and seed."""
        return tuple(self._by_id("material_cautions", "caution_id", MaterialCaution).values())

    def figures(
        self, what: str, *, method: str | None = None, medium: str | None = None, build: str | None = None
    ) -> tuple[Figure, ...]:
        """The rows of material_figures that say `what` of a method or a medium, of one make where `build` is given."""
        return tuple(
            figure for figure in self._by_id("material_figures", "figure_id", Figure).values()
            if figure.what == what and (method is None or figure.method_id == method) and (medium is None or figure.medium == medium)
            and (build is None or figure.build == build)
        )  # fmt: skip

    def span(
        self, what: str, *, method: str | None = None, medium: str | None = None, build: str | None = None
    ) -> Span | None:
        """Those figures joined, the best kind of statement only; None where there is none."""
        found = list(self.figures(what, method=method, medium=medium, build=build))
        return Span(found) if found else None

    def builds(self, method: str) -> tuple[str | None, ...]:
        """Makes of a method's pieces that have a price: "thin", "thick", "wood", "tool", or None where there is one only."""
        return tuple(dict.fromkeys(figure.build for figure in self.figures("price", method=method)))

    def effects(self, crop: Crop) -> tuple[Effect, ...]:
        """Trials with that crop, or with its parent where it has none."""
        found: tuple[Effect, ...] = tuple(self._by_id("method_effects", "effect_id", Effect).values())
        own = tuple(effect for effect in found if effect.crop_id == crop.id)
        return own or tuple(effect for effect in found if crop.parent_id and effect.crop_id == crop.parent_id)

    def stays(self, crop: Crop) -> tuple[tuple[CellStay, ...], ...]:
        """Statements on the stay in a cell, nearest first: of the crop, its parent, its family; of crops in general only
        where there are none of these.
        """
        rows: list[CellStay] = list(self._by_id("cell_stay", "stay_id", CellStay).values())
        near = (
            tuple(row for row in rows if row.crop_id == crop.id),
            tuple(row for row in rows if crop.parent_id and row.crop_id == crop.parent_id),
            tuple(row for row in rows if row.family and row.family == crop.family),
        )
        levels = tuple(level for level in near if level)
        return levels or (tuple(row for row in rows if not row.crop_id and not row.family),)

    def stay(self, crop: Crop, volume_ml: float) -> CropStay:
        """How long a plant of that crop may stay in a cell of that volume; see `agronomy.materials.longest_stay`.

        Each end comes from the nearest statements that have one: the crop's own, its parent's, its family's; those for
        crops in general only where none of these says anything. Limits from farther off that contradict what went well
        nearer by are left out. What holds in a smaller cell holds here, whoever said it: a larger cell never shortens a stay.
        """
        from cropdata.agronomy.materials import Stay, StayFigure, stay_changes

        levels = [
            (level, [StayFigure(row.volume_ml, row.low_weeks, row.high_weeks, row.kind == "kept") for row in level])
            for level in self.stays(crop)
        ]
        volumes = stay_changes((figure for _, figures in levels for figure in figures), volume_ml)
        smaller = [_in_cell(volume, levels) for volume in volumes]
        here, used = smaller[-1]
        rows = list(used)
        safe, limit = here.safe_weeks, here.limit_weeks
        for stay, of in smaller[:-1]:
            longer = stay.safe_weeks is not None and (safe is None or stay.safe_weeks > safe)
            later = limit is not None and (stay.limit_weeks is None or stay.limit_weeks > limit)
            safe, limit = stay.safe_weeks if longer else safe, stay.limit_weeks if later else limit
            rows += of if longer or later else ()
        worst = max((row.basis for row in rows), key=BASES.index, default=None)
        return CropStay(Stay(safe, limit, here.disagree), worst, tuple(dict.fromkeys(row.source_id for row in rows)))


def _in_cell(
    volume_ml: float, levels: list[tuple[tuple[CellStay, ...], list[StayFigure]]]
) -> tuple[Stay, list[CellStay]]:
    """What the statements say of one volume, and those used."""
    from cropdata.agronomy.materials import Stay, longest_stay

    safe = limit = None
    disagree = False
    used: list[CellStay] = []
    for level, figures in levels:
        found = longest_stay(volume_ml, figures, went_well=safe or 0.0)
        disagree = disagree or found.disagree
        new_safe = safe is None and found.safe_weeks is not None
        new_limit = limit is None and found.limit_weeks is not None
        safe = found.safe_weeks if new_safe else safe
        limit = found.limit_weeks if new_limit else limit
        used += level if new_safe or new_limit else ()
    if safe is not None and limit is not None and safe > limit:
        safe = limit  # the limit is the nearer one
    return Stay(safe, limit, disagree), used


# Figures that belong together, the unit last: a row that gives one of them takes none of the others from below.
_TOGETHER = (
    ("volume_low", "volume_high", "volume_unit"), ("plastic_low", "plastic_high", "plastic_unit"), ("life_low", "life_high"),
    ("price_low", "price_high", "currency"), ("depth", "tray_length", "tray_width", "length_unit"), ("amount", "amount_unit"),
)  # fmt: skip
_TOLD_ELSEWHERE = frozenset({"source_id", "locator", "basis", "printed", "note"})


def stacked_materials(rows: list[Row], layer_rows: list[Row], table: Table, layer: str) -> list[Row]:
    """A layer's containers or mixes laid over `rows`, converted columns filled, its own name as source where none is given.

    Raises LayerError where a row adds what exists, overrides or hides what does not, or gives figures that cannot be.
    """
    key = table.primary_key
    of = {tuple(row[name] for name in key): row for row in rows}
    spoken: dict[tuple[str, ...], Row] = {}
    for row in layer_rows:
        where, named = row["where"], tuple(row[name] for name in key)
        if not all(named):
            raise LayerError(f"{where}: {' and '.join(key)} must be given")
        if row["action"] == "add" and named in of:
            mend = "delete one of the two rows" if named in spoken else "use action override to replace it"
            raise LayerError(f"{where}: {', '.join(named)} exists already; {mend} (it stands in {origin(of[named])})")
        first = spoken.get(named)
        if first is not None and row["action"] != "add":
            verb = {"hide": "hides", "override": "overrides", "add": "adds"}[first["action"]]
            raise LayerError(
                f"{where}: nothing to {row['action']} for {', '.join(named)}: {first['at']} {verb} it already; write what you know of it into one row"
            )
        spoken[named] = row
        if row["action"] != "add" and named not in of:
            import difflib

            near = difflib.get_close_matches(named[0], {name[0] for name in of}, n=2)
            raise LayerError(
                f"{where}: nothing to {row['action']} for {', '.join(named)}: neither the release nor a layer below has it (any more); "
                + (f"did you mean {' or '.join(near)}? Or " if near else "")
                + ("delete the row" if row["action"] == "hide" else "use action add and give the whole of it")
            )
        below = of.pop(named, {})
        if row["action"] == "hide":
            continue
        own = _completed(row, below, table, layer)
        try:
            own.update(canonical_cells(own, table))
        except (ValueError, InputError) as error:
            raise LayerError(f"{where}: {error}") from error
        _test(own, table, where)
        of[named] = own | {"layer": layer, "at": row["at"]}
    return list(of.values())


def _completed(row: Row, below: Row, table: Table, layer: str) -> Row:
    """The layer's row with what it leaves out taken from the row below; what is not printed there is not said to be."""
    given = [field.name for field in table.fields if row.get(field.name) and field.name not in table.primary_key]
    own_group = {name for group in _TOGETHER if any(name in given for name in group) for name in group}
    own = {
        field.name: row.get(field.name) or ("" if field.name in own_group else below.get(field.name, "")) for field in table.fields
    }  # fmt: skip
    own["source_id"], own["basis"] = row["source_id"] or layer, row["basis"] or "published"
    if own["source_id"] != below.get("source_id"):
        said = "; ".join(f"{name.replace('_', ' ')} {row[name]}" for name in given if name not in _TOLD_ELSEWHERE)
        own["locator"], own["printed"] = row["locator"] or row["at"], row["printed"] or said
        if below:
            own["note"] = "; ".join(
                filter(None, [row["note"], f"the rest as in {below['source_id']}, {below['locator']}"])
            )
    if table.name == "containers":
        own["name"] = own["name"] or own["container_id"]
    return own


def _test(row: Row, table: Table, where: str) -> None:
    """Raises LayerError where the completed row lacks a unit, has its ends swapped or a figure out of bounds."""
    for *figures, unit in _TOGETHER:
        if unit.endswith(("_unit", "currency")) and any(row.get(name) for name in figures) and not row[unit]:
            field = table.field(unit)
            raise LayerError(
                f"{where}, {unit}: missing; allowed: {', '.join(field.enum if field else ()) or 'three letters such as USD'}"
            )
    for field in table.fields:
        text = row[field.name]
        if not text or field.type not in ("number", "integer"):
            continue
        low, high = field.minimum, field.maximum
        if not (low is None or float(text) >= low) or not (high is None or float(text) <= high):
            allowed = f"{low or 0:g} or more" if high is None else f"{low or 0:g} to {high:g}"
            raise LayerError(f"{where}, {field.name}: found {text!r}; allowed: {allowed}")
        other = field.name.replace("_low", "_high")
        if other != field.name and row.get(other) and float(text) > float(row[other]):
            raise LayerError(f"{where}: {field.name} {text} is above {other} {row[other]}; swap them")
