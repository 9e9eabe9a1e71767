"""Current in a copper cable: resistance, loss, heat, and how much it may carry."""

from __future__ import annotations

import math

from calc.physics.interpolate import log_log
from calc.tables import table

ZERO_RESISTANCE = -234.5
"""Temperature at which annealed copper's resistance would reach nought on its straight line [degC].
IEC 60364-5-54, annex A; FAA AC 43.13-1B."""

BASE_AMBIENT = 30.0
"""Ambient that 33 CFR 183.425 Table 5 stands for [degC]."""

ENGINE_SPACE_AMBIENT = 50.0
"""Ambient that note 1 of the same table stands for [degC]."""

RATINGS = (60, 75, 80, 90, 105, 125, 200)
"""Insulation ratings that Table 5 has a column for [degC]."""


def resistance_at(resistance_20: float, temperature: float) -> float:
    """Return a copper resistance at another temperature (IEC 60364-5-54, annex A).

    R = R20 · (234.5 + T) / (234.5 + 20)

    Parameters
    ----------
    resistance_20 : resistance at 20 °C [ohm]
    temperature : of the conductor, −60 to 300 [degC]

    Returns
    -------
    resistance : at that temperature [ohm]

    Examples
    --------
    >>> round(resistance_at(1.0, 75), 4)
    1.2161
    """
    return resistance_20 * (temperature - ZERO_RESISTANCE) / (20 - ZERO_RESISTANCE)


def rating_column(insulation: float) -> int:
    """Return the column of Table 5 for an insulation: the highest that is not above its rating.

    Parameters
    ----------
    insulation : temperature rating, 60 or more [degC]

    Returns
    -------
    rating : a member of RATINGS [degC]

    Raises
    ------
    ValueError
        below 60 °C, where the table has no column.

    Examples
    --------
    >>> rating_column(110)
    105
    """
    fitting = [rating for rating in RATINGS if rating <= insulation]
    if not fitting:
        raise ValueError(f"insulation={insulation} degC is below the table's lowest column, {RATINGS[0]}")
    return fitting[-1]


def table_current(copper: float, insulation: float) -> float:
    """Return the current that Table 5 of 33 CFR 183.425 allows, at 30 °C ambient.

    Read between the rows by the copper really there, on log-log axes. Below 18 AWG, where the table ends, the
    amperes fall in proportion to the copper, which errs on the safe side.

    Parameters
    ----------
    copper : area of ideal copper of the same resistance, 0.3 to 108 [mm2]
    insulation : temperature rating, 60 or more [degC]

    Returns
    -------
    current : allowed for a single conductor in free air [A]

    Examples
    --------
    >>> round(table_current(13.3018, 105), 1)
    120.0
    """
    areas = {row["gauge"]: row["area"] for row in table("astm_b258_sae").rows}
    rows = table("cfr_183_425_table5").rows
    sizes = [areas[row["gauge"]] for row in rows]
    amperes = [row[str(rating_column(insulation))] for row in rows]
    if copper < sizes[0]:
        return amperes[0] * copper / sizes[0]
    return log_log(copper, sizes, amperes)


def ambient_factor(insulation: float, ambient: float) -> float:
    """Return by how much ambient heat cuts the allowed current: sqrt((TR − Ta) / (TR − 30)), never above 1.

    The law behind note 1 of 33 CFR 183.425 Table 5, six of whose seven factors it gives to two figures.

    Parameters
    ----------
    insulation : temperature rating TR, above 30 [degC]
    ambient : air around the cable Ta [degC]

    Returns
    -------
    factor : 0 to 1 [-]

    Examples
    --------
    >>> round(ambient_factor(75, 50), 3)
    0.745
    """
    left = max(0.0, insulation - max(ambient, BASE_AMBIENT))
    return math.sqrt(left / (insulation - BASE_AMBIENT))


def allowable_current(copper: float, insulation: float, ambient: float, engine_bay: bool) -> float:
    """Return the current a cable may carry where it lies (33 CFR 183.425 Table 5 and note 1).

    Parameters
    ----------
    copper : area of ideal copper of the same resistance [mm2]
    insulation : temperature rating, 60 or more [degC]
    ambient : air around the cable [degC]
    engine_bay : whether it runs through the engine bay, which counts as at least 50 °C [-]

    Returns
    -------
    current : allowed [A]

    Examples
    --------
    >>> round(allowable_current(13.3018, 105, 30, True), 1)
    103.2
    """
    rating = rating_column(insulation)
    factor = ambient_factor(rating, ambient)
    if engine_bay:
        note = table("cfr_183_425_engine_space")
        rows = {row["insulation"]: row["factor"] for row in note.rows}
        factor = min(factor, rows.get(rating, ambient_factor(rating, ENGINE_SPACE_AMBIENT)))
    return table_current(copper, insulation) * factor


def bundle_factor(conductors: float) -> float:
    """Return by how much lying tied together cuts the allowed current (33 CFR 183.425 Table 5, note 2).

    The source asks for it from 50 V on and sets no limit for bundles below; there it is prudence.

    Parameters
    ----------
    conductors : current-carrying ones tied together, 1 or more [-]

    Returns
    -------
    factor : 0.4 to 1 [-]

    Examples
    --------
    >>> [bundle_factor(n) for n in (2, 3, 6, 24, 25)]
    [1.0, 0.7, 0.6, 0.5, 0.4]
    """
    return min((r["factor"] for r in table("cfr_183_425_bundle").rows if r["conductors"] <= conductors), default=1.0)


def conductor_temperature(current: float, base_current: float, insulation: float, ambient: float) -> float:
    """Return how hot a conductor gets in steady state.

    At the table's current in 30 °C a conductor stands at its insulation's rating. Heat goes as I²R(T), cooling as
    the rise over ambient; R(T) is a straight line, so the balance has one closed solution:
    T = Ta + (TR − 30) (I/I30)² (T + 234.5) / (TR + 234.5).

    Parameters
    ----------
    current : carried [A]
    base_current : that Table 5 allows at 30 °C [A]
    insulation : rating of the table's column TR [degC]
    ambient : air around the cable Ta [degC]

    Returns
    -------
    temperature : of the copper; infinity where heat grows faster than it leaves [degC]

    Examples
    --------
    >>> round(conductor_temperature(120, 120, 105, 30), 6)
    105.0
    """
    gain = (insulation - BASE_AMBIENT) * (current / base_current) ** 2 / (insulation - ZERO_RESISTANCE)
    if gain >= 1:
        return math.inf
    return (ambient - gain * ZERO_RESISTANCE) / (1 - gain)


def length_resistance(resistance_per_km: float, length: float, temperature: float) -> float:
    """Return the resistance of one conductor.

    Parameters
    ----------
    resistance_per_km : at 20 °C [ohm/km]
    length : of the conductor [m]
    temperature : of the copper [degC]

    Returns
    -------
    resistance : end to end [ohm]

    Examples
    --------
    >>> round(length_resistance(1.21, 6, 20), 5)
    0.00726
    """
    return resistance_at(resistance_per_km * length / 1000, temperature)
