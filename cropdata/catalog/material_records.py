"""The records of `materials`: a row of each table with its cells as attributes, and what is joined from several.

Frozen, with slots; no third-party import, so that a look-up stays cheap.
"""

from __future__ import annotations

from cropdata.catalog.records import Record, _set
from cropdata.errors import InputError

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Mapping

    from cropdata.agronomy.materials import Stay

BASES = ("published", "common_practice", "from_memory")  # best first
_NUMBERS = frozenset({
    "bare_moves_low", "bare_moves_high", "ball_moves_low", "ball_moves_high", "units_per_tray", "volume_low_ml",
    "volume_high_ml", "depth_mm", "tray_length_mm", "tray_width_mm", "plastic_low_g", "plastic_high_g", "life_low",
    "life_high", "price_low", "price_high", "parts", "amount_g_per_litre", "low", "high", "volume_ml", "low_weeks", "high_weeks",
    "low_mm", "high_mm", "low_g", "high_g", "low_ml", "high_ml", "low_g_per_litre", "high_g_per_litre",
})  # fmt: skip
_CONVERTED = ("mm", "g", "ml", "g_per_litre")  # units that figures of one kind are brought to, whatever was printed
_WHOLE = frozenset(name for name in _NUMBERS if name.endswith(("moves_low", "moves_high")) or name == "units_per_tray")


class MaterialRow(Record):
    """Base: a row of one of the tables, its cells as attributes; numbers as float or int, None where the cell is empty.

    `layer` is "release", or the name of the layer that the row comes from.
    """

    __slots__: tuple[str, ...] = ()

    source_id: str

    def __init__(self, cells: Mapping[str, str]) -> None:
        for name in self.__slots__:
            text = cells.get(name, "")
            value: object = text or ("release" if name == "layer" else None)
            if text and name in _NUMBERS:
                value = int(text) if name in _WHOLE else float(text)
            _set(self, name, value)


class Method(MaterialRow):
    """A way from seed to a plant in the ground.

    Attributes:
        method_id: "towel", "tray", "block", "flat", "pot" or "in_place".
        name, steps (parted by semicolons), watering, reuse, waste, needs: in plain words.
        bare_moves_low, bare_moves_high: times that the bare root is moved.
        ball_moves_low, ball_moves_high: times that it is moved within its ball of mix.
        roots: "air_pruned", "bound", "tangled" or "free"; roots_when says under which conditions.
        basis, source_id, note.
    """

    __slots__ = (
        "ball_moves_high", "ball_moves_low", "bare_moves_high", "bare_moves_low", "basis", "method_id", "name", "needs",
        "note", "reuse", "roots", "roots_when", "source_id", "steps", "waste", "watering",
    )  # fmt: skip

    method_id: str
    name: str
    steps: str
    bare_moves_low: int
    bare_moves_high: int
    ball_moves_low: int
    ball_moves_high: int
    roots: str
    roots_when: str
    watering: str
    reuse: str
    waste: str
    needs: str
    source_id: str
    basis: str
    note: str | None


class Container(MaterialRow):
    """A tray of cells, a size of block or pot, a flat, a towel.

    Attributes:
        container_id, method_id, name.
        units_per_tray: cells, blocks or pots in a tray; seedlings in a flat; seeds on a towel; None where it depends.
        volume_of: "unit" (one cell, block, pot) or "tray" (the whole flat), None without a volume.
        volume_low_ml, volume_high_ml, depth_mm, tray_length_mm, tray_width_mm.
        plastic_low_g, plastic_high_g: grams in one piece (a tray, a pot).
        life_low, life_high: seasons that one piece lasts; price_low, price_high in `currency`: of one piece.
        source_id, locator, basis, printed, note, layer.

    Life, price and plastic are seldom printed for one size: `Materials.span` has them by method and make.
    """

    __slots__ = (
        "basis", "container_id", "currency", "depth_mm", "layer", "life_high", "life_low", "locator", "method_id", "name",
        "note", "plastic_high_g", "plastic_low_g", "price_high", "price_low", "printed", "source_id", "tray_length_mm",
        "tray_width_mm", "units_per_tray", "volume_high_ml", "volume_low_ml", "volume_of",
    )  # fmt: skip

    container_id: str
    method_id: str
    name: str
    units_per_tray: int | None
    volume_of: str | None
    volume_low_ml: float | None
    volume_high_ml: float | None
    depth_mm: float | None
    tray_length_mm: float | None
    tray_width_mm: float | None
    plastic_low_g: float | None
    plastic_high_g: float | None
    life_low: float | None
    life_high: float | None
    price_low: float | None
    price_high: float | None
    currency: str | None
    source_id: str
    locator: str
    basis: str
    printed: str | None
    note: str | None
    layer: str

    def filled_litres(self, units: int, trays: int) -> tuple[float, float] | None:
        """Mix that so many units, or whole trays where the volume is the tray's, hold when full; None if not recorded."""
        if self.volume_low_ml is None or self.volume_high_ml is None:
            return None
        count = trays if self.volume_of == "tray" else units
        return count * self.volume_low_ml / 1000, count * self.volume_high_ml / 1000


