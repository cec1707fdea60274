"""Trials made up for the purpose: what the comparison says, and what it refuses to say."""

from __future__ import annotations

import csv
import datetime
import io
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from statsmodels.stats.multitest import multipletests

from cropdata.errors import InputError
from cropdata.experiments import trial
from cropdata.experiments.design import new_trial
from cropdata.experiments.records import read_records
from cropdata.experiments.trial_records import read_seeds, seeds_of_looks

SOWN = datetime.date(2027, 3, 1)


def records(
    days: dict[str, list[float | None]], units: dict[str, int] | None = None, last_look: int = 21
) -> pd.DataFrame:
    """Looked at every day; None: not seen by the last look. Units: how many trays a method's seeds are dealt over."""
    rows = []
    for method, seen in days.items():
        for number, day in enumerate(seen):
            absent = last_look if day is None else int(np.ceil(day)) - 1
            rows.append({
                "method": method, "seed": f"{method}{number}", "sown": SOWN.isoformat(),
                "last_absent": (SOWN + datetime.timedelta(days=absent)).isoformat() if absent > 0 else "",
                "first_seen": "" if day is None else (SOWN + datetime.timedelta(days=absent + 1)).isoformat(),
                "unit": f"{method}{number % (units or {}).get(method, 1)}",
            })  # fmt: skip
    return pd.DataFrame(rows)


def test_three_methods_of_three_seeds_can_settle_no_pair() -> None:
    result = trial.compare(records({"towel": [3, 3, 4], "tray": [7, 7, 8], "block": [10, 11, 12]}))
    assert result.p_value < 0.01 and result.exact  # 1680 ways: fully apart
    assert all(pair.p_value >= 0.1 - 1e-9 for pair in result.pairs)
    assert result.detectable_days == float("inf")
    assert (
        "cannot settle a pair whatever happens" in result.verdict and "0.30" in result.verdict
    )  # 0.10 for a pair, three pairs
    assert "cannot tell a method from its tray" in result.verdict
    assert any("one tray" in cause for cause in result.confounded)


def test_forty_seeds_find_two_days_and_say_of_what() -> None:
    rng = np.random.default_rng(3)
    days = {
        name: (mid * np.exp(rng.normal(0, 0.2, 40))).tolist()
        for name, mid in (("towel", 6.0), ("tray", 8.0), ("block", 8.0))
    }
    result = trial.compare(records(days, {"towel": 1, "tray": 1, "block": 1}))
    assert result.pairs[0].p_corrected < 0.05 and "towel came" in result.verdict
    assert "these seeds in these trays" in result.verdict
    assert 0.5 < result.detectable_days < 2.5
    by_trays = trial.compare(records(days, {"towel": 5, "tray": 5, "block": 5}))
    assert by_trays.permuted == "trays" and by_trays.pairs[0].p_value < 0.02
    assert not by_trays.confounded


def test_no_difference_is_not_called_none() -> None:
    result = trial.compare(records({"a": [5, 6, 7, 8, 9, 10], "b": [5, 6, 7, 8, 9, 10]}))
    assert result.p_value == pytest.approx(1) and "not the same as none" in result.verdict


def test_never_seen_is_not_the_same_as_late_and_the_middle_may_not_exist() -> None:
    result = trial.compare(records({"a": [5, 6, None, None, None], "b": [5, 6, 7, 8, None]}))
    a, b = result.methods
    assert a.median_days is None and a.emerged == 2 and b.median_days is not None
    assert b.median_high == float("inf") and "fewer than half" in result.verdict
    assert result.pairs[0].difference_days is None


def test_destroyed_in_handling_is_a_loss_and_dead_after_is_emerged() -> None:
    frame = records({"a": [5, 6, None, 7], "b": [5, 6, 7, 8]})
    frame["cause"] = ["", "damping off", "broken in handling", "", "", "", "", ""]
    result = trial.compare(frame)
    assert result.methods[0].destroyed == 1 and result.methods[0].emerged == 3
    assert result.methods[0].share == 0.75
    assert "a: 3 of 4 came" in result.verdict and "1 lost in handling" in result.verdict and not result.warnings


