"""Pictures of charging: by the alternator, by the sun, from a socket."""

from __future__ import annotations

from schemdraw import elements as symbols

from calc.checks.trips import MONTH_LENGTH
from calc.physics import sun as sunshine
from calc.physics.alternator import COMPENSATING, FIXED, SMART, alternator
from calc.physics.charging import cell_voltage_at_25, charging_hours
from calc.setup.model import MODEL
from calc.tables import assumption
from calc.units import show
from site_src.answers import asked
from site_src.drawing import Converter
from site_src.pictures.chart import Chart, Point
from site_src.pictures.picture import SMALL, Circuit, Picture


def usual(place: str) -> float:
    """Return a usual value of a set-up, as a number in its own unit."""
    part, _, name = place.partition(".")
    return MODEL.part(part).field(name).read(MODEL.usual[place].text, {}).value


def alternators() -> Picture:
    """Return what three kinds of alternator hold through an hour's drive."""
    base, air = usual("alternator.set_point"), 15.0
    made = {kind: alternator(kind, base, 90, 30) for kind in (FIXED, COMPENSATING, SMART)}
    minutes = range(0, 61, 2)
    warm = made[COMPENSATING]
    falling = [(n, warm.voltage(warm.warmed(air, n / 60, air, True), True)) for n in minutes]
    smart = made[SMART]
    spells = smart.lifted(1.0, assumption("overrun_share")["value"], assumption("overrun_every")["value"])
    steps: list[Point] = []
    for start, end in spells:
        steps += [(60 * start, smart.rests), (60 * start, base), (60 * end, base), (60 * end, smart.rests)]
    steps = [point for point in steps[1:] if point[0] < 60] + [(60, base)]
    connects, parts = usual("link.connects_at"), usual("link.disconnects_at")
    chart = Chart("minutes after the start", "V", range(0, 61, 10), [12, 12.5, 13, 13.5, 14, 14.5, 15], 300)
    chart.band([(0, connects), (60, connects)], [(0, parts), (60, parts)])
    chart.line(steps)
    chart.line([(0, base), (60, base)], "dotted")
    chart.line(falling, "dashed")
    chart.words(59, 14.8, "falls as it warms (dashed)", "right")
    chart.words(59, 14.42, "fixed (dotted)", "right")
    chart.words(59, 12.25, "smart: up at first and downhill", "right")
    chart.words(21.5, (connects + parts) / 2, "relay\nopens", "center")
    words = (
        f"Solid, a smart alternator: {show(base, 'V')} after the start, then {show(smart.rests, 'V')} but for braking "
        f"and downhill. Dotted, a fixed one: {show(base, 'V')} throughout. Dashed, one that falls as it warms: from "
        f"{show(falling[0][1], 'V')} to {show(falling[-1][1], 'V')}. Shaded: between {show(connects, 'V')}, where a "
        f"usual relay joins, and {show(parts, 'V')}, where it parts. An invented hour in hills, by usual values."
    )
    return Picture("Three alternators through an hour", words, chart.drawn(), chart.height)


def charging_from_the_alternator() -> Picture:
    """Return how an AGM battery fills from half, at three voltages at its posts."""
    chart = Chart("hours of driving", "charge, %", range(0, 11, 2), range(50, 101, 10), 280)
    said = []
    for volts, stroke, at in ((14.4, "solid", (0.3, 95)), (13.8, "dashed", (5.4, 91)), (13.2, "dotted", (5.4, 77))):
        cell = cell_voltage_at_25("agm", volts, 25)
        points = [(charging_hours(cell, 50, charge), charge) for charge in [*range(50, 94, 4), 94, 95, 96, 97, 98, 99]]
        points = [(hours, charge) for hours, charge in points if 0 <= hours <= 10]
        chart.line(points, stroke)
        near = next((hours, charge) for hours, charge in points if charge >= 80 or hours == points[-1][0])
        said.append(f"at {show(volts, 'V')} it takes {show(near[0], 'h', 1)} to {show(near[1], '%', 0)}")
        chart.words(*at, show(volts, "V"))
    words = (
        f"An AGM battery from half, by what stands at its own posts: {', '.join(said)}. These are the least times: a "
        "real source gives fewer amperes at first. The last tenth takes longest."
    )
    return Picture("Volts at the posts fill a battery", words, chart.drawn(), chart.height)


