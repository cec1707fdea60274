"""Methods beside each other: numbers held to hand reckoning and scipy, words to what sources and trials say."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from scipy import stats

import cropdata
from cropdata.catalog import Catalog
from cropdata.errors import InputError, UnknownCropError
from cropdata.methods import Comparison, Option, compare


def option(comparison: Comparison, method: str, build: str | None = None, container: str | None = None) -> Option:
    return next(
        each for each in comparison.options
        if each.method_id == method and (build is None or each.build == build) and (container is None or each.container_id == container)
    )  # fmt: skip


@pytest.mark.published
def test_a_tray_reckoned_by_hand(db: Catalog) -> None:
    """Cucumber in 128 cells of 23 cc (Ontario), settling below 10 % (Florida); trays of 1 to 3 dollars and mix of 0.2 to
    0.8 a litre are recalled.
    """
    found = option(compare(db, "cucumber", 100, germination=0.8), "tray", "thin", "tray-128")
    cells = next(n for n in range(100, 400) if stats.binom.sf(99, n, 0.8) >= 0.9)
    assert (found.seeds, found.units, found.trays, found.pieces) == (cells, cells, 2, 2)
    assert 128 < cells < 256
    litres = cells * 23 / 1000
    assert found.mix_litres == pytest.approx((litres, litres / 0.9))
    assert found.first_year == pytest.approx((2 * 1 + litres * 0.2, 2 * 3 + litres / 0.9 * 0.8))
    # a thin tray: 1 to 3 seasons, 20 to 40 in 100 broken a year; at best 1 + 0.8 + 0.64 seasons, at worst one
    assert found.a_year == pytest.approx((2 / 2.44 + litres * 0.2, 6 + litres / 0.9 * 0.8))
    assert found.plastic_g == pytest.approx((60 * 2 / 100 / 2.44, 130 * 2 / 100))
    assert (found.currency, found.money_basis, found.bare_moves) == ("USD", "from_memory", (0, 0))


def test_a_towel_takes_cells_only_for_what_sprouts(db: Catalog) -> None:
    comparison = compare(db, "tomato", 24, germination=0.5)
    towel, tray = option(comparison, "towel", "thin"), option(comparison, "tray", "thin")
    moved = next(n for n in range(24, 100) if stats.binom.sf(23, n, 0.85) >= 0.9)
    sown = next(n for n in range(moved, 300) if stats.binom.sf(moved - 1, n, 0.5) >= 0.9)
    assert (towel.units, towel.seeds) == (moved, sown)
    assert towel.units < tray.units  # type: ignore[operator]
    assert towel.bare_moves == (1, 1)
    # one tray of 128 cells, thin, for 24 plants, and a bag of 5 to 10 g for 3 to 10 seasons, up to one in five broken a
    # year: one bag for all sheets of 25 seeds, or one each
    sheets, cells = -(-sown // 25), (60 / 24 / 2.44, 130 / 24)
    assert sheets > 1 and towel.trays == 1
    assert towel.plastic_g == pytest.approx((cells[0] + 5 / 24 / 10, cells[1] + sheets * 10 / 24 / 2.44))


def test_blocks_press_mix_together_and_stand_on_flats(db: Catalog) -> None:
    found = option(compare(db, "cucumber", 24, germination=0.8), "block")
    container = db.containers[found.container_id or ""]
    filled = (
        (found.units or 0) * (container.volume_low_ml or 0) / 1000,
        (found.units or 0) * (container.volume_high_ml or 0) / 1000,
    )
    assert found.mix_litres == pytest.approx((filled[0] * 1.3, filled[1] * 2.5))
    assert (
        found.pieces == 1 and found.first_year is not None and found.first_year[0] >= 30 + 5
    )  # the press and one flat


@pytest.mark.published
def test_a_share_of_trays_set_with_seedlings_says_nothing_of_sown_ones(db: Catalog) -> None:
    """Kentucky AGR-156, plug and transfer: 90 % usable of trays that seedlings of 4 to 5 weeks are set into. Of sown trays
    and pots no loss is recorded: both take the seeds that germination asks for, and it is said.
    """
    comparison = compare(db, "tomato", 24, germination=0.75)
    sown = next(n for n in range(24, 200) if stats.binom.sf(23, n, 0.75) >= 0.9)
    for method in ("tray", "pot"):
        found = option(comparison, method)
        assert found.seeds == sown and any("lost after germination" in each for each in found.unknown)
        assert "uky_agr156" not in found.sources
    assert option(comparison, "block").seeds == next(
        n for n in range(24, 200) if stats.binom.sf(23, n, 0.75 * 0.85) >= 0.9
    )
    seed = next(each for each in comparison.trade_offs if each.startswith("Seed"))
    assert (
        "none are recorded" in seed
        and "tray" in seed.partition("recorded (")[2]
        and "block" not in seed.partition("recorded (")[2]
    )


def test_more_seeds_a_cell_fill_fewer_cells_with_more_seed(db: Catalog) -> None:
    one = option(compare(db, "tomato", 24, germination=(7, 10)), "tray", "thin")
    two = option(compare(db, "tomato", 24, germination=(7, 10), seeds_per_cell=2), "tray", "thin")
    assert (two.units or 0) < (one.units or 0) and two.seeds == 2 * (two.units or 0)


@pytest.mark.parametrize(("crop", "plants", "rate", "seeds"), [("tomato", 30, 0.75, 3), ("onion", 300, 0.7, 5)])
def test_a_crumbled_block_loses_all_its_seeds(db: Catalog, crop: str, plants: int, rate: float, seeds: int) -> None:
    """85 of 100 blocks hold (recalled), however many seeds are in them."""
    found = option(compare(db, crop, plants, germination=rate, seeds_per_cell=seeds), "block")
    holds = 0.85 * (1 - (1 - rate) ** seeds)
    blocks = next(n for n in range(plants, 600) if stats.binom.sf(plants - 1, n, holds) >= 0.9)
    assert (found.units, found.seeds) == (blocks, blocks * seeds)


def test_what_is_only_sown_in_place_is_not_reckoned_under_cover(db: Catalog) -> None:
    comparison = compare(db, "carrot", 100)
    for each in comparison.options:
        if each.method_id == "in_place":
            assert each.fit.word == "yes" and each.seeds and each.mix_litres == (0, 0)
        else:
            assert each.fit.word == "not_done" and each.fit.sources and each.seeds is None and each.first_year is None
    assert {each.method_id for each in comparison.work} == {"in_place"}


def test_a_root_that_stands_no_disturbance_is_not_moved_bare(db: Catalog) -> None:
    """Florida and others: cucumber is hard to transplant; in a flat its bare root is moved, in a block it is not."""
    comparison = compare(db, "cucumber")
    assert option(comparison, "flat").fit.word == "not_advised"
    assert option(comparison, "block").fit.word == "with_care"
    assert option(compare(db, "tomato"), "flat").fit.word == "yes"


@pytest.mark.published
def test_trials_are_told_as_they_came_out(db: Catalog) -> None:
    """HortScience (Carey and others): cucumber heavier in trays than blocks. North Central SARE: pepper heavier in blocks,
    no advantage for roots. Michigan State: tomato no difference. Purdue: watermelon sown in place yielded more. Georgia (NeSmith): alike in one year, 40 % less in the next,
    and later. Florida (Nicola and Cantliffe 1996): packed mix made more shoot, and worse transplants.
    """
    outcomes = {
        (crop, each.topic, each.measure): each.outcome
        for crop in ("cucumber", "pepper", "tomato", "watermelon", "lettuce")
        for each in compare(db, crop).effects
    }
    assert outcomes["cucumber", "blocks_and_cells", "dry weight of seedlings at 3 weeks"] == "worse"
    assert outcomes["pepper", "blocks_and_cells", "dry weight of seedlings"] == "better"
    assert outcomes["pepper", "blocks_and_cells", "roots"] == "no_difference"
    assert outcomes["tomato", "blocks_and_cells", "yield a plant, six varieties"] == "no_difference"
    assert outcomes["watermelon", "direct_seeding", "yield in two years"] == "better"
    assert outcomes["watermelon", "direct_seeding", "total marketable yield, 1995"] == "no_difference"
    assert outcomes["watermelon", "direct_seeding", "total marketable yield, 1996"] == "worse"
    assert outcomes["watermelon", "direct_seeding", "share of the yield at the first harvest"] == "worse"
    assert outcomes["lettuce", "packing", "growth of the shoot"] == "better"
    assert outcomes["lettuce", "packing", "quality of transplants and production in the field"] == "worse"


def test_a_trial_is_told_with_its_authors_caveat(db: Catalog) -> None:
    """As the abstracts have it: Purdue's head start of the sown plants; which cells Garbi's lighter plants stood in; the year
    in which McCraw and Greig found nothing.
    """
    told = {each.effect_id: each for crop in ("watermelon", "lettuce", "pepper") for each in compare(db, crop).effects}
    assert "while the others still stood in the greenhouse" in told["egel_2008.watermelon.01"].finding
    garbi = told["garbi_2019.lettuce.01"]
    assert (garbi.treatment, garbi.comparison) == ("cells of 21 cm3", "cells of 11 and 5 cm3")
    assert "first of two years yield did not differ" in told["psu_transplant_age_2011.pepper.03"].finding


def test_a_type_shows_the_trials_of_its_parent(db: Catalog) -> None:
    assert compare(db, "pepper-hot").effects == compare(db, "pepper").effects


def test_raising_is_held_against_the_stay(db: Catalog) -> None:
    """Tomato takes 6 to 8 weeks; 128 cells of 23 ml bear it 4 to 6 weeks, 24 cells of 171 ml 8 to 10 (common practice)."""
    comparison = compare(db, "tomato")
    assert comparison.raise_weeks == (6, 8)
    assert option(comparison, "tray", container="tray-128").outgrown == "maybe"
    assert option(comparison, "tray", container="tray-24").outgrown == "no"
    assert "tray-288" not in {
        each.container_id for each in comparison.options
    }  # named for processing, outgrown for sure


def test_a_budget_is_held_against_the_first_year(db: Catalog) -> None:
    for each in compare(db, "tomato", budget=20).options:
        if each.first_year is None:
            assert each.budget is None
        else:
            low, high = each.first_year
            assert each.budget == ("within" if high <= 20 else "over" if low > 20 else "maybe")
    assert {each.budget for each in compare(db, "tomato", budget=1e6).options} == {"within", None}


def test_what_is_not_known_is_said(db: Catalog) -> None:
    comparison = compare(db, "zinnia")  # no legal minimum, no trial
    assert comparison.germination is None
    assert all(each.seeds is None for each in comparison.options)
    text = " ".join(comparison.unknown)
    assert "Germination is not recorded" in text and "No trial of methods" in text and "Ease of transplanting" in text


OWN_TRAY = (
    "container_id,method_id,name,units_per_tray,volume_of,volume_low,volume_high,volume_unit,price_low,price_high,currency\n"
    "my-60,tray,My tray of 60,60,unit,40,40,ml,4,5,EUR\n"
)


def test_a_budget_is_held_only_against_money_of_its_own_currency(write_layer: Callable[..., Path]) -> None:
    """My tray costs 4 to 5 euros without mix; the others are in dollars."""
    db = cropdata.open(layers=[write_layer(containers=OWN_TRAY)])
    for currency, budget, mine_is in ((None, 10, None), ("EUR", 10, "maybe"), ("eur", 3, "over")):
        comparison = compare(db, "tomato", 24, budget=budget, currency=currency)
        assert comparison.currency == ("USD" if currency is None else "EUR")
        mine, usual = option(comparison, "tray", container="my-60"), option(comparison, "tray", container="tray-24")
        assert mine.budget == mine_is and not mine.mix_priced  # never within: the price of mix in euros is not known
        assert (usual.budget is None) == (currency is not None) and usual.mix_priced
        other = usual if currency else mine
        assert any("is not held against a budget in" in each for each in other.unknown)
    with pytest.raises(InputError, match="three letters"):
        compare(db, "tomato", currency="euros")


def test_slow_crops_are_shown_the_container_that_they_outgrow_last(db: Catalog) -> None:
    """Celery takes 10 to 12 weeks; 171 ml bear any crop 8 to 12 weeks, 43 ml at most 9 (common practice)."""
    trays = [each for each in compare(db, "celery").options if each.method_id == "tray"]
    assert {each.container_id: each.outgrown for each in trays} == {"tray-72": "yes", "tray-24": "maybe"}
    assert option(compare(db, "celery"), "towel").container_id == "tray-24"
    roomy = {method: [c for c in db.containers.values() if c.method_id == method and c.volume_low_ml and c.units_per_tray]
             for method in ("tray", "block", "pot")}  # fmt: skip
    for crop in map(db.crop, db):
        comparison = compare(db, crop, 5)
        for method, sized in roomy.items():
            shown = [each for each in comparison.options if each.method_id == method and each.container_id]
            if shown and comparison.raise_weeks and all(each.outgrown == "yes" for each in shown):
                stays = [db.materials.stay(crop, each.volume_low_ml or 0.0) for each in sized]
                assert all(
                    stay.limit_weeks is not None and stay.limit_weeks < comparison.raise_weeks[0] for stay in stays
                ), crop.id


def test_what_it_is_reckoned_with_can_be_seen(db: Catalog) -> None:
    """Thin trays: 1 to 3 dollars, 1 to 3 seasons, 20 to 40 in 100 broken a year, 60 to 130 g; cells of 23 cc (Ontario)."""
    comparison = compare(db, "tomato", 30)
    tray = {each.what: each for each in option(comparison, "tray", "thin", "tray-128").reckoned_with}
    seen = {what: (each.low, each.high, each.unit) for what, each in tray.items()}
    assert seen["price"] == (1, 3, "USD") and seen["life"] == (1, 3, "seasons") and seen["plastic"] == (60, 130, "g")
    assert seen["breakage"] == (20, 40, "percent a year") and seen["volume of a cell"] == (23, 23, "ml")
    assert tray["life"].row == "tray.life.01" and tray["volume of a cell"].source_id == "omafra_plug_trays"
    assert seen["mix: price"][:2] == (0.2, 0.8)
    block = {each.what for each in option(comparison, "block").reckoned_with}
    assert {"volume of a block", "units in a tray", "price", "pressing", "usable", "flat under blocks: life"} <= block
    assert {"towel: price", "towel: life", "price"} <= {each.what for each in option(comparison, "towel").reckoned_with}


def test_water_for_the_mix_by_hand(db: Catalog) -> None:
    """Blocks: a third of a litre to a litre (recalled). Cells: peat mixes of up to 0.16 g per cm3 (Arkansas) at up to 60 %
    of the wet weight (Florida): 0.16 x 60 / 40 = 0.24 litres to a litre of bone-dry mix, none where it is damp already.
    """
    comparison = compare(db, "tomato", 30)
    block, tray = option(comparison, "block"), option(comparison, "tray")
    assert block.mix_litres and tray.mix_litres
    assert block.water_litres == pytest.approx((0.33 * block.mix_litres[0], 0.33 * block.mix_litres[1]))
    assert tray.water_litres == pytest.approx((0.0, 0.24 * tray.mix_litres[1]))
    assert option(comparison, "pot").water_litres is None and option(comparison, "flat").water_litres is None


def test_minutes_for_the_number_asked_by_hand(db: Catalog) -> None:
    """Rutgers, Table 2: 22 to 49 s to fill a tray. A farm: 5 minutes for pressing 200 blocks."""
    comparison = compare(db, "tomato", 200, germination=0.75)
    tray, block = option(comparison, "tray", container="tray-24"), option(comparison, "block")
    filling = next(each for each in tray.minutes if each.row == "tray.labour.01")
    assert (filling.low, filling.high) == pytest.approx(((tray.trays or 0) * 22 / 60, (tray.trays or 0) * 49 / 60))
    pressing = next(each for each in block.minutes if "pressing only" in each.work)
    assert (pressing.low, pressing.high) == pytest.approx(((block.units or 0) / 40,) * 2)


def test_ingredients_of_a_mix_by_hand(db: Catalog) -> None:
    """Mix D: three of peat to one of sand; 10 to 20 in 100 of the volume are lost on mixing (recalled)."""
    found = option(compare(db, "tomato", 30, recipe="uc-mix-d"), "pot")
    assert found.mix_litres
    peat = next(each for each in found.ingredients if each.component == "sphagnum peat")
    assert peat.amount == pytest.approx((found.mix_litres[0] / 0.9 * 3 / 4, found.mix_litres[1] / 0.8 * 3 / 4))
    assert peat.unit == "litres" and {each.unit for each in found.ingredients} == {"litres", "grams"}
    unprinted = option(compare(db, "tomato", 30, recipe="block-mix"), "block").ingredients
    assert any(each.component == "blood meal" and each.amount is None for each in unprinted)
    with pytest.raises(InputError, match="no mix is called 'mud'"):
        compare(db, "tomato", recipe="mud")


def test_the_flat_that_seed_is_sown_in_is_said_not_to_be_counted(db: Catalog) -> None:
    for each in compare(db, "tomato").options:
        said = any("the flat that seed is sown in" in text for text in each.unknown)
        assert said == (each.method_id == "flat")


def test_nothing_is_recommended(db: Catalog) -> None:
    for crop in db.find(group="vegetable"):
        for sentence in compare(db, crop).trade_offs:
            assert not re.search(r"(?i)\b(best|recommend\w*|should|better|worst|choose|ideal)\b", sentence), sentence


def test_every_crop_can_be_compared_and_every_source_is_described(db: Catalog) -> None:
    for crop in map(db.crop, db):
        comparison = compare(db, crop, 7)
        assert comparison.options and set(comparison.sources) <= set(db.sources)
        for each in comparison.options:
            for pair in (each.mix_litres, each.first_year, each.a_year, each.plastic_g):
                assert pair is None or 0 <= pair[0] <= pair[1]
            if each.first_year and each.a_year:
                assert each.a_year[0] <= each.first_year[0] and each.a_year[1] <= each.first_year[1] + 1e-9
            assert each.units is None or each.units >= 7


def test_a_growers_own_tray_and_price_come_first(write_layer: Callable[..., Path]) -> None:
    layer = write_layer(
        containers="container_id,method_id,name,units_per_tray,volume_of,volume_low,volume_high,volume_unit,price_low,price_high,currency,"
        "life_low,life_high,plastic_low,plastic_high,plastic_unit\ntray-77,tray,My tray,77,unit,45,45,ml,12,12,EUR,8,10,500,500,g\n"
    )
    comparison = compare(cropdata.open(layers=[layer]), "tomato", 24, germination=0.8)
    mine = option(comparison, "tray", container="tray-77")
    assert mine.chosen == "from the layer invented_notes" and mine.build is None
    assert (mine.first_year, mine.currency) == ((12, 12), "EUR")  # one tray; mix has no price in euros
    assert mine.a_year == pytest.approx((12 / 10, 12 / 8))
    assert mine.plastic_g == pytest.approx((500 / 24 / 10, 500 / 24 / 8))
    assert any("mix in EUR is not known" in each for each in mine.unknown)


def test_a_price_of_ones_own_changes_nothing_but_the_money(db: Catalog, write_layer: Callable[..., Path]) -> None:
    """A tray is thin or thick whatever it cost: its plastic is the release's, in grams, and no float tray's of 2 1/2 lb."""
    layer = write_layer(containers="container_id,price_low,price_high,currency,action\ntray-128,3,4,USD,override\n")
    own, plain = (compare(each, "tomato", 30) for each in (cropdata.open(layers=[layer]), db))
    for build, grams, served in (("thin", (60, 130), (1, 1 + 0.8 + 0.64)), ("thick", (350, 700), None)):
        mine, usual = (option(each, "tray", build, "tray-128") for each in (own, plain))
        assert mine.plastic_g == usual.plastic_g
        if served:  # 1 to 3 seasons, 20 to 40 in 100 broken a year; one tray for thirty plants
            assert mine.plastic_g == pytest.approx((grams[0] / 30 / served[1], grams[1] / 30 / served[0]))
        assert mine.first_year and usual.mix_litres
        assert mine.first_year == pytest.approx((3 + usual.mix_litres[0] * 0.2, 4 + usual.mix_litres[1] * 0.8))
        assert "uky_agr156" not in mine.sources  # a tobacco float tray's life
    assert {each.build for each in own.options if each.container_id == "tray-128"} == {"thin", "thick"}


def test_what_a_tray_of_ones_own_is_made_of_is_not_guessed(write_layer: Callable[..., Path]) -> None:
    layer = write_layer(
        containers="container_id,price_low,price_high,currency,life_low,life_high,action\ntray-128,3,4,USD,8,10,override\n"
    )
    mine = option(compare(cropdata.open(layers=[layer]), "tomato", 30), "tray", container="tray-128")
    assert (mine.build, mine.plastic_g) == (None, None) and mine.first_year is not None
    assert any("plastic of Tray of 128 cells is not known" in each for each in mine.unknown)


@pytest.mark.parametrize(
    ("row", "method", "container"),
    [
        ("my-tray,tray,My tray,50,unit,60,60,ml,2,3,EUR,3,5,add", "towel", "my-tray"),  # the towel is in dollars
        ("my-block,block,My block,50,unit,100,120,ml,25,30,EUR,10,20,add", "block", "my-block"),  # so is the flat below
        ("flat-28x54cm,,,,,,,,100,200,JPY,5,5,override", "block", None),
    ],
)  # fmt: skip
def test_unlike_currencies_are_not_added(
    write_layer: Callable[..., Path], row: str, method: str, container: str | None
) -> None:
    layer = write_layer(
        containers="container_id,method_id,name,units_per_tray,volume_of,volume_low,volume_high,volume_unit,price_low,price_high,currency,"
        f"life_low,life_high,action\n{row}\n"
    )
    found = option(compare(cropdata.open(layers=[layer]), "tomato", 30, budget=100), method, container=container)
    assert (found.first_year, found.a_year, found.budget) == (None, None, None)
    assert any(re.search(r"prices in (EUR|USD) and (USD|JPY) are not added", each) for each in found.unknown)


def test_what_carries_cells_and_pots_is_said_not_to_be_counted(db: Catalog) -> None:
    for each in compare(db, "tomato").options:
        said = any("flat trays" in text for text in each.unknown)
        assert said == (each.method_id in ("towel", "tray", "pot"))


def test_a_grower_may_hide_what_they_do_not_use(write_layer: Callable[..., Path]) -> None:
    layer = write_layer(
        containers="container_id,action\ntowel-sheet,hide\nflat-28x54cm,hide\ntray-72,hide\nblock-50mm,hide\n"
    )
    comparison = compare(cropdata.open(layers=[layer]), "tomato")
    assert option(comparison, "towel").container_id is None and option(comparison, "flat").first_year is None
    assert option(comparison, "block").first_year is not None


@pytest.mark.parametrize(
    "settings",
    [
        {"plants": 0}, {"plants": 2.5}, {"budget": -1}, {"budget": float("nan")}, {"germination": 80}, {"germination": (5, 3)},
        {"seeds_per_cell": 0}, {"plants": 10_000_000}, {"plants": float("inf")}, {"seeds_per_cell": 1000},
    ],
)  # fmt: skip
def test_a_number_that_cannot_be_one_is_refused(db: Catalog, settings: dict[str, object]) -> None:
    with pytest.raises(InputError):
        compare(db, "tomato", **settings)  # type: ignore[arg-type]


def test_an_unknown_crop_is_an_error_that_helps(db: Catalog) -> None:
    with pytest.raises(UnknownCropError, match="tomato"):
        compare(db, "tomatoo")


def test_seed_too_poor_for_a_number_gives_none(db: Catalog) -> None:
    found = option(compare(db, "tomato", 24, germination=1e-9), "tray")
    assert found.seeds is None and found.units is None and found.first_year is None
    assert any("too poor" in each for each in found.unknown)
    assert not any("not recorded" in each or "not known" in each for each in found.unknown if "lost after" not in each)


def test_without_germination_nothing_is_promised(db: Catalog) -> None:
    """24 cells for 24 plants "with 90 % confidence", held against a towel's 31."""
    comparison = compare(db, "lobelia", 24, budget=10)
    assert comparison.germination is None
    tray, towel = (option(comparison, method) for method in ("tray", "towel"))
    assert (tray.units, tray.at_least, tray.seeds) == (24, True, None)
    assert not towel.at_least  # what has sprouted is set, and lost by the share that is known
    assert tray.first_year and tray.first_year[1] < 10 and tray.budget == "maybe"  # it may take more cells
    assert not any("Money" in each or "Loose mix" in each or "Plastic" in each for each in comparison.trade_offs)
    told = " ".join(comparison.unknown)
    assert (
        "reckoned as if it all came up" in told and "the number of towels is not known, as germination is not" in told
    )
    assert "money for Tray" not in told and "plastic of Tray" not in told
    known = compare(db, "lobelia", 24, germination=0.8, budget=10)
    assert not any(each.at_least for each in known.options) and any("Money" in each for each in known.trade_offs)


