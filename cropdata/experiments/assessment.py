"""What a germination test of a crop has shown: the record that `assessing` fills and `telling` puts into words."""

from __future__ import annotations

from typing import NamedTuple

from cropdata.agronomy.lots import LotEstimate
from cropdata.experiments.germination import Replicates

# Kansas State University (Upham): about 75 % is good seed; as low as 50 % is used at twice the rate.
GOOD, USABLE = 0.75, 0.50
ADVICE_SOURCE = "ksu_upham"
# Where the lot may be as poor as this, sowing thicker is a guess: half of usable, the project's own choice.
DOUBTFUL = 0.25
FEW = 20  # seeds; the home tests that public bodies print use 6 to 25


class SeedsEnough(NamedTuple):
    """How many seeds a test needs for an exact 95 % interval no wider than `width` (0.2: twenty points): where as many
    germinate as in this test, and where half do, which takes the most.
    """

    width: float
    at_this_rate: int
    at_half: int


class Assessment(NamedTuple):
    """A test and what follows from it.

    `finished` is None where the day of the count is not known or no final count is prescribed; `wait_days` the days
    still to wait; `chance_above_minimum` counts hard seed in, as 7 CFR 201.31 does; `per_cell` seeds a cell for 95 %
    of the cells filled; `times_as_thick` against seed of 90 %; `action` one of "sow normally", "sow thicker",
    "get new seed", "wait", "ask first", "test more"; `sentences` the same in words.
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
    chance_above_minimum: float | None
    day: int | None
    first_count_days: float | None
    final_count_days: float | None
    finished: bool | None
    wait_days: int | None
    counted: str
    temp_c: float | None
    best_temp_c: tuple[float, float] | None
    age_years: float | None
    replicates: Replicates | None
    seeds_enough: SeedsEnough
    per_cell: int | None
    times_as_thick: float | None
    action: str
    sentences: tuple[str, ...]
    sources: tuple[str, ...]

    @property
    def outside_best(self) -> bool:
        """Whether the test stood more than half a degree outside the crop's best range."""
        if self.temp_c is None or self.best_temp_c is None:
            return False
        return not self.best_temp_c[0] - 0.5 <= self.temp_c <= self.best_temp_c[1] + 0.5

    @property
    def hard_could_save(self) -> bool:
        """Whether the lot would be usable if its hard seed came, and is not without it."""
        return self.rate < USABLE <= (self.germinated + self.hard) / self.sown
