"""What a fitted unit is to the compiled functions: one row of numbers, and the place of each in it.

A row is a float64 array of `SIZE`; the first six places are the same for all technologies.
"""

from __future__ import annotations

MACHINE = 0  # EVAPORATOR or ROTOR
AIRFLOW = 1  # m³/s at the entering state
LOWEST_DRY_BULB = 2  # °C entering; outside these four the unit does not run
HIGHEST_DRY_BULB = 3  # °C entering
LOWEST_VAPOUR_PRESSURE = 4  # Pa entering
HIGHEST_VAPOUR_PRESSURE = 5  # Pa entering

# Evaporator and condenser in one airstream
COIL_FLOW = 6  # kg/s, A0 of bypass factor = exp(-A0 / flow)
PRECOOL = 7  # sensible effectiveness of the pre-cooling exchanger, 0 without one
CAPACITY = 8  # W, of the evaporator at 0 °C surface and 0 °C entering
CAPACITY_PER_SURFACE = 9  # W/K
CAPACITY_PER_ENTERING = 10  # W/K
POWER = 11  # W, at 0 °C surface and 0 °C entering, fan included
POWER_PER_SURFACE = 12  # W/K
POWER_PER_ENTERING = 13  # W/K
FROST_LOSS = 14  # 1/K, share of the time lost to defrost for each kelvin of surface below 0 °C

# Rotor
FIRST_EFFECTIVENESS = 6  # of the first combined potential, near 0
SECOND_EFFECTIVENESS = 7  # of the second combined potential
REACTIVATION_AIRFLOW = 8  # m³/s at the reactivation air's own state
REACTIVATION_OUTDOOR = 9  # 1: reactivation air from outdoors, 0: from the space
REACTIVATION_HEAT = 10  # W, into the reactivation air ahead of the rotor: heater and reactivation fan
FAN_HEAT = 11  # W, of the process fan, into the process air behind the rotor
ELECTRICITY = 12  # W, everything electric
GAS = 13  # W

SIZE = 15

EVAPORATOR = 0.0
ROTOR = 1.0
