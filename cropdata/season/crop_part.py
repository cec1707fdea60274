"""What all packets of one crop share at a place: worked out once, however many packets there are."""

from __future__ import annotations

from typing import NamedTuple

from cropdata.agronomy.windows import Window, days_after
from cropdata.catalog import Crop
from cropdata.catalog.consensus import Joined
from cropdata.catalog.evidence import Evidence
from cropdata.catalog.maturing import days_from
from cropdata.season import signals, timing, waiting
from cropdata.season.autumn import autumn as autumn_timing
from cropdata.season.drafting import Draft, figures
from cropdata.season.site import Date, Site
from cropdata.season.words import Words

Pair = tuple[float, float]


class Days(NamedTuple):
    """What depends on the day of sowing: days to seedlings, to giving up, share of the best germination.

    `in_doubt`: its days to seedlings are recorded, but none can be given at this warmth, `warmth_c` on average.
    `unfit`: why none can be counted on to come up there at all; empty where they can.
    """

    wait: Pair | None
    give_up: int | None
    share: float | None
    share_sources: tuple[str, ...] = ()
    in_doubt: bool = False
    warmth_c: float | None = None
    unfit: str = ""


UNKNOWN = Days(None, None, None)
NEAR_C = 0.5  # so near its best range a bench is in it


