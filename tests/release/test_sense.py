"""The whole table makes sense: coverage, sense checks, and the rule on sources left out of it."""

from __future__ import annotations

import importlib.util
import shutil
import sys
from pathlib import Path
from types import ModuleType

import pytest

from cropdata.catalog import Catalog, open_catalog
from cropdata.catalog.consensus import Printed
from cropdata.release.building import build_package, write_package

ROOT = Path(__file__).resolve().parents[2]


def tool(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, ROOT / "tools" / f"{name}.py")
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def db() -> Catalog:
    return open_catalog()


def test_every_oddity_of_the_whole_table_has_its_reason(capsys: pytest.CaptureFixture[str]) -> None:
    assert tool("sense_checks").main() == 0, capsys.readouterr().out


def test_small_seed_is_sown_shallow(db: Catalog) -> None:
    """Common practice, no source: depth goes with the size of the seed."""
    sense = tool("sense_checks")
    assert sense.depth_correlation([db.crop(crop_id) for crop_id in db]) < -0.6


def test_a_slip_that_was_set_aside_would_be_found(tmp_path: Path) -> None:
    """Catnip's 3,400 seeds an ounce is a tenth of what it should be: without its decision the check speaks."""
    package = tmp_path / "datapackage"
    shutil.copytree(ROOT / "datapackage", package)
    decisions = package / "reference" / "decisions.csv"
    kept = [line for line in decisions.read_text("utf-8").splitlines() if "catnip" not in line]
    decisions.write_text("\n".join(kept) + "\n", "utf-8")
    write_package(str(package), build_package(str(package)))
    changed = Catalog(str(package))
    crops = [changed.crop(crop_id) for crop_id in changed]
    assert "catnip" in dict(tool("sense_checks").depth(changed, crops))


def test_lineages_count_once_and_memory_for_none(db: Catalog) -> None:
    coverage = tool("coverage")
    found = coverage.survey(db)
    by_id = {crop.id: dict(zip(coverage.HEADLINE, row, strict=True)) for crop, row in found.items()}
    # Harrington's table and its reprints are one; the rows that are set aside are none.
    tomato = {
        db.sources[str(row["source_id"])].lineage
        for row in db.crop("tomato").evidence("germination_temperature")
        if not row["set_aside"]
    }
    assert by_id["tomato"]["germination_temperature"].lineages == len(tomato)
    sources = {row["source_id"] for row in db.crop("tomato").evidence("germination_temperature")}
    assert len(tomato) < len(sources)
    assert by_id["bean-yardlong"]["sowing_depth"] == ("recorded", 0)


def test_coverage_has_not_fallen_and_meets_what_was_set_out(db: Catalog) -> None:
    """Targets of the project: all five headline traits for 95 % of vegetables, 85 % of herbs, 75 % of flowers."""
    coverage = tool("coverage")
    found = coverage.survey(db)
    assert coverage.fallen(coverage.totals(found)) == []
    for group, least in (("vegetable", 0.95), ("herb", 0.85), ("flower", 0.75)):
        rows = [row for crop, row in found.items() if crop.group == group]
        whole = sum(all(item.status != "not_recorded" for item in row) for row in rows)
        assert whole >= least * len(rows), group
    sizes = {group: sum(crop.group == group for crop in found) for group in coverage.GROUPS}
    assert sizes["vegetable"] >= 75 and sizes["herb"] >= 30 and sizes["flower"] >= 45 and sizes["green_manure"] >= 10


def test_rules_compared_on_a_case_reckoned_by_hand(db: Catalog) -> None:
    """Three lineages 2, 4 and 6: without the first, ours and the widest answer 4 to 6, the medians 5."""
    left_out = tool("leave_one_source_out")
    rest = [
        Printed(value, value, "published", source, source)
        for value, source in ((4.0, "burr_1863"), (6.0, "kains_1912"))
    ]
    assert left_out.ours(rest, db) == left_out.widest(rest, db) == (4.0, 6.0)
    assert left_out.medians(rest, db) == (5.0, 5.0)
    assert left_out.width((4.0, 6.0), "years") == 1.5 and left_out.width((-2.0, 1.0), "weeks") == 3.0


def test_every_crop_has_names_in_five_languages(db: Catalog) -> None:
    """US and British English, French, German, Spanish; a name that two crops share is refused with its candidates."""
    table = db.table("crop_names")
    for crop_id in db:
        languages = set(table.loc[table["crop_id"] == crop_id, "language"])
        assert {"en-US", "en-GB", "fr", "de", "es"} <= languages, crop_id
