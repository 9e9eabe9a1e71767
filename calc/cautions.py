"""What can hurt someone, said once. Checks name a caution; every page and sheet prints the same words."""

SHORT_CIRCUIT = (
    "A battery can drive hundreds of amperes through a dropped spanner: take off rings and watch, cover the posts, "
    "and disconnect the negative before you work."
)
FUSE_LAST = "Fit the fuses last, when every joint is made and checked."
GAS = "Lead-acid batteries give off hydrogen, most while charging: no flame, no sparks, and air through the box."
BATTERY_HELD = (
    "A loose battery kills in a crash: hold it to the vehicle's structure so that neither a crash nor a roll-over "
    "moves it."
)
ACID = "Battery acid burns skin and eyes: wear goggles, and rinse at once with plenty of water."
LAST_CLAMP = "The last clamp sparks: put it on bare metal away from both batteries, and take it off first."
JOINING = (
    "Joining two batteries of different charge by hand sparks, and hundreds of amperes may rush from one to the other: "
    "only with a switch and fuses made for it, engine off, and never where gas may stand."
)
EXHAUST = "Exhaust gas kills: run an engine or generator only in the open, and where nobody sleeps downwind."
LITHIUM_CRANK = "Never start an engine from a lithium battery unless its maker says it is made to crank."
FROZEN = "Never charge or jump a battery that may be frozen: thaw it first, it can burst."
LITHIUM_COLD = "Never charge a lithium battery below 0 °C: it is damaged for good and can become dangerous."
HOT_BATTERY = "Stop charging a battery that is hot to the hand, bulges or smells; let it cool in the open."
ENGINE = "Keep hands, sleeves and leads away from belts and the fan while the engine runs."
CRANKING = "Before anyone cranks: out of gear, brake on, nobody near the engine or in front of the wheels."
MAINS = "Mains wiring is for a licensed person; this book does not cover it."
LOCAL_CODE = (
    "Where a local wiring code, the vehicle's maker or the battery's maker says otherwise, follow that; have the work "
    "checked by a licensed person where the law asks for it."
)
