"""A plan as JSON with its schema, as CSV and as text: nothing that one shows is missing in the other."""

from __future__ import annotations

import csv
import datetime
import inspect
import io
import json
import re
from pathlib import Path

import jsonschema
import pytest

import cropdata
from cropdata.catalog import Catalog
from cropdata.cli.plan import EXAMPLE
from cropdata.cli.plan_text import plan_text
from cropdata.season import Plan, plan_season
from cropdata.season.plan import BASES, CONFLICTS, STEPS, PlannedSowing
from cropdata.season.schema import RECORDS as DESCRIBED
from cropdata.season.schema import plan_object, plan_schema
from cropdata.season.table import plan_csv
from cropdata.season.words import BASIS_WORDS, CLASH_WORDS, STEP_WORDS, Words

RECORDS = "sowing,event,date,count\nbroccoli,sow,2027-03-05,26\nbroccoli,seedlings,2027-03-12,20\n"


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Plan:
    records = tmp_path_factory.mktemp("records") / "records.csv"
    records.write_text(RECORDS, encoding="utf-8")
    return plan_season(EXAMPLE, records=records, today=datetime.date(2027, 3, 15))


def _validator() -> jsonschema.Draft202012Validator:
    schema = plan_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker())


def test_the_object_fits_its_schema(plan: Plan) -> None:
    body = json.loads(json.dumps(plan_object(plan)))
    assert list(_validator().iter_errors(body)) == []
    assert body["seen"] and body["conflicts"] and body["totals"] and body["cautions"]


@pytest.mark.parametrize(
    ("where", "value"),
    [
        (("sowings", 0, "sow", "first"), "13 March"),
        (("sowings", 0, "depth_mm"), [1]),
        (("sowings", 0, "seeds"), 1.5),
        (("sowings", 0, "steps", 0, "kind"), None),
        (("sowings", 0, "steps", 0, "kind"), "plough"),
        (("sowings", 0, "where"), "on the roof"),
        (("sowings", 0, "method"), "bucket"),
        (("sowings", 0, "light"), "light or moon"),
        (("conflicts", 0, "kind"), "war"),
        (("assumptions", 0, "basis"), "hearsay"),
        (("totals", 0, "per"), "a month"),
        (("place", "risk"), "small"),
        (("format",), 2),
        (("surprise",), 1),
    ],
)
def test_the_schema_refuses_what_is_wrong(plan: Plan, where: tuple[str | int, ...], value: object) -> None:
    body = json.loads(json.dumps(plan_object(plan)))
    at = body
    for part in where[:-1]:
        at = at[part]
    at[where[-1]] = value
    assert list(_validator().iter_errors(body))


def test_every_field_of_the_schema_is_described() -> None:
    schema = plan_schema()
    bodies = {"Plan": schema} | schema["$defs"]
    bare = [
        f"{name}.{field}"
        for name, body in bodies.items()
        for field, said in body["properties"].items()
        if not said.get("description")
    ]
    assert bare == [] and all(body["description"] for body in bodies.values())
    # A docstring that describes what is not there is found as well.
    for kind in (Plan, *DESCRIBED):
        told = inspect.cleandoc(kind.__doc__ or "").partition("Attributes:\n")[2]
        assert set(re.findall(r"^    (\w+): ", told, re.M)) == set(kind._fields), kind.__name__  # type: ignore[attr-defined]
    assert "reader's units" in schema["description"]


def test_words_stand_for_all_that_the_schema_allows() -> None:
    assert set(CLASH_WORDS) == set(CONFLICTS) and set(STEP_WORDS) == set(STEPS)
    assert set(BASIS_WORDS) == set(BASES) - {"tested", "assumed"}  # these two stand in the factors alone


def test_figures_of_the_table_are_rounded(plan: Plan) -> None:
    for row in csv.DictReader(io.StringIO(plan_csv(plan))):
        for field, value in row.items():
            if re.fullmatch(r"-?\d+\.\d+", value):
                assert len(value.partition(".")[2]) <= 4, (field, value)


