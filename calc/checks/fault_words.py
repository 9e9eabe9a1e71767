"""The words of the fault finder: causes and what to do about them, places of a meter, states of the vehicle."""

from __future__ import annotations

from dataclasses import dataclass

from calc import cautions


@dataclass(frozen=True)
class CauseWords:
    """A cause: level, its name, what to do now, and what not to do."""

    level: str
    title: str
    now: tuple[str, ...]
    never: tuple[str, ...]


NO_BIGGER_FUSE = "Do not fit a bigger fuse: the cable behind it burns then."
WHY_IT_OPENED = "Find out why it opened before you fit another: a chafed cable, or a current above its rating."
NO_BRIDGE = "Do not bridge it with wire or foil."
CLEAN_JOINT = "Disconnect the battery, take the joint apart, clean it to bare metal, tighten it, and grease it."
NOT_LIVE = "Do not work on it while it is joined to a battery."

CAUSES = {
    "nothing": CauseWords(
        "ok",
        "Nothing wrong",
        ("Note these readings: they are what your set-up shows when it is well.",),
        ("Do not change parts on suspicion.",),
    ),
    "front_fuse": CauseWords(
        "caution",
        "Open fuse at the starter battery",
        (WHY_IT_OPENED, "Fit one of the same rating and kind, then read again."),
        (NO_BIGGER_FUSE, NO_BRIDGE),
    ),
    "rear_fuse": CauseWords(
        "caution",
        "Open fuse at the second battery",
        (WHY_IT_OPENED, "Fit one of the same rating and kind, then read again."),
        (NO_BIGGER_FUSE, NO_BRIDGE),
    ),
    "front_joint": CauseWords(
        "caution",
        "Poor joint at the starter battery or in its fuse holder",
        (CLEAN_JOINT, "If the holder is browned or melted, replace it."),
        (NOT_LIVE, "Do not drive on with a joint that gets hot."),
    ),
    "rear_joint": CauseWords(
        "caution",
        "Poor joint at the second battery or in its fuse holder",
        (CLEAN_JOINT, "If the holder is browned or melted, replace it."),
        (NOT_LIVE, "Do not drive on with a joint that gets hot."),
    ),
    "link_contact": CauseWords(
        "caution",
        "Poor contacts in the relay or switch",
        ("Tighten its studs. If the loss stays, replace it by one of a higher rating.",),
        ("Do not bridge it and drive on: nothing parts the batteries then.",),
    ),
    "thin_cable": CauseWords(
        "caution",
        "Cable too thin or damaged",
        ("Look along it for damage. Ask the check of cable and loss which size it needs.",),
        ("Do not fit a bigger fuse to a thin cable.",),
    ),
    "second_earth": CauseWords(
        "caution",
        "Poor earth of the second battery",
        ("Follow its negative cable to where it ends. " + CLEAN_JOINT, "Paint under the eye is enough to cause it."),
        (NOT_LIVE,),
    ),
    "engine_earth": CauseWords(
        "caution",
        "Poor earth strap between engine and starter battery",
        ("Clean and tighten the strap at both ends, or lay a second one beside it.",),
        ("Do not crank on for long: the current looks for other ways, through thin cables and bearings.",),
    ),
    "alternator_cable": CauseWords(
        "caution",
        "Poor joint between alternator and starter battery",
        ("Engine off, starter battery disconnected: clean and tighten the alternator's nut and cable.",),
        ("Never take the cable off while the engine runs.",),
    ),
    "link_open": CauseWords(
        "caution",
        "The relay or switch does not close",
        ("Look at its thin wires: earth, and what switches it. If they are in order, replace it.",),
        ("Do not bridge it and leave it: it then joins the batteries for good.",),
    ),
    "link_stuck": CauseWords(
        "caution",
        "The relay or switch does not open",
        ("Disconnect it when you camp, or your loads drain the starter battery. Replace it.",),
        ("Do not hit it: contacts that weld once weld again.",),
    ),
    "charger_dead": CauseWords(
        "caution",
        "The charger gives nothing, though it is fed",
        ("Look at its lamps and leaflet: wrong setting, too hot, or a fault. Let it cool, and try again.",),
        ("Do not open it.",),
    ),
    "charger_ignition": CauseWords(
        "caution",
        "The charger does not get its ignition signal",
        ("Follow the thin ignition wire to the fuse box: an open fuse or a loose plug is usual.",),
        ("Do not feed it from the battery for good: the charger then drains it.",),
    ),
    "alternator_dead": CauseWords(
        "caution",
        "The alternator does not charge",
        (
            "Engine off: look at the belt and the plug behind the alternator. Is the charge lamp on?",
            "Drive with as little switched on as you may, to a workshop.",
        ),
        ("Never take a battery clamp off while the engine runs.",),
    ),
    "smart_low": CauseWords(
        "caution",
        "A smart alternator holds its voltage low",
        (
            "Drive with the headlamps on, which often lifts it.",
            "A charger between the batteries, with an ignition wire, cures it.",
        ),
        ("Do not set the relay so low that it joins the batteries with the engine off.",),
    ),
    "overcharging": CauseWords(
        "stop",
        "The alternator holds far too much voltage",
        ("Stop the engine. Switch loads on if you must drive to a workshop, and keep it short.",),
        ("Do not drive on like this: batteries gas, get hot and can burst, and electronics die.",),
    ),
    "flat": CauseWords(
        "caution",
        "The second battery is flat, but healthy",
        ("Charge it soon and whole: a long drive, better a mains charger overnight.",),
        ("Do not leave a lead-acid battery flat: in weeks it is spoilt.",),
    ),
    "dead_cell": CauseWords(
        "stop",
        "The second battery has a dead cell",
        ("Disconnect it and replace it.",),
        ("Do not charge it: the other cells are overcharged, gas hard and get hot.",),
    ),
    "cut_off": CauseWords(
        "caution",
        "The second battery's own protection has cut off",
        ("Take all loads off. Put a charger made for LFP on it, above 0 °C.", "If it does not wake, ask its maker."),
        ("Do not join it to another battery to wake it.",),
    ),
    "aged": CauseWords(
        "caution",
        "The second battery is sulphated or worn out",
        ("Charge it whole, let it rest a night, and read it with the loads on again. If it falls again, replace it.",),
        ("Do not change cables or chargers for it: they are in order.",),
    ),
    "starter_worn": CauseWords(
        "caution",
        "The starter battery is at its end",
        ("Replace it before the trip. Until then keep the second battery ready to help.",),
        ("Do not let the link drain it for the second battery.",),
    ),
    "left_on": CauseWords(
        "caution",
        "A load is left on",
        ("Take the loads' fuses out one by one until the current falls: that circuit it is.",),
        ("Do not switch a strong load on with the meter in series: its fuse opens.",),
    ),
    "drain": CauseWords(
        "caution",
        "Something drains the second battery quietly",
        ("Take the fuses out one by one until the current falls. Look at radios, converters and chargers first.",),
        ("Do not switch a strong load on with the meter in series: its fuse opens.",),
    ),
    "starter_drain": CauseWords(
        "caution",
        "Something drains the starter battery",
        (
            "Lock the vehicle and wait half an hour until it sleeps.",
            "Take its fuses out one by one until the current falls.",
        ),
        ("Do not disconnect the starter battery without the radio's code and the maker's advice.",),
    ),
    "overload": CauseWords(
        "caution",
        "The loads take more than charges",
        ("Switch something off while you drive, or fit a stronger charger. An inverter is the first to look at.",),
        ("Do not fit a bigger charger to the same cable and fuse.",),
    ),
    "load_fuse": CauseWords(
        "caution",
        "Open fuse of the load",
        (WHY_IT_OPENED, "Fit one of the same rating and kind."),
        (NO_BIGGER_FUSE, NO_BRIDGE),
    ),
    "load_joint": CauseWords(
        "caution",
        "Poor joint or thin wire on the plus side of the load",
        ("Look at the plug and socket first. A cigar-lighter socket is no place for a fridge: fit a screwed one.",),
        (NOT_LIVE,),
    ),
    "load_earth": CauseWords(
        "caution",
        "Poor joint or thin wire on the minus side of the load",
        ("Follow its minus wire to where it ends, clean it to bare metal and tighten it.",),
        (NOT_LIVE,),
    ),
}  # fmt: skip
"""Words of every cause; two at once take both."""


