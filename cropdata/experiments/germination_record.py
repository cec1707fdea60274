"""The record of a germination test: what came at each look, in one lot or in replicates."""

from __future__ import annotations

import datetime
import os
from typing import NamedTuple

from cropdata.errors import InputError
from cropdata.experiments.germination import indices, t50_by_curve
from cropdata.experiments.records import Records, read_records

TYPE_CHECKING = False
if TYPE_CHECKING:
    import pandas as pd


class GerminationRecord(NamedTuple):
    """Counts of a record. `day` is the last look, days from sowing, None where the day of sowing is not told; `days`
    (ascending, whole) and `newly` (germinated at each) are then empty. `replicates`: (germinated, sown) of each.
    """

    germinated: int
    sown: int
    day: int | None
    days: tuple[int, ...]
    newly: tuple[int, ...]
    replicates: tuple[tuple[int, int], ...]

    def speed(self) -> dict[str, float | None] | None:
        """Indices of speed by name (see `germination.INDEX_NOTES`); None where the day of sowing is not told."""
        if not self.days:
            return None
        table = indices(self.days, self.newly, self.sown)
        named: dict[str, float | None] = {name: float(value) for name, value in table._asdict().items()}
        return {**named, "t50_by_curve_days": t50_by_curve(self.days, self.newly)}


def read_germination(
    source: pd.DataFrame | str | os.PathLike[str], sown: int, sown_on: datetime.date | None = None
) -> GerminationRecord:
    """Read a record: columns date, germinated (new ones since the last look), and as you like replicate, note.

    Args: `sown` seeds in all, as many in each replicate; `sown_on`, the day on which the test began. A replicate in which
    none came needs a row of 0. Raises InputError naming the row of the first mistake.
    """
    records = read_records(source)
    records.need(("date", "germinated"), ("replicate", "note"))
    if not records.rows:
        raise InputError("a record needs rows: one for each look", file=records.file)
    newly: dict[int, int] = {}
    by_replicate: dict[str, int] = {}
    for index, row in enumerate(records.rows):
        date, count = records.date(index, "date"), _count(records, index)
        if date is None:
            raise records.wrong(index, "the day of the look is missing", "date", allowed="YYYY-MM-DD")
        label = row.get("replicate", "")
        if by_replicate and bool(label) != any(by_replicate):
            raise records.wrong(index, "some rows name a replicate and some do not", "replicate")
        by_replicate[label] = by_replicate.get(label, 0) + count
        if sown_on is not None:
            day = (date - sown_on).days
            if day < 0 or (day == 0 and count):
                raise records.wrong(
                    index, f"seed that was sown on {sown_on} cannot have been counted on {date}", "date",
                    found=str(date), hint="look at the year too",
                )  # fmt: skip
            newly[day] = newly.get(day, 0) + count
    total = sum(by_replicate.values())
    if total > sown:
        raise InputError(f"{total} germinated of {sown} sown", file=records.file, found=total)
    days = tuple(sorted(day for day in newly if day > 0))
    return GerminationRecord(
        total, sown, max(newly) if newly else None, days, tuple(newly[day] for day in days),
        _replicates(by_replicate, sown, records.file),
    )  # fmt: skip


def _count(records: Records, index: int) -> int:
    text = records.rows[index]["germinated"]
    if not text.isascii() or not text.isdigit():
        raise records.wrong(
            index, "is no count", "germinated", found=text, allowed="whole numbers, 0 or more", hint=f"found {text!r}"
        )
    return int(text)


def _replicates(by_replicate: dict[str, int], sown: int, file: str | None) -> tuple[tuple[int, int], ...]:
    if len(by_replicate) < 2:
        return ()
    if sown % len(by_replicate):
        raise InputError(f"{sown} seeds do not part into {len(by_replicate)} equal replicates", file=file, found=sown,
                         hint="sow as many in each")  # fmt: skip
    each = sown // len(by_replicate)
    for label, count in by_replicate.items():
        if count > each:
            raise InputError(f"{count} germinated of {each} in replicate {label!r}", file=file, found=count)
    return tuple((count, each) for count in by_replicate.values())
