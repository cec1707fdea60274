"""The catalog: the release with layers laid over it, looked up without loading what is not asked for."""

from __future__ import annotations

import os

from cropdata.catalog.answers import RELEASE, UNDER_COVER, Answers, answers_for
from cropdata.catalog.crop import Crop, check_trait
from cropdata.catalog.names import NameIndex, as_slug, folded
from cropdata.catalog.records import Range, Source
from cropdata.errors import InputError, LayerError
from cropdata.tabular.location import package_folder
from cropdata.tabular.rows import Row, TableText

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    import pandas as pd

    from cropdata.catalog.evidence import Evidence
    from cropdata.catalog.layers import Layer
    from cropdata.catalog.material_records import Container, MaterialCaution, Method, Recipe
    from cropdata.catalog.materials import Materials
    from cropdata.tabular.descriptor import Descriptor, Table

    PathLike = str | os.PathLike[str]

# Ways of writing names that are remembered; beyond it a name is looked up again, so that memory stays bounded.
_MOST_REMEMBERED = 10_000


def open_catalog(
    path: PathLike | None = None,
    layers: Iterable[PathLike] = (),
    *,
    installed: bool = True,
    without: Iterable[str] = (),
) -> Catalog:
    """Open the shipped release, or the package at `path`, with layers laid over it in order.

    Args:
        path: a data package; the shipped release when left out.
        layers: folders, lowest first.
        installed: lay the layers of installed distributions (`cropdata.catalog.installed`) over the shipped release,
            below `layers`. False for the release alone; never over a package at `path`.
        without: names of installed layers to leave out; the environment variable CROPDATA_NO_LAYERS may name more.

    Returns a Catalog that never changes; nothing process-wide is touched. Raises DataError where the package
    cannot be read, LayerError where a layer does not fit, InputError for a name that no installed layer has.
    """
    for name, value in (("layers", layers), ("without", without)):
        if isinstance(value, (str, bytes, os.PathLike)):
            what = "path" if name == "layers" else "name"
            raise InputError(f"{name} is one {what}, not a list of {what}s", found=value, hint=f"write {name}=[{what}]")
    found: list[tuple[str, str]] = []
    if installed and path is None:
        from cropdata.catalog.installed import chosen_layers

        found = chosen_layers(tuple(without))
    return Catalog(package_folder(path), [*found, *((os.fspath(layer), "") for layer in layers)])