@dataclass(frozen=True)
class PlaceWords:
    """A place: what it is called, where the red and the black probe go, and what can hurt there."""

    title: str
    red: str
    black: str
    cautions: tuple[str, ...] = ()


SECOND_PLUS = "the plus post of the second battery"
SECOND_MINUS = "the minus post of the second battery"
STARTER_PLUS = "the plus post of the starter battery"
STARTER_MINUS = "the minus post of the starter battery"
BARE_METAL = "bare metal of the body close by"

PLACES = {
    "second": PlaceWords("Second battery", SECOND_PLUS, SECOND_MINUS, (cautions.SHORT_CIRCUIT,)),
    "starter": PlaceWords("Starter battery", STARTER_PLUS, STARTER_MINUS, (cautions.SHORT_CIRCUIT,)),
    "alternator": PlaceWords(
        "Alternator", "the thick stud of the alternator", "the alternator's bare case", (cautions.SHORT_CIRCUIT,)
    ),
    "link-in": PlaceWords("Link, input", "the link's stud on the starter battery's side", BARE_METAL),
    "link-out": PlaceWords("Link, output", "the link's stud on the second battery's side", BARE_METAL),
    "link": PlaceWords(
        "Across the link",
        "the link's stud on the starter battery's side",
        "the link's stud on the second battery's side",
    ),
    "front-fuse": PlaceWords(
        "Across the fuse at the starter battery", STARTER_PLUS, "the cable's end of that battery's fuse"
    ),
    "rear-fuse": PlaceWords(
        "Across the fuse at the second battery", "the cable's end of that battery's fuse", SECOND_PLUS
    ),
    "front-cable": PlaceWords(
        "Along the cable to the link",
        "the cable's end of the starter battery's fuse, with a long lead",
        "the link's stud on the starter battery's side",
    ),
    "run": PlaceWords(
        "Along the whole cable",
        "the cable's end of the starter battery's fuse, with a long lead",
        "the cable's end of the second battery's fuse",
    ),
    "second-earth": PlaceWords(
        "Earth of the second battery", SECOND_MINUS, "bare metal of the body, away from its eye"
    ),
    "engine-earth": PlaceWords("Earth strap of the engine", "bare metal of the engine block", STARTER_MINUS),
    "alternator-cable": PlaceWords(
        "Along the alternator's cable", "the thick stud of the alternator", STARTER_PLUS, (cautions.SHORT_CIRCUIT,)
    ),
    "load": PlaceWords("At the load's plug", "plus at the plug of the load", "minus at the same plug"),
    "load-plus": PlaceWords("Plus side of the load's wiring", SECOND_PLUS, "plus at the plug of the load"),
    "load-minus": PlaceWords("Minus side of the load's wiring", "minus at the plug of the load", SECOND_MINUS),
    "ignition": PlaceWords("Ignition wire of the charger", "the charger's ignition terminal", BARE_METAL),
    "second-drain": PlaceWords("Current out of the second battery", "around its minus cable", "", ()),
    "starter-drain": PlaceWords("Current out of the starter battery", "around its minus cable", "", ()),
}
"""Words of every place; ones read in amperes take a clamp meter for direct current."""


