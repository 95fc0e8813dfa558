"""Units that tyres, rims and tubes are marked in, once.

1 in = 25.4 mm, 1 lb = 0.45359237 kg, standard gravity 9.80665 m/s2, so that 1 psi = 6.894757 kPa
and 1 kgf/cm2 = 98.0665 kPa (NIST SP 811, appendix B.8); 1 bar = 100 kPa.
"""

from __future__ import annotations

INCH = 25.4  # mm
POUND = 0.45359237  # kg
GRAVITY = 9.80665  # m/s2
KPA = {
    "kPa": 1.0,
    "bar": 100.0,
    "PSI": POUND * GRAVITY / (INCH / 1000) ** 2 / 1000,
    "kg/cm2": GRAVITY * 10,
}
"""Kilopascals in one of each unit, by the unit's name as it is told."""
