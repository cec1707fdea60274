"""What a germination test of a crop means: how sure, whether finished, against the law, and what to do."""

from __future__ import annotations

import csv
import datetime
import os
from collections.abc import Sequence
from typing import NamedTuple

from cropdata.agronomy import sowing
from cropdata.agronomy.lots import LotEstimate
from cropdata.catalog import Catalog, Crop
from cropdata.errors import InputError, NoUsableEstimate, why_unreadable
from cropdata.experiments.germination import Replicates, interval, replicates_agree, seeds_for_width

COUNTED = ("root", "normal")
# Thresholds of Kansas State University (Upham): about 75 % is good seed; as low as 50 % is used at twice the rate.
GOOD, USABLE = 0.75, 0.50
ADVICE_SOURCE = "ksu_upham"


class Assessment(NamedTuple):
    """A test and what follows from it.

    `finished` is None where the day of the count is not known or no final count is prescribed; `wait_days` the days
    still to wait; `per_cell` seeds a cell for 95 % filled; `times_as_thick` against seed of 90 %; `action` one of
    "sow normally", "sow thicker", "get new seed", "wait", "ask first", "test more".
    """

    crop_id: str
    germinated: int
    sown: int
    hard: int
    rate: float
    exact: tuple[float, float]
    wilson: tuple[float, float]
    lot: LotEstimate
    legal_minimum: float | None
    first_count_days: float | None
    final_count_days: float | None
    finished: bool | None
    wait_days: int | None
    replicates: Replicates | None
    per_cell: int | None
    times_as_thick: float | None
    action: str
    sentences: tuple[str, ...]
    sources: tuple[str, ...]


def read_counts(path: str | os.PathLike[str]) -> tuple[list[datetime.date], list[int], list[str]]:
    """Dates, newly germinated and replicates of a record (CSV: date, germinated, replicate, note; the last two optional).

    Raises InputError naming the row of the first mistake.
    """
    file = os.fspath(path)
    try:
        with open(file, encoding="utf-8-sig", newline="") as stream:
            rows = [row for row in csv.DictReader(stream) if not str(row.get("date", "")).startswith("#")]
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise InputError(why_unreadable(error), file=file) from error
    if not rows or not {"date", "germinated"} <= set(rows[0]):
        raise InputError("a record needs the columns date and germinated, and rows", file=file)
    dates, counts, replicates = [], [], []
    for number, row in enumerate(rows, start=2):
        try:
            dates.append(datetime.date.fromisoformat((row["date"] or "").strip()))
            count = int((row["germinated"] or "").strip())
        except ValueError:
            raise InputError(
                "is no date (YYYY-MM-DD) with a whole number",
                file=file,
                row=number,
                found=f"{row['date']}, {row['germinated']}",
            ) from None
        if count < 0:
            raise InputError("newly germinated is 0 or more", file=file, row=number, column="germinated", found=count)
        counts.append(count)
        replicates.append((row.get("replicate") or "").strip())
    return dates, counts, replicates


def _percent(value: float) -> str:
    return f"{100 * value:.0f} %"


def _span(pair: tuple[float, float]) -> str:
    return f"{100 * pair[0]:.0f} to {100 * pair[1]:.0f} %"


def tolerances(catalog: Catalog) -> list[tuple[float, float, int, float]]:
    """The regulation's tolerance rows, for `replicates_agree`; a low side that is a slip is read as 100 less the high plus 1."""
    rows = catalog.table("replicate_tolerances")
    columns = (rows[name].tolist() for name in ("average_high", "replicates", "most_range"))
    return [
        (float(high), 101 - float(high), int(number), float(most)) for high, number, most in zip(*columns, strict=True)
    ]


