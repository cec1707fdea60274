from __future__ import annotations

from pathlib import Path

import pytest

from cropdata.catalog import Catalog
from cropdata.errors import InputError
from cropdata.experiments.assessing import assess, read_counts


def test_ten_of_ten_is_good_and_not_a_hundred(db: Catalog) -> None:
    found = assess(db, db.crop("tomato"), 10, 10, day=14)
    assert found.action == "sow normally" and found.finished is True
    # Clopper-Pearson, 10 of 10: 0.6915 to 1 (statsmodels).
    assert found.exact == (pytest.approx(0.6915, abs=1e-4), 1.0)
    assert found.lot.high < 1 and found.per_cell == 1  # 10.5/11 = 95.5 %


def test_four_of_ten_before_its_time_waits(db: Catalog) -> None:
    found = assess(db, db.crop("onion"), 4, 10, day=7)
    assert found.action == "wait" and found.wait_days == 5  # final count of onion: day 12 (7 CFR 201.58)
    done = assess(db, db.crop("onion"), 4, 10, day=12)
    assert done.action == "test more" and done.finished is True
    assert assess(db, db.crop("onion"), 20, 100, day=12).action == "get new seed"
    assert assess(db, db.crop("onion"), 60, 100, day=12).action == "sow thicker"


def test_none_of_ten_first_asks_why(db: Catalog) -> None:
    found = assess(db, db.crop("celeriac"), 0, 10, day=40)
    text = " ".join(found.sentences)
    assert found.action == "ask first" and "it needs light" in text and found.per_cell is None


def test_a_count_without_its_day_is_not_known_to_be_finished(db: Catalog) -> None:
    found = assess(db, db.crop("tomato"), 8, 10, counted="root")
    text = " ".join(found.sentences)
    assert (
        found.finished is None
        and "not known" in text
        and "not yet a normal seedling" in text
        and "not a legal test" in text
    )


def test_age_and_test_are_joined_or_told_apart(db: Catalog) -> None:
    joined = assess(db, db.crop("tomato"), 8, 10, age_years=2)
    assert joined.lot.agree is True and any("joined" in line for line in joined.sentences)
    odd = assess(db, db.crop("onion"), 40, 40, age_years=12)
    assert odd.lot.agree is False and any("the test is used" in line for line in odd.sentences)


def test_every_tolerance_of_the_regulation(db: Catalog) -> None:
    """7 CFR 201.55(a), a spread of its cells: average, replicates, largest range; two misprints of the low side read aright."""
    from cropdata.experiments.assessing import tolerances
    from cropdata.experiments.germination import replicates_agree

    rows = tolerances(db)
    for average, number, most in (
        (99, 4, 5),
        (97, 4, 7),
        (97, 2, 6),
        (90, 4, 12),
        (75, 2, 14),
        (62, 4, 19),
        (51, 2, 16),
    ):
        for mean in (average, 101 - average):
            low = [mean - most // 2] * (number // 2)
            high = [mean * number // (number // 2) // 2 * 2 - mean + most // 2] * (number // 2)
            found = (
                replicates_agree([*low, *high], [100] * number, rows) if min(low) >= 0 and max(high) <= 100 else None
            )
            assert found is None or found.allowed_percent == most
    assert len(rows) == len(db.table("replicate_tolerances"))


def test_hard_seed_warmth_and_replicates_are_told(db: Catalog) -> None:
    found = assess(db, db.crop("okra"), 12, 20, day=14, hard=4, temp_c=12, by_replicate=[(6, 10), (6, 10)])
    text = " ".join(found.sentences)
    assert "4 hard seeds" in text and "outside its best range" in text and "The replicates agree" in text
    for bad in ({"hard": 9}, {"counted": "leaf"}):
        with pytest.raises(InputError):
            assess(db, db.crop("okra"), 12, 20, **bad)  # type: ignore[arg-type]


def test_a_record_of_counts(tmp_path: Path) -> None:
    path = tmp_path / "counts.csv"
    path.write_text("date,germinated,replicate\n2027-03-04,3,a\n2027-03-06,2,b\n", encoding="utf-8")
    dates, counts, replicates = read_counts(path)
    assert counts == [3, 2] and replicates == ["a", "b"] and (dates[1] - dates[0]).days == 2
    for text, message in (
        ("date,germinated\n4 March,3\n", "row 2"),
        ("date,germinated\n2027-03-04,-3\n", "0 or more"),
        ("a,b\n1,2\n", "needs the columns"),
    ):
        path.write_text(text, encoding="utf-8")
        with pytest.raises(InputError, match=message):
            read_counts(path)
