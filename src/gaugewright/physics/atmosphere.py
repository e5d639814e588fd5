"""The standard atmosphere: what the barometer shows at a height when nobody has looked.

Source: ISO 2533:1975, standard atmosphere, layer from -2000 m to 11 000 m geopotential
(equation for a constant lapse rate); the same numbers as the US Standard Atmosphere 1976.
"""

from __future__ import annotations

SEA_LEVEL_PA = 101325.0
"""ISO 2533, table 1."""
SEA_LEVEL_K = 288.15
"""ISO 2533, table 1."""
LAPSE_K_PER_M = 0.0065
"""ISO 2533, table 4, first layer."""
EXPONENT = 5.255880
"""g M / (R* L) with the constants of ISO 2533."""
EARTH_RADIUS_M = 6356766.0
"""Nominal radius for the geopotential, ISO 2533, 2.3."""
LOWEST_M = -2000.0
HIGHEST_M = 11000.0
WEATHER_PA = 800.0
"""Standard deviation of the weather about the standard atmosphere (job format, judgement)."""


def pressure(height_m: float) -> float:
    """What is the pressure of the standard atmosphere at a geopotential height?

    Parameters: `height_m` from -2000 to 11 000.
    Returns Pa, without an uncertainty of its own: the weather adds about `WEATHER_PA`.
    Raises ValueError beyond the layer.
    Source: ISO 2533, equation for the layer of constant lapse.

    Example: `pressure(1000.0)` is 89874.6.
    """
    if not LOWEST_M <= height_m <= HIGHEST_M:
        raise ValueError(f"{height_m} m is beyond -2000 to 11000 m, where the formula holds")
    return SEA_LEVEL_PA * float((temperature_k(height_m) / SEA_LEVEL_K) ** EXPONENT)


def temperature_k(height_m: float) -> float:
    """The standard temperature, in K, at a geopotential height in m.

    Example: `temperature_k(1000.0)` is 281.65.
    """
    return SEA_LEVEL_K - LAPSE_K_PER_M * height_m


def height(pressure_pa: float) -> float:
    """At what geopotential height, in m, does the standard atmosphere have this pressure?

    Raises ValueError when that lies beyond -2000 to 11 000 m.

    Example: `height(90000.0)` is 988.5.
    """
    if not pressure_pa > 0:
        raise ValueError(f"{pressure_pa} Pa is no absolute pressure")
    ratio = (pressure_pa / SEA_LEVEL_PA) ** (1.0 / EXPONENT)
    found = SEA_LEVEL_K * (1.0 - float(ratio)) / LAPSE_K_PER_M
    if not LOWEST_M <= found <= HIGHEST_M:
        raise ValueError(f"{pressure_pa} Pa is beyond -2000 to 11000 m, where the formula holds")
    return found


def geopotential(geometric_m: float) -> float:
    """The geopotential height of a height above the sea, both in m.

    Source: ISO 2533, 2.3.  The difference is 0.16 m at 1000 m.
    """
    return EARTH_RADIUS_M * geometric_m / (EARTH_RADIUS_M + geometric_m)


def pressure_at_altitude(geometric_m: float) -> float:
    """The standard atmosphere's pressure, in Pa, at a height above the sea as maps print it.

    Example: `pressure_at_altitude(1000.0)` is 89876.3.
    """
    return pressure(geopotential(geometric_m))