class Component(MaterialRow):
    """One component of a recipe: `parts` by volume, or `amount_g_per_litre` of mix, or neither where no amount is printed."""

    __slots__ = (
        "amount_g_per_litre", "basis", "component", "layer", "locator", "note", "parts", "printed", "recipe_id",
        "recipe_name", "source_id", "use",
    )  # fmt: skip

    recipe_id: str
    component: str
    recipe_name: str | None
    use: str | None
    parts: float | None
    amount_g_per_litre: float | None
    source_id: str
    locator: str
    basis: str
    printed: str | None
    note: str | None
    layer: str


class Recipe(Record):
    """A mix: `recipe_id`, `name`, `use` ("sowing", "transplants", "blocks", "general") and its `components`."""

    __slots__ = ("components", "name", "recipe_id", "use")

    recipe_id: str
    name: str
    use: str | None
    components: tuple[Component, ...]

    def __init__(self, components: tuple[Component, ...]) -> None:
        first = components[0]
        _set(self, "recipe_id", first.recipe_id)
        _set(self, "name", first.recipe_name or first.recipe_id)
        _set(self, "use", first.use)
        _set(self, "components", components)

    @property
    def parts(self) -> dict[str, float]:
        """Parts by volume of each component that has them."""
        return {each.component: each.parts for each in self.components if each.parts is not None}

    @property
    def sources(self) -> tuple[str, ...]:
        """Ids of the sources of its rows."""
        return tuple(dict.fromkeys(each.source_id for each in self.components))


class Figure(MaterialRow):
    """A row of material_figures: `what` of a `method_id` or a `medium`, from `low` to `high` in `unit`, as printed.

    `low_mm`, `high_mm` and their like are the same in grams, millimetres and so on, None where the unit is none of them;
    `alike` is the figure in the unit that can be held against others.
    """

    __slots__ = (
        "basis", "build", "condition", "figure_id", "high", "high_g", "high_g_per_litre", "high_ml", "high_mm", "locator", "low", "low_g",
        "low_g_per_litre", "low_ml", "low_mm", "medium", "method_id", "note", "printed", "source_id", "unit", "what",
    )  # fmt: skip

    figure_id: str
    method_id: str | None
    medium: str | None
    what: str
    build: str | None
    condition: str | None
    low: float | None
    high: float | None
    unit: str
    source_id: str
    locator: str
    basis: str
    printed: str
    note: str | None

    @property
    def alike(self) -> tuple[float | None, float | None, str]:
        """Low end, high end and unit: grams for pounds, millimetres for inches; as printed where nothing is converted."""
        for unit in _CONVERTED:
            low, high = getattr(self, f"low_{unit}"), getattr(self, f"high_{unit}")
            if low is not None or high is not None:
                return low, high, unit
        return self.low, self.high, self.unit


