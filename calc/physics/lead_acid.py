"""A lead-acid battery of six cells: gravity and freezing of its acid, and what the cold leaves of its capacity."""

from __future__ import annotations

from functools import cache

from calc.physics.interpolate import linear
from calc.tables import table

CELLS = 6
"""Cells in a 12 V lead-acid battery."""

TABLE_TEMPERATURE = 26.7
"""80 °F, at which the tables of resting voltage, gravity and cold count a battery as warm [degC]. BCI; US Army TMs."""

WATER = (1.0, 0.0)
"""Gravity and freezing point of water, where every table of acid must end [-, degC]."""


def gravity(charge: float) -> float:
    """Return the specific gravity of a flooded battery's acid at a charge (BCI).

    Below 0 % the last straight line goes on, down to water: a guess, on the careful side for freezing.

    Parameters
    ----------
    charge : state of charge; negative for a battery taken flatter than flat [%]

    Returns
    -------
    gravity : of the acid at 26.7 °C, 1.0 to 1.265 [-]

    Examples
    --------
    >>> round(gravity(50), 4)
    1.19
    >>> round(gravity(-25), 4)
    1.085
    """
    rows = table("bci_rest_voltage")
    charges, gravities = rows.column("charge"), rows.column("gravity")
    if charge < charges[0]:
        slope = (gravities[1] - gravities[0]) / (charges[1] - charges[0])
        return max(WATER[0], gravities[0] + slope * (charge - charges[0]))
    return linear(charge, charges, gravities)


def freezing_point(gravity: float) -> float:
    """Return the temperature at which acid begins to freeze: the warmer of two published tables.

    US Army TM 5-4210-230-14&P-1 table 2, and a vehicle maker's table; they agree within 1.5 °C where both have rows
    near each other. Below their weakest acid a straight line goes to water.

    Parameters
    ----------
    gravity : specific gravity, 1.0 to 1.265; stronger acid counts as 1.265 [-]

    Returns
    -------
    temperature : freezing point [degC]

    Examples
    --------
    >>> freezing_point(1.155)
    -15.0
    >>> freezing_point(1.0)
    0.0
    """
    found = []
    for name in ("tm_5_4210_freezing", "freezing_vehicle"):
        rows = table(name)
        gravities = [WATER[0], *rows.column("gravity")]
        found.append(linear(gravity, gravities, [WATER[1], *rows.column("freezing")]))
    return max(found)


@cache
def _cold() -> tuple[list[float], list[float]]:
    """Return temperatures and the share of capacity left, from the solar worksheets down to where the Army goes on."""
    worksheet = table("pv_worksheet_cold").rows
    motive = table("tm_10_6140_cold").rows[0]
    coldest = table("tm_5_4210_cold").rows[0]
    points = [(coldest["temperature"], coldest["cranking"] / 100), (motive["temperature"], motive["capacity"] / 100)]
    points += [(row["temperature"], 1 / row["multiplier"]) for row in worksheet]
    return [t for t, _ in points], [share for _, share in points]


def cold_share(temperature: float, rated_at: float = TABLE_TEMPERATURE) -> float:
    """Return how much of its rated capacity a lead-acid battery gives when cold.

    Solar sizing worksheets down to −6.7 °C, then straight to US Army TM 10-6140-200-14 at −17.8 °C (motive capacity)
    and TM 5-4210-230-14&P-1 table 3 at −28.9 °C (cranking power, as no capacity is printed). Level below and above.

    Parameters
    ----------
    temperature : of the battery [degC]
    rated_at : temperature at which the label's capacity holds [degC]

    Returns
    -------
    share : 0.2 to 1 [-]

    Examples
    --------
    >>> round(cold_share(10), 3)
    0.84
    >>> cold_share(30)
    1.0
    """
    return min(1.0, linear(temperature, *_cold()) / linear(rated_at, *_cold()))
