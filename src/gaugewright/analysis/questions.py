"""What a job asks, brought from the job model to house units for the evidence room."""

from __future__ import annotations

from gaugewright.evidence.gather import HandValue
from gaugewright.evidence.switches import LampSwitch
from gaugewright.evidence.visiting import Bounds
from gaugewright.evidence.warmth import Viscosity
from gaugewright.evidence.weigh import Questions
from gaugewright.job.model import HandReading, Instrument, Job, Limit
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.quantities.physical import Physical
from gaugewright.sensing.shared import SharedErrors

UNSTATED_SHARE = 0.01
"""An instrument that states nothing is good to 1 % of its range, standard (judgement)."""
USUAL_GRADE = "5W-30"
"""The oil taken where no grade is stated; only its steepness with temperature counts (J)."""
LAMP_DARK = frozenset({"never on", "dark with the ignition on", "on for seconds after the start"})


def si(value: Physical | None) -> float | None:
    """The house value, None where nothing is stated."""
    return None if value is None else value.si


def barometer_of(job: Job) -> tuple[float | None, float | None]:
    """Barometer in Pa and its standard uncertainty; None for both where no place is stated."""
    if job.place.barometer is not None:
        return job.place.barometer.si, 0.0
    if job.place.altitude is not None:
        from gaugewright.physics.atmosphere import WEATHER_PA, pressure_at_altitude

        return pressure_at_altitude(job.place.altitude.si), WEATHER_PA
    return None, None


def oils_of(job: Job) -> dict[str, Viscosity]:
    """Viscosity against temperature, for every visit's oil."""
    from gaugewright.physics.oil import grade_line

    return {
        visit.name: grade_line(visit.oil_grade or job.vehicle.oil_grade or USUAL_GRADE).at
        for visit in job.visits
    }


def questions_of(job: Job) -> Questions:
    """Limits, switches and pump of the job, in house units."""
    switches = job.vehicle.pump_switches
    noted: dict[tuple[str, str], list[float]] = {}
    for reading in job.readings:
        if reading.oil_temperature is not None:
            where = (reading.visit or "", reading.condition or "")
            noted.setdefault(where, []).append(reading.oil_temperature.si)
    return Questions(
        title=job.title,
        limits=tuple(_bounds(limit) for limit in job.limits),
        switches=tuple(
            LampSwitch(
                name=s.name,
                quantity=s.quantity,
                closes_pa=s.closes_below.si,
                tolerance_pa=si(s.tolerance) or 0.0,
                offset_pa=si(s.offset) or 0.0,
                delay_s=si(s.lamp_delay) or 0.0,
            )
            for s in job.switches
        ),
        lamp_seen=_lamp_seen(job),
        oil_pump=job.vehicle.oil_pump,
        pump_switches_rpm=None if switches is None else (switches[0].si, switches[1].si),
        noted_degc=noted,
    )


def _lamp_seen(job: Job) -> frozenset[str]:
    return frozenset(
        o.visit or "" for o in job.observations if o.what == "lamp" and o.saw not in LAMP_DARK
    )


def _bounds(limit: Limit) -> Bounds:
    pressure = QUANTITIES[limit.quantity].is_pressure
    return Bounds(
        name=limit.name,
        quantity=limit.quantity,
        reference=(limit.reference or "atmosphere") if pressure else None,
        least=si(limit.min),
        most=si(limit.max),
        speed_rpm=si(limit.speed),
        tolerance_rpm=si(limit.speed_tolerance),
        oil_degc=si(limit.oil_temperature),
        stage=limit.stage,
        did=frozenset(limit.did) - {"nothing"},
        crankcase_pa=si(limit.crankcase),
    )


def hand_values(job: Job) -> tuple[HandValue, ...]:
    """The hand readings in house units."""
    instruments = {instrument.name: instrument for instrument in job.instruments}
    return tuple(_hand(r, instruments.get(r.instrument or "")) for r in job.readings)


def _hand(reading: HandReading, instrument: Instrument | None) -> HandValue:
    pressure = QUANTITIES[reading.quantity].is_pressure
    flags: tuple[str, ...] = ("by-hand",)
    uncertainty = si(reading.uncertainty)
    if uncertainty is None and (instrument is None or instrument.accuracy is None):
        flags = (*flags, "uncertainty-unstated")
        if instrument is None or instrument.range is None:
            uncertainty = UNSTATED_SHARE * abs(reading.value.si)
    return HandValue(
        visit=reading.visit or "",
        condition=reading.condition or "by hand",
        quantity=reading.quantity,
        reference=(reading.reference or "atmosphere") if pressure else None,
        value=reading.value.si,
        uncertainty=uncertainty or 0.0,
        instrument=reading.instrument,
        speed_rpm=si(reading.speed),
        oil_degc=si(reading.oil_temperature),
        flags=flags,
    )


def with_instruments(book: SharedErrors, job: Job) -> SharedErrors:
    """The book with one block for each hand instrument: its readings share its error."""
    for instrument in job.instruments:
        error = si(instrument.accuracy)
        if error is None:
            span = instrument.range
            error = UNSTATED_SHARE * abs(span[1].si - span[0].si) if span else 0.0
        book = book.with_block(f"instrument: {instrument.name}", error**2)
    return book
