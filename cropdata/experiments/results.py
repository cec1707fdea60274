"""What a comparison of methods found: plain records."""

from __future__ import annotations

from typing import NamedTuple

import pandas as pd

from cropdata.experiments.permutation import Labels
from cropdata.experiments.waiting import Curve, Floats

SEED_BY_SEED = ("curve", "left", "right", "trays")


class MethodResult(NamedTuple):
    """One method: seeds, trays, share emerged with its exact interval, median day over all sown with its interval.

    The interval of the share is exact if trays are alike; seeds of trays that differ scatter more (METHODS.md has by how
    much). `median_days` is None where fewer than half emerged; `median_high` may be `inf`. `left` and `right` are the
    looks between which each seed came, in days, and `trays` the number of its tray.
    """

    method: str
    units: int
    sown: int
    emerged: int
    destroyed: int
    share: float
    share_low: float
    share_high: float
    median_days: float | None
    median_low: float
    median_high: float
    mean_score: float | None
    curve: Curve
    left: Floats
    right: Floats
    trays: Labels


class Pair(NamedTuple):
    """Two methods: difference of the medians in days (second less first), their ratio, and p before and after Holm.

    `ahead` is the method that came sooner or more by the mean score that is tested (None: alike); medians can point the
    other way where fewer came. `score_p` is about health. `detectable_days` as in `Comparison`, for these two.
    """

    first: str
    second: str
    difference_days: float | None
    ratio: float | None
    difference_share: float
    p_value: float
    p_corrected: float
    score_p: float | None
    score_p_corrected: float | None
    ahead: str | None
    detectable_days: float


class Comparison(NamedTuple):
    """What a trial showed, and what it could show; see `cropdata.experiments.trial`.

    `permuted` is what was dealt, `in_rounds` whether within rounds. `detectable_days` is the difference found in four trials of five in every pair that can be settled at all; `inf` if
    none can. `seeds_needed` (dealt one by one) and `units_needed` (trays with `seeds_a_unit` seeds of a method) are
    whole numbers, or `inf` for more than 1000. `lowest_p` is the smallest p, after correction, that any pair could
    have reached, however the days fell.
    """

    methods: tuple[MethodResult, ...]
    p_value: float
    exact: bool
    permuted: str
    in_rounds: bool
    pairs: tuple[Pair, ...]
    detectable_days: float
    seeds_needed: float
    units_needed: float
    seeds_a_unit: int
    target_days: float
    confounded: tuple[str, ...]
    warnings: tuple[str, ...]
    verdict: str
    lowest_p: float

    def table(self) -> pd.DataFrame:
        """The methods as a frame, one row each."""
        return pd.DataFrame(
            [
                {name: value for name, value in item._asdict().items() if name not in SEED_BY_SEED}
                for item in self.methods
            ]
        )
