"""Pictures of wiring: circuits drawn with their symbols, and what cable, joints and fuses do."""

from __future__ import annotations

from schemdraw import elements as symbols

from calc.physics.network import GROUND, CurrentLoad, Resistance, Source, solve
from calc.tables import assumption, table
from calc.units import convert, show, shown_in, sign
from site_src.answers import asked
from site_src.drawing import Charger, Gap, HandSwitch, Relay
from site_src.pictures.chart import Chart
from site_src.pictures.picture import SMALL, Circuit, Picture

THICK = 4.5
"""Width of a cable's line [SVG unit]."""

WAYS = (
    (Gap, ("Nothing", "charged elsewhere")),
    (symbols.Line, ("Wire", "one flat makes two")),
    (HandSwitch, ("Switch by hand", "if you think of it")),
    (Relay, ("Relay", "looks at the volts")),
    (Charger, ("Charger, d.c. to d.c.", "makes its own volts")),
)
"""What joins two batteries: its symbol, and its words."""


def joined_and_parted() -> Picture:
    """Return the five ways of joining two batteries."""
    c = Circuit()
    c.text(28, 14, "starter", SMALL, "middle")
    c.text(140, 14, "second", SMALL, "middle")
    for row, (symbol, words) in enumerate(WAYS):
        y = 44 + 82 * row
        for x in (28, 140):
            c.line((x, y), (x, y + 6))
            c.add(symbols.BatteryCell, (x, y + 6), (x, y + 34))
            c.body((x, y + 34))
        c.line((28, y), (56, y))
        c.add(symbol, (56, y), (112, y))
        c.line((112, y), (140, y))
        if symbol is Charger:
            c.text(75, y - 2, "=", anchor="middle")
            c.text(92, y + 12, "=", anchor="middle")
        c.text(170, y + 12, words[0], bold=True)
        c.text(170, y + 30, words[1])
    words = (
        "Five times a starter battery at the left and a second battery at the right, both with their negative on the "
        "body. Between their positives, from top to bottom: nothing; a wire; a switch turned by hand; a relay that "
        "looks at the volts; a charger. Fuses are left out here: there is one at each battery."
    )
    return Picture("Five ways to join two batteries", words, c.drawn(), 44 + 82 * 5 - 12)


def cable_and_fuse() -> Picture:
    """Return what four sizes of cable lose, by the length of the run."""
    unit = shown_in("m")
    ticks = {"m": range(0, 11, 2), "ft": range(0, 36, 5)}[unit]
    chart = Chart(f"{sign(unit)} one way, {show(25, 'A')}", "lost, %", ticks, range(0, 11, 2), 290)
    said = []
    for size, stroke in (("6 mm2", "dotted"), ("10 mm2", "dashed"), ("16 mm2", "solid"), ("25 mm2", "dashdot")):
        at = {n: asked("cable-drop", **RUN, length=f"{n} m", size=size) for n in (0.1, 2, 4, 6, 7, 8, 10)}
        points = [(convert(n, "m", unit), found.values["drop_percent"].value) for n, found in at.items()]
        points = [(n, share) for n, share in points if share <= 10]
        name = at[6].inputs["size"].text
        chart.line(points, stroke)
        chart.words(points[-1][0], points[-1][1] + 0.5, name, "right")
        said.append(f"{name} {at[6].values['drop_percent'].text}")
    allowed = asked("cable-drop", **RUN, length="6 m").inputs["allowed_drop"]
    chart.line([(ticks[0], allowed.value), (ticks[-1], allowed.value)], width=1.2)
    chart.words(0.1, allowed.value + 0.5, "allowed")
    words = (
        f"What is lost of {show(13.8, 'V')} while {show(25, 'A')} flow, there and back. Over {show(6, 'm')}: "
        f"{', '.join(said)}. The thin line is the {allowed.text} that the book allows."
    )
    return Picture("Thin and long loses volts", words, chart.drawn(), chart.height)


RUN = {"current": "25 A", "supply": "13.8 V"}


def joint_loses(current: float, resistance: float) -> float:
    """Return what a joint loses while a current flows through it [V]."""
    network = (
        Source("battery", "plus", GROUND, 12.6, 0),
        Resistance("joint", "plus", "load", resistance),
        CurrentLoad("load", "load", GROUND, current),
    )
    return solve(network).between("plus", "load")


def joints_and_earths() -> Picture:
    """Return what one joint loses, by its resistance."""
    limit, good = table("fault_limits").row(place="second-earth")["limit"], assumption("joint_resistance")
    low, high = 0.1, 1000 * good["high"]
    chart = Chart("mΩ of one joint", "V lost in it", [0.1, 1, 10], [0.001, 0.01, 0.1, 1], 290, True, True, left=46)
    chart.band([(low, 0.001), (high, 0.001)], [(low, 1), (high, 1)])
    for amperes, stroke, at in ((100, "dotted", (2.0, 0.5)), (25, "solid", (4.2, 0.062)), (5, "dashed", (4.2, 0.012))):
        losses = [(n, joint_loses(amperes, n / 1000)) for n in (0.1, 0.2, 0.5, 1, 2, 5, 10)]
        chart.line([(n, lost) for n, lost in losses if 0.001 <= lost <= 1], stroke)
        chart.words(*at, show(amperes, "A"), "right" if amperes == 100 else "left")
    chart.line([(0.1, limit), (10, limit)], width=1.2)
    chart.words(0.105, limit * 1.35, "allowed")
    chart.words(0.105, 0.65, "well made")
    lost = {n: show(joint_loses(25, n / 1000), "V") for n in (0.2, 20)}
    words = (
        f"A well made joint (up to {show(high)}\u00a0mΩ, shaded, from memory) loses next to nothing: at "
        f"{show(25, 'A')} and {show(0.2)}\u00a0mΩ {lost[0.2]}. A poor one of {show(20)}\u00a0mΩ loses {lost[20]}; a "
        f"vehicle maker allows a ground {show(limit, 'V')}."
    )
    return Picture("One poor joint", words, chart.drawn(), chart.height)


