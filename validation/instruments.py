"""Sensors with sealed errors, drawn exactly as the job format defines them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from validation.noise import Floats, Rng

Table = dict[str, object]


@dataclass(frozen=True)
class SensorTruth:
    """A sensor as stated (points, uncertainties) and as it truly is.

    true pressure = intercept + gain * volts + curve(true pressure), in kPa against the
    sensor's own reference; `nominal` is the unweighted line through the stated points.
    """

    name: str
    reference: str
    volts: tuple[float, ...]
    points_kpa: tuple[float, ...]
    point_u: float
    common_u: float
    accuracy_u: float
    span_kpa: float
    intercept: float
    gain: float
    cosine: float
    sine: float
    supply: float | None
    low_stop_v: float
    high_stop_v: float
    sealed_at_kpa: float | None
    stated: Table

    def curve(self, pressure_kpa: Floats | float) -> Floats:
        """The smooth deviation at these pressures, kPa."""
        angle = 0.5 * np.pi * np.asarray(pressure_kpa) / self.span_kpa
        wave = self.cosine * np.cos(angle) + self.sine * np.sin(angle)
        return np.asarray(self.accuracy_u * wave)

    def output(self, pressure_kpa: Floats) -> Floats:
        """Volts at the nominal supply, short of any stop, for a pressure by the own reference."""
        return np.asarray((pressure_kpa - self.curve(pressure_kpa) - self.intercept) / self.gain)

    def nominal(self, volts: Floats) -> Floats:
        """kPa by the straight line fitted to the stated points."""
        gain, intercept = np.polyfit(self.volts, self.points_kpa, 1)
        return np.asarray(intercept + gain * volts)

    def sensitivities(self, pressure_kpa: float) -> dict[str, float]:
        """d(true - nominal)/d(unit normal errors): level and tilt of the line, common, curve."""
        points = np.array(self.points_kpa)
        spread = float(np.sqrt(np.sum((points - points.mean()) ** 2)))
        angle = 0.5 * np.pi * pressure_kpa / self.span_kpa
        return {
            f"{self.name}/level": self.point_u / len(points) ** 0.5,
            f"{self.name}/tilt": self.point_u * (pressure_kpa - float(points.mean())) / spread,
            f"{self.name}/common": self.common_u,
            f"{self.name}/cos": self.accuracy_u * float(np.cos(angle)),
            f"{self.name}/sin": self.accuracy_u * float(np.sin(angle)),
        }


PER_KPA = {
    "kPa": 1.0,
    "bar": 0.01,
    "mbar": 10.0,
    "psi": 1.0 / 6.894757293168,
    "inHg": 1.0 / 3.386389,
}
"""Units of the stated points; the inch of mercury at 0 degC, conventional."""


def _uncertainties(rng: Rng, span_kpa: float) -> tuple[float, float, float, Table]:
    """Point, common and accuracy uncertainties in kPa, and how job.toml states them."""
    if rng.random() < 0.08:
        return 0.0, 0.0, 0.01 * span_kpa, {}
    point = round(span_kpa * float(rng.choice([0.0, 0.0005, 0.001, 0.002])), 4)
    common = round(span_kpa * float(rng.choice([0.0, 0.0, 0.001, 0.002])), 4)
    accuracy = round(span_kpa * float(rng.choice([0.0, 0.001, 0.0025, 0.005])), 4)
    if point == 0.0 and common == 0.0 and accuracy == 0.0:
        accuracy = round(0.002 * span_kpa, 4)
    stated: Table = {"point_uncertainty": f"{point * 10:.3f} mbar"}
    stated["accuracy"] = f"{accuracy:.4f} kPa"
    if common:
        stated["points_common"] = f"{common * 1000:.1f} Pa"
    return point, common, accuracy, stated


def in_unit(sensor: SensorTruth, unit: str) -> SensorTruth:
    """The same sensor with its points and range stated in another unit."""
    factor = PER_KPA[unit]
    points = [
        [f"{v:.3f} V", f"{p * factor:.9g} {unit}"]
        for v, p in zip(sensor.volts, sensor.points_kpa, strict=True)
    ]
    return replace(sensor, stated=sensor.stated | {"points": points})


def draw_sensor(
    rng: Rng, name: str, reference: str, low_kpa: float, high_kpa: float, ratiometric: bool
) -> SensorTruth:
    """A sensor with a range, two to five calibration points and errors drawn by the definition."""
    span = high_kpa - low_kpa
    count = int(rng.choice([2, 2, 2, 3, 5]))
    point_u, common_u, accuracy_u, uncertainties = _uncertainties(rng, span)
    volts = np.round(np.linspace(0.5, 4.5, count), 3)
    gain = span / 4.0
    intercept = low_kpa - 0.5 * gain
    errors = point_u * rng.standard_normal(count) + common_u * rng.standard_normal()
    points = np.round(intercept + gain * volts - errors, 5)
    cosine, sine = rng.standard_normal(2)
    sealed = 101.3 if reference == "sealed" else None
    stated: Table = {"name": name, "reference": reference}
    stated["points"] = [[f"{v:.3f} V", f"{p:.5f} kPa"] for v, p in zip(volts, points, strict=True)]
    stated |= uncertainties
    ranged = not uncertainties or rng.random() < 0.7
    span_used = span if ranged else float(points[-1] - points[0])
    if ranged:
        stated["range"] = [f"{low_kpa:g} kPa", f"{high_kpa:g} kPa"]
    if ratiometric:
        stated["supply"] = "5 V"
    if sealed is not None:
        stated["sealed_at"] = f"{sealed} kPa"
    return SensorTruth(
        name=name,
        reference=reference,
        volts=tuple(volts.tolist()),
        points_kpa=tuple(points.tolist()),
        point_u=point_u,
        common_u=common_u,
        accuracy_u=accuracy_u,
        span_kpa=span_used,
        intercept=intercept,
        gain=gain,
        cosine=float(cosine),
        sine=float(sine),
        supply=5.0 if ratiometric else None,
        low_stop_v=0.1,
        high_stop_v=4.9,
        sealed_at_kpa=sealed,
        stated=stated,
    )
