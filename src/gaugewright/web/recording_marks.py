"""What stands on the lanes: means over their stretches, and the maker's limits as walls."""

from __future__ import annotations

from collections.abc import Sequence

from gaugewright.evidence.results import LimitCheck, Reading
from gaugewright.report import display
from gaugewright.web.recording_lanes import LaneInfo, Shown
from gaugewright.web.recording_marked import DRAFT_KEY, Marked
from gaugewright.web.recording_panel import Teller, doubt, half_of


def lane_marks(
    teller: Teller, shown: Shown, stretches: Sequence[Marked], settled: dict[str, list[float]]
) -> dict[str, dict[str, list[dict[str, object]]]]:
    """Lane key -> its `means` and `walls`, in the unit that the lane is shown in."""
    stretches = _uncovered(stretches)
    return {
        info.key: {
            "means": _means(teller, info, stretches, settled),
            "walls": _walls(teller, info, stretches),
        }
        for info in shown.infos
        if not info.pulses
    }


def _uncovered(stretches: Sequence[Marked]) -> list[Marked]:
    """Stretches that don't lie under the one being set out, and that one itself."""
    drafts = [s for s in stretches if s.key == DRAFT_KEY]
    return [
        s
        for s in stretches
        if s in drafts or not any(d.from_s < s.to_s and s.from_s < d.to_s for d in drafts)
    ]


def _means(
    teller: Teller, info: LaneInfo, stretches: Sequence[Marked], settled: dict[str, list[float]]
) -> list[dict[str, object]]:
    found = []
    for stretch in stretches:
        reading = _of_lane(teller.readings(stretch.name), info)
        if reading is None:
            continue
        how = display.shown(
            info.quantity, reading.unit, teller.preferences, reference=info.reference
        )
        begin, finish = settled.get(stretch.key, [stretch.from_s, stretch.to_s])
        half = half_of(reading)
        places = display.decimals(half and half / how.per_unit, how.most_decimals)
        said = display.digits(how.of(reading.value), places, how.signed)
        found.append({"from": begin, "to": finish, "value": how.of(reading.value), "text": said})
    return found


def _of_lane(readings: list[Reading], info: LaneInfo) -> Reading | None:
    """The reading that stands beside the lanes too: its own signal's, or one it is part of."""
    fitting = [
        r for r in readings if r.quantity == info.quantity and r.reference in (None, info.reference)
    ]
    own = [r for r in fitting if info.label in r.signals]
    return min(own or fitting, key=doubt, default=None)


def _walls(teller: Teller, info: LaneInfo, stretches: Sequence[Marked]) -> list[dict[str, object]]:
    if info.reference not in (None, "atmosphere"):
        return []
    return [
        _wall(teller, info, stretch, check, end)
        for stretch in stretches
        for check in teller.findings.limit_checks
        if (check.visit, check.condition, check.quantity, check.seen_by)
        == (teller.visit, stretch.name, info.quantity, "gauge")
        for end in check.limit_value
    ]


def _wall(
    teller: Teller, info: LaneInfo, stretch: Marked, check: LimitCheck, end: str
) -> dict[str, object]:
    how = display.shown(info.quantity, check.unit, teller.preferences, reference=info.reference)
    value = check.limit_value[end]
    said = display.stated(value, how).partition(display.NO_BREAK)[0]
    return {
        "from": stretch.from_s,
        "to": stretch.to_s,
        "value": how.of(value),
        "side": 1 if end == "min" else -1,
        "text": teller.words("recording.limit", value=said),
    }