class CropPart:
    """One crop at one place, under cover or in place, in spring or autumn."""

    def __init__(self, crop: Crop, site: Site, words: Words, *, in_place: bool, autumn: bool) -> None:
        self.crop, self.site, self.words, self.in_place, self.autumn = crop, site, words, in_place, autumn
        self.draft = draft = Draft(words)
        # Kept apart: said of a reckoned window only, not of the grower's own day; what planting out waits for.
        self.window, self.waits = Draft(words), Draft(words)
        self.tender = timing.is_tender(crop)
        self.raising = {} if in_place else crop.raising
        self.habits = signals.usable(crop, "season_signals")
        self.treatments = signals.usable(crop, "pretreatment")
        self.light = _light(signals.usable(crop, "light"), draft)
        self.depth = _pair(crop.sowing_depth, draft)
        self.spacing = tuple(_pair(crop.trait(name), draft) for name in ("spacing_in_row", "spacing_between_rows"))
        self.printed_wait = waiting.printed_range(site.catalog, crop) if in_place else None
        draft.use(crop.frost_tolerance)
        self.ready: Joined | None = days_from(site.catalog, crop, "sowing" if in_place else "planting")
        if self.ready is None and not autumn:
            self._say_other_days(draft)
        if crop.frost_tolerance is None:
            treated = (
                "treated as tender"
                if self.tender
                else "printed weeks have it outside by the last frost, so not treated as tender"
            )
            draft.say(f"Its frost tolerance is not recorded: {treated}.")
        self.best, self.warmth = self._warmth()
        self._by_day: dict[Date | None, tuple[Days, Draft]] = {}
        self.timing = self._timing()
        signals.say_habits(self.habits, in_place, autumn, draft)
        self._outside: dict[Date, Draft] = {}

    # Once for the crop

    def _warmth(self) -> tuple[Pair | None, Pair | None]:
        """The best range to germinate, and night and day where it is sown under cover: bench or mat; else None."""
        site, bench = self.site, None if self.in_place else self.site.bench_c
        self.on_mat = self._shares_mat = False
        self._no_mat = ""  # why it stands beside the mat
        best, mean = self._best_range(), site.bench_mean_c
        if best is None or bench is None or mean is None:
            return best, bench
        if mean < best[0] - NEAR_C and site.place.mats:
            mat = site.place.mat_c if site.place.mat_c is not None else sum(best) / 2
            self._no_mat = waiting.beyond(self.crop, mat, self.words)
            if not self._no_mat or waiting.beyond(self.crop, mean, self.words):
                self.on_mat, self._no_mat = True, ""
                return best, (mat, mat)
        return best, bench

    def _best_range(self) -> Pair | None:
        """The best range to germinate, as far as it lies within what others print as the least and the most."""
        limits, draft, words = self.crop.germination_temperature, self.draft, self.words
        if limits is None or limits.optimum_low is None or limits.optimum_high is None:
            return None
        draft.use(limits)
        low, high = limits.optimum_low, limits.optimum_high
        least, most = limits.minimum_range, limits.maximum_range
        best = (low if least is None else max(low, least.low), high if most is None else min(high, most.high))
        if best[0] <= best[1]:
            return best
        end = ("most", most) if most is not None and most.high < low else ("least", least)
        if end[1] is not None:
            printed = end[1].high if end[0] == "most" else end[1].low
            draft.say(f"Sources have it come up best at {words.warmth((low, high))}, beyond the {end[0]} that others print ({words.warmth((printed, printed))}): no best range is told.")  # fmt: skip
        return None

    def set_mat(self, mat_c: float, shared: bool) -> None:
        """The warmth of the mat that it stands on, told before any day is reckoned with it."""
        self.warmth, self._shares_mat = (mat_c, mat_c), shared
        self._by_day.clear()

    def _say_bench(self, draft: Draft) -> None:
        """How the bench stands to its best range."""
        mean, best, words = self.site.bench_mean_c, self.best, self.words
        if self._no_mat and self.site.place.mat_c is not None:
            mat = words.warmth((self.site.place.mat_c,) * 2)
            draft.say(f"Not on the heat mat: at {mat} it is {self._no_mat}.")
        if mean is None or best is None or self.warmth is None:
            return
        bench = f"bench ({words.warmth((mean, mean))} on average)"
        if self.on_mat:
            others = ", as all that share it" if self._shares_mat else ""
            draft.say(f"On the heat mat until the seedlings are up, reckoned at {words.warmth(self.warmth)}{others}: the {bench} is below its best range.")  # fmt: skip
        elif mean < best[0] - NEAR_C:
            draft.say(f"The {bench} is below its best range: slower and fewer.")
        elif mean > best[1] + NEAR_C:
            draft.say(f"The {bench} is above its best range.")

    def _say_other_days(self, draft: Draft) -> None:
        """Days to harvest that count from another day than this one's: told, for no source turns the one into the other."""
        ways = {
            "planting": "from planting out",
            "sowing": "from sowing in place",
            "unstated": "and do not say from when",
        }
        for start, told in ways.items():
            other = days_from(self.site.catalog, self.crop, start)
            if other is not None:
                own = ways["sowing" if self.in_place else "planting"]
                draft.use(other)
                draft.say(
                    f"No harvest date: its days {own} are not recorded; sources count {figures(other.low, other.high)} days {told}."
                )
                return

    def _timing(self) -> timing.Timing:
        told = timing.Told(self.draft, self.window, self.waits)
        if self.in_place and not self.autumn:
            return timing.in_place(self.crop, self.site, self._fewest_days, told)
        night, soil = ((None, ""), (None, "")) if self.in_place else self._wanted_outside()
        if self.autumn:
            return autumn_timing(self.crop, self.site, self.ready, self.in_place, night, soil, told)
        return timing.under_cover(self.crop, self.site, night, soil, told)

    def _fewest_days(self, sown: Date) -> float:
        """Fewest days to seedlings of a sowing on that day; 0 where nobody can say, for they might be up at once."""
        return (self.on(sown)[0].wait or (0.0, 0.0))[0]

    def _wanted_outside(self) -> tuple[timing.Least, timing.Least]:
        """The least warmth of nights and soil that young plants of it want, and why."""
        night, soil, sources = signals.checked_below(self.habits)
        wanted = self.raising.get("night_at_planting")
        if wanted is not None:
            night = max(night or wanted.high, wanted.high)  # the cautious end: a check costs weeks
            self.draft.use(wanted)
        limits = self.crop.germination_temperature
        why = ""
        least = limits.minimum if limits is not None else None
        if self.tender and least is not None and (soil is None or least > soil):
            soil, why = least, ", its least to germinate,"
        self.draft.sources |= sources
        if night is None and self.tender:
            self.draft.say("How warm the nights must be outside is not recorded: not reckoned in.")
        elif night is not None and self.site.nights is None:
            self.draft.say(f"Wants nights of {self.words.warmth((night, night))} or more outside; no night temperatures are given for the place: look at the forecast.")  # fmt: skip
        return (night, ""), (soil, why)

    @property
    def treatment_days(self) -> Pair:
        """Fewest and most days of chilling and soaking before sowing, as sources advise them; 0 where none."""
        spans = [
            (float(row["low_days"]), float(row["high_days"]))  # type: ignore[arg-type]
            for row in self.treatments
            if row["high_days"] is not None and row["low_days"] is not None
        ]
        return (min(low for low, _ in spans), max(high for _, high in spans)) if spans else (0.0, 0.0)

    # By the day

    def on(self, sown: Date | None) -> tuple[Days, Draft]:
        """What a sowing of that day is to expect; under cover every day is alike."""
        key = sown if self.in_place and self.site.soil is not None else None
        if key not in self._by_day:
            draft = Draft(self.words)
            self._by_day[key] = (self._reckon(key, draft), draft)
        return self._by_day[key]

    def _warmth_from(self, sown: Date | None) -> waiting.Warmth | None:
        """The mean warmth over so many days from the sowing on, °C; None where neither bench nor soil is known."""
        steady, soil = self.warmth, self.site.soil
        if steady is not None:
            return lambda days: sum(steady) / 2
        if sown is None or soil is None:
            return None
        return lambda days: float(soil.series(sown, max(1, round(days))).mean())

    def _reckon(self, sown: Date | None, draft: Draft) -> Days:
        crop, site, warmth = self.crop, self.site, self._warmth_from(sown)
        wait, last, unfit = self._wait(sown, warmth, draft)
        if not unfit:
            self._say_bench(draft)
        temp = None if warmth is None else warmth(wait[1] if wait else 14)
        in_doubt = wait is None and crop.status("days_to_emergence") == "recorded"
        give_up = None
        # A count at the prescribed warmth tells nothing of another one at which no days can be given.
        if not unfit and (last is not None or (wait is None and not in_doubt and not self._bare)):
            give_up = waiting.give_up_days(crop, site, last, self.warmth, self.treatment_days[1], draft)
        share = None if unfit else waiting.share_at(crop, temp)
        if share is None or temp is None:
            return Days(wait, give_up, None, (), in_doubt, temp, unfit)
        draft.sources.update(share[1])
        if share[0] < 0.9:
            draft.say(f"At {self.words.warmth((temp, temp))} about {100 * share[0]:.0f} % of those come up that do at its best warmth.")  # fmt: skip
        return Days(wait, give_up, *share, in_doubt, temp)

    @property
    def _bare(self) -> bool:
        """Sown in place where no soil temperatures are given."""
        return self.in_place and self.site.soil is None

    def _wait(
        self, sown: Date | None, warmth: waiting.Warmth | None, draft: Draft
    ) -> tuple[Pair | None, float | None, str]:  # fmt: skip
        """Days to the seedlings, to the last of them, and why none can be counted on, as far as each is known."""
        crop, spread, unfit = self.crop, self.site.rule("emergence_last"), ""
        wait = waiting.own_wait(crop, self.in_place, warmth, draft)
        if wait is None and not waiting.recorded_elsewhere(crop, self.in_place, warmth, draft):
            if self.warmth is not None:
                wait, unfit = waiting.bench_wait(crop, *self.warmth, draft)
            elif sown is not None:
                found = waiting.soil_wait(crop, self.site, sown, draft)
                return found.wait, found.last, "in this soil it does not come up" if found.none else ""
            elif self._bare:
                waiting.say_printed(crop, draft)
            elif not self.in_place:
                wait = waiting.plain_wait(crop, draft)
        return wait, wait[1] * spread if wait else None, unfit

    def ends(self, sow: Window) -> tuple[Days, Days]:
        """What sowings of the first and of the last day of a window are to expect."""
        return self.on(sow.first)[0], self.on(sow.last)[0]

    def seedlings(self, sow: Window) -> Window | None:
        """First seedlings of the first sowing day to the last of the last, or of the first where the last is in doubt."""
        first, last = (days.wait for days in self.ends(sow))
        if first is None:
            return None
        start = days_after(sow.first, first[0])
        end = days_after(sow.last, last[1]) if last is not None else days_after(sow.first, first[1])
        return Window(start, max(start, end))

    def in_part(self, sow: Window) -> Draft:
        """From which day of a window on nothing is known of seedlings, or of giving up, though it is of the first day; why."""
        draft, said, end = Draft(self.words), self.on(sow.first)[1].notes, sow.last
        for lacks in (_no_wait, _no_giving_up):
            day = end
            while day >= sow.first and lacks(self.on(day)[0]):
                day = days_after(day, -1)
            if day == end or day < sow.first:  # of none, or told of the first day already
                continue
            first = days_after(day, 1)
            when = f"from {self.words.day(first)} on" if end == sow.last else self.words.span(first, end)
            why = " ".join(note for note in self.on(first)[1].notes if note not in said)
            if lacks is _no_wait and self.ready is not None:
                why += " So no harvest is given for this window."
            draft.say(f"Sown {when}: {why[:1].lower()}{why[1:]}")
            end = day
        return draft

    def outside(self, out: Date) -> Draft:
        """What to say of plants that stand outside from that day on: their own frost and cold."""
        if out not in self._outside:
            draft = Draft(self.words)
            if not self.autumn:
                self._frost_notes(out, draft)
                signals.say_cold(self.crop, self.habits, self.site, out, draft)
            self._outside[out] = draft
        return self._outside[out]

    def _frost_notes(self, out: Date, draft: Draft) -> None:
        damage, site = self.crop.frost_damage, self.site
        if damage is None:
            return
        if site.frost_left(out) > site.risk + 0.005 and not self.tender:
            draft.use(damage)
            draft.say(_damage_words(damage, self.words))
        chances = site.damage_chance((damage.low, damage.high), out)
        if chances is not None:
            colder = abs(site.colder_c or 0.0)
            draft.use(damage)
            draft.say(
                f"In the record its own damage temperature came after {self.words.day(out)} in {100 * chances[0]:.0f} % of years (the greatest "
                f"cold that sources name) to {100 * chances[1]:.0f} % (the least, and plants {_degrees(colder, self.words)} colder than the screen)."
            )


