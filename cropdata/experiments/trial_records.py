"""The seeds of a trial from its records: between which looks each came, in which tray and round, and what went wrong.

A seed is looked at now and then, so its day is known only to lie between two looks. Two forms of record are read: one
row a seed, or one row a tray and look with what had emerged so far.
"""

from __future__ import annotations

import datetime
import math
import os
from collections import Counter
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cropdata.errors import InputError
from cropdata.experiments.permutation import Floats, Labels
from cropdata.experiments.records import Records, read_records

REQUIRED = ("method", "seed", "sown", "last_absent", "first_seen")
OPTIONAL = ("unit", "round", "event", "score", "cause", "warmth_c")
BY_LOOK = ("method", "unit", "sown", "seeds", "looked", "emerged")
# Words in `cause` of a seed not seen: lost to the trial by our own hands, or failed by itself (it counts as not come).
LOST = ("destroyed", "handling", "broken", "dropped")
FAILED = ("damping", "rot", "mould", "mold", "dead", "died", "empty", "not germinated", "dried")
MOST_SEEDS = 5000


class Seeds(NamedTuple):
    """One entry a seed. `methods` numbers into `names`; the day lies in (left, right], right `inf` where not seen.

    `units` and `rounds` are labels, blank where not told; `marks` is the health score, NaN where not told; `lost` was
    destroyed in handling; `sown` and `warmth` as recorded; `warnings` says what was read how.
    """

    names: tuple[str, ...]
    methods: Labels
    left: Floats
    right: Floats
    units: tuple[str, ...]
    rounds: tuple[str, ...]
    marks: Floats
    lost: NDArray[np.bool_]
    sown: tuple[str, ...]
    warmth: Floats
    warnings: tuple[str, ...]


def read_seeds(source: pd.DataFrame | str | os.PathLike[str]) -> Seeds:
    """The seeds of a trial. Raises InputError naming file, row and column for records that cannot be used."""
    records = read_records(source)
    if set(BY_LOOK) <= set(records.columns) and "first_seen" not in records.columns:
        records = seeds_of_looks(records)
    records.need(REQUIRED, OPTIONAL)
    if not records.rows:
        raise InputError("the trial has no seeds", file=records.file)
    if len(records.rows) > MOST_SEEDS:
        raise _too_many(records, len(records.rows))
    _told_once(records)
    _same_event(records)
    warnings: list[str] = []
    left, right = _days(records, warnings)
    names = tuple(dict.fromkeys(row["method"] for row in records.rows))
    units, rounds = (tuple(row.get(name, "") for row in records.rows) for name in ("unit", "round"))
    for name, labels, meaning in (
        ("unit", units, "one tray a method"),
        ("round", rounds, "a round of their own"),
    ):
        if "" in labels and any(labels):
            warnings.append(f"{name} is blank for {counted(labels.count(''), 'seed')}: taken as {meaning}")
    _one_round_a_unit(records)
    return Seeds(
        names, np.array([names.index(row["method"]) for row in records.rows], dtype=np.intp), left, right, units, rounds,
        _numbers(records, "score"), _lost(records, right, warnings), tuple(row["sown"] for row in records.rows),
        _numbers(records, "warmth_c"), tuple(warnings),
    )  # fmt: skip


def counted(number: float, thing: str) -> str:
    """A number with its thing: 1 day, 2 days."""
    text = f"{number:.1f}".rstrip("0").rstrip(".") if isinstance(number, float) else str(number)
    return f"{text} {thing}" if text == "1" else f"{text} {thing}s"


def _too_many(records: Records, found: int) -> InputError:
    return InputError(
        f"{found} seeds are too many for a trial", file=records.file, found=found, allowed=f"up to {MOST_SEEDS}",
        hint="take some trays only, or some seeds of each tray, chosen before you look",
    )  # fmt: skip


# Counts by look


def seeds_of_looks(records: Records) -> Records:
    """One row a seed from counts by look (`BY_LOOK`; emerged is what had come so far; other columns go along).

    Each seed keeps the number of the row in which it was first seen. Raises InputError for counts that fall, exceed
    the seeds sown, or are none, and for a tray whose seeds or date of sowing change between looks.
    """
    trays: dict[tuple[str, str], list[int]] = {}
    for index, row in enumerate(records.rows):
        trays.setdefault((row["method"], row["unit"]), []).append(index)
    dealt = {tray: [_look(records, index) for index in indices] for tray, indices in trays.items()}
    total = sum(looks[0][1] for looks in dealt.values())
    if total > MOST_SEEDS:
        raise _too_many(records, total)
    rows: list[dict[str, str]] = []
    numbers: list[int] = []
    for (method, unit), looks in dealt.items():
        looks.sort()
        first = records.rows[looks[0][3]]
        before, absent = 0, ""
        groups = []
        for looked, seeds, emerged, index in looks:
            row = records.rows[index]
            if (seeds, row["sown"]) != (looks[0][1], first["sown"]):
                raise records.wrong(
                    index, f"{method} {unit}: the seeds sown or the date of sowing change between looks"
                )
            if looked.isoformat() == absent:
                raise records.wrong(index, f"{method} {unit}: two counts for one look", "looked", found=absent)
            if not before <= emerged <= seeds:
                raise records.wrong(
                    index, "emerged so far cannot fall, nor pass the seeds sown", "emerged", found=emerged,
                    allowed=f"{before} to {seeds}", hint=f"found {emerged}",
                )  # fmt: skip
            groups.append((emerged - before, absent, looked.isoformat(), index))
            before, absent = emerged, looked.isoformat()
        groups.append((looks[0][1] - before, absent, "", looks[-1][3]))
        for new, last_absent, seen, index in groups:
            shared = {name: records.rows[index][name] for name in OPTIONAL if name in records.columns}
            for _ in range(new):
                rows.append({
                    "method": method, "seed": f"{unit}-{len(rows) + 1}", "sown": first["sown"], "last_absent": last_absent, "first_seen": seen,
                } | shared)  # fmt: skip
                numbers.append(records.numbers[index])
    columns = (*REQUIRED, *(name for name in OPTIONAL if name in records.columns))
    return Records(records.file, columns, tuple(rows), tuple(numbers))