class Span(Record):
    """Figures joined: from the lowest to the highest of those with the best basis. `open_high`: one has no upper end.

    Raises InputError where figures of the best basis are in units that cannot be joined, such as seasons and years.
    """

    __slots__ = ("basis", "high", "low", "open_high", "sources", "unit")

    low: float
    high: float
    unit: str
    basis: str
    sources: tuple[str, ...]
    open_high: bool

    def __init__(self, figures: list[Figure]) -> None:
        basis = min((figure.basis for figure in figures), key=BASES.index)
        best = [figure for figure in figures if figure.basis == basis]
        units = dict.fromkeys(figure.alike[2] for figure in best)
        if len(units) > 1:
            raise InputError(
                f"{best[0].what}: these figures are in different units and cannot be joined", found=", ".join(units),
                hint="name one make: " + ", ".join(dict.fromkeys(figure.build or "none" for figure in best)),
            )  # fmt: skip
        ends = [end for figure in best for end in figure.alike[:2] if end is not None]
        _set(self, "low", min(ends))
        _set(self, "high", max(ends))
        _set(self, "unit", best[0].alike[2])
        _set(self, "basis", basis)
        _set(self, "sources", tuple(dict.fromkeys(figure.source_id for figure in best)))
        _set(self, "open_high", any(figure.high is None for figure in best))

    @property
    def ends(self) -> tuple[float, float]:
        """Both ends."""
        return self.low, self.high


class CellStay(MaterialRow):
    """A row of cell_stay: weeks that plants of a crop, a family or any stood (`kind` kept) or may stand (at_most)."""

    __slots__ = (
        "basis", "crop_id", "family", "high_weeks", "kind", "low_weeks", "note", "printed", "source_id", "stay_id", "volume_ml",
    )  # fmt: skip

    stay_id: str
    crop_id: str | None
    family: str | None
    kind: str
    volume_ml: float
    low_weeks: float | None
    high_weeks: float
    source_id: str
    basis: str
    printed: str
    note: str | None


class Effect(MaterialRow):
    """What one trial found for one crop and measure: `outcome` of `treatment` against `comparison`."""

    __slots__ = (
        "comparison", "crop_id", "effect_id", "finding", "locator", "measure", "method_id", "note", "other_method_id", "outcome",
        "source_id", "topic", "treatment", "unit", "value_comparison", "value_treatment",
    )  # fmt: skip

    effect_id: str
    topic: str
    crop_id: str
    treatment: str
    comparison: str
    method_id: str | None
    other_method_id: str | None
    measure: str
    outcome: str
    value_treatment: str | None
    value_comparison: str | None
    unit: str | None
    finding: str
    source_id: str
    locator: str
    note: str | None


class MaterialCaution(MaterialRow):
    """A hazard of a mix, a device, cleaning, seed or soil, and what is usual against it."""

    __slots__ = (
        "about",
        "advice",
        "applies_to",
        "basis",
        "caution_id",
        "hazard",
        "locator",
        "methods",
        "note",
        "source_id",
    )

    caution_id: str
    about: str
    applies_to: str
    methods: str
    hazard: str
    advice: str
    source_id: str
    locator: str
    basis: str
    note: str | None

    def concerns(self, method_ids: frozenset[str], components: tuple[str, ...] | None = None) -> bool:
        """Whether it comes up with one of these methods and, for a mix whose components are known, one of these."""
        if not method_ids & frozenset(self.methods.split()):
            return False
        if self.about != "medium" or components is None:
            return True
        words = [word.strip() for word in self.applies_to.split(";")]
        return any(word in component for word in words for component in components)


class CropStay(Record):
    """Weeks that a crop may stay in a cell: `safe_weeks`, `limit_weeks` (None: unknown), `disagree`; the weakest `basis`
    among the statements used (None without any) and their `sources`.
    """

    __slots__ = ("basis", "disagree", "limit_weeks", "safe_weeks", "sources")

    safe_weeks: float | None
    limit_weeks: float | None
    disagree: bool
    basis: str | None
    sources: tuple[str, ...]

    def __init__(self, stay: Stay, basis: str | None, sources: tuple[str, ...]) -> None:
        _set(self, "safe_weeks", stay.safe_weeks)
        _set(self, "limit_weeks", stay.limit_weeks)
        _set(self, "disagree", stay.disagree)
        _set(self, "basis", basis)
        _set(self, "sources", sources)
