"""How short a blow on a stone is, and the steps it takes to hold its peak."""

from __future__ import annotations

from sim.laws.contact import blow_rate
from sim.unit import Rock, Unit

SHARE = 0.47  # longest step times the rate of the blow: its peak, read between steps, is then held to 2 % (measured)
STEEP = 0.5  # slope at which a disc runs up a stone (assumed)


def struck_mass(unit: Unit) -> float:
    """Mass that a blow on the disc has to move [kg]: what hangs on the main links, as it moves up and down.

    Carrier, bell crank, turnbuckle and gauge arm whole; links and rod, pinned at the front, by a third; the press arm
    by what it weighs at its pivot, m·I/(I + m·c²). The arm at its nominal angle, depth linkage a parallelogram.
    """
    links, linkage, press = unit.main_links, unit.depth_linkage, unit.press_wheel
    turning = press.arm_inertia + press.arm_mass * press.arm_centre**2
    whole = unit.carrier.mass + linkage.bell_mass + linkage.turnbuckle_mass + unit.gauge_wheel.arm_mass
    return whole + (2.0 * links.mass + linkage.rod_mass) / 3.0 + press.arm_mass * press.arm_inertia / turning


def longest_step(unit: Unit, rock: Rock, speed: float) -> float:
    """Longest step [s] that holds the peak of a blow at a speed [m/s] to 2 %.

    The contact swings at √(k(1 + d·v/2)/m): its damping makes it steeper by what the disc is pushed up.
    """
    return SHARE / blow_rate(rock.stiffness, rock.damping, STEEP * speed, struck_mass(unit))


def step_warning(unit: Unit, rock: Rock, speed: float, step: float) -> str:
    """What to say of peaks on stones at a step [s]; empty where it holds them."""
    longest = longest_step(unit, rock, speed)
    if step <= longest:
        return ""
    return (
        f"a blow on a stone is too short for steps of {step * 1e3:.2g} ms at a contact stiffness of "
        f"{rock.stiffness / 1e6:g} MN/m: peaks of disc and pins on stones may be more than 2 % too low; take steps of "
        f"{longest * 1e3:.2g} ms or less"
    )
