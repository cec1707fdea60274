"""One crop, as the catalog answers for it."""

from __future__ import annotations

from cropdata.catalog.answers import UNDER_COVER
from cropdata.catalog.records import Estimate, GerminationTemperature, Range
from cropdata.errors import InputError

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import ArrayLike

    from cropdata.catalog.answers import Answers
    from cropdata.catalog.catalog import Catalog
    from cropdata.catalog.evidence import Evidence
    from cropdata.tabular.rows import Row

HEADLINE = (
    "sowing_depth",
    "germination_temperature",
    "days_to_emergence",
    "weeks_before_last_frost",
    "seed_longevity",
)


class Crop:
    """A crop and what is known of it. Frozen; made by `Catalog.crop`.

    Traits are properties: a Range (GerminationTemperature for the temperature), or None where the trait is not
    recorded or not done; `status` tells these two apart. A trait that the crop does not have of its own comes
    from its parent where it may be inherited, and the Range says so in `inherited_from`.
    """

    __slots__ = ("_answers", "_catalog", "_row")

    _answers: Answers
    _catalog: Catalog
    _row: Row

    def __init__(self, catalog: Catalog, row: Row, answers: Answers) -> None:
        object.__setattr__(self, "_catalog", catalog)
        object.__setattr__(self, "_row", row)
        object.__setattr__(self, "_answers", answers)

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"a Crop is frozen; {name!r} cannot be set. Lay a layer over the release instead")

    def __repr__(self) -> str:
        return f"<Crop {self.id}: {self.name} ({self.scientific_name})>"

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Crop) and other.id == self.id and other._catalog is self._catalog

    def __hash__(self) -> int:
        return hash((self.id, id(self._catalog)))

    # What it is

    @property
    def id(self) -> str:
        """Permanent id, such as "bean-pole"."""
        return self._row["crop_id"]

    @property
    def name(self) -> str:
        """Usual English name."""
        return self._row["name"]

    @property
    def scientific_name(self) -> str:
        """Accepted scientific name, without authors."""
        return self._row["scientific_name"]

    @property
    def family(self) -> str:
        """Plant family."""
        return self._row["family"]

    @property
    def group(self) -> str:
        """ "vegetable", "herb", "flower" or "green_manure"."""
        return self._row["group"]

    @property
    def life_cycle(self) -> str | None:
        """ "annual", "biennial" or "perennial", as it is grown; None where not recorded."""
        return self._row["life_cycle"] or None

    @property
    def parent_id(self) -> str | None:
        """The crop of the same species that this is a type of, or None."""
        return self._row["parent_id"] or None

    @property
    def layer(self) -> str:
        """The layer that the crop itself comes from; "release" for a shipped one."""
        return self._row.get("layer", "release")

    # Traits

    def _range(self, trait: str, quantity: str = "") -> Range | None:
        return self._answers.ranges.get((trait, quantity))

    @property
    def sowing_depth(self) -> Range | None:
        """Depth of cover in mm; 0 means on the surface."""
        return self._range("sowing_depth")

    @property
    def germination_temperature(self) -> GerminationTemperature | None:
        """Minimum, best range and maximum in °C."""
        parts = [self._range("germination_temperature", name) for name in ("minimum", "optimum", "maximum")]
        return GerminationTemperature(*parts) if any(parts) else None

    @property
    def emergence_range(self) -> Range | None:
        """Days to emergence as a plain printed range, whatever the temperature."""
        return self._range("days_to_emergence")

    @property
    def weeks_before_last_frost(self) -> Range | None:
        """Weeks before the last frost at which it is sown under cover."""
        return self._range("weeks_before_last_frost")

    @property
    def weeks_to_raise(self) -> Range | None:
        """Weeks from sowing under cover to planting out."""
        return self._range("weeks_to_raise")

    @property
    def planting_out_weeks(self) -> Range | None:
        """Weeks from the last frost to planting out; negative is before it."""
        return self._range("planting_out_weeks")

    @property
    def direct_sowing_weeks(self) -> Range | None:
        """Weeks from the last frost to sowing in place; negative is before it."""
        return self._range("direct_sowing_weeks")

    @property
    def seed_longevity(self) -> Range | None:
        """Years that seed keeps in ordinary dry, cool storage."""
        return self._range("seed_longevity")

    @property
    def frost_tolerance(self) -> Range | None:
        """Hardiness rank, 1 very tender to 5 very hardy."""
        return self._range("frost_tolerance")

    @property
    def frost_damage(self) -> Range | None:
        """Temperature in °C at which sources report damage."""
        return self._range("frost_damage")

    @property
    def seeds_per_gram(self) -> Range | None:
        """Seeds in a gram."""
        return self._range("seeds_per_gram")

    @property
    def germination_standard(self) -> Range | None:
        """Legal minimum germination in percent, over the jurisdictions recorded."""
        return self._range("germination_standards")

    def trait(self, name: str) -> Range | GerminationTemperature | None:
        """Any trait by its table's name, such as "frost_damage". Raises InputError for a name that is no trait."""
        if name == "germination_temperature":
            return self.germination_temperature
        self._catalog.require_trait(name)
        return self._range(name)

    def status(self, trait: str) -> str:
        """ "recorded", "not_applicable" (known not to be done) or "not_recorded". InputError for no trait."""
        self._catalog.require_trait(trait)
        if any(name == trait for name, _ in self._answers.ranges):
            return "recorded"
        if trait in self._answers.not_applicable:
            return "not_applicable"
        if trait == "days_to_emergence" and self._catalog.emergence_rows(self):
            return "recorded"
        return "not_recorded"

    def not_done(self, trait: str) -> Range | None:
        """Who says that a trait is not done (its sources, agreement, basis); None where nobody does."""
        return self._answers.not_applicable.get(trait)

    def is_complete(self) -> bool:
        """True when each of the five headline traits is recorded, or known not to be done."""
        return all(self.status(trait) != "not_recorded" for trait in HEADLINE)

    # Computed and behind it

    def days_to_emergence(self, soil_temp_c: ArrayLike) -> Estimate | None:
        """Days from sowing to the middle seedling at a soil temperature in °C (a number or an array).

        None when nothing is recorded. Outside the tested span the days are NaN and `extrapolated` is True;
        between a printed "none came up" and the next point `expected` is NaN and `low` a bound. See
        `cropdata.agronomy.emergence` for the method and its source.
        """
        from cropdata.catalog.emerging import estimate_emergence

        return estimate_emergence(self._catalog, self, soil_temp_c)

    def evidence(self, trait: str) -> tuple[Evidence, ...]:
        """The rows behind a trait or any evidence table, as printed, set-aside ones included.

        Each row is a mapping whose columns are attributes too; `set_aside` holds the reason or None, and
        `layer` the layer. Rows of the parent are given where the answer is inherited.
        """
        catalog = self._catalog
        catalog.require_evidence(trait)
        tables: tuple[str, ...] = (trait,)
        if trait == "days_to_emergence":
            tables = ("emergence_by_temperature", "days_to_emergence")
        elif trait == "weeks_before_last_frost":
            answer = self.weeks_before_last_frost
            tables = (trait, *(answer.derived_from if answer else ()))
        rows: list[Evidence] = []
        for table in tables:
            found = catalog.evidence_rows(table, self.id)
            if not found and self.parent_id and catalog.inherits(table):
                found = catalog.evidence_rows(table, self.parent_id)
            rows += found
        if trait in UNDER_COVER or trait == "direct_sowing_weeks":
            rows += [
                row
                for row in catalog.evidence_rows("not_applicable", self.id)
                if trait in catalog.excluded_by(str(row["practice"]))
            ]
        return tuple(rows)

    @property
    def cautions(self) -> tuple[Evidence, ...]:
        """Cautions for this crop and its parent; they only ever add up."""
        rows = list(self._catalog.evidence_rows("cautions", self.id))
        if self.parent_id:
            rows += self._catalog.evidence_rows("cautions", self.parent_id)
        return tuple(rows)

    def facts(self) -> Mapping[str, Range]:
        """Every recorded range by "trait" or "trait.quantity"."""
        return {
            f"{trait}.{quantity}" if quantity else trait: value
            for (trait, quantity), value in self._answers.ranges.items()
        }


def check_trait(name: str, known: Mapping[str, object]) -> None:
    """Raise InputError, naming what there is, when `name` is not among `known`."""
    if name not in known:
        raise InputError(f"no trait is called {name!r}", found=name, allowed=", ".join(sorted(known)))
