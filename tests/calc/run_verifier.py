"""Verifies a wiring run by other means: reads the tables itself, solves the whole circuit with NumPy, designs nothing.

Shares with the book its tables' files and the names of its inputs, and no code.
"""

import csv
import math
from pathlib import Path

import numpy as np

import calc

TABLES = Path(calc.__file__).parent / "tables"
COPPER = 1000 / 58  # ohm mm2/km, IEC 60028
BREAKS = {"blade": 1000, "large": 1000, "bolt": 2000, "strip": 2000}


def read(name):
    lines = (TABLES / f"{name}.csv").read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if line and not line.startswith("#")))


ASSUMED = {row["key"]: {k: row[k] for k in ("value", "low", "high")} for row in read("assumptions")}
TABLE_5, GAUGES = read("cfr_183_425_table5"), read("astm_b258_sae")
AREAS = {row["gauge"]: float(row["area"]) for row in GAUGES}
COLUMNS = (60, 75, 80, 90, 105, 125, 200)
OPENING, RATINGS, HEAT = read("iso_8820_time_current"), read("iso_8820_ratings"), read("fuse_sheet_heat")
BUNDLE = {3: 0.7, 4: 0.6, 5: 0.6, 6: 0.6} | dict.fromkeys(range(7, 25), 0.5)  # 33 CFR 183.425, note 2
ENGINE_SPACE = {60: 0.58, 75: 0.75, 80: 0.78, 90: 0.82, 105: 0.86, 125: 0.89, 200: 1.0}


def assumed(key, end="value"):
    return float(ASSUMED[key][end])


def sizes(family, metal):
    """Return (name, resistance per km at 20 °C), the thinnest first."""
    if family == "metric":
        found = [
            (f"{float(r['area']):g} mm2", float(r["class5"])) for r in read("iec_60228") if float(r["area"]) <= 120
        ]
    elif family == "awg":
        found = [(r["gauge"], COPPER / float(r["area"])) for r in GAUGES]
    else:
        found = [(r["gauge"].replace("AWG", "SAE"), COPPER / float(r["sae_area"])) for r in GAUGES if r["sae_area"]]
    share = 1 if metal == "copper" else 0.61
    return [(name, ohms / share) for name, ohms in found]


def ampacity(per_km, piece):
    """Return (allowed where it lies, allowed at 30 °C), bundled as it is."""
    column = max(c for c in COLUMNS if c <= piece["insulation"])
    area = COPPER / per_km
    xs = [AREAS[row["gauge"]] for row in TABLE_5]
    ys = [float(row[str(column)]) for row in TABLE_5]
    base = ys[0] * area / xs[0] if area < xs[0] else math.exp(np.interp(math.log(area), np.log(xs), np.log(ys)))
    n = math.floor(piece["bundle"])
    base *= 1.0 if n < 3 else BUNDLE.get(n, 0.4)
    factor = math.sqrt(max(0.0, column - max(piece["ambient"], 30)) / (column - 30))
    if piece["bay"]:
        factor = min(factor, ENGINE_SPACE[column])
    return base * factor, base


def air(piece):
    return max(50, piece["ambient"]) if piece["bay"] else piece["ambient"]


def pieces(i):
    """Return the three pieces by the inputs of a check."""
    found = []
    for length, zone in ((i["length_1"], i["zone_1"]), (i["length_2"], i["zone_2"]), (i["load_length"], "cabin")):
        bay = zone == "engine_bay"
        heat = i["engine_bay_heat"] if bay else i["ambient"]
        found.append(
            {"length": length, "bay": bay, "ambient": heat, "insulation": i["insulation"], "bundle": i["bundle"]}
        )
    return found


def circuit(voltage, ohms, conductors, power=None, current=None):
    """Solve a ladder of resistances out and back with NumPy's dense solver: a supply, the conductors, a load.

    Nodes: 0 ground, 1 the supply's plus, then one behind each resistance; the load lies between the last node out and
    the last one back. Returns current and voltage at the load; the power's current by bisection on the upper branch.
    """
    way = len(ohms)

    def load_voltage(amperes):
        # unknowns: nodes out 1..way+1, nodes back 1..way (ground is the end of the way back), supply's current
        count = way + 1 + way + 1
        a, b = np.zeros((count, count)), np.zeros(count)

        def stamp(p, q, r):
            g = 1 / r
            for x, y, s in ((p, p, g), (q, q, g), (p, q, -g), (q, p, -g)):
                if x >= 0 and y >= 0:
                    a[x, y] += s

        for n, (r, both) in enumerate(ohms):
            stamp(n, n + 1, max(r, 1e-12))
            back_near, back_far = (way + n if n else -1), way + 1 + n
            stamp(back_near, back_far, max(r if both else 1e-12, 1e-12))
        a[count - 1, 0] = a[0, count - 1] = 1.0
        b[count - 1] = voltage
        b[way] -= amperes
        b[way + way] += amperes
        x = np.linalg.solve(a, b)
        return x[way] - x[way + way]

    if power is None:
        return current, load_voltage(current)
    resistance = (voltage - load_voltage(1.0)) / 1.0
    most = voltage / (2 * resistance)
    if most * (voltage - resistance * most) < power:
        return None
    low, high = 0.0, most
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if middle * (voltage - resistance * middle) < power else (low, middle)
    return high, load_voltage(high)


