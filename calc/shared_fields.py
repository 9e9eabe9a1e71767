"""Fields that several checks ask in the same words."""

from __future__ import annotations

from calc.fields import Choice, Number, Series, Size, yes_no
from calc.physics.cable_sizes import AWG, METRIC, SAE

CHEMISTRIES = (
    ("flooded", "Flooded lead-acid (caps to top up)"),
    ("calcium", "Calcium lead-acid, maintenance-free"),
    ("agm", "AGM, sealed lead-acid"),
    ("gel", "Gel, sealed lead-acid"),
    ("lfp", "Lithium iron phosphate (LFP)"),
)
"""Keys and labels of the chemistries, in the order they are offered."""

ENGINES = (
    ("petrol_small", "Petrol, up to 1.6 l"),
    ("petrol", "Petrol, above 1.6 l"),
    ("diesel", "Diesel, up to 2.5 l"),
    ("diesel_large", "Diesel, above 2.5 l"),
)
"""Keys and labels of the engines whose start is known, as `calc/tables/engine_starting.csv` names them."""

LEAD_ACID = ("flooded", "calcium", "agm", "gel")

CHEMISTRY = Choice(
    "chemistry",
    "Battery type",
    "It stands on the battery's label; with screw caps it is flooded",
    "flooded",
    "agm",
    CHEMISTRIES,
    (("lead-acid", "flooded"), ("lifepo4", "lfp"), ("lithium", "lfp"), ("wet", "flooded")),
)
CAPACITY = Number(
    "capacity",
    "Capacity",
    "The ampere-hours on the label, at the 20-hour rate",
    "100 Ah",
    "100 Ah",
    "capacity",
    1,
    2000,
)
BATTERY_TEMPERATURE = Number(
    "battery_temperature",
    "Battery temperature",
    "Of the battery itself, which follows the air by hours; under the bonnet it can be 50 °C",
    "25 degC",
    "35 degC",
    "temperature",
    -40,
    80,
)
CURRENT = Number(
    "current",
    "Current",
    "The most that flows for more than a few minutes: the charger's rating, or the loads together",
    None,
    "25 A",
    "current",
    0.1,
    600,
)
LENGTH = Number(
    "length",
    "Length of the run, one way",
    "Measured along the way the cable takes, not straight across",
    None,
    "6 m",
    "length",
    0.1,
    60,
)
SIZE = Size(
    "size",
    "Cable size",
    "As printed on the cable or reel",
    None,
    "16 mm2",
)
FAMILY = Series(
    "family",
    "Sizes to choose from",
    "As cable is sold where you are",
    METRIC,
    METRIC,
    ((METRIC, "Metric, in mm²"), (AWG, "AWG, the same as B&S"), (SAE, "SAE battery cable")),
)
INSULATION = Number(
    "insulation",
    "Insulation rating",
    "The temperature printed on the cable; where none is, 75 °C is prudent",
    "75 degC",
    "105 degC",
    "temperature",
    60,
    250,
)
AMBIENT = Number(
    "ambient",
    "Air around the cable",
    "The hottest it gets where the cable runs",
    "30 degC",
    "40 degC",
    "temperature",
    -40,
    120,
)
ENGINE_BAY = yes_no(
    "engine_bay",
    "Through the engine bay",
    "An engine bay counts as at least 50 °C",
)
RETURN_PATH = Choice(
    "return_path",
    "Way back",
    "A second cable beside the first, or the vehicle's metal body",
    "cable",
    "cable",
    (("cable", "By cable"), ("body", "By the body")),
)
JOINTS = Number(
    "joints",
    "Joints in the run",
    "Crimps, bolts, plugs and fuse holders, there and back",
    "4",
    "4",
    "number",
    0,
    100,
)