class Catalog:
    """Crops and what is known of them. Made by `cropdata.open`; frozen.

    `len(db)` counts the active crops, `list(db)` gives their ids in order, `name in db` is True when a name
    leads to one crop or to several.
    """

    __slots__ = (
        "_answers", "_crop_rows", "_crops", "_descriptor", "_laid", "_layers", "_materials", "_names", "_plain", "_set_aside",
        "_source_rows", "_sources", "_spoken_of", "_tables", "folder",
    )  # fmt: skip

    def __init__(self, folder: str, layers: Iterable[tuple[str, str]] = ()) -> None:
        self.folder = folder
        self._tables: dict[str, TableText] = {}
        self._crops: dict[str, Crop] = {}
        self._answers: dict[str, Answers] = {}
        self._names: NameIndex | None = None
        self._crop_rows: dict[str, Row] | None = None
        self._descriptor: Descriptor | None = None
        self._set_aside: dict[tuple[str, str], str] | None = None
        self._sources: Mapping[str, Source] | None = None
        self._materials: Materials | None = None
        self._source_rows: dict[str, Row] | None = None
        self._layers: tuple[Layer, ...] = ()
        self._laid: dict[tuple[str, str], list[Row]] | None = None
        self._spoken_of: frozenset[str] = frozenset()
        if places := list(layers):
            self._lay(places)

    # The package

    @property
    def descriptor(self) -> Descriptor:
        """The package's descriptor as typed records."""
        if self._descriptor is None:
            from cropdata.tabular.descriptor import read_descriptor

            self._descriptor = read_descriptor(self.folder)
        return self._descriptor

    @property
    def version(self) -> str:
        """Edition of the data, such as "1.2.0"; the package's own version is `cropdata.__version__`."""
        return self.descriptor.version

    @property
    def layers(self) -> tuple[Layer, ...]:
        """The layers laid over the release, lowest first."""
        return self._layers

    @property
    def notes(self) -> tuple[str, ...]:
        """What a user should know of the layers, such as one made for a later edition; usually empty."""
        if not self._layers:
            return ()
        from cropdata.catalog.laying import notes_on

        return notes_on(self._layers, self.version)

    def _lay(self, places: list[tuple[str, str]]) -> None:
        from cropdata.catalog.layer_sources import settle_sources
        from cropdata.catalog.layers import read_layer
        from cropdata.catalog.laying import check_layers, check_title
        from cropdata.log import logger

        rows = {row["source_id"]: row for row in self._text("sources", "reference").rows()}
        origin = ""
        try:
            layers: list[Layer] = []
            for folder, origin in places:
                layer = read_layer(folder, self.descriptor, origin)
                check_title(layer, layers)
                rows |= settle_sources(layer.rows, rows)
                layers.append(layer)
            self._source_rows = rows
            self._layers = tuple(layers)
            check_layers(self)
        except LayerError as error:
            brought = [layer for layer in self._layers if layer.origin and layer.folder in str(error)]
            if (origin and not self._layers) or brought:
                raise LayerError(f"{error} ({brought[0].origin if brought else origin})") from error
            raise
        for layer in layers:
            logger().info("layer %s laid over the release from %s", layer.name, layer.folder)

    # Reading tables

    def _text(self, table: str, folder: str = "evidence") -> TableText:
        text = self._tables.get(table)
        if text is None:
            text = self._tables[table] = TableText(os.path.join(self.folder, folder, table + ".csv"))
        return text

    def crop_rows(self) -> dict[str, Row]:
        """Every crop's row by its id, layers stacked, retired ones included."""
        if self._crop_rows is None:
            *_, rows = self.crops_by_height()
            self._crop_rows = dict(sorted(rows.items()))
        return self._crop_rows

    def crops_by_height(self) -> Iterator[dict[str, Row]]:
        """Every crop's row by its id, with the layers up to the first, the second and so on; without layers the release's."""
        rows = {row["crop_id"]: row for row in self._text("crops", "reference").rows()}
        for layer in self._layers:
            from cropdata.catalog.stacking import stack_crops

            rows = dict(rows)
            stack_crops(rows, layer.rows.get("crops", ()))
            yield rows
        if not self._layers:
            yield rows

    def stacked(self, table: str, crop_id: str) -> list[Row]:
        """A crop's rows of an evidence table, layers stacked."""
        rows = self._text(table).rows_starting(crop_id + ".")
        if self._layers and (laid := self._laid_rows().get((table, crop_id))):
            from cropdata.catalog.stacking import stack_rows

            earlier: list[Row] = []
            for layer in self._layers:
                if mine := [row for row in laid if row["layer"] == layer.name]:
                    rows = stack_rows(rows, mine, self.descriptor.tables[table].about, earlier=earlier)
                    earlier += mine
            if table == "days_to_maturity" and (packets := self._laid_rows().get(("packets", crop_id))):
                # The days that a packet states go with it, where a layer above overrides or hides it.
                standing = {row.get("where") for row in self.stacked("packets", crop_id)}
                gone = {packet["where"] for packet in packets} - standing
                rows = [row for row in rows if row.get("where") not in gone]
        return rows

    def _laid_rows(self) -> dict[tuple[str, str], list[Row]]:
        """The layers' rows by table and crop, lowest layer first."""
        if self._laid is None:
            self._laid = {}
            of_crops = {*self._evidence_names(), "crops", "crop_names"}
            for layer in self._layers:
                for table, rows in layer.rows.items():
                    for row in rows if table in of_crops else ():
                        self._laid.setdefault((table, row["crop_id"]), []).append(row)
            self._spoken_of = frozenset(crop_id for _, crop_id in self._laid)
        return self._laid

    def name_rows(self) -> list[Row]:
        """The table of names, layers stacked."""
        rows = self._text("crop_names", "reference").rows()
        for layer in self._layers:
            from cropdata.catalog.stacking import stack_names

            rows = stack_names(rows, layer.rows.get("crop_names", ()))
        return [row for row in rows if row["crop_id"] in self.crop_rows()] if self._layers else rows

    def _reasons(self) -> dict[tuple[str, str], str]:
        if self._set_aside is None:
            rows = self._text("decisions", "reference").rows()
            self._set_aside = {
                (row["table"], row["row_id"]): f"{row['kind'].replace('_', ' ')}: {row['reason']}" for row in rows
            }
        return self._set_aside

    def used_rows(self, table: str, crop_id: str) -> list[Row]:
        """Stacked rows without those that a decision sets aside."""
        reasons = self._reasons()
        return [
            row for row in self.stacked(table, crop_id) if (table, row["row_id"]) not in reasons or row.get("layer")
        ]

    def _evidence_names(self) -> frozenset[str]:
        return frozenset(table.name for table in self.descriptor.evidence)

    # Names and crops

    def names(self) -> NameIndex:
        """From what a person types to a crop's id."""
        if self._names is None:
            crops = {crop_id: row for crop_id, row in self.crop_rows().items() if row["status"] == "active"}
            names = [(row["name"], row["crop_id"]) for row in self.name_rows()]
            names += [(row["name"], crop_id) for crop_id, row in crops.items() if row.get("layer")]
            self._names = NameIndex([pair for pair in names if pair[1] in crops], crops)
        return self._names

    def parents_of(self, crop_id: str) -> tuple[str, ...]:
        """The crop that this is a type of, and the one that that is a type of, nearest first."""
        found: list[str] = []
        row = self._row_of(crop_id)
        while row is not None and row["parent_id"]:
            found.append(row["parent_id"])
            row = self._row_of(row["parent_id"])
        return tuple(found)

    def crop(self, name: str) -> Crop:
        """The crop of that id, listed name in any case or language, or scientific name.

        Raises UnknownCropError with `.suggestions` for a name that leads nowhere, AmbiguousCropError (one of
        its kind) for a name of several crops, InputError for an empty one.
        """
        crop = self._crops.get(name)
        if crop is None:
            if not isinstance(name, str):
                raise InputError("the name of a crop is a text", found=name)
            crop = self._find_crop(name)
            self._crops[crop.id] = crop
            if len(self._crops) < _MOST_REMEMBERED:
                self._crops[name] = crop
        return crop

    def _find_crop(self, name: str) -> Crop:
        crop_id = as_slug(folded(name))
        row = self._row_of(crop_id)
        if row is not None and row["status"] == "retired":
            return self.crop(row["replaced_by"])
        if row is None:
            crop_id = self.names()(name)
            row = self._row_of(crop_id)
            assert row is not None
        return self._crops.get(crop_id) or Crop(self, row, self._answer(crop_id))

    def _row_of(self, crop_id: str) -> Row | None:
        """The crop's own row; without layers, only that line of the table is parsed."""
        if self._layers or self._crop_rows is not None or not crop_id:
            return self.crop_rows().get(crop_id)
        found = self._text("crops", "reference").rows_starting(crop_id + ",")
        return found[0] if found else None

    def __contains__(self, name: object) -> bool:
        from cropdata.errors import AmbiguousCropError, CropdataError

        try:
            return isinstance(name, str) and self.crop(name) is not None
        except AmbiguousCropError:
            return True
        except CropdataError:
            return False

    def __iter__(self) -> Iterator[str]:
        return (crop_id for crop_id, row in self.crop_rows().items() if row["status"] == "active")

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def __repr__(self) -> str:
        over = f" with {', '.join(layer.name for layer in self._layers)}" if self._layers else ""
        return f"<Catalog {self.version}: {len(self)} crops{over}>"

    # Answers

    def _touched(self, crop_id: str) -> bool:
        """True when a layer says anything about the crop or its parents, so that its answers are joined anew."""
        self._laid_rows()
        return not self._spoken_of.isdisjoint((crop_id, *self.parents_of(crop_id)))

    def _answer(self, crop_id: str) -> Answers:
        answers = self._answers.get(crop_id)
        if answers is None:
            answers = self._join(crop_id) if self._layers and self._touched(crop_id) else self.released(crop_id)
            self._answers[crop_id] = answers
        return answers

    def released(self, crop_id: str) -> Answers:
        """The answers as the build wrote them, without any layer; empty for a crop that the release does not have."""
        ranges: dict[tuple[str, str], Range] = {}
        not_applicable: dict[str, Range] = {}
        for row in self._text("consensus", "derived").rows_starting(crop_id + ","):
            answer = _range_of(row)
            if row["status"] == "recorded":
                ranges[row["trait"], row["quantity"]] = answer
            else:
                not_applicable[row["trait"]] = answer
        return Answers(ranges, not_applicable)

    def _join(self, crop_id: str) -> Answers:
        """The answers joined from the evidence and the layers, by the same rule as the build's."""
        parent_id = self.crop_rows()[crop_id]["parent_id"]
        return answers_for(
            self.descriptor,
            {table.name: self.used_rows(table.name, crop_id) for table in self.descriptor.evidence},
            lambda source_id: self.sources[source_id].lineage,
            parent=self._join(parent_id) if parent_id else None,
            parent_id=parent_id,
            layer_order={RELEASE: 0} | {layer.name: number for number, layer in enumerate(self._layers, start=1)},
        )

    def rejoined(self, crop_id: str) -> Answers:
        """Answers joined afresh from the evidence: what the build writes to derived/."""
        return self._join(crop_id)

    # Behind the answers

    def require_trait(self, name: str) -> None:
        """Raise InputError unless `name` is a trait."""
        check_trait(name, self.descriptor.traits)

    def require_evidence(self, name: str) -> None:
        """Raise InputError unless `name` is a trait or an evidence table."""
        check_trait(name, dict.fromkeys(self._evidence_names()))

    def inherits(self, table: str) -> bool:
        """Whether a type takes this table's evidence from its parent where it has none."""
        return self.descriptor.tables[table].inherit

    def excluded_by(self, practice: str) -> tuple[str, ...]:
        """Traits that do not apply where `practice` is not done."""
        return self.descriptor.tables["not_applicable"].excludes.get(practice, ())

    def emergence_rows(self, crop: Crop) -> list[Row]:
        """Usable rows of the emergence table for a crop, or for its parent where it has none. A single temperature of its
        own is no table, and a layer's few are seldom one: they are laid over the parent's, unless they span as much.
        """
        table = "emergence_by_temperature"
        own = self._own_or_parents(table, crop)
        temps = {row["temperature_c"] for row in own}
        if not own or not crop.parent_id or own[0]["crop_id"] != crop.id:
            return own
        if len(temps) > 1 and not all(row.get("layer") for row in own):
            return own
        theirs = next(filter(None, (self.used_rows(table, crop_id) for crop_id in self.parents_of(crop.id))), [])
        ours, printed = ([float(row["temperature_c"]) for row in rows] for rows in (own, theirs))
        if not printed or (min(ours) <= min(printed) and max(ours) >= max(printed)):
            return own
        from cropdata.catalog.stacking import sources_of

        return [row for row in theirs if row["temperature_c"] not in temps] + [
            row | {"in_place_of": sources_of(theirs)} for row in own
        ]

    def seedling_rows(self, crop: Crop) -> list[Row]:
        """Usable rows of normal seedlings by temperature, the parent's where the crop has none."""
        return self._own_or_parents("normal_seedlings", crop)

    def thermal_rows(self, crop: Crop) -> list[Row]:
        """Usable rows of thermal time, the parent's where the crop has none."""
        return self._own_or_parents("thermal_time", crop)

    def constant_rows(self, crop: Crop) -> list[Row]:
        """Usable rows of viability constants, the parent's where the crop has none."""
        return self._own_or_parents("viability_constants", crop)

    def raising_rows(self, crop: Crop) -> list[Row]:
        """Usable rows on raising young plants, aspect by aspect: the parent's where the crop has none of that aspect."""
        rows: list[Row] = []
        for crop_id in (crop.id, *(self.parents_of(crop.id) if crop.parent_id else ())):
            told = {row["aspect"] for row in rows}
            rows += [row for row in self.used_rows("raising", crop_id) if row["aspect"] not in told]
        return rows

    def maturity_rows(self, crop: Crop) -> list[Row]:
        """Usable rows of days to maturity, the crop's own only."""
        return self.used_rows("days_to_maturity", crop.id)

    def _own_or_parents(self, table: str, crop: Crop) -> list[Row]:
        for crop_id in (crop.id, *(self.parents_of(crop.id) if crop.parent_id else ())):
            if rows := self.used_rows(table, crop_id):
                return rows
        return []

    def evidence_rows(self, table: str, crop_id: str) -> list[Evidence]:
        """Rows of a table for a crop id, as printed, with `layer`, `layer_row` (its file and row there) and `set_aside`."""
        from cropdata.catalog.evidence import Evidence
        from cropdata.tabular.values import parse

        kinds = {field.name: field.type for field in self.descriptor.tables[table].fields}
        reasons = self._reasons()
        return [
            Evidence(
                {"table": table}
                | {name: parse(row[name], kind) for name, kind in kinds.items()}
                | {"layer": row.get("layer", RELEASE), "layer_row": row.get("at")}
                | {"set_aside": reasons.get((table, row["row_id"]))}
            )
            for row in self.stacked(table, crop_id)
        ]

    def rule(self, rule_id: str) -> Row:
        """A row of reference/rules.csv. Raises InputError for an unknown one."""
        for row in self._text("rules", "reference").rows():
            if row["rule_id"] == rule_id:
                return row
        raise InputError(f"no rule is called {rule_id!r}", found=rule_id)

    @property
    def materials(self) -> Materials:
        """Methods, containers, mixes, the figures on them, trials and cautions."""
        if self._materials is None:
            from cropdata.catalog.materials import Materials

            self._materials = Materials(self)
        return self._materials

    @property
    def methods(self) -> Mapping[str, Method]:
        """Methods of starting seed by their id ("towel", "tray", "block", "flat", "pot", "in_place"), read-only."""
        return self.materials.methods

    @property
    def containers(self) -> Mapping[str, Container]:
        """Containers by their id, such as "tray-72", a layer's among them; read-only."""
        return self.materials.containers

    @property
    def media(self) -> Mapping[str, Recipe]:
        """Recipes of mixes by their id, a layer's among them; read-only."""
        return self.materials.media

    @property
    def material_cautions(self) -> tuple[MaterialCaution, ...]:
        """Cautions for mixes, devices, cleaning, soil and seed; those of a crop stand in `crop.cautions`."""
        return self.materials.cautions

    def reference_rows(self, name: str, *, layers: bool = True) -> list[Row]:
        """Rows of a table of reference, layers stacked where it may have them; those of the release where `layers` is False."""
        rows = self._text(name, "reference").rows()
        for layer in self._layers if layers else ():
            if layer.rows.get(name):
                from cropdata.catalog.laid_materials import stacked_materials

                rows = stacked_materials(rows, layer.rows[name], self.descriptor.tables[name], layer.name)
        return rows

    @property
    def sources(self) -> Mapping[str, Source]:
        """Every source by its id, read-only."""
        if self._sources is None:
            from types import MappingProxyType

            self._sources = MappingProxyType({row["source_id"]: Source(row) for row in self._rows_of_sources()})
        return self._sources

    def _rows_of_sources(self) -> list[Row]:
        return list(self._source_rows.values()) if self._source_rows else self._text("sources", "reference").rows()

    def table(self, name: str) -> pd.DataFrame:
        """A table of the package as a pandas DataFrame of the caller's own, layers stacked.

        Columns and types are those of the descriptor: text, float64, Int64, boolean; only empty is missing.
        With layers the columns `layer` and `layer_row` (its file and row, None for the release's) are added, and the
        derived tables, consensus and profiles, are reckoned anew. Raises InputError for an unknown table.
        """
        if name not in self.descriptor.tables:
            raise InputError(f"no table is called {name!r}", found=name, allowed=", ".join(self.descriptor.tables))
        from cropdata.catalog.frames import frame_of

        table = self.descriptor.tables[name]
        return frame_of(table, self._all_rows(table), with_layer=bool(self._layers))

    def _all_rows(self, table: Table) -> list[Row]:
        if table.name == "crops":
            return list(self.crop_rows().values())
        if not self._layers:
            return self._text(table.name, table.path.partition("/")[0]).rows()
        if table.is_derived:
            from cropdata.catalog.deriving import consensus_rows, profile_rows

            consensus = consensus_rows(self, self._answer)
            return consensus if table.name == "consensus" else profile_rows(self, consensus)
        if table.is_evidence:
            return [row for crop_id in self.crop_rows() for row in self.stacked(table.name, crop_id)]
        from cropdata.catalog.layers import MATERIALS

        if table.name in MATERIALS:
            return self.reference_rows(table.name)
        own = {"sources": self._rows_of_sources, "crop_names": self.name_rows}.get(table.name)
        return own() if own else self._text(table.name, table.path.partition("/")[0]).rows()

    def find(
        self,
        text: str | None = None,
        *,
        group: str | None = None,
        family: str | None = None,
        parent: str | None = None,
        life_cycle: str | None = None,
        recorded: str | Iterable[str] = (),
        complete: bool | None = None,
        germinates_at_c: float | None = None,
        hardy: bool | None = None,
        under_cover: bool | None = None,
        cautions: bool | None = None,
    ) -> tuple[Crop, ...]:
        """Crops that meet every condition given, ordered by id.

        Args:
            text: part of the name, the id or the scientific name, in any case.
            group, family, parent, life_cycle: equal to this.
            recorded: a trait, or several, that must be recorded.
            complete: whether all five headline traits are recorded or known not to be done.
            germinates_at_c: soil temperature in °C within the recorded minimum and maximum.
            hardy: True for half-hardy or better by every source's class, False for tender.
            under_cover: True where weeks to raise or weeks before last frost are recorded, False where raising
                under cover is known not to be done.
            cautions: whether there is a caution.

        Raises InputError for an empty text or a value that no crop can have.
        """
        from cropdata.catalog.finding import find_crops

        return find_crops(
            self, text=text, group=group, family=family, parent=parent, life_cycle=life_cycle,
            recorded=(recorded,) if isinstance(recorded, str) else tuple(recorded), complete=complete,
            germinates_at_c=germinates_at_c, hardy=hardy, under_cover=under_cover, cautions=cautions,
        )  # fmt: skip


def _range_of(row: Row) -> Range:
    number = float
    low = row["low"]
    return Range(
        number(low) if low else 0.0, number(row["high"]) if low else 0.0, row["unit"],
        sources=tuple(row["sources"].split()), agreement=row["agreement"], basis=row["basis"],
        lineages=int(row["lineages"]),
        envelope_low=number(row["envelope_low"]) if low else 0.0, envelope_high=number(row["envelope_high"]) if low else 0.0,
        open_low=row["open_low"] == "true", open_high=row["open_high"] == "true",
        derived_from=tuple(row["derived_from"].split()), inherited_from=row["inherited_from"] or None,
    )  # fmt: skip


__all__ = ["UNDER_COVER", "Catalog", "open_catalog"]
