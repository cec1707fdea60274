"""One crop, as the catalog answers for it."""

from __future__ import annotations

from cropdata.catalog.answers import UNDER_COVER
from cropdata.catalog.records import Estimate, GerminationTemperature, Range
from cropdata.errors import InputError

TYPE_CHECKING = False
if TYPE_CHECKING:
    import datetime
    from collections.abc import Mapping

    from numpy.typing import ArrayLike

    from cropdata.agronomy.lots import LotEstimate
    from cropdata.agronomy.windows import Window
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
    def parents(self) -> tuple[str, ...]:
        """The crop that this is a type of, and the one that that is a type of, nearest first; empty for a kind of its own."""
        return self._catalog.parents_of(self.id) if self.parent_id else ()

    @property
    def layer(self) -> str:
        """The layer that the crop itself comes from; "release" for a shipped one."""
        return self._row.get("layer", "release")

    @property
    def layer_row(self) -> str | None:
        """File and row of that layer, such as "crops.csv row 3"; None for a shipped crop."""
        return self._row.get("at")

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

    def days_to_radicle(self, temp_c: ArrayLike) -> Estimate | None:
        """Days until the root shows in a damp towel, from thermal time to germination; None where not recorded.

        An answer of its own: it says nothing of seedlings through the soil. Valid from the base temperature to the
        optimum; NaN and `extrapolated` outside.
        """
        from cropdata.catalog.emerging import estimate_radicle

        return estimate_radicle(self._catalog, self, temp_c)

    def days_to_emergence_under(
        self, night_c: float, day_c: float, *, shape: str = "sine", day_hours: float = 12.0
    ) -> tuple[float, float, float] | None:
        """Least, expected and most days where nights are cooler than days (a mat switched off: shape "square").

        Hourly rates are summed through the printed table; None without one. `expected` is NaN where some hours lie
        beside a temperature at which nothing came up: then only the bounds are known.
        """
        from cropdata.agronomy.emergence import day_and_night
        from cropdata.catalog.emerging import estimate_under

        return estimate_under(self._catalog, self, day_and_night(night_c, day_c, shape=shape, day_hours=day_hours))

    def emergence_date(
        self, sown: datetime.date, daily_temp_c: ArrayLike
    ) -> tuple[datetime.date | None, datetime.date | None] | None:
        """Earliest and latest date of the middle seedling in soil of changing temperature (a value a day from `sown`).

        A date is None where the series ends before, or where a day before it lies outside what was tested; the whole is
        None without a printed table.
        """
        from cropdata.catalog.emerging import emergence_dates

        return emergence_dates(self._catalog, self, sown, daily_temp_c)

    def lot(
        self, *, age_years: float | None = None, test: tuple[int, int] | None = None, level: float = 0.9
    ) -> LotEstimate:
        """How well a lot of this crop germinates: from its age and the recorded seed life, from a test (germinated,
        sown), or both joined, with the chance of being above the lowest recorded legal minimum.

        Raises InputError when there is neither a test nor an age with a recorded seed life.
        """
        from cropdata.agronomy.lots import lot_estimate

        life, standard = self.seed_longevity, self.germination_standard
        return lot_estimate(
            age_years=age_years, life=(life.low, life.high) if life else None, test=test,
            minimum_percent=standard.low if standard else None, level=level,
        )  # fmt: skip

    def harvest_window(
        self, *, sown: datetime.date | None = None, planted: datetime.date | None = None
    ) -> Window | None:
        """Harvest between two dates, from sowing in place or from planting out: figures of that start only.

        None where no figure counts from it. Raises InputError unless exactly one date is given.
        """
        from cropdata.agronomy.heat import harvest_window
        from cropdata.catalog.maturing import days_from

        if (sown is None) == (planted is None):
            raise InputError("give either the date of sowing in place or that of planting out")
        days = days_from(self._catalog, self, "sowing" if sown else "planting")
        start = sown or planted
        return harvest_window(start, days.low, days.high) if days and start else None

    @property
    def raising(self) -> dict[str, Range]:
        """How young plants are raised, by aspect ("day_warmth", "cells_per_tray" …); warmth in °C, heights in cm."""
        from cropdata.catalog.raising import raising_of

        return raising_of(self._catalog, self)

    @property
    def practical_minimum_c(self) -> float | None:
        """Lowest printed soil temperature at which sowing is practical: at least 80 % of the best percentage of
        normal seedlings, within twice the best days. Warmer than the minimum for germination.
        """
        from cropdata.catalog.emerging import practical_minimum_of

        return practical_minimum_of(self._catalog, self)

    @property
    def viability_constants(self) -> dict[str, float] | None:
        """ke, cw, ch and cq of the viability equation, published before recalled; None where not recorded."""
        rows = self._catalog.constant_rows(self)
        if not rows:
            return None
        best = min(rows, key=lambda row: (row["basis"] != "published", row["row_id"]))
        return {name: float(best[name]) for name in ("ke", "cw", "ch", "cq")}

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
            taken_from = self._taken_from(table)
            for parent_id in self.parents if catalog.inherits(table) else ():
                if not found or parent_id in taken_from:
                    found = found + catalog.evidence_rows(table, parent_id)
            rows += found
        if trait in UNDER_COVER or trait == "direct_sowing_weeks":
            rows += [
                row
                for row in catalog.evidence_rows("not_applicable", self.id)
                if trait in catalog.excluded_by(str(row["practice"]))
            ]
        return tuple(rows)

    def _taken_from(self, trait: str) -> set[str | None]:
        """The crops that the answer, or a part of it, is inherited from."""
        return {value.inherited_from for (name, _), value in self._answers.ranges.items() if name == trait}

    @property
    def cautions(self) -> tuple[Evidence, ...]:
        """Cautions for this crop and its parents; they only ever add up."""
        return tuple(
            row for crop_id in (self.id, *self.parents) for row in self._catalog.evidence_rows("cautions", crop_id)
        )

    @property
    def packets(self) -> tuple[Evidence, ...]:
        """What the packets of a layer say: `habit`, `seeds_in_packet`, days to maturity (`low_days`, `high_days`,
        `counted_from`), `packed_year`; never inherited, empty where no layer describes a packet.
        """
        catalog = self._catalog
        return tuple(catalog.evidence_rows("packets", self.id)) if catalog.layers else ()

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
