"""Pictures of batteries: what they hold, what they show, and what they need."""

from __future__ import annotations

from calc.physics import lead_acid, rest_voltage
from calc.physics.battery import figure
from calc.physics.interpolate import linear
from calc.units import convert, show, shown_in, sign
from site_src.answers import asked
from site_src.pictures.chart import Chart
from site_src.pictures.picture import Picture

NAMES = {"flooded": "Flooded", "calcium": "Calcium", "agm": "AGM", "gel": "Gel", "lfp": "Lithium"}


def why_a_second_battery() -> Picture:
    """Return the starter battery's charge with a fridge on it, against what a start needs."""
    places = {"load.battery": "starter", "link.kind": "none"}
    legs = {"legs": "drive 1 h, camp 1 d", "coldest": "5 degC", "hottest": "15 degC"}
    plot = asked("trip", **legs, **places).plots[0]
    line = next(line for line in plot.lines if line.name == "starter battery")
    start = plot.x_range[0] + 1
    points = [(hour - start, charge) for hour, charge in line.points if hour >= start]
    needed = asked("engine-start", temperature="5 degC", age="4 years").values["least_charge"]
    hours, charges = zip(*((x, y) for x, y in points), strict=True)
    fails = linear(-needed.value, [-y for y in charges], hours)
    chart = Chart("hours at camp", "starter battery, %", range(0, 25, 4), range(0, 101, 20))
    chart.line(points)
    chart.line([(0, needed.value), (24, needed.value)], "dashed")
    chart.words(23.8, 88, "fridge, lights, phones on it", "right")
    chart.words(23.8, needed.value + 5, "needed to start", "right")
    words = (
        f"One battery for everything: it begins a camp at {show(points[0][1], '%', 0)}. A start of a middling diesel "
        f"at {show(5, 'degC')} needs about {needed.text}, and the battery is below that after {show(fails, 'h', 0)}. "
        f"After a day {show(points[-1][1], '%', 0)} is left."
    )
    return Picture("One battery for fridge and engine", words, chart.drawn(), chart.height)


def battery_types() -> Picture:
    """Return what each type of battery wants, in volts."""
    volts = [13.2, 13.6, 14.0, 14.4, 14.8]
    chart = Chart(f"V at the battery, {show(25, 'degC')}", "", volts, [-0.6, 4.6], 300, left=64, bare=True)
    said = []
    for row, (key, name) in enumerate(reversed(NAMES.items())):
        values = asked("charge-voltage", chemistry=key, source_voltage="14.2 V").values
        high, low = values["absorption_voltage"], values["float_voltage"]
        chart.bar(row + 0.17, high.low, high.high, 0.3, 0.3)
        chart.bar(row - 0.19, low.low, low.high, 0.3, 0)
        chart.words(13.17, row, name, "right")
        said.append(f"{name} {high.text}")
    chart.words(14.6, 4.53, "charge", "center")
    chart.words(13.7, 4.28, "keep full", "center")
    words = f"Shaded: what fills it, at {show(25, 'degC')}: {', '.join(said[::-1])}. Outlined: what keeps it full."
    return Picture("The voltages that each type wants", words, chart.drawn(), chart.height)


def reading_a_battery() -> Picture:
    """Return the resting voltages of three types by their charge."""
    chart = Chart("charge, %", "V at rest", range(0, 101, 20), [11.6, 12, 12.4, 12.8, 13.2, 13.6], 290)
    curves = {key: [(n, rest_voltage.voltage_at_rest(n, key)) for n in range(0, 101, 2)] for key in ("flooded", "agm")}
    lithium = [(n, rest_voltage.voltage_at_rest(n, "lfp")) for n in range(2, 101, 2)]
    lithium = [(n, volts) for n, volts in lithium if 11.6 <= volts <= 13.6]
    chart.line(lithium)
    chart.line(curves["agm"], "dashed")
    chart.line(curves["flooded"], "dotted")
    chart.words(60, 13.42, "lithium: nearly level", "center")
    chart.words(72, 12.82, "AGM (dashed)", "right")
    chart.words(60, 12.1, "flooded (dotted)")
    half = {key: rest_voltage.voltage_at_rest(50, key) for key in ("flooded", "agm", "lfp")}
    rise = [rest_voltage.voltage_at_rest(n, "lfp") for n in (40, 60)]
    words = (
        f"Half charged and rested, a flooded battery shows {show(half['flooded'], 'V', 2)}, AGM "
        f"{show(half['agm'], 'V', 2)}, lithium iron phosphate {show(half['lfp'], 'V', 2)}. From {show(40)} to "
        f"{show(60, '%')} lithium rises by only {show(rise[1] - rise[0], 'V', 2)}, less than many meters can tell. "
        "Rather than lines these are bands: the check says how wide."
    )
    return Picture("What a battery shows at rest", words, chart.drawn(), chart.height)


