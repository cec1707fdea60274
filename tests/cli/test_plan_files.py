"""`cropdata plan --out`: the page and the calendar of a real plan, held against its JSON."""

from __future__ import annotations

import datetime
import html
import json
import os
import re
import subprocess
import sys

import pytest
import vobject


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """The example's files, and the same folder written a second time."""
    folder = tmp_path_factory.mktemp("plan")

    def write(moment, *options):
        command = [sys.executable, "-m", "cropdata", "plan", "--example", "--out", str(folder), *options]
        environment = {**os.environ, "SOURCE_DATE_EPOCH": str(moment)}
        done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", env=environment, check=False)
        assert done.returncode == 0, done.stderr
        return {path.name: path.read_bytes() for path in folder.iterdir()}

    return [write(1_800_000_000), write(1_800_000_000), write(1_800_600_000, "--units", "imperial", "--dates", "iso")]


def events(files):
    return {event.uid.value: event for event in vobject.readOne(files["plan.ics"].decode("utf-8")).vevent_list}


def test_the_calendar_holds_the_steps_of_the_plan(written):
    plan = json.loads(written[0]["plan.json"])
    planned = sorted((step["first"], step["last"]) for line in plan["sowings"] for step in line["steps"])
    day = datetime.timedelta(days=1)
    read = [
        (event.dtstart.value.isoformat(), (event.dtend.value - day).isoformat())
        for event in events(written[0]).values()
    ]
    assert sorted(read) == planned
    assert len(planned) > 50


def test_a_second_import_updates(written):
    first, _, second = map(events, written)
    assert set(first) == set(second)
    changed = {
        uid for uid in first if first[uid].description.value != second[uid].description.value
    }  # inches, ISO dates
    counted_on = {uid for uid in first if int(second[uid].sequence.value) > int(first[uid].sequence.value)}
    assert counted_on == changed and 0 < len(changed) < len(first)
    assert all(first[uid].sequence.value == second[uid].sequence.value for uid in set(first) - changed)


def test_the_same_season_and_moment_give_the_same_files(written):
    assert written[0] == written[1]


def test_the_page_tells_the_chance_of_frost_with_every_planting_date(written):
    page = re.sub(r"<[^>]+>", " ", html.unescape(written[0]["plan.html"].decode("utf-8"))).replace("\u00a0", " ")
    plan = json.loads(written[0]["plan.json"])
    steps = [step for line in plan["sowings"] for step in line["steps"]]
    outside = [step for step in steps if step["kind"] == "plant_out"]
    assert outside and all("Chance of a later frost:" in step["text"] for step in outside)
    assert all(step["text"] in page for step in steps)
    for line in plan["sowings"]:
        assert line["crop"] in page and (line["variety"] or "") in page
        assert all(note in page for note in line["notes"])


def test_units_and_dates_reach_the_page(written):
    page = written[2]["plan.html"].decode("utf-8")
    assert "32 °F or less" in page and "2027-05-15" in page
    assert " °C" not in re.sub(r'<section id="(assumptions|sources)".*', "", page, flags=re.DOTALL)


def test_without_the_library_the_rest_is_written_and_the_install_line_told(tmp_path):
    hide = "import sys; sys.modules['icalendar'] = None; from cropdata.cli import main; sys.exit(main())"
    command = [sys.executable, "-c", hide, "plan", "--example", "--out", str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)
    assert done.returncode == 0
    assert (
        "plan.ics is left out: a calendar file needs an optional package; install it with: pip install 'cropdata[calendar]'"
        in done.stderr
    )
    assert sorted(path.name for path in tmp_path.iterdir()) == ["plan.csv", "plan.html", "plan.json", "plan.txt"]
