"""Which device an edit came from, in a word."""

from __future__ import annotations

from fastapi import Request

from gaugewright.web.bay import bay_of


def device_of(request: Request) -> str:
    """The name a device was given, or this machine."""
    client = request.client.host if request.client else None
    if bay_of(request).doors.at_home(client):
        return "this machine"
    return request.cookies.get("device_name", "")[:60] or f"the device at {client}"