def test_nothing_is_written_where_one_file_cannot_be(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from cropdata.cli.main import main

    (tmp_path / "out" / "plan.html").mkdir(parents=True)
    assert main(["plan", "--example", "--out", str(tmp_path / "out")]) == 2
    assert [each.name for each in (tmp_path / "out").iterdir()] == ["plan.html"]
    told = capsys.readouterr().err
    assert "plan.html" in told and "nothing was written" in told


def test_the_object_holds_all_that_the_plan_does(plan: Plan) -> None:
    body = plan_object(plan)
    assert body["season"] == plan.year and body["format"] == 1
    for field in (
        "sowings",
        "conflicts",
        "totals",
        "cautions",
        "frost",
        "seen",
        "assumptions",
        "citations",
        "warnings",
    ):
        assert len(body[field]) == len(getattr(plan, field))
    line, shown = plan.sowings[0], body["sowings"][0]
    assert set(shown) == set(PlannedSowing._fields)
    assert line.sow is not None and shown["sow"] == {
        "first": line.sow.first.isoformat(),
        "last": line.sow.last.isoformat(),
    }
    assert [step["text"] for step in shown["steps"]] == [step.text for step in line.steps]


def test_the_table_holds_each_sowing_once(plan: Plan) -> None:
    rows = list(csv.DictReader(io.StringIO(plan_csv(plan))))
    assert [row["id"] for row in rows] == [line.id for line in plan.sowings]
    tomato, line = next((row, line) for row, line in zip(rows, plan.sowings, strict=True) if line.crop_id == "tomato")
    assert line.sow and tomato["sow_first"] == line.sow.first.isoformat() and tomato["seeds"] == str(line.seeds)
    assert tomato["harden_from"] == next(step.first for step in line.steps if step.kind == "harden").isoformat()
    assert "the legal minimum (assumed) x" in tomato["factors"]
    radish = next(row for row in rows if row["crop_id"] == "radish")
    assert radish["autumn"] == "true" and radish["plant_out_first"] == ""


def test_a_text_that_a_spreadsheet_would_run_is_harmless() -> None:
    season = {
        "season": 2027,
        "place": {"last_spring_frost": {0.5: "04-28", 0.1: "05-15"}},
        "packets": [{"crop": "tomato", "variety": "=HYPERLINK(A1)"}],
    }
    row = next(csv.DictReader(io.StringIO(plan_csv(plan_season(season)))))
    assert row["variety"] == "'=HYPERLINK(A1)" and row["id"] == "tomato-hyperlink-a1"


def test_the_text_is_narrow_and_begins_with_what_is_next(plan: Plan) -> None:
    text = plan_text(plan, Words(year=2027), datetime.date(2027, 3, 15))
    assert max(len(line) for line in text.splitlines()) <= 112
    order = [text.index(head) for head in ("Next, from 15 Mar on:", "What does not go together:", "What your records say:", "Mind:", "What it takes:", "Cautions", "How it is reckoned:")]  # fmt: skip
    assert order == sorted(order)
    coming = text.split("Next, from")[1].split("\n\n")[0]
    assert "Broccoli: Sow" not in coming  # sown by the records
    assert "by the records" not in coming and coming.count("\n") < 30


def _small(words: Words) -> str:
    """A plan with cells of 7 ml, 0.43 cubic inches of 16.39 ml."""
    packet = {"crop": "basil", "method": "tray", "container": "tray-288"}
    place = {"last_spring_frost": {0.9: "04-10", 0.5: "04-28", 0.1: "05-15"}}
    plan = plan_season({"season": 2027, "place": place, "packets": [packet]}, words=words)
    return " ".join(step.text for line in plan.sowings for step in line.steps)


def test_one_sowing_is_not_several() -> None:
    place = {"last_spring_frost": {0.9: "04-10", 0.5: "04-28", 0.1: "05-15"}}
    packets = [{"crop": "tomato", "method": "pot", "plants": 3}, {"crop": "carrot"}]
    plan = plan_season({"season": 2027, "place": place, "packets": packets})
    assert next(total for total in plan.totals if total.what == "Seeds").basis.endswith(
        "; 1 sowing without a number left out"
    )


def test_units_and_dates_of_the_reader() -> None:
    words = Words("imperial", "mdy")
    plan = plan_season(EXAMPLE, words=words)
    text = plan_text(plan, words._replace(year=2027), datetime.date(2027, 3, 1))
    assert "Next, from Mar 1 on:" in text and "May 22 – May 29" in text and "°C" not in text.split("How it is")[0]
    assert "1/2 in" in text and " mm" not in text.split("What it takes:")[0] and "dry qt" in text
    assert plan_object(plan)["sowings"][0]["best_c"] == plan_object(plan_season(EXAMPLE))["sowings"][0]["best_c"]
    assert "in cells of 0.43 cu in" in _small(words) and " ml" not in _small(words)
    assert "in cells of 7 ml" in _small(Words())
    iso = plan_text(plan_season(EXAMPLE, words=Words(dates="iso")), Words(dates="iso"), datetime.date(2027, 3, 1))
    assert "2027-05-22 – 2027-05-29" in iso


def test_steps_stand_in_order_and_end_after_they_begin(db: Catalog) -> None:
    """Every crop in every way, in spring and autumn: no window runs backwards, and all that is cited is known."""
    place = {
        "last_spring_frost": {0.9: "04-10", 0.5: "04-28", 0.1: "05-15"},
        "first_autumn_frost": {0.1: "10-01", 0.5: "10-19", 0.9: "11-11"},
        "bench_temperature_c": {"day": 22, "night": 14},
        "mats": 1,
        "shelf_trays": 30,
        "soil_temperature_c": [1, 1, 3, 8, 13, 18, 21, 20, 16, 11, 6, 3],
        "night_temperature_c": [-7, -6, -2, 4, 9, 15, 18, 17, 13, 7, 2, -4],
    }
    ways = ({"method": "tray"}, {"method": "towel"}, {"method": "in_place"}, {"method": "in_place", "autumn": True}, {"method": "block", "autumn": True})  # fmt: skip
    packets = [{"crop": crop_id, "plants": 3, "packed": 2024} | way for crop_id in db for way in ways]
    plan = plan_season({"season": 2027, "place": place, "packets": packets, "materials": {"mix": "compost-peat"}}, db)
    assert len(plan.sowings) == len(packets) == len({line.id for line in plan.sowings})
    for line in plan.sowings:
        assert all(step.first <= step.last and step.text.endswith((".", ":")) for step in line.steps), line
        kinds = [STEPS.index(step.kind) for step in line.steps]
        assert kinds == sorted(kinds)
        assert set(line.sources) <= set(db.sources)
        assert line.expected_plants is None or line.expected_plants >= 3
    assert list(_validator().iter_errors(json.loads(json.dumps(plan_object(plan))))) == []


def test_ten_thousand_packets_are_planned(db: Catalog) -> None:
    ids = list(db)
    packets = [
        {"crop": ids[number % len(ids)], "variety": f"Kind {number}", "packed": 2022 + number % 6, "plants": 1 + number % 60, "seeds": 100}
        for number in range(10_000)
    ]  # fmt: skip
    place = {"last_spring_frost": {0.5: "04-28", 0.1: "05-15"}, "bench_temperature_c": 20}
    plan = plan_season({"season": 2027, "place": place, "packets": packets}, db)
    assert len(plan.sowings) == 10_000
    # Planned among thousands a packet is planned as it is alone.
    alone = plan_season({"season": 2027, "place": place, "packets": packets[4242:4243]}, db).sowings[0]
    among = next(line for line in plan.sowings if line.variety == "Kind 4242")
    assert among == alone


def test_public_names() -> None:
    assert cropdata.plan is plan_season


def test_the_written_files_are_those_of_the_plan(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from cropdata.cli.main import main

    records = tmp_path / "records.csv"
    records.write_text(RECORDS, encoding="utf-8")
    status = main(["plan", "--example", "--records", str(records), "--learn", str(tmp_path / "own"), "--out", str(tmp_path / "out"), "--json"])  # fmt: skip
    out, err = capsys.readouterr()
    assert status == 0 and "learned, days to half of the seedlings (sowings): broccoli 7 (1)" in err
    assert json.loads(out) == json.loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8"))
    told = cropdata.open(layers=[tmp_path / "own"]).evidence_rows("days_to_emergence", "broccoli")
    assert told[-1]["low"] == told[-1]["high"] == 7 and told[-1]["layer"] == "own_waiting_times"
    assert main(["plan", "--print-schema"]) == 0 and json.loads(capsys.readouterr().out) == plan_schema()
    assert main(["plan", "--example", "--learn", str(tmp_path / "x")]) == 2
    assert "--learn needs the records" in capsys.readouterr().err
    assert main(["plan", "--example", "--today", "soon"]) == 2 and "--today is no date" in capsys.readouterr().err
