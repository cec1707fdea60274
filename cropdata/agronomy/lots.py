"""How well a seed lot germinates: what its age leads one to expect, a test, and the two joined.

Prior: a mixture of two Beta distributions, because lots are fine or they have been cooked (left hot or damp). It
weighs at most as eight seeds, so that a test of ten already outweighs it. Both parts are updated in closed form
(beta-binomial). Shares and weights are the project's own assumption, stated here; the centre of the fine part comes
from `viability.life_band`.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from cropdata.agronomy.viability import life_band
from cropdata.errors import InputError

WEIGHT_FINE, WEIGHT_COOKED = 8.0, 4.0
CENTRE_COOKED = 0.15
SHARE_COOKED = (0.05, 0.5)  # of a fresh lot; of one at twice its printed life


class Prior(NamedTuple):
    """A mixture of Beta distributions: shares, and the two parameters of each part."""

    share: tuple[float, ...]
    alpha: tuple[float, ...]
    beta: tuple[float, ...]

    @property
    def mean(self) -> float:
        """Expected rate."""
        return float(sum(s * a / (a + b) for s, a, b in zip(self.share, self.alpha, self.beta, strict=True)))

    def chance_above(self, rate: float) -> float:
        """Chance that the rate is above `rate`."""
        from scipy.special import betainc

        return float(
            sum(s * (1 - betainc(a, b, rate)) for s, a, b in zip(self.share, self.alpha, self.beta, strict=True))
        )

    def interval(self, level: float = 0.9) -> tuple[float, float]:
        """Central interval of the rate."""
        from scipy.optimize import brentq

        def at(tail: float) -> float:
            return float(brentq(lambda rate: self.chance_above(rate) - tail, 0.0, 1.0, xtol=1e-10))

        return at((1 + level) / 2), at((1 - level) / 2)


class LotEstimate(NamedTuple):
    """A lot's germination: expected by age, by the test alone, and joined; `agree` is False where the test lies in
    the outer 5 % of what the age leads one to expect: then `mean`, `low` and `high` are the test's alone.
    """

    prior_mean: float | None
    test_low: float | None
    test_high: float | None
    mean: float
    low: float
    high: float
    chance_above_minimum: float | None
    agree: bool | None
    posterior: Prior


def prior_from_age(age_years: float, life_low: float, life_high: float, start_percent: float = 95.0) -> Prior:
    """What age and a printed storage life lead one to expect of an untested lot."""
    low, high = (float(value) / 100 for value in life_band(age_years, life_low, life_high, start_percent))
    centre = min(max((low + high) / 2, 0.02), 0.98)
    weight = WEIGHT_FINE * min(1.0, 1.0 - (high - low) / 2)  # a wide band makes a weaker prior
    worn = min(age_years / (life_low + life_high), 1.0)
    cooked = SHARE_COOKED[0] + (SHARE_COOKED[1] - SHARE_COOKED[0]) * worn
    return Prior(
        (1 - cooked, cooked),
        (centre * weight, CENTRE_COOKED * WEIGHT_COOKED),
        ((1 - centre) * weight, (1 - CENTRE_COOKED) * WEIGHT_COOKED),
    )


def _log_marginal(germinated: int, sown: int, alpha: float, beta: float) -> float:
    from scipy.special import betaln

    return float(betaln(germinated + alpha, sown - germinated + beta) - betaln(alpha, beta))


def updated(prior: Prior, germinated: int, sown: int) -> Prior:
    """The prior after a test of `germinated` of `sown` seeds, in closed form."""
    if not 0 <= germinated <= sown < math.inf or sown < 1 or germinated % 1 or sown % 1:
        raise InputError(
            "a test is germinated of sown seeds", found=(germinated, sown),
            allowed="whole numbers, 0 <= germinated <= sown, sown >= 1",
        )  # fmt: skip
    logs = np.array([
        np.log(s) + _log_marginal(germinated, sown, a, b) for s, a, b in zip(prior.share, prior.alpha, prior.beta, strict=True)
    ])  # fmt: skip
    share = np.exp(logs - logs.max())
    share /= share.sum()
    return Prior(
        tuple(share.tolist()),
        tuple(a + germinated for a in prior.alpha),
        tuple(b + sown - germinated for b in prior.beta),
    )


def surprise(prior: Prior, germinated: int, sown: int) -> float:
    """Smaller tail chance of a test result under the prior: how odd the test is for its age."""
    from scipy.stats import betabinom

    below = above = 0.0
    for share, a, b in zip(prior.share, prior.alpha, prior.beta, strict=True):
        below += share * float(betabinom.cdf(germinated, sown, a, b))
        above += share * float(betabinom.sf(germinated - 1, sown, a, b))
    return min(below, above)


def lot_estimate(
    *, age_years: float | None = None, life: tuple[float, float] | None = None, test: tuple[int, int] | None = None,
    minimum_percent: float | None = None, level: float = 0.9,
) -> LotEstimate:  # fmt: skip
    """Join what age and life say with a test (germinated, sown), either of which may be missing.

    `minimum_percent` is the legal minimum: the answer gives the chance of being above it. That is not a legal
    test, which takes 400 seeds under prescribed conditions. Raises InputError when there is neither, for an age that is
    no number, a test that is no count, and a level or minimum out of range.
    """
    if age_years is not None and not 0 <= age_years < math.inf:
        raise InputError(f"an age of {age_years} years", found=age_years, allowed="0 or more")
    if not 0 < level < 1:
        raise InputError("a level lies between 0 and 1", found=level, hint="write 0.9 for 90 %")
    if minimum_percent is not None and not 0 <= minimum_percent <= 100:
        raise InputError("a legal minimum is a percentage", found=minimum_percent, allowed="0 to 100")
    if test is not None and len(test) != 2:
        raise InputError("a test is (germinated, sown)", found=test)
    prior = prior_from_age(age_years, *life) if age_years is not None and life is not None else None
    if prior is None and test is None:
        raise InputError("neither an age with a storage life nor a test is given")
    flat = Prior((1.0,), (0.5,), (0.5,))
    alone = updated(flat, *test) if test else None
    joined = updated(prior, *test) if prior and test else prior or alone
    assert joined is not None
    agree = surprise(prior, *test) >= 0.025 if prior and test else None
    if agree is False and alone is not None:
        joined = alone
    low, high = joined.interval(level)
    test_low, test_high = alone.interval(level) if alone else (None, None)
    above = None if minimum_percent is None else joined.chance_above(minimum_percent / 100)
    return LotEstimate(prior.mean if prior else None, test_low, test_high, joined.mean, low, high, above, agree, joined)