def assess(
    catalog: Catalog, crop: Crop, germinated: int, sown: int, *, day: int | None = None, age_years: float | None = None, hard: int = 0,
    counted: str = "normal", temp_c: float | None = None, by_replicate: Sequence[tuple[int, int]] = (),
) -> Assessment:  # fmt: skip
    """Say what a germination test means.

    Args:
        germinated, sown: the count; `hard` seeds (swollen not at all) are counted apart, within `sown`.
        day: days from sowing to the count.
        age_years: age of the seed, for what it leads one to expect.
        counted: "root" (seen in the towel) or "normal" (a seedling with all its parts).
        temp_c: warmth of the test.
        by_replicate: counts and seeds of each replicate.

    Raises InputError for counts that are none.
    """
    if counted not in COUNTED:
        raise InputError("unknown way of counting", found=counted, allowed=", ".join(COUNTED))
    exact, wilson = interval(germinated, sown), interval(germinated, sown, method="wilson")
    if not 0 <= hard <= sown - germinated:
        raise InputError(
            "hard seeds are among those that did not germinate", found=hard, allowed=f"0 to {sown - germinated}"
        )
    lot = crop.lot(age_years=age_years if crop.seed_longevity else None, test=(germinated, sown))
    standard = crop.germination_standard
    first, final = _counts(crop)
    finished = None if day is None or final is None else day >= final
    wait = int(final - day) if finished is False and final is not None and day is not None else None
    replicates = None
    if len(by_replicate) > 1:
        counts, tested = [good for good, _ in by_replicate], [number for _, number in by_replicate]
        replicates = replicates_agree(counts, tested, tolerances(catalog))
    action = _action(germinated, sown, exact, finished)
    per_cell, thicker = _sowing(germinated, sown)
    draft = _Sentences(crop, germinated, sown, exact, wilson)
    draft.finish(day, first, final, finished, wait, counted, temp_c)
    draft.expected(lot, age_years)
    draft.law(lot, standard.low if standard else None, counted)
    draft.rest(hard, replicates)
    draft.advice(action, per_cell, thicker)
    sources = {
        ADVICE_SOURCE,
        *(standard.sources if standard else ()),
        *(crop.seed_longevity.sources if crop.seed_longevity and age_years is not None else ()),
    }
    return Assessment(
        crop.id, germinated, sown, hard, germinated / sown, exact, wilson, lot, standard.low / 100 if standard else None,  # type: ignore[arg-type]
        first, final, finished, wait, replicates, per_cell, thicker, action, tuple(draft.said), tuple(sorted(sources)),
    )  # fmt: skip


def _counts(crop: Crop) -> tuple[float | None, float | None]:
    rows = [row for row in crop.evidence("germination_tests") if not row["set_aside"]]
    first = [float(str(row["first_count_days"])) for row in rows if row["first_count_days"] is not None]
    final = [float(str(row["final_count_days"])) for row in rows if row["final_count_days"] is not None]
    return (min(first) if first else None), (max(final) if final else None)


def _action(germinated: int, sown: int, exact: tuple[object, ...], finished: bool | None) -> str:
    rate, low, high = germinated / sown, float(str(exact[0])), float(str(exact[1]))
    if finished is False and rate < GOOD:
        return "wait"
    if germinated == 0:
        return "ask first"
    if rate >= GOOD:
        return "sow normally"
    if high < USABLE:
        return "get new seed"
    if rate < USABLE or low < 0.2:
        return "test more"
    return "sow thicker"


def _sowing(germinated: int, sown: int) -> tuple[int | None, float | None]:
    if germinated == 0:
        return None, None
    try:
        per_cell: int | None = sowing.seeds_per_cell(0.95, (germinated, sown))
    except NoUsableEstimate:
        per_cell = None
    return per_cell, 0.9 / ((germinated + 0.5) / (sown + 1))


