"""What one hour of thermostat and coil leaves behind: the columns of the record that they fill together.

Units: °C, kg/kg, kg/s, W, Pa; shares of the hour 0 to 1.
"""

from __future__ import annotations

# what `respond` leaves behind, all as means over the hour unless said
(
    END_T,
    MEAN_T,
    REMOVED,  # kg/s by coil and units
    VAPOUR_SOURCE,  # kg/s: gains and outdoor air, A of the moisture step
    VAPOUR_LOSS,  # kg/s: B of the moisture step
    COIL_REMOVED,  # kg/s
    GAIN_VAPOUR,  # kg/s
    VENTILATION,  # kg/s of outdoor air through the air handler
    INFILTRATION,  # kg/s of outdoor air through the envelope
    FAN_SHARE,
    COIL_SHARE,  # of the hour at COIL_STAGE
    COIL_STAGE,  # the higher of the two stages; 1 for chilled water
    COIL_HEAT,  # W taken from the air
    COIL_POWER,  # W
    HEATING,  # W delivered
    SHORT_HEATING,  # W that heating lacked
    COIL_FULL,  # 1: the coil ran at all it has and the space ended above its set point
    SURFACE_T,  # °C apparatus dew point while on
    COIL_IN_T,
    COIL_IN_W,
    COIL_OUT_T,
    COIL_OUT_W,
    COIL_LOW_T,  # leaving the coil in the rest of the fan's time
    COIL_LOW_W,
    COIL_AIR,  # kg/s through the coil while the fan runs
    GIVEN_BACK,  # kg/s evaporated from the wet coil
    FAN_FROM_UNITS,  # share of the hour the fan runs for units alone
    GAIN_HEAT,  # W sensible, evaporation from the air taken off
    UNIT_AIR_HEAT,  # W sensible that standalone units give to the space
    SYSTEM_HEAT,  # W that the air handler gives to the space beyond its ventilation air
    SUPPLY_REMOVED,  # kg/s by supply-side units
    UNIT_LOW,  # kg/s by supply-side units while the coil is off and the fan runs
    SHARE_SETTLED,  # 1: the fan's share settled
    HEAT_LOSS,  # W/K: envelope and outdoor air, B of the heat step
    BROUGHT,  # kg/s of outdoor air without what the economizer adds; its heat is not in SYSTEM_HEAT
    WHEEL_SENSIBLE,  # share of BROUGHT's heat that the energy-recovery wheel keeps
    WHEEL_LATENT,  # share of BROUGHT's moisture that it keeps out, or in
    WHEEL_T,  # °C of the outdoor air behind wheel and its fan; as all of these 0 while it stands
    WHEEL_W,  # kg/kg
    WHEEL_POWER,  # W
    WHEEL_SPEED,  # share of its full speed
    REHEAT,  # W delivered, in SYSTEM_HEAT
    REHEAT_SHORT,  # why overcooling did not hold the set point, as `overcooling` numbers it
) = range(43)
RESPONSE = 43
ORDERED = WHEEL_SENSIBLE  # from here on `respond` fills only what wheel and over-run were told

# from here on, where searches ended last in this hour, to start from there: not a number at the hour's beginning
KEPT = RESPONSE
KEPT_ON = KEPT  # share of the hour that the first stage ran
KEPT_FALL = KEPT + 1  # change of what a mean dry bulb leads to, less that mean, for each kelvin of it
KEPT_COIL = KEPT + 2  # the coil's stages; those beyond the fourth start afresh
KEPT_SURFACE, KEPT_T, KEPT_W, KEPT_SATURATED, KEPT_IN_T, KEPT_IN_W, KEPT_FLOW = range(7)
KEPT_SIZE = 7
KEPT_STAGES = 4
KEPT_VALVE = KEPT_COIL + KEPT_SIZE  # surface temperature that the chilled-water valve held
# what the thermostat is told for the hour: how the wheel turns, as `recovery` numbers it, and its highest speed;
# whether the coil is to over-run, with how much reheat [W] and at which dry bulb of the space [°C]
ORDER_WHEEL, ORDER_SPEED, ORDER_OVERRUN, ORDER_REHEAT, ORDER_HOLD = range(
    KEPT_COIL + KEPT_SIZE * KEPT_STAGES, KEPT_COIL + KEPT_SIZE * KEPT_STAGES + 5
)
BESIDE = (
    ORDER_HOLD + 1
)  # where what is kept waits while the humidistat looks whether all units of a group lack
WHOLE_RESPONSE = BESIDE + ORDER_WHEEL - KEPT
