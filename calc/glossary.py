"""One glossary of every quantity: its name, symbol, unit, words and sane range.

A quantity has one unit in the whole house: fields, physics, answers and JSON all carry it. A field may narrow
the range; nothing may widen it. Physics docstrings name these units in square brackets, and a test compares.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Quantity:
    """What a number of the trade means.

    Attributes
    ----------
    name : its key in this glossary
    symbol : as formulae print it
    unit : the one unit it has everywhere
    words : what a reader calls it
    low, high : outside these a value is a slip, not a case [unit]
    places : decimals shown to a reader; None for three significant digits
    also : other units that an entry may well carry, offered beside the field
    """

    name: str
    symbol: str
    unit: str
    words: str
    low: float
    high: float
    places: int | None = None
    also: tuple[str, ...] = ()


QUANTITIES = {
    q.name: q
    for q in (
        Quantity("current", "I", "A", "current", 0, 5000),
        Quantity("fault_current", "If", "A", "fault current", 0, 250_000, 0),
        Quantity("voltage", "U", "V", "voltage", -60, 60, 2),
        Quantity("voltage_drop", "ΔU", "V", "voltage lost", 0, 60, 2),
        Quantity("share", "p", "%", "share", 0, 100, 1),
        Quantity("charge", "SoC", "%", "charge", 0, 100, 0),
        Quantity("resistance", "R", "ohm", "resistance", 0, 100, None, ("mohm",)),
        Quantity("length", "L", "m", "length", 0, 100, None, ("ft",)),
        Quantity("distance", "d", "m", "distance", 0, 100, None, ("ft", "in")),
        Quantity("area", "S", "mm2", "copper area", 0.05, 1000),
        Quantity("opening", "A", "cm2", "open area", 0, 5000, None, ("mm2",)),
        Quantity("diameter", "Ø", "mm", "diameter", 0, 1000, 0),
        Quantity("volume", "V", "l", "volume of air", 0, 1e6, None, ("m3",)),
        Quantity("air_flow", "Q", "m3/h", "air flow", 0, 100_000),
        Quantity("gas_rate", "Igas", "mA/Ah", "gas current for each ampere-hour", 0, 1000),
        Quantity("temperature", "T", "degC", "temperature", -60, 300, 0, ("degF",)),
        Quantity("duration", "t", "s", "time", 0, 1e7, None, ("min", "h")),
        Quantity("hours", "t", "h", "time", 0, 10_000, None, ("min", "day")),
        Quantity("days", "t", "day", "time", 0, 400, None, ("h",)),
        Quantity("years", "a", "year", "age", 0, 50, None),
        Quantity("angle", "φ", "deg", "angle", -360, 360, 0),
        Quantity("capacity", "C", "Ah", "capacity", 0, 5000, None),
        Quantity("energy", "E", "Wh", "energy", 0, 100_000, None),
        Quantity("sunshine", "G", "W/m2", "sunshine", 0, 2000, 0),
        Quantity("power", "P", "W", "power", 0, 10_000, None),
        Quantity("joule_integral", "I²t", "A2s", "let-through", 0, 1e12, None),
        Quantity("specific_gravity", "SG", "-", "specific gravity", 1.0, 1.4, 3),
        Quantity("resistance_per_km", "r", "ohm/km", "resistance per kilometre", 0, 200),
        Quantity("withstand_factor", "k", "A√s/mm2", "short-circuit factor", 50, 250, 0),
        Quantity("exponent", "k", "-", "Peukert exponent", 1.0, 2.0, 2),
        Quantity("ratio", "f", "-", "factor", 0, 1000, 2),
        Quantity("number", "n", "-", "number", 0, 1e6, 0),
    )
}


def quantity(name: str) -> Quantity:
    """Return the quantity of that name; KeyError lists the names there are."""
    try:
        return QUANTITIES[name]
    except KeyError:
        raise KeyError(f"no quantity “{name}”; there are: {', '.join(sorted(QUANTITIES))}") from None
