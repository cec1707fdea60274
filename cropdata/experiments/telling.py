"""A germination test in words, one thought a sentence."""

from __future__ import annotations

from cropdata.catalog import Crop
from cropdata.experiments.assessment import FEW, GOOD, USABLE, Assessment


def counted_out(number: float, thing: str) -> str:
    """A number with its noun: 1 day, 2 days."""
    return f"{number:g} {thing}{'' if number == 1 else 's'}"


def _percent(value: float) -> str:
    return f"{100 * value:.0f} %"


def _span(pair: tuple[float, float]) -> str:
    return f"{100 * pair[0]:.0f} to {100 * pair[1]:.0f} %"


def _chance(value: float) -> str:
    """A chance to the nearest five in a hundred: it leans on a prior, and no test of a few seeds knows it better."""
    if value < 0.05:
        return "below 5 %"
    return "above 95 %" if value > 0.95 else f"about {5 * round(20 * value)} %"


def sentences(crop: Crop, test: Assessment, *, asked_width: bool) -> list[str]:
    """All that is to be said of a test, in the order in which a grower asks."""
    said = [
        _advice(test),
        f"{test.germinated} of {test.sown} germinated, {_percent(test.rate)}; the lot as a whole may lie anywhere from "
        f"{_span(test.exact)} (95 % interval, exact; by Wilson's narrower one {_span(test.wilson)}).",
    ]
    if asked_width or test.sown <= FEW:
        said.append(_enough(test))
    said += [*_finish(test), *_conditions(test), *_expected(crop, test), *_law(test), *_rest(test)]
    if test.germinated == 0 and test.finished is not False:
        said.append(_why_none(crop))
    return [
        *said,
        f"From {_percent(GOOD)} seed counts as good, from {_percent(USABLE)} as usable if sown thicker (Kansas State University).",
        "Treated seed, and what sprouts from it, is not food. Mouldy seed: do not sniff it, put it in the bin.",
    ]


def _enough(test: Assessment) -> str:
    width, here, most = test.seeds_enough
    like = "nearly all" if test.rate > 0.95 else "hardly any" if test.rate < 0.05 else "as many as here"
    worst = f", {most} where only half do" if most > here else ""
    return (
        f"{counted_out(test.sown, 'seed')} tested: for a range no wider than {counted_out(round(100 * width, 1), 'point')} test about "
        f"{here} where {like} germinate{worst}."
    )


def _finish(test: Assessment) -> list[str]:
    final = test.final_count_days
    if test.germinated == test.sown:
        return ["All have come: there is nothing left to wait for."]
    if final is None:
        return ["No final count is prescribed for it: count until a week has passed without a new one."]
    if test.day is None:
        return [
            f"The day of the count was not told, so it is not known whether the test is finished: the prescribed final count is on "
            f"day {final:g}."
        ]
    if test.finished:
        return [f"Counted on day {test.day}; the prescribed final count is on day {final:g}: the test is finished."]
    if test.action != "wait" or test.wait_days is None:
        return [f"Counted on day {test.day}; more may come until the prescribed final count on day {final:g}."]
    first = f", the first on day {test.first_count_days:g}" if test.first_count_days is not None else ""
    return [
        f"Not finished on day {test.day}: the prescribed final count is on day {final:g}{first}; wait "
        f"{counted_out(test.wait_days, 'day')} more."
    ]


def _conditions(test: Assessment) -> list[str]:
    said = []
    if test.counted == "root":
        said.append("A root seen in the towel is not yet a normal seedling: somewhat fewer will come up through soil.")
    if test.outside_best and test.temp_c is not None and test.best_temp_c is not None:
        side = "colder" if test.temp_c < test.best_temp_c[0] else "warmer"
        said.append(
            f"{test.temp_c:g} °C is {side} than its best range ({test.best_temp_c[0]:.0f} to {test.best_temp_c[1]:.0f} °C): "
            "seed comes slower there, and less of it."
        )
    return said