@dataclass(frozen=True)
class StateWords:
    """A state: what it is called, how to get there, and what can hurt."""

    title: str
    how: str
    cautions: tuple[str, ...] = ()


RUNS = (cautions.ENGINE, cautions.EXHAUST)

STATES = {
    "rested": StateWords("at rest", "Engine off, everything switched off, best after some hours of rest."),
    "load-on": StateWords("with the loads on", "Engine off. Switch all loads on and wait ten minutes."),
    "running": StateWords(
        "engine running", "Loads off. Let the engine run a little faster than idle for five minutes.", RUNS
    ),
    "running-load": StateWords(
        "engine running, loads on", "Let the engine run a little faster than idle, and switch all loads on.", RUNS
    ),
    "lights": StateWords(
        "engine running, headlamps on", "Let the engine run a little faster than idle, with the headlamps on.", RUNS
    ),
    "cranking": StateWords(
        "while cranking",
        "Park brake on, out of gear. Someone else turns the key for three seconds while you read.",
        (cautions.ENGINE, cautions.CRANKING),
    ),
}
"""Words of every state."""

REVERSED = "The meter's leads were the wrong way round at {reading}: it is taken without its minus sign."
HIGH_SYSTEM = "{reading} is no reading of a 12 V system: a 24 V system, a bare solar panel, or the meter's range."
NO_VOLTAGE = "{reading} is next to nothing: perhaps the meter's range is wrong, a lead is off, or a probe is on paint."
ELSEWHERE = "It would fit at “{place}”: perhaps the probes touched that."
READ_AGAIN = "Read {reading} again: nothing that is usually wrong explains it."
COUNTS_LITTLE = "It counts little until it is confirmed: the right place, volts d.c., clean metal."