class _Sentences:
    """The answer in words, one thought each."""

    def __init__(self, crop: Crop, germinated: int, sown: int, exact: object, wilson: object) -> None:
        self.crop = crop
        self.germinated = germinated
        self.sown = sown
        self.said = [
            f"{germinated} of {sown} germinated: {_percent(germinated / sown)}; the lot as a whole lies between {_span(exact).replace(' to ', ' and ')} "  # type: ignore[arg-type]
            f"(95 %, exact; Wilson {_span(wilson)})."  # type: ignore[arg-type]
        ]
        if sown <= 20:
            self.said.append(
                f"So few seeds say little: for an interval 20 points wide test {seeds_for_width(0.2, max(0.05, min(0.95, germinated / sown)))}."
            )

    def finish(
        self,
        day: int | None,
        first: float | None,
        final: float | None,
        finished: bool | None,
        wait: int | None,
        counted: str,
        temp_c: float | None,
    ) -> None:
        """Whether the count was late enough, and what was counted."""
        if final is None:
            self.said.append("No final count is prescribed for it: count until a week has passed without a new one.")
        elif day is None:
            self.said.append(
                f"The day of the count is not known, so neither is whether it was finished: the prescribed final count is on day {final:.0f}."
            )
        elif finished:
            self.said.append(f"Day {day} is past the prescribed final count (day {final:.0f}): the test is finished.")
        else:
            self.said.append(
                f"Not finished: the prescribed final count is on day {final:.0f}; wait {wait} days more (first count day {first:.0f})."
            )
        if counted == "root":
            self.said.append(
                "A root seen in the towel is not yet a normal seedling: the emergence through soil will be somewhat lower."
            )
        limits = self.crop.germination_temperature
        if (
            temp_c is not None
            and limits is not None
            and limits.optimum_low is not None
            and limits.optimum_high is not None
            and not (limits.optimum_low - 0.5 <= temp_c <= limits.optimum_high + 0.5)
        ):
            self.said.append(
                f"{temp_c:g} °C is outside its best range ({limits.optimum_low:.0f} to {limits.optimum_high:.0f} °C): slower and fewer."
            )
        if self.germinated == 0:
            self.said.append(self._why_none())

    def _why_none(self) -> str:
        asks = []
        if any(row["need"] == "light" for row in self.crop.evidence("light")):
            asks.append("it needs light")
        treatments = sorted({str(row["treatment"]) for row in self.crop.evidence("pretreatment")})
        if treatments:
            asks.append(f"sources advise to {' or '.join(treatments)} it first")
        known = f" ({'; '.join(asks)})" if asks else ""
        return (
            f"None came: before the seed is blamed ask about dormancy, light, chill and warmth{known}; then test again."
        )

    def expected(self, lot: LotEstimate, age_years: float | None) -> None:
        """Age alone, test alone, joined."""
        if lot.prior_mean is None or age_years is None:
            return
        assert lot.test_low is not None and lot.test_high is not None
        alone = (
            f"Seed of {age_years:g} years leads one to expect {_percent(lot.prior_mean)}, the test alone says "
            f"{_span((lot.test_low, lot.test_high))}"
        )
        if lot.agree is False:
            self.said.append(f"{alone}: the two disagree, so the test is used.")
        else:
            self.said.append(f"{alone}; joined {_span((lot.low, lot.high))} (90 %).")

    def law(self, lot: LotEstimate, minimum: float | None, counted: str) -> None:
        """Against the legal minimum."""
        if minimum is not None and lot.chance_above_minimum is not None:
            self.said.append(
                f"Chance of {_percent(lot.chance_above_minimum)} of being above the legal minimum of {minimum:.0f} %; not a legal test, "
                f"which takes 400 seeds{', normal seedlings' if counted == 'root' else ''} and prescribed conditions."
            )

    def rest(self, hard: int, replicates: Replicates | None) -> None:
        """Hard seed and replicates."""
        if hard:
            self.said.append(f"{hard} hard seeds are counted apart: they may come later, or after scarifying.")
        if replicates is not None:
            words = "agree" if replicates.agree else "do not agree: test again"
            self.said.append(
                f"The replicates {words} ({replicates.rule}; range {replicates.range_percent:.0f} points)."
            )

    def advice(self, action: str, per_cell: int | None, thicker: float | None) -> None:
        """What to do."""
        cell = (
            f"sow {per_cell} per cell for 95 % filled cells"
            if per_cell
            else "too poor for cells: germinate it in a towel and move what comes"
        )
        told = {
            "sow normally": f"Good seed: {cell}.",
            "sow thicker": f"Usable: {cell}, or {thicker:.1f} times as thick." if thicker else "",
            "get new seed": "Get new seed.",
            "test more": f"Test more seeds before you decide, or {cell}.",
            "wait": "Wait for the final count before you decide.",
            "ask first": "Do not sow it on this test.",
        }[action]
        self.said.append(
            f"{told} (Good from {_percent(GOOD)}, usable to {_percent(USABLE)} sown thicker: Kansas State University.)"
        )
        self.said.append(
            "Treated seed, and what sprouts from it, is not food; mould belongs in the bin, not under the nose."
        )