def test_figures_of_another_size_of_pot_are_told(db: Catalog, write_layer: Callable[..., Path]) -> None:
    """A pot of 900 ml is none of 7 to 9 cm, as a cube of 9 cm holds 729; pots of 7 and 9 cm are, with 200 and 430 ml."""
    comparison = compare(db, "celery", 30)
    said = [each for each in comparison.unknown if "cm are reckoned with" in each]
    assert said == ["Pot: price and plastic of Round pot 13 cm are not recorded; those of 7 to 9 cm are reckoned with"]
    own = write_layer(containers="container_id,price_low,currency,action\npot-13cm,1,CAD,override\n")
    said = [each for each in compare(cropdata.open(layers=[own]), "celery", 30).unknown if "reckoned with" in each]
    assert said == ["Pot: plastic of Round pot 13 cm is not recorded; that of 7 to 9 cm is reckoned with"]
    small = write_layer(
        "Small",
        containers="container_id,method_id,name,units_per_tray,volume_of,volume_low,volume_high,volume_unit\nthimble,pot,Thimble,60,unit,80,90,ml\n",
    )
    assert any(
        "of Thimble are not recorded" in each for each in compare(cropdata.open(layers=[small]), "tomato").unknown
    )


def test_what_a_flat_holds_is_not_said_of_the_flat_under_blocks(db: Catalog) -> None:
    block = option(compare(db, "celery", 30), "block")
    flat = {each.what for each in block.reckoned_with if each.what.startswith("flat under blocks")}
    assert flat == {f"flat under blocks: {what}" for what in ("price", "life", "breakage", "plastic")}
    assert any(each.what == "units in a tray" for each in block.reckoned_with)
