"""Lengths for an FFT as scipy gives them."""

from __future__ import annotations

from scipy.fft import next_fast_len

from scenarios.ground.synthesis import smooth_length


def test_lengths_are_the_next_even_ones_without_large_primes():
    for least in (*range(1, 3000), *range(10_000, 10_000_000, 99_991)):
        assert smooth_length(least) == 2 * next_fast_len((least + 1) // 2, real=True), least
