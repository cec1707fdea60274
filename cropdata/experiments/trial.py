"""A trial of methods of starting seed: which came sooner and better, and what so few seeds can show.

One record a seed: it is looked at now and then, so its day is known only to lie between two looks. Units (bags,
trays) are what was dealt out to the methods; seeds of one tray share its fate. With fewer than two units in any
method the test is about these seeds in these trays, and the verdict says that it cannot tell the method from its tray.
"""

from __future__ import annotations

import datetime
import itertools
import os
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cropdata.errors import InputError, why_unreadable
from cropdata.experiments import power
from cropdata.experiments.germination import interval
from cropdata.experiments.permutation import holm, least_units, permutation_test, ways
from cropdata.experiments.results import Comparison, MethodResult, Pair
from cropdata.experiments.verdict import verdict_of
from cropdata.experiments.waiting import median_interval, scores, turnbull

REQUIRED = ("method", "seed", "sown", "last_absent", "first_seen")
OPTIONAL = ("unit", "round", "event", "score", "cause", "warmth_c")
# The other form of a record: one row a tray and look, with what had emerged so far.
BY_LOOK = ("method", "unit", "sown", "seeds", "looked", "emerged")
DESTROYED = ("destroyed", "handling", "broken", "dropped")
# Standard deviation as a share of the middle day: between seeds (from the rules emergence_first and emergence_last:
# 0.74 and 1.44 of the middle day at 5 and 95 %), and between trays (assumed, no source).
SEED_SPREAD = float(np.mean([np.log(1 / 0.74), np.log(1.44)]) / 1.6449)
TRAY_SPREAD = 0.10


# Reading


def read_records(records: pd.DataFrame | str | os.PathLike[str]) -> pd.DataFrame:
    """The records as texts, one row a seed, checked for their columns; counts by look are turned into seeds.

    Raises InputError naming file, row and column.
    """
    file = None
    if not isinstance(records, pd.DataFrame):
        file = os.fspath(records)
        try:
            records = pd.read_csv(file, dtype=str, keep_default_na=False, encoding="utf-8-sig", comment="#")
        except (OSError, UnicodeDecodeError, ValueError) as error:
            raise InputError(why_unreadable(error), file=file) from error
    if set(BY_LOOK) <= set(records.columns) and "first_seen" not in records.columns:
        records = seeds_of_looks(records, file)
    missing = [name for name in REQUIRED if name not in records.columns]
    if missing:
        raise InputError("columns are missing", file=file, found=list(records.columns), allowed=", ".join((*REQUIRED, *OPTIONAL)),
                         hint=f"missing: {', '.join(missing)}")  # fmt: skip
    if records.empty:
        raise InputError("the trial has no seeds", file=file)
    frame = records.reset_index(drop=True).copy()
    for name in (*REQUIRED, *OPTIONAL):
        if name in frame:
            frame[name] = [_text(value) for value in frame[name]]
    frame.attrs["file"] = file
    return frame


def seeds_of_looks(records: pd.DataFrame, file: str | None = None) -> pd.DataFrame:
    """One row a seed from counts by look (`BY_LOOK`; emerged is what had come so far; round and event go along).

    Raises InputError for counts that fall, exceed the seeds sown, or are none, and for a tray whose number of seeds
    or date of sowing changes between looks.
    """
    rows = []
    frame = records.reset_index(drop=True)
    for (method, unit), part in frame.groupby(["method", "unit"], sort=False):
        texts = [{str(key): _text(value) for key, value in row.items()} for row in part.to_dict("records")]
        numbers = [int(index) + 2 for index in part.index]
        looks = sorted(zip(texts, numbers, strict=True), key=lambda item: item[0]["looked"])
        first = looks[0][0]
        if any((row["seeds"], row["sown"]) != (first["seeds"], first["sown"]) for row, _ in looks):
            raise InputError(
                f"{method} {unit}: the seeds sown or the date of sowing change between looks",
                file=file,
                row=looks[0][1],
            )
        before, last = 0, ""
        counts = []
        for row, number in looks:
            try:
                seeds, emerged = int(row["seeds"]), int(row["emerged"])
                datetime.date.fromisoformat(row["looked"])
            except ValueError:
                raise InputError(
                    "needs whole numbers and a date of the look (YYYY-MM-DD)",
                    file=file,
                    row=number,
                    found=f"{row['looked']}, {row['seeds']}, {row['emerged']}",
                ) from None
            if not before <= emerged <= seeds:
                raise InputError(
                    "emerged so far cannot fall, nor pass the seeds sown",
                    file=file,
                    row=number,
                    column="emerged",
                    found=emerged,
                    allowed=f"{before} to {seeds}",
                )
            counts.append((emerged - before, last, row["looked"]))
            before, last = emerged, row["looked"]
        counts.append((int(first["seeds"]) - before, last, ""))
        number = 0
        for new, absent, seen in counts:
            for _ in range(new):
                number += 1
                rows.append(
                    {"method": method, "unit": unit, "seed": str(number), "sown": first["sown"], "last_absent": absent, "first_seen": seen}
                    | {name: first[name] for name in ("round", "event", "warmth_c") if name in first}
                )  # fmt: skip
    return pd.DataFrame(rows)


