"""Loads other than the fridge: what draws when, and whether it draws a current or a power.

Lamps, pumps and trackers draw about the same current at any voltage. What has a converter inside (chargers of phones
and computers, an inverter, a fridge) draws the same power, so more current as the battery sinks. Hours are those of the
day, as in `calc.physics.sun`.
"""

from __future__ import annotations

from dataclasses import dataclass

from calc.tables import assumption

NOMINAL = 12.0
"""Voltage that the watts on a plate stand for [V]."""

DAY = 24.0
"""Hours in a day [h]."""


@dataclass(frozen=True, slots=True)
class Load:
    """A load as the trip uses it; the functions below make them.

    Attributes
    ----------
    current : that it draws at any voltage while it is on; 0 for a load of constant power [A]
    power : that it draws at any voltage while it is on; 0 for a load of constant current [W]
    begins : hour of the day at which it goes on, 0 to 24 [h]
    hours : how long it stays on each day; 24 for always [h]
    """

    current: float
    power: float
    begins: float
    hours: float

    def on(self, hour: float) -> bool:
        """Return whether it is on at an hour of the day, past midnight too. Ask between its turns, never at one.

        Parameters
        ----------
        hour : 0 to 24 [h]

        Returns
        -------
        on : whether it draws [-]
        """
        return self.hours >= DAY or (hour - self.begins) % DAY < self.hours

    @property
    def turns(self) -> tuple[float, ...]:
        """Rising hours of the day at which it goes on or off [h]."""
        if not 0 < self.hours < DAY:
            return ()
        return tuple(sorted({self.begins % DAY, (self.begins + self.hours) % DAY}))


def steady(current: float) -> Load:
    """Return a load that draws a current all the time.

    Parameters
    ----------
    current : that it draws [A]

    Returns
    -------
    load : always on [-]

    Examples
    --------
    >>> load = steady(0.5)
    >>> load.on(3), load.turns
    (True, ())
    """
    return Load(current, 0.0, 0.0, DAY)


def timed(current: float, hours: float, begins: float) -> Load:
    """Return a load that draws a current for some hours a day.

    Parameters
    ----------
    current : that it draws [A]
    hours : each day, 0 to 24 [h]
    begins : hour of the day; `evening` where nobody knows [h]

    Returns
    -------
    load : on in its hours [-]

    Examples
    --------
    >>> load = timed(2, 8, 18)
    >>> load.on(19), load.on(1), load.on(2), load.turns
    (True, True, False, (2.0, 18.0))
    """
    return Load(current, 0.0, begins, hours)


def inverter(power: float, minutes: float, begins: float) -> Load:
    """Return a big short load behind an inverter: a kettle, a tool.

    Parameters
    ----------
    power : of what hangs on it [W]
    minutes : each day; a number of minutes, 0 to 1440 [-]
    begins : hour of the day [h]

    Returns
    -------
    load : of constant power, the inverter's losses with it, on for that time [-]

    Examples
    --------
    >>> load = inverter(1000, 6, 8)
    >>> round(load.power), round(load.hours, 3)
    (1136, 0.1)
    """
    return Load(0.0, power / assumption("inverter_efficiency")["value"], begins, minutes / 60)


def evening() -> float:
    """Return the hour at which evening loads begin, where nobody knows [h]."""
    return assumption("evening_begins")["value"]


def parasitic() -> Load:
    """Return what the vehicle draws from its starter battery while it stands: alarm, radio, keyless lock."""
    return steady(assumption("parasitic_starter")["value"])
