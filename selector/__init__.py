"""Chooses dehumidifiers for a building: inputs, physics, money, decide, report, in that order."""