def _text(value: Any) -> str:
    if value is None or value is pd.NaT or (isinstance(value, float) and np.isnan(value)):
        return ""
    if isinstance(value, (datetime.datetime, pd.Timestamp)):
        return value.date().isoformat()
    return str(value).strip()


def _days(frame: pd.DataFrame) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Interval (left, right] of each seed's day from sowing; right is inf where it was not seen."""
    file = frame.attrs.get("file")
    left, right = np.zeros(len(frame)), np.full(len(frame), np.inf)
    seen: dict[tuple[str, str, str], int] = {}
    rows: list[dict[str, str]] = [
        {str(key): str(value) for key, value in row.items()} for row in frame.to_dict("records")
    ]
    for number, row in enumerate(rows):
        dates = {}
        for column in ("sown", "last_absent", "first_seen"):
            try:
                dates[column] = datetime.date.fromisoformat(row[column]) if row[column] else None
            except ValueError:
                raise InputError("is no date", file=file, row=number + 2, column=column, found=row[column], allowed="YYYY-MM-DD",
                                 hint=f"found {row[column]!r}") from None  # fmt: skip
        if dates["sown"] is None or not row["method"]:
            raise InputError("a seed needs a method and the date it was sown", file=file, row=number + 2)
        method: str = row["method"]
        key = (method, row.get("unit", ""), row["seed"])
        if row["seed"] and key in seen:
            raise InputError(f"seed {row['seed']!r} of {method} stands in row {seen[key]} already", file=file, row=number + 2, column="seed",
                             hint="one row a seed; a transplanted seedling keeps its own")  # fmt: skip
        seen[key] = number + 2
        sown = dates["sown"]
        if dates["last_absent"] is not None:
            left[number] = (dates["last_absent"] - sown).days
        if dates["first_seen"] is not None:
            right[number] = (dates["first_seen"] - sown).days
        if left[number] < 0 or right[number] < 0:
            raise InputError("was looked at before it was sown", file=file, row=number + 2)
        if left[number] >= right[number]:
            raise InputError("was seen on or before the day on which it was still absent", file=file, row=number + 2, column="first_seen",
                             found=row["first_seen"], hint=f"last absent {row['last_absent'] or row['sown']}")  # fmt: skip
    return left, right


def _events(frame: pd.DataFrame) -> None:
    if "event" not in frame:
        return
    by_method = {method: sorted(set(part["event"]) - {""}) for method, part in frame.groupby("method")}
    events = {event for found in by_method.values() for event in found}
    if len(events) > 1:
        told = "; ".join(f"{method!s}: {', '.join(found) or 'not told'}" for method, found in by_method.items())
        raise InputError(
            "the methods count different events, and only equal ones can be compared", file=frame.attrs.get("file"), column="event", found=told,
            hint=f"{told}. A root in the towel comes days before a shoot through the mix: record the same event for all",
        )  # fmt: skip


def _coarsened(
    left: NDArray[np.float64], right: NDArray[np.float64], methods: NDArray[np.intp]
) -> tuple[NDArray[np.float64], NDArray[np.float64], str | None]:
    """Looks at unlike intervals are laid on the coarser grid, so that often looked at does not mean early."""
    came = np.isfinite(right)
    widths = [
        float(np.median((right - left)[came & (methods == m)]))
        for m in np.unique(methods)
        if (came & (methods == m)).any()
    ]
    if len(widths) < 2 or max(widths) < 1.5 * min(widths):
        return left, right, None
    step = max(widths)
    return (
        np.floor(left / step) * step,
        np.where(came, np.ceil(right / step) * step, np.inf),
        (f"the methods were looked at at unlike intervals; all days are read on a grid of {step:g} days"),
    )


# Comparing