def _no_wait(days: Days) -> bool:
    return days.wait is None


def _no_giving_up(days: Days) -> bool:
    return days.wait is not None and days.give_up is None


def _degrees(difference_c: float, words: Words) -> str:
    """A difference of temperatures."""
    return f"{difference_c * 9 / 5:.0f} °F" if words.units == "imperial" else f"{difference_c:g} °C"


def _damage_words(damage: object, words: Words) -> str:
    """What sources say of frost on a crop that is not tender, from where to where."""
    low, high = float(damage.low), float(damage.high)  # type: ignore[attr-defined]
    mild, severe = words.warmth((high, high)), words.warmth((low, low))
    if damage.open_low:  # type: ignore[attr-defined]
        return f"Stands light frost: sources report damage below about {mild}."
    if damage.agreement == "disagree" and mild != severe:  # type: ignore[attr-defined]
        return (
            f"Sources disagree how much frost harms it: they report damage at anything from about {mild} to {severe}."
        )
    stands = "Stands light frost: sources" if high <= -1 else "Sources"
    return f"{stands} report damage from about {mild} down{f' to {severe}' if mild != severe else ''}."


def _pair(value: object, draft: Draft) -> Pair | None:
    if value is None:
        return None
    draft.use(value)
    return float(value.low), float(value.high)  # type: ignore[attr-defined]


def _light(rows: tuple[Evidence, ...], draft: Draft) -> str | None:
    """ "light", "dark" or "indifferent", or those that sources name, joined by "or"; None where not recorded."""
    needs = sorted({str(row["need"]) for row in rows if row["need"]})
    draft.sources.update(str(row["source_id"]) for row in rows)
    return " or ".join(needs) or None