def _expected(crop: Crop, test: Assessment) -> list[str]:
    """What age leads one to expect, alone and joined with the test."""
    if test.age_years is None:
        return []
    lot, years = test.lot, counted_out(test.age_years, "year")
    if lot.prior_mean is None:
        return [f"No storage life is recorded for it, so its age of {years} says nothing here."]
    expected = f"Seed of {years} leads one to expect about {_percent(lot.prior_mean)}"
    if lot.agree is False:
        return [f"{expected}; the test says otherwise, and the test is used."]
    return [
        f"{expected}; with this test joined to it the lot most likely lies from {_span((lot.low, lot.high))} (90 %)."
    ]


def _law(test: Assessment) -> list[str]:
    if test.legal_minimum is None or test.chance_above_minimum is None:
        return []
    hard = ", hard seed counted in" if test.hard else ""
    return [
        f"Its chance of lying above the legal minimum of {_percent(test.legal_minimum)} is{' so far' if test.finished is False else ''} "
        f"{_chance(test.chance_above_minimum)}{hard}. A legal test takes 400 seeds, prescribed conditions and normal seedlings; "
        "this is none."
    ]


def _rest(test: Assessment) -> list[str]:
    said = []
    if test.hard:
        they = (
            "1 hard seed is counted apart: it" if test.hard == 1 else f"{test.hard} hard seeds are counted apart: they"
        )
        said.append(f"{they} may come late, or after scarifying.")
    if test.replicates is not None:
        words = "agree" if test.replicates.agree else "do not agree"
        said.append(
            f"The replicates {words} ({test.replicates.rule}; range {counted_out(round(test.replicates.range_percent), 'point')})."
        )
    return said


def _why_none(crop: Crop) -> str:
    asks = ["it needs light"] if any(row["need"] == "light" for row in crop.evidence("light")) else []
    treatments = sorted({str(row["treatment"]) for row in crop.evidence("pretreatment")})
    if treatments:
        asks.append(f"sources advise to {' or '.join(treatments)} it first")
    known = f" ({'; '.join(asks)})" if asks else ""
    return f"None came. Before the seed is blamed, ask about dormancy, light, chill and warmth{known}; then test again."


def _cells(test: Assessment) -> str:
    if test.per_cell is None:
        return "too poor for cells: germinate it in a towel and move what comes"
    if test.per_cell == 1:
        return "1 seed a cell fills 95 % of the cells"
    return f"{test.per_cell} seeds a cell fill 95 % of the cells"


def _advice(test: Assessment) -> str:
    """What to do, in one or two sentences that the rest does not contradict."""
    if test.action == "sow normally":
        early = "Good seed already" if test.finished is False else "Good seed"
        return f"{early}: sow as usual; {_cells(test)}."
    if test.action == "sow thicker":
        return f"Usable: sow it {test.times_as_thick:.1f} times as thick as good seed; {_cells(test)}."
    if test.action == "get new seed":
        return "Get new seed."
    if test.action == "wait":
        return "Wait for the final count before you decide."
    if test.action == "ask first":
        return _ask_first(test)
    if test.replicates is not None and not test.replicates.agree:
        return "The replicates contradict one another: test again before you decide."
    settled = "Good as far as so few seeds can tell" if test.rate >= GOOD else "This does not settle it"
    meanwhile = "" if test.per_cell is None else f" If you must sow now: {_cells(test)}."
    return f"{settled}: test more seeds before much hangs on it.{meanwhile}"


def _ask_first(test: Assessment) -> str:
    if test.hard_could_save:
        return (
            f"Before you throw it away: with its hard seed it would be {test.germinated + test.hard} of {test.sown}. Scarify the hard "
            "seed (nick or rub its coat) or leave it longer, and count again."
        )
    if test.germinated == 0:
        return "Do not sow it on this test, and do not throw it away yet; where none comes again, get new seed."
    if test.outside_best:
        return "Poor, but the warmth may be to blame: test again inside its best range before you throw it away."
    if test.final_count_days is None:
        return "If a week has passed without a new one, get new seed; if not, let the test go on."
    return f"If the test had its {test.final_count_days:g} days, get new seed; if not, let it go on."
