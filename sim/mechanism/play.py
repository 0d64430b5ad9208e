"""Lost motion in worn pins: how far and how fast it lets the gauge wheel up against the disc.

A pin that pushes its second part with F lies at the far side of its bush: the second part stands −(c/2)·F/|F| off the
place that it has without wear, c the bore less the pin. By virtual work that lifts the wheel over the disc by
(c/2) f·F/|F|, f the force that a newton up on the wheel and a newton down on the disc give that pin. Three lines carry
such forces, and on each the play of its pins adds up:

- the depth linkage, with the gauge arm's pivot: all its pins turn with the force of the turnbuckle, pushed while the
  wheel carries, pulled while the arm hangs on it;
- the upper and the lower main link, pulled or pushed along their line: what lies across it only moves the arm angle.

On each line the wheel is let up by between −half and +half. There it is held as long as the load keeps its sign. When
that turns, the part that is loose is moved across by the load on the line, as a mass on the wheel, and stops at the
other end without a rebound: no jump of place, and a slow turn ends exactly at the other end. Whatever the force on the
wheel does meanwhile is booked as a loss of its own (`Sums.play`). What moves has no inertia besides in this model, and
neither the force of the knock nor a carrier that leans on its pins is in it.

Everything here is None for a unit without play: the compiler then leaves nothing of it.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from sim.arithmetic.compiled import part
from sim.arithmetic.simd import WIDTH, lane, largest, load, magnitude, put, select

LINES = ("depth_linkage", "upper_link", "lower_link")  # in the order of `Play`


class Slack(NamedTuple):
    """One line of pins; heights are the gauge wheel's against the disc."""

    half: Any  # it lets the wheel up by −half … half [m]
    softness: Any  # 1/(mass on the wheel that moves while it is crossed) [1/kg]
    share: Any  # load on the wheel per force along the line [1]
    at: Any  # where the wheel is in it [m]
    rate: Any  # [m/s]
    side: Any  # −1 or 1: the end that was reached last
    count: Any  # how often the other end was reached
    fastest: Any  # at what speed at most [m/s]
    loose: Any  # steps at whose end the line did not hold the wheel up
    push: Any  # acceleration under the load at the start of the step before, 0 where it lay at an end [m/s²]


class Play(NamedTuple):
    """All lost motion of a unit."""

    linkage: Slack
    upper: Slack
    lower: Slack


N_SLACK = len(Slack._fields)
N_PLAY = N_SLACK * len(LINES)  # numbers that one row carries


class Shift(NamedTuple):
    """How the wheel is let up over one step: height and rate at its start and at its end [m, m/s]."""

    low: Any
    low_rate: Any
    high: Any
    high_rate: Any


class Lift(NamedTuple):
    """How far the wheel is let up against the disc at one instant, and how fast [m, m/s]."""

    height: Any
    rate: Any


@part
def lifted(height, lift):
    """A height of the gauge wheel [m] with what the play lets it up."""
    if lift is None:
        return height
    return height + lift.height


@part
def rising(rate, lift):
    """A vertical velocity of the gauge wheel [m/s] with that of the play."""
    if lift is None:
        return rate
    return rate + lift.rate


@part
def _slack(numbers, first, stride, j):
    return Slack(
        numbers[first * stride + j], numbers[(first + 1) * stride + j], numbers[(first + 2) * stride + j],
        numbers[(first + 3) * stride + j], numbers[(first + 4) * stride + j], numbers[(first + 5) * stride + j],
        numbers[(first + 6) * stride + j], numbers[(first + 7) * stride + j], numbers[(first + 8) * stride + j],
        numbers[(first + 9) * stride + j],
    )  # fmt: skip


@part
def play_of(numbers, stride, j):
    """Play of one row from a flat array (N_PLAY, stride): row j; None without wear."""
    if numbers is None:
        return None
    return Play(
        _slack(numbers, 0, stride, j), _slack(numbers, N_SLACK, stride, j), _slack(numbers, 2 * N_SLACK, stride, j)
    )


@part
def _slacks(numbers, first):
    at = first * WIDTH
    return Slack(
        load(numbers, at), load(numbers, at + WIDTH), load(numbers, at + 2 * WIDTH), load(numbers, at + 3 * WIDTH),
        load(numbers, at + 4 * WIDTH), load(numbers, at + 5 * WIDTH), load(numbers, at + 6 * WIDTH),
        load(numbers, at + 7 * WIDTH), load(numbers, at + 8 * WIDTH), load(numbers, at + 9 * WIDTH),
    )  # fmt: skip


