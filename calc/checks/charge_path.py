"""How should the second battery be charged on the road: by nothing, a wire, a switch, a relay or a charger?"""

from __future__ import annotations

from calc import cautions, progress
from calc.check import Cases, Check, Findings, Inputs, Output, Sheet
from calc.checks import trips
from calc.checks.trips import Outcome
from calc.setup import starts
from calc.setup.vehicle import value, with_link
from calc.shared_fields import LEAD_ACID
from calc.units import show

WAYS = {
    "none": "Nothing joins them",
    "relay": "A relay",
    "charger": "A DC-DC charger",
    "switch": "A switch by hand",
    "wire": "A wire",
}
"""Ways of joining, the simplest to live with first: a switch wants a memory, and a wire never parts the two."""

ADVICE = {
    "none": "Leave them apart: sun or mains do it all.",
    "relay": "Join them by a voltage-sensitive relay.",
    "charger": "Join them by a DC-DC charger.",
    "switch": "Join them by a switch, and turn it off whenever the engine stops.",
    "wire": "Wire them straight through.",
}

NEEDS = {
    "none": "A mains charger, or panels with a solar controller; a fuse at the battery",
    "relay": "A relay for the rush of current, thick cable, a fuse at each battery",
    "charger": "A charger set for the battery, its ignition wire, cable for its input, a fuse at each battery",
    "switch": "A battery switch in reach of the driver, thick cable, a fuse at each battery",
    "wire": "Thick cable, a fuse at each battery; nothing parts the two at camp",
}
"""What each way needs to be fitted. Common practice, no source."""

STRAIGHT = ("wire", "switch", "relay")
"""What passes the starter battery's voltage on as it is."""

STARTER_KEEPS = 50.0
"""Charge that a starter battery should keep [%]. Common practice, no source."""

NOTICED = 6.0
"""Hours that a fridge is off by which two ways are told apart [h]."""

MORE = 5.0
"""Charge by which one way is plainly better than another [%]."""

UNKNOWN = "not worked out"
"""What is said of a way that could not be followed to the end."""

FULL = 95.0
"""Charge of which a driver would say that it is full [%]. Common practice, no source."""


def compute(i: Inputs, found: Findings) -> None:
    """Fill in everything."""
    q = trips.question(i)
    outcomes = {}
    for n, (kind, name) in enumerate(WAYS.items()):
        progress.tell(n / len(WAYS), name)
        told = trips.with_progress(n / len(WAYS), 1 / len(WAYS), name)
        outcomes[kind] = trips.follow(with_link(i.set_up, kind), q, told)
    for kind, o in outcomes.items():
        found.value(kind, *((None, None, None, UNKNOWN) if o.ended_early else (o.lowest,)))
    judge(i, outcomes, found)
    found.sheets += [side_by_side(outcomes), needs(i)]
    warn(i, found)
    working(outcomes, found)


def is_lithium(i: Inputs) -> bool:
    """Return whether the second battery is a lithium one."""
    return value(i.set_up, "second", 0, "chemistry") not in LEAD_ACID


def rank(i: Inputs, kind: str, o: Outcome) -> tuple:
    """Return how well a way does, smaller being better: harm first, then how full it keeps the battery, then ease."""
    return (
        o.ended_early or bool(o.failed_starts) or o.happened("relay_chatters") is not None,
        is_lithium(i) and kind in STRAIGHT,
        kind == "wire",
        round(o.off_hours / NOTICED),
        o.starter_lowest < STARTER_KEEPS,
        -round(o.mean / MORE),
        list(WAYS).index(kind),
    )


def judge(i: Inputs, outcomes: dict[str, Outcome], found: Findings) -> None:
    """Say which way is best and why, what yours does, and where none does."""
    best = min(outcomes, key=lambda kind: rank(i, kind, outcomes[kind]))
    o = outcomes[best]
    level = "ok" if o.well else "caution"
    found.verdict(level, ADVICE[best], f"{told(o)} {why(i, best, outcomes)}".strip())
    if not o.well:
        found.verdict(
            "caution",
            "No way of joining is enough for this trip.",
            "Each drive brings too little for what is used between. More battery, sun or mains helps: the question "
            "“How much battery and sun?” says how much.",
        )
    own = value(i.set_up, "link", 0, "kind")
    if own == best:
        return
    o = outcomes[own]
    harms = bool(o.failed_starts) or o.ended_early
    level = "stop" if harms else "caution" if rank(i, own, o)[:-1] > rank(i, best, outcomes[best])[:-1] else "ok"
    word = "assumed" if i.set_up.known("link", 0, "kind").assumed else "yours"
    found.verdict(level, f"As it is ({word}: {lower(WAYS[own])}): {happens(o)}.", told(o))


def lower(name: str) -> str:
    """Return a way as it stands within a sentence."""
    return name[:1].lower() + name[1:]


def told(o: Outcome) -> str:
    """Say how low the batteries get."""
    time, _ = o.run.lowest("second")
    return (
        f"The second battery goes down to {show(o.lowest, '%', 0)} on {o.clock(time)}, the starter battery to "
        f"{show(o.starter_lowest, '%', 0)}."
    )


