"""How a motor's body sheds heat: free convection, radiation, and a little through its mounting.

Plain lumped model, one temperature for the body: the winding stands above the case by a part of its rise, the case
gives its heat to still air (Churchill and Chu, vertical plate, all Rayleigh numbers, 1975) and to the room by
radiation; the front face sits on a bracket that carries a small fixed conductance instead.
"""

from __future__ import annotations

import math

from coilbench.rating.frames import Body

STEFAN_BOLTZMANN = 5.670374e-8  # W/(m2 K4)
ZERO_CELSIUS_KELVIN = 273.15
GRAVITY = 9.80665

# Black-lacquered or oxidised steel and cast end bells; emissivity of paints of any colour, 0.85 to 0.95
# (Incropera and DeWitt: Fundamentals of Heat and Mass Transfer, table A.11; from memory).
EMISSIVITY = 0.9
# Windings against case: 80 K are allowed on the winding and the case is kept below 100 C at 40 C ambient (weak: a
# dealer's catalogue page): 60 to 70 of 80 K are left to the case.
CASE_SHARE_OF_RISE = 0.85
# A poor mount, as on a bench. A 5 mm board of plastic or wood around a 42 mm face carries 0.03 W/K off as a fin
# (2 pi k t x K1(x)/K0(x), k 0.25 W/mK, both sides at 10 W/m2K) and some 0.01 more straight through to its back. A
# metal bracket carries far more.
MOUNT_WATT_PER_KELVIN = 0.035


def air_properties(celsius: float) -> tuple[float, float, float]:
    """Dry air at sea level: conductivity W/(m K), kinematic viscosity m2/s, Prandtl number.

    Power laws on the values at 0 C (0.02436 W/mK, 17.16e-6 Pa s), good to 2 % between -20 and 150 C.
    """
    kelvin = celsius + ZERO_CELSIUS_KELVIN
    conductivity = 0.02436 * (kelvin / ZERO_CELSIUS_KELVIN) ** 0.82
    viscosity = 1.716e-5 * (kelvin / ZERO_CELSIUS_KELVIN) ** 0.70
    density = 101325.0 / (287.05 * kelvin)
    return conductivity, viscosity / density, 1006.0 * viscosity / conductivity


def nusselt_vertical_plate(rayleigh: float, prandtl: float) -> float:
    """Mean Nusselt number of a vertical plate in free convection.

    Churchill and Chu: Correlating equations for laminar and turbulent free convection from a vertical plate, 1975
    (from memory).
    """
    damping = (1.0 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)
    return float((0.825 + 0.387 * rayleigh ** (1 / 6) / damping) ** 2)


def convection_coefficient(height_metre: float, excess_kelvin: float, ambient_celsius: float) -> float:
    """Free convection in W/(m2 K) of a face of that height, ``excess_kelvin`` above the air."""
    film_celsius = ambient_celsius + excess_kelvin / 2
    conductivity, viscosity, prandtl = air_properties(film_celsius)
    expansion = 1.0 / (film_celsius + ZERO_CELSIUS_KELVIN)
    rayleigh = GRAVITY * expansion * excess_kelvin * height_metre**3 * prandtl / viscosity**2
    return nusselt_vertical_plate(rayleigh, prandtl) * conductivity / height_metre


def radiation_coefficient(excess_kelvin: float, ambient_celsius: float, emissivity: float = EMISSIVITY) -> float:
    """Radiation to a large room in W/(m2 K) of excess temperature."""
    cold = ambient_celsius + ZERO_CELSIUS_KELVIN
    hot = cold + excess_kelvin
    return emissivity * STEFAN_BOLTZMANN * (cold**2 + hot**2) * (cold + hot)


def free_area(body: Body) -> float:
    """Surface in m2 that air reaches: the sides and the rear face; the front face sits on the mount."""
    if body.round_can:
        return math.pi * body.face_metre * body.length_metre + math.pi * body.face_metre**2 / 4
    return 4 * body.face_metre * body.length_metre + body.face_metre**2


def heat_for_rise(body: Body, rise_kelvin: float, ambient_celsius: float) -> float:
    """Heat in watt that holds the winding ``rise_kelvin`` above the room, at rest and in still air."""
    case_kelvin = CASE_SHARE_OF_RISE * rise_kelvin
    coefficient = convection_coefficient(body.face_metre, case_kelvin, ambient_celsius) + radiation_coefficient(
        case_kelvin, ambient_celsius
    )
    return case_kelvin * (coefficient * free_area(body) + MOUNT_WATT_PER_KELVIN)