def test_a_cause_that_is_not_known_is_said_and_counts_as_not_come() -> None:
    frame = records({"a": [5, 6, None, 7], "b": [5, 6, 7, 8]})
    frame["cause"] = ["", "slug", "cat", "", "", "", "", ""]  # the slug's seedling had come
    result = trial.compare(frame)
    assert result.methods[0].destroyed == 0 and result.methods[0].emerged == 3
    assert [text.split(" is ")[0] for text in result.warnings] == ["cause 'cat' (1 seed)"]


def test_lost_ranks_behind_all_that_came_as_one_that_never_came() -> None:
    """Destroyed on day 2, before any look that tells: not "perhaps early", it will never come."""
    frame = records({"a": [5, 6, None, 7], "b": [5, 6, 8, 9]})
    never = trial.compare(frame).p_value
    frame.loc[2, "last_absent"] = "2027-03-03"
    assert trial.compare(frame.assign(cause=["", "", "dropped", ""] + [""] * 4)).p_value == never


def test_different_events_are_refused_with_the_reason() -> None:
    frame = records({"towel": [3, 4, 5], "tray": [7, 8, 9]})
    frame["event"] = ["root seen"] * 3 + ["shoot"] * 3
    with pytest.raises(InputError, match="only equal ones can be compared.*towel: root seen; tray: shoot"):
        trial.compare(frame)
    frame["event"] = "shoot"
    assert trial.compare(frame).methods
    frame["event"] = ["shoot"] * 3 + [""] * 3
    with pytest.raises(InputError, match="towel: shoot; tray: not told"):
        trial.compare(frame)
    frame["event"] = ["shoot", "", ""] * 2
    assert trial.compare(frame).methods


def test_confounding_is_named() -> None:
    frame = records({"a": [5, 6, 7, 8], "b": [5, 6, 7, 8]}, {"a": 2, "b": 2})
    frame["warmth_c"] = ["21"] * 4 + ["18"] * 4
    frame.loc[frame["method"] == "b", "sown"] = "2027-02-28"
    said = " ".join(trial.compare(frame).confounded)
    assert "different days" in said and "different warmth" in said
    frame["warmth_c"] = ["21"] * 4 + ["21.0"] * 4
    assert "warmth" not in " ".join(trial.compare(frame).confounded)


def test_only_the_method_in_a_single_tray_is_named() -> None:
    frame = records({"a": [5, 6, 7, 8], "b": [5, 6, 7, 8], "c": [5, 6, 7, 8]}, {"a": 2, "b": 2})
    (said,) = trial.compare(frame).confounded
    assert said.startswith("c stands in one tray") and "each method" not in said
    assert trial.compare(frame[frame["method"] != "a"]).confounded[0].startswith("c stands")
    (said,) = trial.compare(records({"a": [5, 6], "b": [5, 6]})).confounded
    assert said.startswith("each method stands in one tray")


def test_trays_that_hold_both_methods_are_rounds() -> None:
    """Two trays of two seeds each method; b later by a day in each, trays far apart: (6 x 6) ways, 2 of them so far."""
    frame = records({"a": [3.0, 3.0, 13.0, 13.0], "b": [4.0, 4.0, 14.0, 14.0]})
    frame["unit"] = ["1", "1", "2", "2"] * 2
    result = trial.compare(frame)
    assert result.permuted == "seeds within trays" and result.pairs[0].p_value == pytest.approx(2 / 36)
    assert "names of their own" in result.verdict and result.seeds_a_unit == 2
    frame["unit"] = ["a1", "a1", "a2", "a2", "b1", "b1", "b2", "b2"]
    assert trial.compare(frame).permuted == "trays"


def test_a_tray_stands_in_one_round() -> None:
    frame = records({"a": [5, 6, 7, 8], "b": [5, 6, 7, 8]}, {"a": 2, "b": 2})
    frame["round"] = ["1", "2", "1", "1", "1", "2", "1", "2"]
    with pytest.raises(InputError, match="row 5, round: tray 'a1' stands in two rounds"):
        trial.compare(frame)


