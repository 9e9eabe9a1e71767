"""Cable sizes as they are sold, and the copper they really hold.

Four ways of naming a size meet in the trade:

- metric, by IEC 60228 class 5 (flexible): `16 mm2` promises a largest resistance, not a weight of copper;
- AWG, the same as B&S, by ASTM B258: `6 AWG` is a wire diameter;
- SAE battery cable: `6 SAE` holds up to 12 % less copper than `6 AWG`;
- trade diameter: `6 mm` is measured over the insulation and holds 4.6 mm² of copper.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from calc import edition
from calc.physics.interpolate import log_log
from calc.tables import table

COPPER_RESISTIVITY = 1 / 58
"""Annealed copper at 20 °C, 100 % IACS [ohm mm2/m]. IEC 60028; NBS Handbook 100."""

LARGEST_METRIC = 120.0
"""Above this the current table (33 CFR 183.425, up to 4/0 AWG = 107 mm²) no longer covers the copper [mm2]."""

METRIC, AWG, SAE, DIAMETER = "metric", "awg", "sae", "diameter"
FAMILIES = {
    METRIC: "metric, by copper area",
    AWG: "AWG, the same as B&S",
    SAE: "SAE battery cable",
    DIAMETER: "trade size, by overall diameter",
}


@dataclass(frozen=True)
class CableSize:
    """A size of cable.

    Attributes
    ----------
    name : as it is typed, "16 mm2", "6 AWG"
    family : one of FAMILIES
    area : area it is sold by, or the copper it holds where it is not sold by area [mm2]
    resistance_per_km : of new copper at 20 °C [ohm/km]
    standard : whether it is a size that is sold
    source : key of `calc.sources`
    """

    name: str
    family: str
    area: float
    resistance_per_km: float
    standard: bool
    source: str

    @property
    def copper(self) -> float:
        """Area of ideal copper with the same resistance: what carries the current [mm2]."""
        return 1000 * COPPER_RESISTIVITY / self.resistance_per_km

    @property
    def plain(self) -> float:
        """What a program wants of it: its area [mm2]."""
        return self.area

    @property
    def text(self) -> str:
        """The name as a reader sees it, a gauge by the name it has in the region."""
        gauge = edition.current().region.gauge
        name = self.name.replace("mm2", "mm²").replace("AWG", gauge).replace(" ", "\u00a0")
        return f"{name} overall diameter" if self.family == DIAMETER else name


def _by_area(name: str, family: str, area: float, source: str) -> CableSize:
    return CableSize(name, family, area, 1000 * COPPER_RESISTIVITY / area, True, source)


@lru_cache(maxsize=1)
def catalogue() -> dict[str, tuple[CableSize, ...]]:
    """Return the sizes of each family, thinnest first."""
    metric = [
        CableSize(f"{row['area']:g} mm2", METRIC, row["area"], row["class5"], True, "iec-60228")
        for row in table("iec_60228").rows
        if row["area"] <= LARGEST_METRIC
    ]
    gauges = table("astm_b258_sae").rows
    awg = [_by_area(row["gauge"], AWG, row["area"], "astm-b258") for row in gauges]
    sae = [
        _by_area(row["gauge"].replace("AWG", "SAE"), SAE, row["sae_area"], "sae-j1127")
        for row in gauges
        if row["sae_area"]
    ]
    trade = [
        _by_area(f"{row['trade']:g} mm", DIAMETER, row["area_low"], "trade-diameter")
        for row in table("trade_diameter_cables").rows
    ]
    return {METRIC: tuple(metric), AWG: tuple(awg), SAE: tuple(sae), DIAMETER: tuple(trade)}


def metric(area: float) -> CableSize:
    """Return a metric size, standard or between two standard ones.

    Parameters
    ----------
    area : nominal copper area, 0.5 to 120 [mm2]

    Returns
    -------
    size : its resistance is that of IEC 60228 class 5, read between the rows on log-log axes

    Raises
    ------
    ValueError
        outside the range.

    Examples
    --------
    >>> metric(16).resistance_per_km
    1.21
    """
    sizes = catalogue()[METRIC]
    for size in sizes:
        if abs(size.area - area) < 1e-9 * area:
            return size
    if not sizes[0].area <= area <= sizes[-1].area:
        raise ValueError(f"area={area} mm2 is outside {sizes[0].area} to {sizes[-1].area}")
    resistance = log_log(area, [s.area for s in sizes], [s.resistance_per_km for s in sizes])
    return CableSize(f"{area:.3g} mm2", METRIC, area, resistance, False, "iec-60228")


GAUGE = re.compile(r"(?:(?P<a>\d{1,2}|0{2,4}|[1-4]/0) ?)(?P<kind>awg|b ?& ?s|bs|ga|gauge|sae)(?: ?awg)?", re.IGNORECASE)
GAUGE_FIRST = re.compile(r"(?P<kind>awg|b ?& ?s|sae) ?#?(?P<a>\d{1,2}|0{2,4}|[1-4]/0)", re.IGNORECASE)
ZEROS = {"0": "1/0", "00": "2/0", "000": "3/0", "0000": "4/0"}


def gauge(text: str) -> CableSize | None:
    """Return the size that a gauge names ("6 AWG", "6 B&S", "00 AWG", "2/0 SAE"), or None if there is none such.

    Examples
    --------
    >>> gauge("6 B&S") is gauge("6 awg")
    True
    """
    match = GAUGE.fullmatch(text) or GAUGE_FIRST.fullmatch(text)
    if not match:
        return None
    family = SAE if match["kind"].lower() == "sae" else AWG
    name = f"{ZEROS.get(match['a'], match['a'])} {family.upper()}"
    return next((size for size in catalogue()[family] if size.name == name), None)


def trade_diameter(number: float) -> CableSize | None:
    """Return the size that an overall diameter [mm] names, or None if none is sold by it."""
    return next((size for size in catalogue()[DIAMETER] if size.name == f"{number:g} mm"), None)
