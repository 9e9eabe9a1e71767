"""An alternator through a drive: the voltage it holds, how much it can give, and how warm it gets.

Three kinds. A fixed one holds one voltage. A compensating one holds less as it warms itself. A smart one, run by the
engine's computer, holds its high voltage for some minutes after the start, while the starter battery is low, and while
the vehicle rolls downhill or brakes (overrun); else it rests at a low one. Between the batteries and the voltage stands
the assumption alternator_resistance.

What a smart one also does is not here: many go up for lamps, wipers, heating or in cold, and each maker has rules of
its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from calc.tables import assumption, table

FIXED, COMPENSATING, SMART = "fixed", "compensating", "smart"
"""The kinds, as a set-up names them."""

RATED_AT = 23.0
"""Air at which the rated output is measured, ISO 8854, from memory [degC]."""

IDLE_SPEED, ROAD_SPEED = 1300.0, 2500.0
"""Speeds of the table of heat that stand for idling and for driving [-]."""

LEAST_SHARE = 0.3
"""Heat never takes an alternator's output below this share of its cold one; a guard, not a finding [-]."""


@dataclass(frozen=True, slots=True)
class Alternator:
    """An alternator as the trip uses it: made once, asked often. `alternator` makes one from what is known.

    Attributes
    ----------
    kind : "fixed", "compensating" or "smart" [-]
    base : what it holds warm, in drive; of a smart one its high voltage [V]
    rests : what a smart one falls to [V]
    falls : volts that a compensating one loses for each degree of its own [-]
    read_at : its own temperature at which the base holds [degC]
    rated : most it gives cold, in drive [A]
    idle : most it gives cold, at idle [A]
    hot_rated, hot_idle : the same with the alternator as warm as in mild air [A]
    rise : how far it warms above the air in the end [degC]
    warming : time in which 63 % of that is done [h]
    full_above, low_below : charge of the starter battery above which a smart one rests, and below which it rises [%]
    first : how long a smart one stays high after the start [h]
    """

    kind: str
    base: float
    rests: float
    falls: float
    read_at: float
    rated: float
    idle: float
    hot_rated: float
    hot_idle: float
    rise: float
    warming: float
    full_above: float
    low_below: float
    first: float

    def voltage(self, temperature: float, up: bool) -> float:
        """Return the voltage it holds at no current.

        Parameters
        ----------
        temperature : its own [degC]
        up : whether a smart one is up, by `up`; no matter for the others [-]

        Returns
        -------
        voltage : behind its resistance [V]
        """
        if self.kind == COMPENSATING:
            return compensated(self.base, temperature, self.falls, self.read_at)
        return self.rests if self.kind == SMART and not up else self.base

    def limit(self, temperature: float, idling: float) -> float:
        """Return the most it gives, the mean over driving and idling.

        Parameters
        ----------
        temperature : its own [degC]
        idling : share of the time that the engine idles, 0 to 1 [-]

        Returns
        -------
        current : into batteries and vehicle together [A]
        """
        warm = (temperature - RATED_AT) / self.rise
        if 0.0 <= warm <= 1.0:  # neither end of `output` counts, and all is straight
            cold = self.rated + idling * (self.idle - self.rated)
            return cold + warm * (self.hot_rated + idling * (self.hot_idle - self.hot_rated) - cold)
        fast = output(self.rated, self.hot_rated, warm)
        return fast + idling * (output(self.idle, self.hot_idle, warm) - fast) if idling else fast

    def warmed(self, before: float, hours: float, air: float, running: bool) -> float:
        """Return its own temperature after a time with the engine running or off: T = Te + (T0 − Te)·exp(−t/warming).

        Parameters
        ----------
        before : its temperature at first [degC]
        hours : since then [h]
        air : around it, the same all the time [degC]
        running : whether the engine does [-]

        Returns
        -------
        temperature : of the alternator [degC]
        """
        end = air + self.rise if running else air
        return end + (before - end) * math.exp(-hours / self.warming)

    def up(self, high: bool, lifted: bool) -> bool:
        """Return whether it holds its high voltage: only a smart one ever does not.

        Parameters
        ----------
        high : whether the starter battery's charge asks for it; at each start it does, then `margin` turns it over [-]
        lifted : whether it is in one of the spells of `lifted` [-]

        Returns
        -------
        up : what `voltage` wants to know [-]
        """
        return high or lifted or self.kind != SMART

    def lifted(self, hours: float, share: float, every: float) -> list[tuple[float, float]]:
        """Return the spells of a drive in which a smart one is up, whatever the starter battery's charge.

        Parameters
        ----------
        hours : that the engine runs [h]
        share : of the time on overrun, 0 to 1 [-]
        every : length of a round, by `overrun`, above 0 [h]

        Returns
        -------
        spells : first and last, from the start of the engine, rising and apart; none for other kinds [h]
        """
        if self.kind != SMART:
            return []
        start = (0.0, min(hours, self.first))
        return [start, *((max(a, start[1]), b) for a, b in overrun(hours, share, every) if b > start[1])]

    def margin(self, high: bool, charge: float) -> float:
        """Return a number that rises through nought where the starter battery's charge turns a smart one over.

        From high once the battery is full, and back once it is low.

        Parameters
        ----------
        high : whether the charge asks for the high voltage till now [-]
        charge : of the starter battery [%]

        Returns
        -------
        margin : 0 or more where that turns over; below 0 for other kinds than smart [%]
        """
        if self.kind != SMART:
            return -1.0
        return charge - self.full_above if high else self.low_below - charge


