"""What a comparison of methods found: plain records."""

from __future__ import annotations

from typing import NamedTuple

import pandas as pd

from cropdata.experiments.waiting import Curve, Floats


class MethodResult(NamedTuple):
    """One method: seeds, trays, share emerged with its exact interval, median day over all sown with its interval.

    `median_days` is None where fewer than half emerged; `median_high` may be `inf`. `left` and `right` are the looks
    between which each seed came, in days.
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


class Pair(NamedTuple):
    """Two methods: difference of the medians in days (second less first), their ratio, and p before and after Holm."""

    first: str
    second: str
    difference_days: float | None
    ratio: float | None
    difference_share: float
    p_value: float
    p_corrected: float
    score_p: float | None


class Comparison(NamedTuple):
    """What a trial showed, and what it could show; see `cropdata.experiments.trial`.

    `lowest_p` is the smallest p, after correction, that any pair could have reached, however the days fell.
    """

    methods: tuple[MethodResult, ...]
    p_value: float
    exact: bool
    permuted: str
    pairs: tuple[Pair, ...]
    detectable_days: float
    seeds_needed: int
    units_needed: int
    target_days: float
    confounded: tuple[str, ...]
    warnings: tuple[str, ...]
    verdict: str
    lowest_p: float

    def table(self) -> pd.DataFrame:
        """The methods as a frame, one row each."""
        return pd.DataFrame(
            [
                {name: value for name, value in item._asdict().items() if name not in ("curve", "left", "right")}
                for item in self.methods
            ]
        )