def warm(voltage, laid, fixed, both, power=None, current=None):
    """Return current and voltage at the load with every cable as warm as its current makes it, or None."""
    heat = [air(piece) for piece, _ in laid]
    for _ in range(400):
        ohms = [(fixed, False)]
        for (piece, per_km), t in zip(laid, heat, strict=True):
            ohms.append((per_km * piece["length"] / 1000 * (234.5 + t) / 254.5, both))
        found = circuit(voltage, ohms, None, power, current)
        if found is None:
            return None
        new = []
        for piece, per_km in laid:
            column = max(c for c in COLUMNS if c <= piece["insulation"])
            gain = (column - 30) * (found[0] / ampacity(per_km, piece)[1]) ** 2 / (column + 234.5)
            t = (air(piece) + 234.5 * gain) / (1 - gain) if gain < 1 else 300.0
            new.append(min(300.0, t))
        if max(abs(a - b) for a, b in zip(new, heat, strict=True)) < 1e-10:
            return found
        heat = new
    return None


def edge(family, rating, which):
    rows = [
        r for r in OPENING
        if r["family"] == family and float(r["rating_low"]) <= rating <= float(r["rating_high"]) and r[which]
    ]  # fmt: skip
    return [float(r["percent"]) / 100 for r in rows], [float(r[which]) for r in rows]


def opens(family, rating, current, which):
    """Return when a fuse opens, by one edge of its envelope; infinity where it may never."""
    xs, ts = edge(family, rating, which)
    m = current / rating
    if m > xs[-1]:
        return ts[-1] * (xs[-1] / m) ** 2
    if m < xs[0] * (1 - 1e-9):
        return math.inf if which == "slowest" else ts[0]
    return math.exp(np.interp(math.log(m), np.log(xs), np.log(ts)))


def withstand(per_km, insulation):
    end = 250 if insulation >= 125 else 160
    start = min(insulation, 200)
    return 226**2 * math.log(1 + (end - start) / (234.5 + start)) * (COPPER / per_km) ** 2


def battery(chemistry, capacity, state):
    """Return volts and ohms of a battery that is "low" (weak), "value" (usual) or "high" (strong)."""
    volts = assumed("fault_voltage_lfp" if chemistry == "lfp" else "fault_voltage_lead_acid", state)
    ohms = {"low": "high", "value": "value", "high": "low"}[state]
    return volts, assumed(f"internal_resistance_{chemistry}", ohms) * 100 / capacity


def fixed(i, joints, end, contact=0.0):
    body = assumed("body_return_resistance", end) if i["return_path"] == "body" else 0.0
    return joints * assumed("joint_resistance", end) + body + contact


def contact(i, end):
    return assumed(f"{i['link']}_contact", end) if i["link"] in ("relay", "switch") else 0.0


def fuses():
    return [(r["family"], float(r["rating"])) for r in RATINGS]


def needed(current, at):
    xs, ys = [float(r["temperature"]) for r in HEAT], [float(r["current"]) for r in HEAT]
    return 1.25 * current / (np.interp(at, xs, ys) / ys[0])


def fuse_fault(f, current, at, surge, surge_time, source, way, others):
    """Return why a fuse will not do for the cables that it guards, or None.

    `way` is what it guards: (piece, ohm per km), from its own battery on; `others` resists at the worst.
    """
    family, rating = f
    if rating < needed(current, at) * (1 - 1e-9):
        return "load"
    least = min(ampacity(per_km, piece)[0] for piece, per_km in way)
    if rating > 1.5 * least * (1 + 1e-9):
        return "150 %"
    if surge > current and opens(family, rating, surge, "fastest") <= surge_time:
        return "surge"
    conductors = source["conductors"]
    strong = battery(*source["battery"], "high")
    weak = battery(*source["battery"], "low")
    ladder = [(0.0, 0, "post")]  # hot resistance so far, piece reached
    ohms = 0.0
    for n, (piece, per_km) in enumerate(way):
        whole = conductors * per_km * piece["length"] / 1000 * (234.5 + min(piece["insulation"], 200)) / 254.5
        ladder += [(ohms + share * whole, n, share) for share in (0, 0.25, 0.5, 0.75, 1)]
        ohms += whole
    worst = weak[0] / (weak[1] + ohms + others)
    best = strong[0] / strong[1]
    currents = [weak[0] / (weak[1] + r + others) for r, _, _ in ladder]
    currents += [strong[0] / (strong[1] + r) for r, _, _ in ladder]
    currents += list(np.geomspace(worst, best, 60))
    xs, _ = edge(family, rating, "slowest")
    currents += [x * rating for x in xs if worst <= x * rating <= best]
    for amperes in currents:
        if not worst * (1 - 1e-12) <= amperes <= best * (1 + 1e-12):
            continue
        for piece, per_km in way:
            if amperes <= ampacity(per_km, piece)[0]:
                continue
            late = opens(family, rating, amperes, "slowest")
            if not late * amperes**2 <= withstand(per_km, piece["insulation"]) * (1 + 1e-9):
                return f"short of {amperes:.0f} A"
    return None


