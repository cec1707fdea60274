"""Trials made up for the purpose: what the comparison says, and what it refuses to say."""

from __future__ import annotations

import datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

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


def test_different_events_are_refused_with_the_reason() -> None:
    frame = records({"towel": [3, 4, 5], "tray": [7, 8, 9]})
    frame["event"] = ["root seen"] * 3 + ["shoot"] * 3
    with pytest.raises(InputError, match="only equal ones can be compared.*towel: root seen; tray: shoot"):
        trial.compare(frame)
    frame["event"] = "shoot"
    assert trial.compare(frame).methods


def test_confounding_is_named() -> None:
    frame = records({"a": [5, 6, 7, 8], "b": [5, 6, 7, 8]}, {"a": 2, "b": 2})
    frame["warmth_c"] = ["21"] * 4 + ["18"] * 4
    frame.loc[frame["method"] == "b", "sown"] = "2027-02-28"
    said = " ".join(trial.compare(frame).confounded)
    assert "different days" in said and "different warmth" in said


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


def test_one_that_all_came_is_not_beaten_by_few_that_came_early() -> None:
    """A: all 40 came, 21 of them on day 9; B: 21 on day 8, 19 never. B has the sooner middle day, A the better ranks.

    Mean ranks by hand: A (19 x 10 + 21 x 51) / 40 = 31.5, B (21 x 30 + 19 x 71) / 40 = 49.5.
    """
    result = trial.compare(records({"A": [7.0] * 19 + [9.0] * 21, "B": [8.0] * 21 + [None] * 19}))
    pair = result.pairs[0]
    assert pair.difference_days == -1 and pair.p_corrected < 0.05
    assert pair.ahead == "A" and "A came sooner or more than B" in result.verdict


def test_health_is_compared_likewise() -> None:
    frame = records({"a": [5] * 6, "b": [5] * 6})
    frame["score"] = [1, 1, 2, 1, 2, 1, 5, 4, 5, 5, 4, 5]
    result = trial.compare(frame)
    assert (
        result.methods[0].mean_score == pytest.approx(8 / 6)
        and result.pairs[0].score_p is not None
        and result.pairs[0].score_p < 0.01
    )


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
    assert result.p_value == trial.compare(seeds).p_value
    for column, value, message in (
        ("emerged", 9, "nor pass the seeds sown"),
        ("looked", "soon", "is no date"),
        ("seeds", 5, "change between looks"),
    ):
        wrong = frame.copy().astype({column: object})
        wrong.loc[2, column] = value
        with pytest.raises(InputError, match=message):
            trial.compare(wrong)