def why(i: Inputs, best: str, outcomes: dict[str, Outcome]) -> str:
    """Say why a way is better than its neighbours."""
    said = []
    if is_lithium(i) and best in ("none", "charger"):
        said.append(
            "A lithium battery needs a charger between: straight, it can overheat the alternator, and may never part."
        )
    if best == "charger" and trips.opens_on_the_road(outcomes["relay"]) is not None:
        said.append("A relay would open on the road, as the alternator holds too few volts.")
    gained = outcomes["charger"].mean - outcomes["relay"].mean
    if best == "charger" and gained >= 1:
        said.append(
            f"On average it keeps the battery {show(gained, '%', 0)} fuller than a relay, as it makes up for what the "
            "cable loses."
        )
    if best == "relay" and gained < MORE:
        said.append("A charger would bring hardly more here.")
    if best != "none":
        said.append("The question “How do I wire the second battery, all of it?” sizes cable and fuses.")
    if best == "none":
        said.append("Joining them would bring next to nothing on this trip.")
    if outcomes["wire"].failed_starts:
        said.append("A wire would leave you with an engine that does not start.")
    elif outcomes["wire"].lowest > outcomes[best].lowest + MORE:
        said.append("A wire only seems to keep more: it takes it from the battery that has to start the engine.")
    return " ".join(said)


def happens(o: Outcome) -> str:
    """Say in a few words what happens."""
    said = []
    if o.failed_starts:
        said.append("the engine would not start")
    if o.off_hours:
        said.append(f"{'fridge' if o.fridges else 'loads'} off for {show(o.off_hours, 'h', 0)}")
    if o.happened("relay_chatters") is not None:
        said.append("the relay chatters")
    if o.ended_early:
        said.append("cannot be worked out to its end")
    return ", ".join(said) or "all stays on"


def side_by_side(outcomes: dict[str, Outcome]) -> Sheet:
    """Return the ways in a table."""

    def row(o: Outcome) -> tuple[str, ...]:
        if o.ended_early:
            return (happens(o).capitalize(), "–", "–", "–", "–")
        return (
            happens(o).capitalize(),
            show(o.lowest, "%", 0),
            show(o.starter_lowest, "%", 0),
            show(o.worn_hours, "h", 0),
            show(o.run.hours_below("second", FULL), "h", 0),
        )

    rows = tuple((WAYS[kind], *row(o)) for kind, o in outcomes.items())
    limit = show(next(iter(outcomes.values())).limit, "%", 0)
    headings = ("Joined by", "What happens", "Lowest", "Starter", f"Below {limit}", "Not full")
    return Sheet("The same trip, five ways", headings, rows)


def needs(i: Inputs) -> Sheet:
    """Return what each way needs."""
    fits = {kind: text for kind, text in NEEDS.items() if not (is_lithium(i) and kind in STRAIGHT)}
    return Sheet("What each needs", ("Joined by", "To be fitted"), tuple((WAYS[k], text) for k, text in fits.items()))


def warn(i: Inputs, found: Findings) -> None:
    """Add the cautions that belong to joining batteries."""
    found.caution(cautions.JOINING, cautions.FUSE_LAST, cautions.SHORT_CIRCUIT)
    found.caution(cautions.LITHIUM_COLD if is_lithium(i) else cautions.GAS)
    found.caution(cautions.EXHAUST, cautions.LOCAL_CODE)


def working(outcomes: dict[str, Outcome], found: Findings) -> None:
    """Show how the numbers came about."""
    found.step(
        "The trip is followed five times, everything but the link the same; what is not known of a link is as usual",
        f"{sum(o.run.steps for o in outcomes.values())} steps",
        "practice",
    )
    found.step(
        "Each battery as two wells of charge, with its resting voltage and resistance",
        "h1′ = (I − p) / C1, h2′ = p / C2, p = k · (h1 − h2)",
        "manwell-1993",
    )
    found.step(
        "Into the link and out of it, in all",
        "; ".join(f"{lower(WAYS[kind])}: {show(o.run.through[1], 'Wh', 0)}" for kind, o in outcomes.items()),
        "ohm",
    )
    found.step(
        "The best does no harm, keeps the fridge on, keeps the battery fullest, and is the simplest of those",
        "; ".join(f"{lower(WAYS[kind])}: {show(o.mean, '%', 0)} on average" for kind, o in outcomes.items()),
        "practice",
    )


CHECK = Check(
    id="charge-path",
    title="Ways to charge",
    question="How should the second battery be charged while driving?",
    about="The same trip is followed with nothing between the batteries, a wire, a switch, a relay and a charger, and "
    "what comes of each stands side by side. Everything else of your vehicle stays as it is.",
    task="home",
    fields=trips.FIELDS,
    outputs=tuple(
        Output(kind, "charge", f"Lowest charge, {words}")
        for kind, words in (
            ("none", "not joined"),
            ("wire", "by a wire"),
            ("switch", "by a switch"),
            ("relay", "by a relay"),
            ("charger", "by a charger"),
        )
    ),
    compute=compute,
    example={"legs": "drive 2 h, camp 1 d, drive 1 h, camp 1 d, drive 2 h", "charge": "80 %"},
    example_story="Two nights at two places, an hour apart, with a battery that was not quite full at home.",
    cases=(
        Cases(
            "Lowest charge of a usual vehicle's second battery, joined by a relay, by hours driven and days between",
            tuple((f"{h} h", {"legs": f"drive {h} h, camp 1 d, drive {h} h, camp 1 d"}) for h in (1, 2, 4)),
            tuple((f"{q}\u00a0% at first", {"charge": f"{q} %"}) for q in (50, 80)),
            "relay",
        ),
    ),
    guides=("joined-and-parted", "alternators", "charging-from-the-alternator"),
    starts={"latitude": starts.at("sun", "latitude")},
    whole=True,
)