def starting_from_the_second() -> Picture:
    """Return the voltage while cranking with both batteries joined, by what joins them."""
    weak = {"charge": "35 %", "temperature": "2 degC", "second_charge": "80 %"}
    ohms = [1, 1.5, 2, 3, 5, 7, 10, 15, 20, 30, 50, 70, 100]
    answers = {n: asked("engine-start", **weak, link_resistance=f"{n} mohm").values for n in ohms}
    joined = [(n, values["joined_voltage"]) for n, values in answers.items()]
    alone, least = answers[1]["cranking_voltage"], figure("cranking_voltage")
    chart = Chart("mΩ there and back", "V while cranking", [1, 3, 10, 30, 100], [4, 6, 8, 10, 12], 280, log_x=True)
    chart.band([(n, v.low) for n, v in joined], [(n, v.high) for n, v in joined])
    chart.line([(n, v.value) for n, v in joined])
    chart.line([(1, least), (100, least)], "dashed")
    chart.line([(1, alone.value), (100, alone.value)], "dotted")
    chart.words(1.6, 11.75, "both joined")
    chart.words(1.05, least + 0.4, "starts above this")
    chart.words(1.05, alone.value + 0.4, "starter battery alone")
    words = (
        f"A diesel at {show(2, 'degC')}, its battery at {show(35, '%')}, the second one at {show(80, '%')}. Alone the "
        f"starter battery sinks to {alone.text}; an engine wants {show(least, 'V')} or more. Joined by "
        f"{show(3)}\u00a0mΩ both hold {answers[3]['joined_voltage'].text}, by {show(30)}\u00a0mΩ "
        f"{answers[30]['joined_voltage'].text}. Shaded: what is not known of batteries and engine."
    )
    return Picture("What joins them decides", words, chart.drawn(), chart.height)


def care_through_the_seasons() -> Picture:
    """Return where a lead-acid battery freezes, by its charge."""
    unit = shown_in("degC")

    def said(celsius: float) -> float:
        return convert(celsius, "degC", unit)

    curve = [(n, said(lead_acid.freezing_point(lead_acid.gravity(n)))) for n in range(0, 101, 5)]
    ticks = {"degC": range(-60, 1, 10), "degF": range(-80, 41, 20)}[unit]
    chart = Chart("charge, %", f"freezes at, {sign(unit)}", range(0, 101, 20), ticks)
    chart.line(curve)
    chart.band(curve, [(0, ticks[0]), (100, ticks[0])])
    chart.words(6, said(-42), "here it is ice,\nand bursts")
    chart.words(97, said(-14), "here it is safe", "right")
    at = {n: show(lead_acid.freezing_point(lead_acid.gravity(n)), "degC", 0) for n in (0, 50, 100)}
    words = (
        f"The acid of a flat flooded battery freezes at about {at[0]}, of a half charged one at {at[50]}, of a full "
        f"one at {at[100]}. So the way to keep it from frost is to charge it."
    )
    return Picture("A full battery does not freeze", words, chart.drawn(), chart.height)


PICTURES = (
    why_a_second_battery,
    battery_types,
    reading_a_battery,
    starting_from_the_second,
    care_through_the_seasons,
)
