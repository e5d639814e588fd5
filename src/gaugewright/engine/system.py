"""The engine in one condition: four rooms' worth of equations, and the governor's law.

Unknown: speed, throttle (a diesel's fuel), manifold, crankcase and gallery pressure.  What
gathers in the manifold, in the crankcase and in the gallery and the torque left over are all
nothing; and an idle governor holds its speed while its throttle lies between two stops, beyond
which the throttle stays and the speed gives.  Held by foot, the speed is given instead.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.engine import air_path, oil_circuit, torque
from gaugewright.engine.air_path import AirFlows
from gaugewright.engine.build import Build
from gaugewright.engine.held import Held
from gaugewright.engine.oil_circuit import OilFlows, Thickness
from gaugewright.engine.parameters import Engine
from gaugewright.physics.numbers import Floats, Numbers

WIDE_OPEN_M2 = 1.2e-3
"""Effective throttle of a diesel: as good as none."""


@dataclass(frozen=True)
class AirSide:
    """The air side at a point: flows that balance the manifold, what they need, what they do.

    `throttle_m2`: the throttle that balances the manifold.  `work_w`: indicated work a second.
    `over`: air over what the fuel needs.
    """

    flows: AirFlows
    throttle_m2: Floats
    work_w: Floats
    over: Floats


@dataclass(frozen=True)
class System:
    """One condition of one build and n engines; arrays (n,) or numbers inside."""

    build: Build
    engine: Engine
    held: Held
    thick: Thickness
    settled: Numbers = 1.0

    def gas_left(self, blow_by: Numbers, manifold_pa: Floats, crankcase_pa: Floats) -> Floats:
        """What gathers in the crankcase, kg/s."""
        vent, fresh, holes = air_path.crankcase_flows(
            self.build, self.engine, self.held, manifold_pa, crankcase_pa
        )
        return np.asarray(blow_by + fresh + holes - vent)

    def air(self, speed_rpm: Floats, manifold_pa: Floats, crankcase_pa: Floats) -> AirSide:
        """A throttled engine's air side, its throttle as the manifold's balance wants it."""
        flows = self.flows(speed_rpm, 0.0, manifold_pa, crankcase_pa)
        wanted = -flows.manifold_balance / np.maximum(flows.flux, 1e-3)
        flows = replace(flows, throttle=np.asarray(wanted * flows.flux))
        vapour = torque.fuel_vapour(self.engine, self.held, flows.vent)
        work, over = torque.work_w(self.build, self.engine, flows, vapour)
        return AirSide(flows, np.asarray(wanted), work, over)

    def diesel_air(self, speed_rpm: Floats, manifold_pa: Floats, crankcase_pa: Floats) -> AirFlows:
        """A diesel's air side: wide open."""
        return self.flows(speed_rpm, WIDE_OPEN_M2, manifold_pa, crankcase_pa)

    def flows(
        self, speed_rpm: Floats, throttle_m2: Numbers, manifold_pa: Floats, crankcase_pa: Floats
    ) -> AirFlows:
        """The air side's flows with a given throttle."""
        return air_path.flows(
            self.build,
            self.engine,
            self.held,
            speed_rpm,
            throttle_m2,
            manifold_pa,
            crankcase_pa,
        )

    def oil(self, speed_rpm: Floats, crankcase_pa: Floats, gallery_pa: Floats) -> OilFlows:
        """The oil circuit at a point."""
        return oil_circuit.flows(
            self.build,
            self.engine,
            self.held,
            speed_rpm,
            crankcase_pa,
            gallery_pa,
            self.thick,
            self.settled,
        )

    def left_nm(
        self, speed_rpm: Floats, manifold_pa: Floats, work_w: Numbers, pump_nm: Numbers
    ) -> Floats:
        """Torque left over with this much indicated work a second."""
        return np.asarray(
            torque.net_nm(
                self.engine, self.held, speed_rpm, manifold_pa, work_w, self.thick, pump_nm
            )
        )

    def idle_rpm(self, count: int) -> Floats:
        """The governor's aim, or the speed a foot holds, (count,)."""
        held, aim = self.held.speed_rpm, self.engine.air.idle_rpm
        if held is not None:
            aim = np.where(np.isnan(held), aim, held)
        return np.asarray(aim + np.zeros(count))

    def beyond(self, place: Floats) -> npt.NDArray[np.intp]:
        """Which of the engines left to the governor would want a place beyond its stops."""
        least, most = self.stops
        return np.flatnonzero(((place < least) | (place > most)) & self.held.governed)

    @property
    def stops(self) -> tuple[Numbers, Numbers]:
        """Least and most throttle (m2) of the governor; of a diesel's fuel, as a share."""
        if not self.build.throttled:
            return 0.0, 1.0
        return self.engine.air.throttle_least_m2, self.engine.air.throttle_most_m2

    def diesel_place(self, speed_rpm: Floats, manifold_pa: Floats, pump_nm: Numbers) -> Floats:
        """How much of its fuel a diesel's governor gives, so that no torque is left over."""
        most = torque.DIESEL_MOST * self.engine.air.displacement_m3 * speed_rpm * 1e-3
        full_w = np.asarray(most * torque.HEATING_J_KG * torque.burning(self.engine, 1.0))
        none = self.left_nm(speed_rpm, manifold_pa, 0.0, pump_nm)
        full = self.left_nm(speed_rpm, manifold_pa, full_w, pump_nm)
        return np.asarray(-none / np.maximum(full - none, 1e-9))


SETTLING_S = 40.0
"""Time constant of foam and of debris gathering at the pick-up (judgement)."""


def settled_share(for_s: Numbers) -> Numbers:
    """How far foam and debris have come after so long at one speed, from 0 to 1."""
    return 1.0 - np.exp(-np.divide(for_s, SETTLING_S))