def compare(
    records: pd.DataFrame | str | os.PathLike[str], target_days: float = 2.0, *, expected_days: float | None = None
) -> Comparison:
    """Compare methods of starting seed.

    Args:
        records: a DataFrame or the path of a CSV, one row a seed: method, seed, sown, last_absent, first_seen (ISO
            dates; last_absent blank: known absent only at sowing; first_seen blank: not seen by last_absent);
            optional unit (bag or tray), round, event, score (seedling health), cause (of loss), warmth_c.
        target_days: a difference worth finding, for `seeds_needed` and `units_needed`.
        expected_days: middle day of the crop, for the spread that power uses; the trial's own middle day when None.

    The test permutes units within rounds where every method has two or more, else seeds; exact when it can be.
    `detectable_days` is `inf` when no outcome could reach 5 %. Raises InputError for records that cannot be used
    and for methods that count different events.
    """
    frame = read_records(records)
    _events(frame)
    left, right = _days(frame)
    names = list(dict.fromkeys(frame["method"]))
    if len(names) < 2:
        raise InputError("a comparison needs two methods or more", found=names)
    if not target_days > 0:
        raise InputError("target_days lies above 0", found=target_days)
    methods = np.array([names.index(name) for name in frame["method"]], dtype=np.intp)
    warnings: list[str] = []
    destroyed = np.array(
        [
            any(word in cause.casefold() for word in DESTROYED)
            for cause in frame.get("cause", pd.Series([""] * len(frame)))
        ]
    )
    destroyed &= ~np.isfinite(right)
    horizon = float(np.max(np.where(np.isfinite(right), right, left))) + 1
    left = np.where(destroyed, horizon, left)  # lost in handling: it will never come, which is not "not yet"
    left, right, coarse = _coarsened(left, right, methods)
    if coarse:
        warnings.append(coarse)
    units = _units(frame, names)
    results = tuple(
        _method(name, frame, left, right, destroyed, methods == number, units) for number, name in enumerate(names)
    )
    by_unit = all(item.units >= 2 for item in results)
    rounds = _rounds(frame)
    p_value, exact = _test(scores(left, right), methods, units, rounds, by_unit)
    pairs = _pairs(frame, results, left, right, methods, units, rounds, by_unit)
    middle = expected_days or turnbull(left, right).day_of(0.5) or horizon
    spread = SEED_SPREAD * middle
    share = float(np.isfinite(right).mean())
    number = min(item.units if by_unit else item.sown for item in results)
    per_unit = max(1.0, min(item.sown / item.units for item in results))
    unit_spread = float(np.hypot(spread / np.sqrt(per_unit * max(share, 0.05)), TRAY_SPREAD * middle))
    # Pairs are corrected, so each must reach its share of 5 %.
    level = power.LEVEL / max(len(pairs), 1)
    lowest = _lowest_p(methods, units, rounds, by_unit, len(names))
    if lowest > level:
        detectable = float("inf")
    elif by_unit:
        detectable = power.detectable(unit_spread, number, level=level)
    else:
        detectable = power.detectable(spread, int(number * share), level=level)
    units_needed = max(
        power.number_needed(target_days, unit_spread, level=level), least_units(level, in_rounds=rounds is not None)
    )
    seeds_needed = power.number_needed(target_days, spread, share=share, level=level)
    confounded = _confounded(frame, names, results)
    comparison = Comparison(
        results, p_value, exact, "trays" if by_unit else "these seeds in these trays", pairs, detectable,
        seeds_needed, units_needed, target_days,
        confounded, tuple(warnings), "", lowest * max(len(pairs), 1),
    )  # fmt: skip
    return comparison._replace(verdict=verdict_of(comparison))


def _lowest_p(
    methods: NDArray[np.intp], units: NDArray[np.intp], rounds: NDArray[np.intp] | None, by_unit: bool, number: int
) -> float:
    """The smallest p that any pair of these methods could reach, however the days fell."""
    if by_unit:
        _, labels, blocks = _by_unit(np.zeros(methods.size), methods, units, rounds)
    else:
        labels, blocks = methods, rounds
    inside = np.zeros(labels.size, dtype=np.intp) if blocks is None else blocks
    lowest = 1.0
    for a, b in itertools.combinations(range(number), 2):
        count = 1
        for block in np.unique(inside):
            here = labels[inside == block]
            count *= ways([int((here == a).sum()), int((here == b).sum())])
        lowest = min(lowest, 2 / count if count > 1 else 1.0)
    return lowest


def _units(frame: pd.DataFrame, names: list[str]) -> NDArray[np.intp]:
    """Number of each seed's unit; a method without units is one."""
    labels = [f"{row['method']}\0{row.get('unit', '')}" for row in frame.to_dict("records")]
    known = list(dict.fromkeys(labels))
    return np.array([known.index(label) for label in labels], dtype=np.intp)


def _rounds(frame: pd.DataFrame) -> NDArray[np.intp] | None:
    if "round" not in frame or not frame["round"].any():
        return None
    known = list(dict.fromkeys(frame["round"]))
    return np.array([known.index(value) for value in frame["round"]], dtype=np.intp)


