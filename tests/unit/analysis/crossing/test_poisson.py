import math

import pytest
from every import every

from analysis.crossing.poisson import interval, least_exposure, rate

# Chi-square quantiles: NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.4 (critical values);
# values from memory. Degrees of freedom → value.
UPPER_0025 = {2: 7.378, 4: 11.143, 6: 14.449, 12: 23.337, 22: 36.781, 42: 61.777, 62: 85.654, 100: 129.561}
LOWER_0025 = {2: 0.051, 4: 0.484, 10: 3.247, 20: 9.591, 40: 24.433, 60: 40.482, 100: 74.222}

# Two-sided 95 % limits for a Poisson count: Pearson & Hartley, Biometrika Tables for Statisticians, vol. 1, table 40;
# values from memory.
LIMITS_95 = {
    0: (0.0, 3.69),
    1: (0.0253, 5.57),
    2: (0.242, 7.22),
    5: (1.62, 11.67),
    10: (4.80, 18.39),
    30: (20.24, 42.83),
}


@every(("freedom", "value"), UPPER_0025.items())
def test_upper_end_is_half_the_chi_square_quantile_with_two_more_degrees(freedom, value):
    assert interval(freedom // 2 - 1)[1] == pytest.approx(value / 2, abs=4e-4)


@every(("freedom", "value"), LOWER_0025.items())
def test_lower_end_is_half_the_chi_square_quantile(freedom, value):
    assert interval(freedom // 2)[0] == pytest.approx(value / 2, abs=4e-4)


@every(("count", "ends"), LIMITS_95.items())
def test_published_limits_of_a_count(count, ends):
    assert interval(count) == pytest.approx(ends, abs=6e-3)


@every("count", [1, 4, 17])
@every("level", [0.9, 0.99])
def test_ends_leave_half_the_rest_in_each_tail(count, level):
    def below(mean, k):  # P(X ≤ k)
        return sum(math.exp(-mean) * mean**n / math.factorial(n) for n in range(k + 1))

    low, high = interval(count, level)
    assert 1.0 - below(low, count - 1) == pytest.approx((1.0 - level) / 2, rel=1e-9)
    assert below(high, count) == pytest.approx((1.0 - level) / 2, rel=1e-9)


def test_rate_is_per_exposure():
    found = rate(6, 0.3)
    assert (found.events, found.per) == (6, pytest.approx(20.0))
    assert (found.low * 0.3, found.high * 0.3) == pytest.approx(interval(6))


def test_least_exposure_is_where_a_count_of_zero_just_shows_the_limit():
    length = least_exposure(5.0)
    assert rate(0, length).high == pytest.approx(5.0)
    assert rate(0, 0.99 * length).high > 5.0


@every("wrong", [(-1, 0.95), (3, 0.0), (3, 1.0)])
def test_interval_refuses_what_is_no_count_or_level(wrong):
    with pytest.raises(ValueError, match="given"):
        interval(*wrong)


def test_rate_refuses_no_exposure():
    with pytest.raises(ValueError, match="above zero"):
        rate(1, 0.0)