def _look(records: Records, index: int) -> tuple[datetime.date, int, int, int]:
    row = records.rows[index]
    looked = records.date(index, "looked")
    try:
        seeds, emerged = int(row["seeds"]), int(row["emerged"])
    except ValueError:
        seeds = emerged = -1
    if looked is None or seeds < 1 or emerged < 0:
        raise records.wrong(
            index, "needs a date of the look (YYYY-MM-DD), and whole numbers of seeds and emerged",
            hint=f"found {row['looked']!r}, {row['seeds']!r}, {row['emerged']!r}",
        )  # fmt: skip
    return looked, seeds, emerged, index


# One row a seed


def _told_once(records: Records) -> None:
    seen: dict[tuple[str, str, str], int] = {}
    for index, row in enumerate(records.rows):
        if not row["method"] or not row["sown"]:
            raise records.wrong(index, "a seed needs a method and the date it was sown")
        key = (row["method"], row.get("unit", ""), row["seed"])
        if row["seed"] and key in seen:
            raise records.wrong(
                index, f"seed {row['seed']!r} of {row['method']} stands in row {seen[key]} already", "seed",
                hint="one row a seed; a transplanted seedling keeps its own",
            )  # fmt: skip
        seen[key] = records.numbers[index]


def _same_event(records: Records) -> None:
    if "event" not in records.columns:
        return
    told: dict[str, set[str]] = {}
    for row in records.rows:
        told.setdefault(row["method"], set()).update({row["event"]} - {""})
    if len(set().union(*told.values())) > 1 or (any(told.values()) and not all(told.values())):
        words = "; ".join(f"{method}: {', '.join(sorted(events)) or 'not told'}" for method, events in told.items())
        raise InputError(
            "the methods count different events, and only equal ones can be compared", file=records.file, column="event", found=words,
            hint=f"{words}. A root in the towel comes days before a shoot through the mix: record the same event for all",
        )  # fmt: skip


def _one_round_a_unit(records: Records) -> None:
    where: dict[tuple[str, str], str] = {}
    for index, row in enumerate(records.rows):
        unit, turn = row.get("unit", ""), row.get("round", "")
        if unit and where.setdefault((row["method"], unit), turn) != turn:
            raise records.wrong(
                index,
                f"tray {unit!r} stands in two rounds",
                "round",
                found=turn,
                hint="a tray belongs to one; trays in different rounds have names of their own",
            )


def _days(records: Records, warnings: list[str]) -> tuple[Floats, Floats]:
    """Interval (left, right] of each seed's day from sowing; right is inf where it was not seen."""
    absent, seen = ([records.date(index, name) for index in range(len(records.rows))] for name in REQUIRED[3:])
    left, right = np.zeros(len(absent)), np.full(len(absent), np.inf)
    said: Counter[str] = Counter()
    for index, (last, first) in enumerate(zip(absent, seen, strict=True)):
        sown = records.date(index, "sown")
        assert sown is not None
        if last is None and first is None:
            said["neither"] += 1
        elif last is None:
            said["first"] += 1
        if last is not None:
            left[index] = (last - sown).days
        if first is not None:
            right[index] = (first - sown).days
        if left[index] < 0 or right[index] < 0:
            raise records.wrong(index, "was looked at before it was sown")
        if left[index] >= right[index]:
            raise records.wrong(
                index, "was seen on or before the day on which it was still absent", "first_seen", found=records.rows[index]["first_seen"],
                hint=f"last absent {records.rows[index]['last_absent'] or records.rows[index]['sown']}",
            )  # fmt: skip
    for kind, words in (
        ("first", "without last_absent: known absent only at sowing; a look before it came, filled in, tells more"),
        ("neither", "with neither last_absent nor first_seen: not come, but it tells nothing of the day"),
    ):
        if said[kind]:
            warnings.append(f"{counted(said[kind], 'seed')} {words}")
    return left, right


def _numbers(records: Records, column: str) -> Floats:
    values = np.full(len(records.rows), np.nan)
    for index, row in enumerate(records.rows):
        text = row.get(column, "")
        if not text:
            continue
        try:
            values[index] = float(text)
        except ValueError:
            values[index] = math.nan
        if not math.isfinite(values[index]):
            raise records.wrong(
                index,
                "is no number",
                column,
                found=text,
                allowed="a number with a point, or blank",
                hint=f"found {text!r}",
            )
    return values


def _lost(records: Records, right: Floats, warnings: list[str]) -> NDArray[np.bool_]:
    """Which seeds were destroyed in handling before they were seen."""
    lost = np.zeros(len(records.rows), dtype=bool)
    unknown: Counter[str] = Counter()
    for index, row in enumerate(records.rows):
        cause = row.get("cause", "").casefold()
        if not cause or np.isfinite(right[index]):
            continue  # seen, then lost: it emerged
        lost[index] = any(word in cause for word in LOST)
        if not lost[index] and not any(word in cause for word in FAILED):
            unknown[row["cause"]] += 1
    for text, number in unknown.items():
        warnings.append(
            f"cause {text!r} ({counted(number, 'seed')}) is not known: counted as not come; for a seed lost by your own "
            f"hand write one of: {', '.join(LOST)}"
        )
    return lost