def _by_unit(values: NDArray[np.float64], methods: NDArray[np.intp], units: NDArray[np.intp], rounds: NDArray[np.intp] | None) -> tuple[
    NDArray[np.float64], NDArray[np.intp], NDArray[np.intp] | None
]:  # fmt: skip
    """Means of the units, their methods and rounds."""
    present = np.unique(units)
    means = np.array([values[units == unit].mean() for unit in present])
    labels = np.array([methods[units == unit][0] for unit in present], dtype=np.intp)
    return (
        means,
        labels,
        None if rounds is None else np.array([rounds[units == unit][0] for unit in present], dtype=np.intp),
    )


def _test(
    values: NDArray[np.float64],
    methods: NDArray[np.intp],
    units: NDArray[np.intp],
    rounds: NDArray[np.intp] | None,
    by_unit: bool,
) -> tuple[float, bool]:
    if by_unit:
        values, methods, rounds = _by_unit(values, methods, units, rounds)
    return permutation_test(values, methods, rounds)


def _method(
    name: str, frame: pd.DataFrame, left: NDArray[np.float64], right: NDArray[np.float64], destroyed: NDArray[np.bool_],
    mine: NDArray[np.bool_], units: NDArray[np.intp],
) -> MethodResult:  # fmt: skip
    low, high = left[mine], right[mine]
    emerged, sown = int(np.isfinite(high).sum()), int(mine.sum())
    share_low, share_high = interval(emerged, sown)
    curve = turnbull(low, high)
    median = curve.day_of(0.5) if 2 * emerged >= sown else None
    marks = [float(text) for text in frame.loc[mine, "score"] if text] if "score" in frame else []
    return MethodResult(
        name, len(np.unique(units[mine])), sown, emerged, int(destroyed[mine].sum()), emerged / sown, float(share_low), float(share_high),
        median, *median_interval(low, high), float(np.mean(marks)) if marks else None, curve, low, high,
    )  # fmt: skip


def _pairs(
    frame: pd.DataFrame, results: tuple[MethodResult, ...], left: NDArray[np.float64], right: NDArray[np.float64], methods: NDArray[np.intp],
    units: NDArray[np.intp], rounds: NDArray[np.intp] | None, by_unit: bool,
) -> tuple[Pair, ...]:  # fmt: skip
    marks = pd.to_numeric(frame["score"], errors="coerce").to_numpy() if "score" in frame else None
    raw = []
    for a, b in itertools.combinations(range(len(results)), 2):
        both = (methods == a) | (methods == b)
        labels = (methods[both] == b).astype(np.intp)
        inside = None if rounds is None else rounds[both]
        p_value, _ = _test(scores(left[both], right[both]), labels, units[both], inside, by_unit)
        score_p = None
        if marks is not None:
            told = both & np.isfinite(marks)
            if all((told & (methods == m)).sum() >= 2 for m in (a, b)):
                score_p, _ = _test(
                    marks[told],
                    (methods[told] == b).astype(np.intp),
                    units[told],
                    None,
                    by_unit and _two_units(methods, units, told, (a, b)),
                )
        raw.append((a, b, p_value, score_p))
    corrected = holm([p for _, _, p, _ in raw])
    return tuple(
        _pair(results[a], results[b], p, fixed, score_p)
        for (a, b, p, score_p), fixed in zip(raw, corrected, strict=True)
    )


def _two_units(
    methods: NDArray[np.intp], units: NDArray[np.intp], told: NDArray[np.bool_], pair: tuple[int, int]
) -> bool:
    return all(len(np.unique(units[told & (methods == m)])) >= 2 for m in pair)


def _pair(one: MethodResult, other: MethodResult, p_value: float, corrected: float, score_p: float | None) -> Pair:
    difference = ratio = None
    if one.median_days is not None and other.median_days is not None:
        difference = other.median_days - one.median_days
        ratio = other.median_days / one.median_days if one.median_days > 0 else None
    return Pair(one.method, other.method, difference, ratio, other.share - one.share, p_value, corrected, score_p)


def _confounded(frame: pd.DataFrame, names: list[str], results: tuple[MethodResult, ...]) -> tuple[str, ...]:
    """What differs between the methods besides the method."""
    found = []
    if any(item.units < 2 for item in results):
        found.append(
            "each method stands in one tray, so that its tray (place, warmth, moisture) cannot be told from the method"
        )
    sown = {name: set(frame.loc[frame["method"] == name, "sown"]) for name in names}
    if any(sown[name] != sown[names[0]] for name in names):
        found.append("the methods were sown on different days")
    if "warmth_c" in frame:
        warmth = {name: set(frame.loc[frame["method"] == name, "warmth_c"]) - {""} for name in names}
        if any(warmth[name] != warmth[names[0]] for name in names):
            found.append("the methods stood at different warmth")
    return tuple(found)