def fuses() -> Picture:
    """Return a fuse's time against current in a short, and what its cable stands."""
    answer = asked("fuse-choice", **FUSE)
    plot, values = answer.plots[0], answer.values
    ends, times = (30, 1000), (0.01, 10)
    chart = Chart("current, A", "time, s", [30, 100, 300, 1000], [0.01, 0.1, 1, 10], 290, True, True, left=46)
    soonest, latest, cable = (
        [(x, y) for x, y in line.points if ends[0] <= x <= ends[1] and times[0] <= y <= times[1]] for line in plot.lines
    )
    short = plot.marks[0][0]
    chart.band([(soonest[0][0], times[1]), *soonest], latest)
    chart.line(soonest, "dashed")
    chart.line(latest)
    chart.line(cable, "dotted")
    chart.line([(short, times[0]), (short, times[1])], width=1.2)
    chart.words(32, 0.1, "fuse opens\nin the band")
    chart.words(980, 5.5, "cable stands it", "right")
    chart.words(short * 0.96, 0.016, "weakest dead short", "right")
    words = (
        f"A {values['fuse_rating'].text} fuse for {answer.inputs['size'].text}. The more current, the sooner it opens: "
        "between the dashed and the solid line. Below the dots the cable is not spoilt. From the weakest dead short "
        f"on, {show(short, 'A')}, it opens within {values['opens_within'].text}, and before the cable suffers. A small "
        "overload may take hours: against that the rating itself guards."
    )
    return Picture("A fuse and its cable", words, chart.drawn(), chart.height)


FUSE = {"current": "25 A", "size": "6 mm2", "length": "6 m", "capacity": "70 Ah", "fuse_type": "large"}


def box_gas_and_heat() -> Picture:
    """Return a battery's box with its two openings."""
    values = asked("battery-box", chemistry="agm", place="vented_box", capacity="100 Ah").values
    each, hole = values["opening_area_needed"], values["opening_diameter"]
    c = Circuit()
    c.box(60, 60, 200, 150)
    c.box(100, 110, 120, 92)
    for x in (120, 188):
        c.box(x, 100, 14, 10)
    c.text(127, 94, "+", anchor="middle")
    c.text(195, 94, "−", anchor="middle")
    c.text(160, 150, "battery", anchor="middle", bold=True)
    c.text(160, 170, "held down", anchor="middle")
    c.path("M96,206 L96,104 L224,104 L224,206", stroke_width="3")
    c.path("M40,190 L62,190 M40,176 L62,176", stroke_width="1.5")
    c.path("M258,88 L280,88 M258,74 L280,74", stroke_width="1.5")
    c.arrow((12, 183), (88, 183))
    c.arrow((234, 81), (312, 81))
    c.path("M232,176 C246,150 246,130 238,104", stroke_dasharray="4,4", stroke_width="1.5")
    c.text(4, 150, "air in,", SMALL)
    c.text(4, 165, "low", SMALL)
    c.text(276, 48, "gas out,", SMALL)
    c.text(276, 63, "high", SMALL)
    c.text(60, 48, "tight lid, no sparks inside", SMALL)
    c.text(160, 236, f"each opening {each.text} free,", anchor="middle")
    c.text(160, 254, f"or {hole.text} round, to the outside", anchor="middle")
    words = (
        "A closed box around a battery that is held down. Air comes in low on one side, gas leaves high on the "
        f"other; both openings lead outside the vehicle. For {show(100, 'Ah')} AGM each has {each.text} free of mesh, "
        f"a round hole of {hole.text}. Fuses, relays and chargers stand outside the box."
    )
    return Picture("The box: low in, high out", words, c.drawn(), 264)


def flat_at_camp() -> Picture:
    """Return the order in which jump leads go on."""
    c = Circuit()
    for x, name in ((20, "flat"), (208, "good")):
        c.box(x, 90, 100, 60)
        c.text(x + 50, 136, name, anchor="middle", bold=True)
        for post, pole in ((x + 18, "+"), (x + 72, "−")):
            c.box(post, 80, 12, 10)
            c.text(post + 6, 108, pole, 14, "middle")
    c.path("M44,78 C60,14 200,14 232,78", stroke_width=str(THICK))
    c.path("M286,78 C300,40 322,60 322,150 C322,200 240,214 176,214", stroke_width=str(THICK), stroke_dasharray="9,6")
    c.box(28, 196, 142, 40)
    c.text(99, 221, "engine, bare metal", SMALL, "middle")
    for x, y, n in ((28, 66, 1), (208, 76, 2), (264, 74, 3), (190, 196, 4)):
        c.number(x, y, n)
    c.text(138, 22, "red, + to +", anchor="middle")
    c.text(208, 180, "black", anchor="start")
    c.text(4, 262, "On: 1, 2, 3, 4.  Off: 4, 3, 2, 1.", bold=True)
    words = (
        "Clamps go on in this order. First, red to the flat battery's positive; second, red to the good battery's "
        "positive; third, black to the good battery's negative; fourth, black to bare metal of the engine, away from "
        "both batteries. They come off the other way round: the engine first. The last clamp on and the first one "
        "off is the one that sparks."
    )
    return Picture("The order of the clamps", words, c.drawn(), 270)


PICTURES = (joined_and_parted, cable_and_fuse, joints_and_earths, fuses, box_gas_and_heat, flat_at_camp)
