"""All checks, in the order a reader meets them. To add one, write its file and name it here."""

from __future__ import annotations

from calc.checks.battery_box import CHECK as BATTERY_BOX
from calc.checks.cable_drop import CHECK as CABLE_DROP
from calc.checks.camp_card import CHECK as CAMP_CARD
from calc.checks.charge_path import CHECK as CHARGE_PATH
from calc.checks.charge_voltage import CHECK as CHARGE_VOLTAGE
from calc.checks.commissioning_sheet import CHECK as COMMISSIONING_SHEET
from calc.checks.energy_budget import CHECK as ENERGY_BUDGET
from calc.checks.engine_start import CHECK as ENGINE_START
from calc.checks.fault_finder import CHECK as FAULT_FINDER
from calc.checks.fuse_choice import CHECK as FUSE_CHOICE
from calc.checks.job_sheet import CHECK as JOB_SHEET
from calc.checks.relay_settings import CHECK as RELAY_SETTINGS
from calc.checks.resting_voltage import CHECK as RESTING_VOLTAGE
from calc.checks.trip import CHECK as TRIP
from calc.checks.wiring_run import CHECK as WIRING_RUN

CHECKS = {
    check.id: check
    for check in (
        RESTING_VOLTAGE,
        CABLE_DROP,
        FUSE_CHOICE,
        CHARGE_VOLTAGE,
        WIRING_RUN,
        RELAY_SETTINGS,
        BATTERY_BOX,
        TRIP,
        CHARGE_PATH,
        ENERGY_BUDGET,
        ENGINE_START,
        FAULT_FINDER,
        JOB_SHEET,
        COMMISSIONING_SHEET,
        CAMP_CARD,
    )
}
