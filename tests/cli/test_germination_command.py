"""`cropdata germination`, called in this process."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cropdata.cli.main import main

Call = Callable[..., tuple[int, str, str]]


@pytest.fixture
def call(capsys: pytest.CaptureFixture[str]) -> Call:
    def run(*arguments: object) -> tuple[int, str, str]:
        status = main(["germination", *map(str, arguments)])
        printed = capsys.readouterr()
        return status, " ".join(printed.out.split()), printed.err

    return run


@pytest.fixture
def record(tmp_path: Path) -> Path:
    path = tmp_path / "counts.csv"
    path.write_text(
        "date,germinated,replicate\n2027-03-05,4,a\n2027-03-06,5,b\n2027-03-08,4,a\n2027-03-15,3,b\n", encoding="utf-8"
    )
    return path


def body(printed: str) -> dict[str, Any]:
    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is no JSON")

    parsed: dict[str, Any] = json.loads(printed, parse_constant=refuse)
    return parsed


def test_what_a_test_means(call: Call) -> None:
    status, out, _ = call("onion", "--sown", 10, "--germinated", 4, "--days", 7, "--year", 2024, "--now", 2027)
    assert status == 0 and out.startswith("Onion: 4 of 10: wait - Wait for the final count")
    assert "wait 5 days more" in out and "Seed of 3 years" in out and "A legal test takes 400 seeds" in out
    found = body(call("tomato", "--sown", 10, "--germinated", 10, "--json")[1])
    assert found["format"] == 1 and found["action"] == "sow normally"
    assert found["exact"][0] == pytest.approx(0.6915, abs=1e-4)  # Clopper-Pearson, 10 of 10
    assert "70–80 F" in call("tomato", "--steps")[1]


@pytest.mark.parametrize("crop", ["lettuce", "lettuce-head", "lettuce-leaf", "lettuce-romaine", "bean-snap"])
def test_a_crop_without_a_first_count(call: Call, crop: str) -> None:
    status, out, _ = call(crop, "--sown", 10, "--germinated", 4, "--days", 3)
    assert status == 0 and ": wait -" in out
    status, _, wrong = call(crop, "--days", 3)
    assert status == 2 and "how many seeds were sown?" in wrong


def test_a_record_with_the_day_of_sowing(call: Call, record: Path) -> None:
    status, out, _ = call("tomato", "--record", record, "--sown", 20, "--sown-on", "2027-03-01")
    assert status == 0 and "16 of 20" in out and "replicates agree" in out
    # Half of sixteen is eight: four by day 4, nine by day 5, straight between them 4 + 4/5.
    assert "Counted on day 14" in out and "t50 4.8 days" in out
    late = call("tomato", "--record", record, "--sown", 20, "--sown-on", "2027-03-01", "--days", 20)[1]
    assert "Counted on day 20" in late
    early = call("tomato", "--record", record, "--sown", 20, "--sown-on", "2027-03-01", "--days", 3)[1]
    assert "Counted on day 14" in early


def test_a_record_without_the_day_of_sowing(call: Call, record: Path) -> None:
    found = body(call("tomato", "--record", record, "--sown", 20, "--json")[1])
    assert found["day"] is None and found["finished"] is None and found["indices"] is None
    assert "not known whether the test is finished" in call("tomato", "--record", record, "--sown", 20)[1]
    found = body(call("tomato", "--record", record, "--sown", 20, "--days", 14, "--json")[1])
    assert found["day"] == 14 and found["finished"] is True


def test_a_record_in_which_none_came_has_no_middle(call: Call, tmp_path: Path) -> None:
    path = tmp_path / "none.csv"
    path.write_text("date,germinated\n2027-03-15,0\n", encoding="utf-8")
    arguments = ("tomato", "--record", path, "--sown", 10, "--sown-on", "2027-03-01")
    indices = body(call(*arguments, "--json")[1])["indices"]
    assert indices["mean_days"] is None and indices["t50_days"] is None and indices["final_percent"] == 0
    assert "mean not known" in call(*arguments)[1]


def test_how_many_seeds_for_a_width(call: Call) -> None:
    status, out, _ = call("tomato", "--width", 20)
    # Counted up with statsmodels' intervals in tests/experiments: 104 where half come, 80 at 75 %, 42 at 90 %.
    assert status == 0 and "50 % germinate 104" in out and "75 % germinate 80" in out and "90 % germinate 42" in out
    assert body(call("tomato", "--width", 20, "--json")[1])["seeds_enough"][0] == {"rate": 0.5, "seeds": 104}
    arguments = ("tomato", "--sown", 50, "--germinated", 25, "--width", 20)
    assert "no wider than 20 points test about 104 where as many as here germinate." in call(*arguments)[1]
    enough = body(call(*arguments, "--json")[1])["seeds_enough"]
    assert enough == {"width": 0.2, "at_this_rate": 104, "at_half": 104}


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--sown", 10, "--germinated", 5, "--days", -3), "allowed: whole days, 0 to 1000"),
        (("--sown", 10, "--germinated", 5, "--days", 100000), "allowed: whole days, 0 to 1000"),
        (("--sown", 1000000, "--germinated", 5), "more seeds than anybody counts; allowed: up to 100000 seeds"),
        (("--sown", 10, "--germinated", 5, "--temp", "nan"), "a warmth of nan °C is out of range"),
        (("--sown", 10, "--germinated", 5, "--temp", 75), "not Fahrenheit"),
        (("--sown", 10, "--germinated", 5, "--hard", -1), "allowed: 0 to 5"),
        (("--sown", 10, "--germinated", 5, "--now", 3), "--now 3 is no year of a test; allowed: 1950 to 2200"),
        (("--sown", 10, "--germinated", 5, "--year", 2028, "--now", 2027), "packed in 2028?; allowed: 1950 to 2027"),
        (("--sown", 10, "--germinated", 5, "--sown-on", "2027-03-01"), "--sown-on belongs to --record"),
        (("--sown", 10, "--germinated", 5, "--width", 0.2), "allowed: 1 to 99 percentage points"),
        (("--width", "nan"), "a width of nan points"),
        (("--sown", 20, "--germinated", 5, "--record", "RECORD"), "both tell what came"),
        (("--sown", 10, "--record", "RECORD"), "16 germinated of 10 sown"),
        (("--sown", 20, "--record", "RECORD", "--sown-on", "1/3/2027"), "1/3/2027 is no date; allowed: YYYY-MM-DD"),
        (("--sown", 20, "--record", "RECORD", "--sown-on", "2028-03-01"), "row 2, date: seed that was sown on 2028-03"),
        (("--sown", 20, "--record", "RECORD", "--days", -3), "allowed: whole days"),
    ],
)
def test_wrong_use(call: Call, record: Path, arguments: tuple[object, ...], message: str) -> None:
    status, out, wrong = call("tomato", *(record if word == "RECORD" else word for word in arguments))
    assert status == 2 and out == "" and message in wrong and wrong.count("\n") == 1


def test_an_unknown_crop(call: Call) -> None:
    status, _, wrong = call("tomatto", "--sown", 10, "--germinated", 5)
    assert status == 1 and "did you mean tomato" in wrong
