"""All checks, in the order a reader meets them. To add one, write its file and name it here."""

from __future__ import annotations

from calc.checks.cable_drop import CHECK as CABLE_DROP

CHECKS = {check.id: check for check in (CABLE_DROP,)}
