"""Pictures of whole trips."""

from __future__ import annotations

from calc.units import show
from site_src.answers import asked
from site_src.pictures.chart import Chart
from site_src.pictures.picture import Picture

LEGS = "drive 3 h, camp 3 d, drive 2 h"


def planning_a_trip() -> Picture:
    """Return the second battery's charge through one trip, with and without a panel."""
    plain = asked("trip", legs=LEGS)
    sunny = asked("trip", legs=LEGS, **{"sun.power": "100 W"})
    chart = Chart("hours since setting out", "second battery, %", range(0, 78, 12), range(0, 101, 20), 280)
    start = plain.plots[0].x_range[0]
    for first, last in plain.plots[0].bands:
        left, right = max(0.0, first - start), min(72.0, last - start)
        chart.band([(left, 0), (right, 0)], [(left, 100), (right, 100)], 0.1)
    for answer, stroke in ((sunny, "solid"), (plain, "dashed")):
        line = answer.plots[0].lines[0]
        chart.line([(x - start, y) for x, y in line.points if x - start <= 72], stroke)
    chart.words(70, 66, "with a panel of 100 W", "right")
    chart.words(10, 40, "without")
    lowest, off = (
        [answer.values[key].text.partition(" (")[0] for answer in (plain, sunny)]
        for key in ("lowest_charge", "off_hours")
    )
    words = (
        f"The usual vehicle on “{plain.inputs['legs'].text}” in June, nights shaded. With no sun the second battery "
        f"goes down to {lowest[0]} and the fridge is off for {off[0]}. With a panel of {show(100, 'W')} the lowest is "
        f"{lowest[1]}; the fridge is off: {off[1]}."
    )
    return Picture("Three days at one place", words, chart.drawn(), chart.height)


PICTURES = (planning_a_trip,)
