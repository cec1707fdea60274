"""A grower's own waiting times, learned from the records of a season and written as a layer to lay over the release."""

from __future__ import annotations

import datetime
import os
from collections.abc import Iterable
from typing import NamedTuple

from cropdata.catalog import Catalog
from cropdata.errors import InputError
from cropdata.season.drafting import counted
from cropdata.season.plan import PlannedSowing
from cropdata.season.records import Record, last_rounds
from cropdata.tabular.descriptor import SCHEMA_NUMBER
from cropdata.tabular.rows import table_text, write_whole

TABLE = "days_to_emergence"
# Own sowings from which their times answer alone; fewer count as one more source beside the printed ones.
FEWEST_ALONE = 3  # common practice, no source
AUTHOR = "cropdata plan --learn"
COLUMNS = (
    "crop_id", "low", "high", "unit", "event", "temperature_low", "temperature_high", "temperature_unit", "locator", "note", "action",
)  # fmt: skip


class Learned(NamedTuple):
    """A crop's own days from sowing to about half of the seedlings, fewest and most, over so many sowings.

    `warmth_c`: the coolest and the warmest mean that the plan reckoned with, of bench, mat or soil; None where one is
    not known.
    """

    crop_id: str
    low_days: int
    high_days: int
    sowings: int
    where: str
    first: datetime.date
    last: datetime.date
    warmth_c: tuple[float, float] | None


def learn(records: Iterable[Record], sowings: Iterable[PlannedSowing]) -> tuple[Learned, ...]:
    """Waiting times by crop, from sowings whose day and whose seedlings were both recorded.

    Where a crop was sown both under cover and in place only those under cover count: the bench is the steadier of the
    two. A record of seedlings before the sowing is an InputError; the first record of seedlings of a sowing counts.
    """
    lines = {line.id: line for line in sowings}
    records = last_rounds(records)
    sown = {record.sowing: record for record in records if record.event == "sow"}
    up: dict[str, Record] = {}
    for record in records:
        if record.event == "seedlings" and record.sowing in sown:
            up.setdefault(record.sowing, record)
    by: dict[tuple[str, str], list[tuple[int, datetime.date, float | None]]] = {}
    for sowing, record in up.items():
        days = (record.date - sown[sowing].date).days
        if days < 1:
            raise InputError(
                f"row {record.row}: seedlings of {sowing} on {record.date}, sown on {sown[sowing].date}; they come after the sowing"
            )
        line = lines[sowing]
        by.setdefault((line.crop_id, line.where), []).append((days, sown[sowing].date, line.warmth_c))
    learned = []
    for (crop_id, where), found in sorted(by.items()):
        if where == "in place" and (crop_id, "under cover") in by:
            continue
        days_of, dates, warmths = zip(*found, strict=True)
        known = None if None in warmths else (round(min(warmths), 1), round(max(warmths), 1))
        learned.append(Learned(crop_id, min(days_of), max(days_of), len(found), where, min(dates), max(dates), known))
    return tuple(learned)


def write_layer(folder: str, learned: tuple[Learned, ...], release: Catalog, records_file: str) -> None:
    """Write them as a layer: `layer.yaml` and one table. A layer that this command wrote before is replaced.

    Three sowings of a crop or more answer alone; fewer count as one more source beside those of the release.

    Raises InputError where nothing was learned, or where another layer stands in the folder: a grower's own rows are
    never overwritten.
    """
    if not learned:
        raise InputError(
            "nothing to learn from: no sowing has both a record of event sow and one of event seedlings",
            file=records_file,
        )
    _check_free(folder)
    rows = [
        {
            "crop_id": each.crop_id, "low": str(each.low_days), "high": str(each.high_days), "unit": "days", "event": "emergence",
            "temperature_low": str(each.warmth_c[0]) if each.warmth_c else "",
            "temperature_high": str(each.warmth_c[1]) if each.warmth_c else "",
            "temperature_unit": "C" if each.warmth_c else "",
            "locator": os.path.basename(records_file),
            "note": f"{counted(each.sowings, 'sowing')} {each.where}, {each.first} to {each.last}; days to about half of the seedlings",
            "action": "override" if each.sowings >= FEWEST_ALONE and release.evidence_rows(TABLE, each.crop_id) else "add",
        }
        for each in learned
    ]  # fmt: skip
    os.makedirs(folder, exist_ok=True)
    write_whole(os.path.join(folder, f"{TABLE}.csv"), table_text(COLUMNS, rows))
    settings = f"title: Own waiting times\nauthor: {AUTHOR}\nmade_for: {release.version}\nschema: {SCHEMA_NUMBER}\n"
    write_whole(os.path.join(folder, "layer.yaml"), settings)


def _check_free(folder: str) -> None:
    if not os.path.isdir(folder) or not os.listdir(folder):
        return
    settings = os.path.join(folder, "layer.yaml")
    mine = set(os.listdir(folder)) <= {"layer.yaml", f"{TABLE}.csv"}
    if mine and os.path.isfile(settings):
        with open(settings, encoding="utf-8", errors="replace") as stream:
            if f"author: {AUTHOR}\n" in stream.read():
                return
    raise InputError(
        "is not empty, and no layer that --learn wrote stands there", file=folder, hint="name a new folder"
    )