def allowed_kinds(chemistry, capacity):
    state = "value" if chemistry == "lfp" else "low"
    volts, ohms = battery(chemistry, capacity, state)
    enough = [k for k, can in BREAKS.items() if can >= volts / ohms]
    return enough or [k for k, can in BREAKS.items() if can == max(BREAKS.values())]


def output_voltage(i):
    rows = {(r["chemistry"], r["stage"]): float(r["value"]) for r in read("charge_voltages") if r["value"]}
    return (rows[i["chemistry"], "absorption_low"] + rows[i["chemistry"], "absorption_high"]) / 2


def tasks(i):
    """Return the tasks: which pieces in line, their circuit, and the fuses at their ends."""
    p = pieces(i)
    starter, second = (i["starter_chemistry"], i["starter_capacity"]), (i["chemistry"], i["capacity"])
    both = i["return_path"] == "cable"
    source = {"starter": starter, "second": second}
    found = []
    if i["link"] == "charger":
        half = i["joints"] / 2
        power = output_voltage(i) * i["current"] / assumed("charger_efficiency")
        for n, feed, volts, draws in (
            (0, "starter", i["source_voltage"], {"power": power}),
            (1, "second", output_voltage(i), {"current": i["current"]}),
        ):
            ends = [(source[feed], air(p[n]), (n,), 0.0, 0.0, fixed(i, half, "high"))]
            found.append(
                {"pieces": (n,), "volts": volts, "fixed": fixed(i, half, "value"), "draws": draws, "ends": ends}
            )
    else:
        surge = i["current"] * assumed("straight_inrush"), assumed("straight_inrush_time")
        worst = fixed(i, i["joints"], "high", contact(i, "high"))
        ends = [
            (starter, air(p[0]), (0, 1), *surge, worst),
            (second, air(p[1]), (1, 0), *surge, worst),
        ]
        usual = fixed(i, i["joints"], "value", contact(i, "value"))
        found.append(
            {"pieces": (0, 1), "volts": i["source_voltage"], "fixed": usual, "draws": {"current": i["current"]},
             "ends": ends}
        )  # fmt: skip
    surge = i["load_surge"] or 0.0, assumed("load_surge_time")
    ends = [(second, air(p[1]), (2,), *surge, fixed(i, assumed("joints_in_run", "high"), "high"))]
    usual = fixed(i, assumed("joints_in_run"), "value")
    volts = assumed("load_battery_voltage")
    found.append(
        {"pieces": (2,), "volts": volts, "fixed": usual, "draws": {"current": i["load_current"]}, "ends": ends}
    )
    return [t | {"all": p, "both": both, "allowed": i["allowed_drop"]} for t in found]


def fails(task, per_km, fitted=None):
    """Return the name of a limit that sizes break, or None; `fitted` holds the fuses, else any that is sold may be."""
    laid = [(task["all"][n], per_km[n]) for n in task["pieces"]]
    point = warm(task["volts"], laid, task["fixed"], task["both"], **task["draws"])
    if point is None:
        return "power"
    current, volts = point
    for piece, ohms in laid:
        if current > ampacity(ohms, piece)[0] * (1 + 1e-9):
            return "heat"
    if 100 * (task["volts"] - volts) / task["volts"] > task["allowed"] * (1 + 1e-6):
        return "loss"
    for end, (chemistry, at, way, surge, surge_time, others) in enumerate(task["ends"]):
        source = {"battery": chemistry, "conductors": 2 if task["both"] else 1}
        guarded = [(task["all"][n], per_km[n]) for n in way]
        kinds = allowed_kinds(*chemistry)
        choice = [fitted[end]] if fitted else [f for f in fuses() if f[0] in kinds]
        why = {f: fuse_fault(f, current, at, surge, surge_time, source, guarded, others) for f in choice}
        if all(why.values()):
            return f"fuse at end {end}: {sorted(set(why.values()))}"
    return None