@part
def plays_of(numbers):
    """Play of eight rows from a flat array (N_PLAY, 8), as Lanes; None without wear."""
    if numbers is None:
        return None
    return Play(_slacks(numbers, 0), _slacks(numbers, N_SLACK), _slacks(numbers, 2 * N_SLACK))


@part
def _keep_row(numbers, first, s):
    numbers[first + 3], numbers[first + 4], numbers[first + 5] = s.at, s.rate, s.side
    numbers[first + 6], numbers[first + 7], numbers[first + 8], numbers[first + 9] = s.count, s.fastest, s.loose, s.push


@part
def keep_row(numbers, play):
    """Write one row's play back to its array (N_PLAY,)."""
    if numbers is not None:
        _keep_row(numbers, 0, play.linkage)
        _keep_row(numbers, N_SLACK, play.upper)
        _keep_row(numbers, 2 * N_SLACK, play.lower)


@part
def _keep_rows(numbers, first, s):
    put(numbers, (first + 3) * WIDTH, (s.at, s.rate, s.side, s.count, s.fastest, s.loose, s.push))


@part
def keep_rows(numbers, play):
    """Write eight rows' play back to their array (N_PLAY, 8) given flat."""
    if numbers is not None:
        _keep_rows(numbers, 0, play.linkage)
        _keep_rows(numbers, N_SLACK, play.upper)
        _keep_rows(numbers, 2 * N_SLACK, play.lower)


@part
def shift_from(play):
    """The Shift of a step that begins with this play and of which no more is known."""
    if play is None:
        return None
    height = play.linkage.at + play.upper.at + play.lower.at
    rate = play.linkage.rate + play.upper.rate + play.lower.rate
    return Shift(height, rate, height, rate)


@part
def shift_to(before, after):
    """The Shift of a step from its play at the start and at the end."""
    if before is None:
        return None
    first, last = shift_from(before), shift_from(after)
    return Shift(first.low, first.low_rate, last.low, last.low_rate)


@part
def row_shift(shift, j):
    """Row j of a Shift of Lanes."""
    if shift is None:
        return None
    return Shift(lane(shift.low, j), lane(shift.low_rate, j), lane(shift.high, j), lane(shift.high_rate, j))


@part
def lift_at(shift, share, step):
    """Lift at a share of the step [s]: the cubic through both ends and their rates."""
    if shift is None:
        return None
    t, r = share, 1.0 - share
    height = (
        r * r * (1.0 + 2.0 * t) * shift.low
        + t * t * (3.0 - 2.0 * t) * shift.high
        + step * t * r * (r * shift.low_rate - t * shift.high_rate)
    )
    rate = (
        6.0 * t * r * ((shift.high - shift.low) * (1.0 / step))
        + r * (1.0 - 3.0 * t) * shift.low_rate
        + t * (3.0 * t - 2.0) * shift.high_rate
    )
    return Lift(height, rate)


@part
def _crossed(s, along, step):
    """One line after a step under a force along it [N]."""
    push = along * s.share * s.softness
    more = select(s.push != 0.0, push - s.push, 0.0)  # as it grew over the step before
    rate = s.rate + step * (push + 0.5 * more)
    ahead = s.at + step * (s.rate + step * (0.5 * push + (1.0 / 6.0) * more))
    end = select(ahead > 0.0, 1.0, -1.0)
    stopped = magnitude(ahead) > s.half
    other = stopped & (end * s.side < 0.0)
    at = select(stopped, end * s.half, ahead)
    return Slack(
        s.half, s.softness, s.share, at, select(stopped, 0.0, rate), select(other, end, s.side),
        s.count + select(other, 1.0, 0.0), largest(s.fastest, select(other, magnitude(rate), 0.0)),
        s.loose + select(at < s.half, 1.0, 0.0), select(stopped, 0.0, push),
    )  # fmt: skip


@part
def forces_along(m, k, p):
    """Forces along turnbuckle, upper and lower link [N], pushed positive; m Model, k Links, p Pins."""
    buckle = (p.tr_x * k.tx + p.tr_z * k.tz) * (1.0 / m.buckle_l)
    # the links' direction toolbar → carrier is (−cos θ, sin θ)
    return buckle, p.ur_z * k.sin - p.ur_x * k.cos, p.lr_z * k.sin - p.lr_x * k.cos


@part
def crossed(play, m, k, p, step):
    """Play at the end of a step [s] from the pin forces p at its start; m Model, k Links. None without wear."""
    if play is None:
        return None
    buckle, upper, lower = forces_along(m, k, p)
    return Play(
        _crossed(play.linkage, buckle, step), _crossed(play.upper, upper, step), _crossed(play.lower, lower, step)
    )