def test_a_seed_without_last_absent_was_known_absent_only_at_sowing() -> None:
    """It lies between sowing and the day it was seen, whatever looks the other seeds tell of; and it is said."""
    frame = records({"a": [4, 6, 7], "b": [9, 10, None]})
    frame["last_absent"] = ["", "", "2027-03-07", "", "", (SOWN + datetime.timedelta(days=21)).isoformat()]
    seeds = read_seeds(frame)
    assert list(seeds.left) == [0, 0, 6, 0, 0, 21]
    assert len(seeds.warnings) == 1 and seeds.warnings[0].startswith("4 seeds without last_absent")


def test_a_seed_with_neither_date_is_said() -> None:
    frame = records({"a": [4, 6, 7], "b": [9, 10, None]})
    frame.loc[5, "last_absent"] = ""
    seeds = read_seeds(frame)
    assert seeds.left[5] == 0 and seeds.right[5] == float("inf") and "1 seed with neither" in seeds.warnings[0]
    assert trial.compare(frame).methods[1].emerged == 2


def test_three_against_forty_are_reckoned_with_both_numbers() -> None:
    """Smallest p 1 in 12 341: much can be found, though three against three could find nothing."""
    rng = np.random.default_rng(8)
    many = np.ceil(8 * np.exp(rng.normal(0, 0.2, 40))).tolist()
    result = trial.compare(records({"few": [4, 5, 5], "many": many}))
    assert result.lowest_p == pytest.approx(1 / 12_341)
    assert 1 < result.detectable_days < 8 and "3 to 40 seeds a method" in result.verdict


def test_the_shipped_example_needs_about_nine_trays() -> None:
    """Seven rounds of three methods find 2 days in about 3 trials of 5, eight in 0.78, nine in 0.87 (independent simulation)."""
    result = trial.compare(Path(trial.__file__).parent.parent / "examples" / "trial.csv")
    assert 8 <= result.units_needed <= 10 and 2.3 < result.detectable_days < 3.3
    assert result.seeds_a_unit == 8


def test_nothing_came_at_all() -> None:
    result = trial.compare(records({"a": [None] * 5, "b": [None] * 5}))
    assert result.p_value == 1 and result.detectable_days == float("inf")
    assert result.seeds_needed == result.units_needed == float("inf") and "more than 1000 seeds" in result.verdict


@pytest.mark.parametrize("target", [0, -1, 0.01, float("nan"), float("inf"), 1e6])
def test_a_difference_that_nobody_looks_for(target: float) -> None:
    with pytest.raises(InputError, match="allowed: 0.1 to 365 days"):
        trial.compare(records({"a": [5, 6], "b": [5, 6]}), target)


@pytest.mark.parametrize("days", [0.0, -3.0, float("nan"), float("inf")])
def test_expected_days_that_are_none(days: float) -> None:
    with pytest.raises(InputError, match="expected days"):
        trial.compare(records({"a": [5, 6], "b": [5, 6]}), expected_days=days)


def test_missing_values_of_any_kind_are_blank() -> None:
    frame = records({"a": [5, 6, 7, None], "b": [8, 9, 10, None]})
    blank = frame.replace("", None).convert_dtypes()
    assert blank["first_seen"].isna().any() and trial.compare(blank).verdict == trial.compare(frame).verdict


