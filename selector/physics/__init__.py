"""Moist air, coil, dehumidifier, ducts, gains, arrangements and the year, hour by hour."""
