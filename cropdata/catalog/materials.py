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
from cropdata.errors import InputError

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import Any

    from cropdata.agronomy.materials import Stay, StayFigure
    from cropdata.catalog.catalog import Catalog
    from cropdata.catalog.crop import Crop
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
