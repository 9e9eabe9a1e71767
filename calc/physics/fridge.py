"""A compressor fridge: how much of the time it runs, and when its own protection turns it off.

No public table of running time against the air's warmth was found, so the reader's own observation at one warmth is
scaled to others. Its turns of some minutes are averaged: they are far shorter than anything else. What its running
current pulls the voltage down to is not averaged, as that is what a cut-out sees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from calc.tables import assumption, table

LEAST_GAP = 1.0
"""A fridge that was watched in air hardly warmer than its inside tells nothing; this difference is taken [degC]."""


@dataclass(frozen=True, slots=True)
class Fridge:
    """A fridge as the trip uses it, a load of constant power; `fridge` makes one.

    Attributes
    ----------
    running : power while its compressor runs [W]
    duty : share of the time that it runs at the watched temperature, 0 to 1 [-]
    watched_at : air around it at which that was seen [degC]
    inside : what it keeps [degC]
    lift : how much hotter and colder its coils are than air and inside, both together; above 0 [degC]
    stops, starts : voltages at its terminals below which it goes off and above which it comes on again [V]
    """

    running: float
    duty: float
    watched_at: float
    inside: float
    lift: float
    stops: float
    starts: float

    def wanted(self, air: float) -> float:
        """Return the share of the time that it would have to run to keep its cold; above 1 it cannot.

        d·(T − Ti)(T − Ti + l) / (Tw − Ti)(Tw − Ti + l). Heat leaks in with T − Ti. What a compressor moves for its
        power falls as (Ti in kelvin)/(T − Ti + l), a constant part of the ideal, between coils that are together l
        further apart than air and inside. A house law: no public table stands behind it, and sun on the fridge, warm
        food and an opened lid count for more in a single hour.

        Parameters
        ----------
        air : around it [degC]

        Returns
        -------
        share : 0 where the air is no warmer than inside [-]
        """
        now, watched, lift = air - self.inside, self.watched_at - self.inside, self.lift
        if now <= 0.0:
            return 0.0
        if watched < LEAST_GAP:
            watched = LEAST_GAP
        return self.duty * now * (now + lift) / (watched * (watched + lift))

    def power(self, air: float) -> float:
        """Return its mean power; where it cannot keep its cold it runs all the time, and the food warms.

        Parameters
        ----------
        air : around it [degC]

        Returns
        -------
        power : its running power at most [W]
        """
        wanted = self.wanted(air)
        return self.running * wanted if wanted < 1.0 else self.running

    def lowest(self, volts: float, power: float, resistance: float) -> float:
        """Return what its terminals see while the compressor runs, from the voltage at its mean power.

        Parameters
        ----------
        volts : at its terminals, with the mean power drawn, above 0 [V]
        power : the mean power [W]
        resistance : of battery and cables up to it [ohm]

        Returns
        -------
        voltage : while it runs; what `stops` is compared with; half of what drives it where that cannot feed it [V]
        """
        driving = volts + resistance * power / volts
        return (driving + math.sqrt(max(0.0, driving**2 - 4 * resistance * self.running))) / 2


def fridge(running: float, duty: float, watched_at: float, setting: str) -> Fridge:
    """Return a fridge that was watched for an hour, the rest as usual.

    Parameters
    ----------
    running : power while its compressor runs [W]
    duty : share of the time that it ran, 0 to 1 [-]
    watched_at : air around it meanwhile, above what it keeps inside [degC]
    setting : of its battery protection, "low", "medium" or "high" [-]

    Returns
    -------
    fridge : a load of constant power [-]

    Examples
    --------
    >>> made = fridge(48, 0.35, 25, "medium")
    >>> round(made.wanted(35), 2), round(made.power(25), 1), round(made.power(40), 1), made.power(4), made.power(90)
    (0.63, 16.8, 38.2, 0.0, 48)
    >>> made.stops, round(made.lowest(12.0, 16.8, 0.05), 2)
    (11.4, 11.87)
    """
    row = table("fridge_protection").row(setting=setting)
    inside, lift = assumption("fridge_inside")["value"], assumption("fridge_lift")["value"]
    return Fridge(running, duty, watched_at, inside, lift, row["stops"], row["starts"])