def test_unlike_looks_are_laid_on_the_coarser_grid() -> None:
    often = records({"often": [4, 5, 6, 7, 8, 9]})
    seldom = records({"seldom": [4, 5, 6, 7, 8, 9]})
    for number, day in enumerate([4, 5, 6, 7, 8, 9]):
        seldom.loc[number, "last_absent"] = (SOWN + datetime.timedelta(days=(day - 1) // 4 * 4)).isoformat()
        seldom.loc[number, "first_seen"] = (SOWN + datetime.timedelta(days=((day - 1) // 4 + 1) * 4)).isoformat()
    result = trial.compare(pd.concat([often, seldom]))
    assert any("the looks of seldom" in text for text in result.warnings)
    assert result.p_value == pytest.approx(1)  # looked at as seldom, they are alike


def test_looks_that_are_no_multiples_of_their_distance() -> None:
    """Looked at on days 3, 7 and 11: what a daily look saw on day 4 to 7 was seen by day 7; after day 11 nobody looked."""
    seldom = records({"seldom": [3, 7, 11, None]})
    for number, (absent, seen) in enumerate([(0, 3), (3, 7), (7, 11), (11, None)]):
        seldom.loc[number, "last_absent"] = "" if absent == 0 else (SOWN + datetime.timedelta(days=absent)).isoformat()
        seldom.loc[number, "first_seen"] = "" if seen is None else (SOWN + datetime.timedelta(days=seen)).isoformat()
    often = records({"often": [2, 4, 6, 7, 8, 11, 12, None]})
    seeds = read_seeds(pd.concat([often, seldom]))
    left, right, said = trial.on_common_looks(seeds)
    inf = float("inf")
    assert said and list(zip(left, right, strict=True)) == [
        (0, 3), (3, 7), (3, 7), (3, 7), (7, 11), (7, 11), (11, inf), (11, inf),
        (0, 3), (3, 7), (7, 11), (11, inf),
    ]  # fmt: skip
    # The figures of each method stay those of its own looks.
    result = trial.compare(pd.concat([often, seldom]))
    assert result.methods[0].emerged == 7 and result.methods[0].median_days == 6.5


def test_fewer_that_came_with_a_sooner_middle_day_do_not_win() -> None:
    """A: 15 of 40 on day 5, 25 on day 9; B: 21 of 40 on day 8, the rest never.

    Mean ranks by hand: A (15 x 8 + 25 x 49) / 40 = 33.6, B (21 x 26 + 19 x 71) / 40 = 47.4, though B's middle day is sooner.
    """
    result = trial.compare(records({"A": [5.0] * 15 + [9.0] * 25, "B": [8.0] * 21 + [None] * 19}))
    pair = result.pairs[0]
    assert pair.difference_days == -1 and pair.p_corrected < 0.05 and pair.ahead == "A"
    assert "A came sooner or more than B (half of all sown 1 day later; 48 points more came; p 0.0" in result.verdict
    turned = trial.compare(records({"B": [8.0] * 21 + [None] * 19, "A": [5.0] * 15 + [9.0] * 25}))
    assert (
        turned.pairs[0].ahead == "A"
        and "A came sooner or more than B (half of all sown 1 day later; 48 p" in turned.verdict
    )


def test_health_is_compared_likewise_and_corrected() -> None:
    frame = records({"a": [5] * 6, "b": [5] * 6, "c": [5] * 6})
    a, b, c = [1, 1, 2, 1, 2, 1], [5, 4, 5, 5, 4, 5], [3, 1, 2, 4, 2, 3]
    frame["score"] = a + b + c
    result = trial.compare(frame)
    assert result.methods[0].mean_score == pytest.approx(8 / 6)
    raw = [
        stats.permutation_test((one, other), lambda x, y: abs(np.mean(x) - np.mean(y)), alternative="greater", n_resamples=np.inf).pvalue
        for one, other in ((a, b), (a, c), (b, c))
    ]  # fmt: skip
    assert [pair.score_p for pair in result.pairs] == pytest.approx(raw)
    assert [pair.score_p_corrected for pair in result.pairs] == pytest.approx(multipletests(raw, method="holm")[1])
    assert "Health differs: a 1.3 and b 4.7 (p 0.0" in result.verdict


def test_health_is_dealt_within_rounds() -> None:
    """Four rounds of a pair of trays, b always healthier: 2 of 16 ways; dealt freely it would be 2 of 70."""
    frame = records({"a": [5.0] * 4, "b": [5.0] * 4}, {"a": 4, "b": 4})
    frame["round"] = ["1", "2", "3", "4"] * 2
    frame["score"] = [1, 1, 1, 1, 5, 5, 5, 5]
    assert trial.compare(frame).pairs[0].score_p == pytest.approx(2 / 16)
    assert trial.compare(frame.drop(columns="round")).pairs[0].score_p == pytest.approx(2 / 70)


@pytest.mark.parametrize("value", ["good", "4,5", "nan", "inf"])
def test_a_score_or_warmth_that_is_no_number_names_its_row(value: str) -> None:
    for column in ("score", "warmth_c"):
        frame = records({"a": [5, 6], "b": [5, 6]})
        frame[column] = ["4", "", value, "3"]
        with pytest.raises(InputError, match=f"row 4, {column}: is no number.*found '{value}'"):
            trial.compare(frame)


def test_rounds_limit_what_can_be_shown() -> None:
    days = {"a": [3.0] * 8, "b": [9.0] * 8}
    frame = records(days, {"a": 4, "b": 4})
    frame["round"] = [str(number % 4) for number in range(8)] * 2
    result = trial.compare(frame)
    assert (
        result.pairs[0].p_value == pytest.approx(2 / 16)
        and result.detectable_days == float("inf")
        and result.units_needed >= 6
    )


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda f: f.drop(columns="sown"), "columns are missing.*sown"),
        (lambda f: f.assign(first_seen="3 March"), "row 2, first_seen: is no date"),
        (lambda f: f.assign(method=["a", "a", "", "b"]), "row 4: needs|row 4: a seed needs a method"),
        (lambda f: f.assign(sown=""), "needs a method and the date it was sown"),
        (lambda f: f.assign(last_absent="2027-03-09", first_seen="2027-03-05"), "still absent"),
        (lambda f: f.assign(first_seen="2027-02-01", last_absent=""), "before it was sown"),
        (lambda f: f.assign(seed="1", unit="u"), "stands in row 2 already"),
        (lambda f: f.iloc[:0], "no seeds"),
        (lambda f: f[f["method"] == "a"], "two methods or more"),
    ],
)
def test_records_that_cannot_be_used(change: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        trial.compare(change(records({"a": [5, 6], "b": [5, 6]})))  # type: ignore[operator]


def test_records_from_a_file_with_a_comment_and_a_bom(tmp_path: Path) -> None:
    frame = records({"a": [5, 6, 7, 8], "b": [8, 9, 10, 11]})
    path = tmp_path / "r.csv"
    path.write_text("\ufeff# an invented trial\n" + frame.to_csv(index=False), encoding="utf-8")
    assert trial.compare(path).p_value == trial.compare(frame).p_value
    with pytest.raises(InputError, match="cannot be read"):
        trial.compare(tmp_path / "none.csv")


def test_dates_may_be_dates() -> None:
    frame = records({"a": [5, 6, 7, 8], "b": [8, 9, 10, None]})
    typed = frame.copy()
    for column in ("sown", "last_absent", "first_seen"):
        typed[column] = pd.to_datetime(typed[column].replace("", None))
    assert trial.compare(typed).verdict == trial.compare(frame).verdict


def test_a_new_trial_is_dealt_at_random_and_evenly() -> None:
    design = new_trial(["towel", "tray", "block"], seeds=20, units=7, crop="Tomato", seed=1)
    assert len(design.layout) == 21 and {turn for turn, *_ in design.layout} == set(range(1, 8))
    for turn in range(1, 8):
        assert {method for t, _, _, method in design.layout if t == turn} == {"towel", "tray", "block"}
    assert design.sheet_csv.count("\ntowel,") == 20 and design.labels.count("Tomato") == 21
    free = new_trial(["a", "b"], seeds=8, units=3, seed=2)
    assert {turn for turn, *_ in free.layout} == {0} and any("cannot settle" in line for line in free.advice)
    assert new_trial(["a", "b"], seeds=8, seed=3).layout != new_trial(["a", "b"], seeds=8, seed=4).layout
    for bad in (["a"], ["a", "a"]):
        with pytest.raises(InputError):
            new_trial(bad, seeds=8)
    with pytest.raises(InputError):
        new_trial(["a", "b"], seeds=2, units=4)


def test_counts_by_look_are_the_same_trial_as_seeds() -> None:
    """Two trays a method, looked at on three days: 0, 2 and 3 of 4 in one, and so on."""
    rows = []
    for method, unit, counts in (
        ("a", "a1", (0, 2, 3)),
        ("a", "a2", (1, 2, 4)),
        ("b", "b1", (0, 0, 2)),
        ("b", "b2", (0, 1, 1)),
    ):
        for day, emerged in zip((5, 7, 9), counts, strict=True):
            looked = (SOWN + datetime.timedelta(days=day)).isoformat()
            rows.append(
                {
                    "method": method,
                    "unit": unit,
                    "sown": SOWN.isoformat(),
                    "seeds": 4,
                    "looked": looked,
                    "emerged": emerged,
                }
            )
    frame = pd.DataFrame(rows)
    seeds = pd.DataFrame(seeds_of_looks(read_records(frame)).rows)
    assert len(seeds) == 16 and (seeds["first_seen"] == "").sum() == 16 - (3 + 4 + 2 + 1)
    result = trial.compare(frame)
    assert [item.emerged for item in result.methods] == [7, 3] and result.methods[0].units == 2
    seeds["unit"] = [text.split("-")[0] for text in seeds["seed"]]
    assert result.p_value == trial.compare(seeds).p_value
    for row, column, value, message in (
        (2, "emerged", 9, "row 4, emerged: emerged so far cannot fall, nor pass the seeds sown"),
        (7, "emerged", "", "row 9: needs a date of the look"),
        (11, "looked", "soon", "row 13, looked: is no date"),
        (5, "seeds", 5, "row 7: a a2: the seeds sown or the date of sowing change between looks"),
        (8, "sown", "soon", "row 8, sown: is no date|row 10: b b1: the seeds sown or the date"),
        (
            4,
            "looked",
            (SOWN + datetime.timedelta(days=5)).isoformat(),
            "row 6: a a2: two counts for one look|two counts",
        ),
    ):
        wrong = frame.copy().astype({column: object})
        wrong.loc[row, column] = value
        with pytest.raises(InputError, match=message):
            trial.compare(wrong)
    # An event told at a later look only is an event told.
    frame["event"] = ["root"] * 6 + ["", "", "shoot"] * 2
    with pytest.raises(InputError, match="a: root; b: shoot"):
        trial.compare(frame)


def test_too_many_seeds_are_refused_in_words() -> None:
    frame = pd.DataFrame([
        {"method": method, "unit": method, "sown": "2027-03-01", "seeds": 30_000, "looked": "2027-03-09", "emerged": 20_000}
        for method in ("a", "b")
    ])  # fmt: skip
    with pytest.raises(InputError, match="60000 seeds are too many for a trial; allowed: up to 5000"):
        trial.compare(frame)


def test_marks_of_trays_are_never_alike() -> None:
    """ "cell tray" and "cold towel" have the same initials; "block 1" with tray 1 is no "B11" of another."""
    names = ["cell tray", "cold towel", "Cell Trough", "tray", "Trays", "TRAY x", "block 1", "block 11", "1", "2"]
    design = new_trial(names, seeds=12, units=12, seed=1)
    units = [unit for _, _, unit, _ in design.layout]
    assert len({unit.casefold() for unit in units}) == len(units) == 120
    of = {unit: method for _, _, unit, method in design.layout}
    sheet = list(csv.DictReader(io.StringIO(design.sheet_csv.split("\n", 1)[1])))
    assert len(sheet) == 120 and all(of[row["unit"]] == row["method"] for row in sheet)
    assert len({row["seed"] for row in sheet}) == 120


def test_a_line_break_in_a_place_breaks_no_file(tmp_path: Path) -> None:
    design = new_trial(["a", "b"], seeds=8, place="shed,\nnorth", event="shoot\nseen", crop="To\nmato", seed=1)
    (tmp_path / "r.csv").write_text(design.sheet_csv, encoding="utf-8")
    records = read_records(tmp_path / "r.csv")
    assert len(records.rows) == 16 and records.rows[0]["event"] == "shoot seen"
    assert design.labels.count("\n") == 8


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"seed": -1}, "0 or more"),
        ({"seeds": 1_000_000}, "too many for a trial; allowed: up to 5000 in all"),
        ({"units": 0}, "a tray"),
        ({"units": -3}, "a tray"),
    ],
)
def test_trials_that_nobody_lays_out(change: dict[str, int], message: str) -> None:
    with pytest.raises(InputError, match=message):
        new_trial(["a", "b"], **{"seeds": 8, **change})  # type: ignore[arg-type]