def alternator(kind: str, base: float, rated: float, idle: float) -> Alternator:
    """Return an alternator of which the rest is as usual.

    Parameters
    ----------
    kind : "fixed", "compensating" or "smart" [-]
    base : what it holds warm, in drive; of a smart one its high voltage [V]
    rated : most it gives cold, in drive [A]
    idle : most it gives cold, at idle [A]

    Returns
    -------
    alternator : with the usual heat and the usual rules of a smart one [-]

    Examples
    --------
    >>> made = alternator("smart", 14.4, 120, 40)
    >>> made.voltage(60, True), made.voltage(60, False), round(made.limit(93, 0), 1)
    (14.4, 12.5, 98.4)
    >>> round(made.warmed(20, 0.25, 20, True) - 20 - 0.632 * made.rise, 1)
    0.0
    >>> made.margin(True, 80) < 0 < made.margin(True, 95), made.margin(False, 80) < 0
    (True, True)
    >>> [(round(first, 2), round(last, 2)) for first, last in made.lifted(0.6, 0.2, 0.25)]
    [(0.0, 0.17), (0.2, 0.25), (0.45, 0.5)]
    """
    usual = {
        name: assumption(key)["value"]
        for name, key in (
            ("rests", "smart_alternator_rests"),
            ("falls", "alternator_falls"),
            ("read_at", "alternator_read_at"),
            ("rise", "alternator_rise"),
            ("warming", "alternator_warming"),
            ("full_above", "smart_full_above"),
            ("low_below", "smart_low_below"),
            ("first", "smart_first"),
        )
    }
    hot = {"hot_rated": rated * hot_share(ROAD_SPEED), "hot_idle": idle * hot_share(IDLE_SPEED)}
    return Alternator(kind=kind, base=base, rated=rated, idle=idle, **hot, **usual)


@cache
def hot_share(speed: float) -> float:
    """Return which share of its cold output an alternator still gives hot, as a marine engine manual prints it.

    Parameters
    ----------
    speed : a speed of the table that has both, 1300 or 2500 turns a minute [-]

    Returns
    -------
    share : hot by cold [-]

    Examples
    --------
    >>> round(hot_share(1300), 2), round(hot_share(2500), 2)
    (0.67, 0.82)
    """
    row = table("alternator_heat").row(speed=speed)
    return row["hot"] / row["cold"]


def compensated(base: float, temperature: float, falls: float, read_at: float) -> float:
    """Return the voltage of a regulator that lowers it with the alternator's own temperature: U = U0 − k·(T − T0).

    Parameters
    ----------
    base : at the temperature at which it was read [V]
    temperature : of the alternator, −40 to 150 [degC]
    falls : volts lost for each degree, 0.0035 to 0.010 [-]
    read_at : the temperature of the base [degC]

    Returns
    -------
    voltage : at no current [V]

    Examples
    --------
    >>> round(compensated(14.4, 60, 0.010, 20), 2)
    14.0
    """
    return base - falls * (temperature - read_at)


def output(cold: float, hot: float, warm: float) -> float:
    """Return the most an alternator gives on its way from cold to hot: a straight line, on beyond hot.

    Parameters
    ----------
    cold, hot : most it gives so [A]
    warm : how far it is on the way, 0 cold, 1 hot [-]

    Returns
    -------
    current : the cold output at most, a third of it at least [A]

    Examples
    --------
    >>> output(50, 41, 0.5), output(50, 41, -1), output(50, 41, 9)
    (45.5, 50, 15.0)
    """
    return min(cold, max(LEAST_SHARE * cold, cold + warm * (hot - cold)))


def overrun(hours: float, share: float, every: float) -> list[tuple[float, float]]:
    """Return when a vehicle is on overrun, all of it lumped at the end of rounds of the same length.

    Parameters
    ----------
    hours : of driving [h]
    share : of the time on overrun, 0 to 1 [-]
    every : length of a round, above 0 [h]

    Returns
    -------
    spells : first and last, rising, one for each round; all of the drive where the share is 1 [h]

    Examples
    --------
    >>> [(round(first, 3), round(last, 3)) for first, last in overrun(0.6, 0.2, 0.25)]
    [(0.2, 0.25), (0.45, 0.5)]
    """
    if share <= 0:
        return []
    if share >= 1:
        return [(0.0, hours)]
    spells = (((n + 1 - share) * every, min(hours, (n + 1) * every)) for n in range(math.ceil(hours / every)))
    return [spell for spell in spells if spell[0] < spell[1]]