def day_of(month: int, eighths: float, latitude: float = 50) -> sunshine.Day:
    """Return a day in the middle of a month for a flat panel of 100 W, as lossy as is usual."""
    panel = sunshine.Panel(100, 0, assumption("panel_lost")["value"], assumption("solar_efficiency")["value"])
    return sunshine.day(latitude, round((month - 0.5) * MONTH_LENGTH), eighths, (panel,))


def sun() -> Picture:
    """Return the power of a flat panel through three days."""
    chart = Chart("hour of the day, by the sun", "W from a flat 100 W panel", range(4, 21, 4), range(0, 81, 20), 270)
    cloudy = assumption("cloud_overcast")["value"]
    days = (
        ("June, clear", day_of(6, 0), 20, "solid"),
        ("June, overcast", day_of(6, cloudy), 20, "dashed"),
        ("December, clear", day_of(12, 0), 5, "dotted"),
    )
    said = []
    for name, day, air, stroke in days:
        hours = [4 + n / 4 for n in range(65)]
        chart.line([(hour, day.power(hour, air)) for hour in hours], stroke)
        said.append(f"{name}: {show(sunshine.energy(day, air), 'Wh', digits=2)} in the day")
    chart.words(12, 75, "June, clear", "center")
    chart.words(12, 35, "June, overcast (dashes)", "center")
    chart.words(12, 27, "December, clear (dots)", "center")
    words = (
        f"A clean, flat panel of {show(100, 'W')} at {show(50, 'deg')} of latitude, what it gives the battery. "
        f"{'; '.join(said)}."
    )
    return Picture("One panel, three days", words, chart.drawn(), chart.height)


def mains() -> Picture:
    """Return a mains charger's direct-current side, and where the book stops."""
    c = Circuit()
    c.text(4, 16, "Not in this book:")
    c.text(4, 34, "licensed work", SMALL)
    c.text(150, 16, "Direct current, 12 V", bold=True)
    c.path("M128,4 L128,78 M128,128 L128,236", stroke_dasharray="3,5", stroke_width="1.5")
    c.box(14, 83, 62, 40)
    c.text(45, 108, "inlet", anchor="middle")
    c.line((76, 103), (100, 103))
    c.add(Converter, (100, 103), (156, 103))
    c.text(118, 95, "~", 14, "middle")
    c.text(138, 119, "=", 14, "middle")
    c.text(90, 66, "charger", SMALL, "middle")
    c.line((145, 103), (180, 103))
    c.add(symbols.FuseIEEE, (180, 103), (236, 103))
    c.text(208, 72, "fuse at", SMALL, "middle")
    c.text(208, 87, "the battery", SMALL, "middle")
    c.line((236, 103), (258, 103), (258, 136))
    c.add(symbols.Battery, (258, 136), (258, 180))
    c.text(240, 152, "+", 14, "middle")
    c.text(278, 156, "second", SMALL)
    c.text(278, 171, "battery", SMALL)
    c.line((258, 180), (258, 220), (140, 220), (140, 120))
    c.text(200, 212, "negative, as thick", SMALL, "middle")
    answer = asked("fuse-choice", current="20 A", size="6 mm2", length="2 m", chemistry="agm", capacity="100 Ah")
    lost = asked("cable-drop", current="20 A", size="6 mm2", length="2 m", supply="14.4 V").values["drop"]
    words = (
        "A mains charger turns mains (~) into direct current (=). Its positive passes a fuse near the battery, as it "
        f"is the battery that can burn this cable. For {show(20, 'A')} over {show(2, 'm')} of {show(6, 'mm2')}: a "
        f"fuse of {answer.values['fuse_rating'].text}, and {lost.text} is lost. What lies before the charger is mains "
        "wiring and belongs to a licensed person."
    )
    return Picture("A mains charger, its d.c. side", words, c.drawn(), 240)


PICTURES = (alternators, charging_from_the_alternator, sun, mains)
