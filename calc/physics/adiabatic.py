"""Short circuits so brief that all heat stays in the copper: what a cable stands until its fuse has opened."""

from __future__ import annotations

import math

from calc.physics.cable import ZERO_RESISTANCE
from calc.tables import assumption

COPPER_FACTOR = 226.0
"""sqrt(Qc (234.5 + 20) / rho20) of copper, as IEC 60364-5-54 annex A prints it [A√s/mm2]."""

LONGEST = 5.0
"""Up to here the law holds; later heat leaves the copper, and it stands more than the law says [s]. IEC 60364-4-43."""

HOTTEST_START = 200.0
"""The hottest insulation that the tables of current know [degC]. 33 CFR 183.425 Table 5."""


def withstand_factor(start: float, end: float) -> float:
    """Return the factor k of a copper conductor (IEC 60364-5-54, annex A).

    k = 226 · sqrt(ln(1 + (Tf − Ti) / (234.5 + Ti)))

    Parameters
    ----------
    start : temperature of the copper as the short begins Ti [degC]
    end : temperature at which its insulation is spoilt Tf, above Ti [degC]

    Returns
    -------
    factor : k [A√s/mm2]

    Examples
    --------
    >>> round(withstand_factor(70, 160), 1)
    115.0
    """
    return COPPER_FACTOR * math.sqrt(math.log(1 + (end - start) / (start - ZERO_RESISTANCE)))


def start_temperature(insulation: float) -> float:
    """Return how hot the copper may be as a short begins: its insulation's rating, at most 200 °C.

    Parameters
    ----------
    insulation : temperature rating [degC]

    Returns
    -------
    start : temperature of the copper [degC]

    Examples
    --------
    >>> start_temperature(75)
    75
    """
    return min(insulation, HOTTEST_START)


def end_temperature(insulation: float) -> float:
    """Return the temperature at which a short spoils the insulation.

    A rating does not tell the material. Below 125 °C it may be PVC, and PVC's 160 °C is taken; from 125 °C on it
    is not PVC, and the 250 °C of cross-linked insulation is taken (IEC 60364-4-43, Table 43A; the split is ours).

    Parameters
    ----------
    insulation : temperature rating [degC]

    Returns
    -------
    end : temperature [degC]

    Examples
    --------
    >>> end_temperature(105)
    160.0
    """
    linked = insulation >= assumption("cross_linked_from")["value"]
    return assumption("insulation_end_cross_linked" if linked else "insulation_end")["value"]


def insulation_factor(insulation: float) -> float:
    """Return k for a cable of which only the insulation's rating is known.

    Parameters
    ----------
    insulation : temperature rating, 60 to 250 [degC]

    Returns
    -------
    factor : k [A√s/mm2]

    Examples
    --------
    >>> round(insulation_factor(90))
    100
    """
    return withstand_factor(start_temperature(insulation), end_temperature(insulation))


def withstand(factor: float, area: float) -> float:
    """Return the I²t that a conductor stands: k²S² (IEC 60364-4-43, clause 434).

    Parameters
    ----------
    factor : k [A√s/mm2]
    area : copper S, at most 300 [mm2]

    Returns
    -------
    let_through : I²t, exact to about 5 s and on the safe side after [A2s]

    Examples
    --------
    >>> round(withstand(115, 6))
    476100
    """
    return (factor * area) ** 2


def withstand_time(current: float, factor: float, area: float) -> float:
    """Return how long a conductor stands a current: t = k²S²/I² (IEC 60364-4-43, clause 434).

    Parameters
    ----------
    current : above 0 [A]
    factor : k [A√s/mm2]
    area : copper S, at most 300 [mm2]

    Returns
    -------
    duration : exact to about 5 s and on the safe side after [s]

    Examples
    --------
    >>> round(withstand_time(1000, 115, 6), 3)
    0.476
    """
    return withstand(factor, area) / current**2
