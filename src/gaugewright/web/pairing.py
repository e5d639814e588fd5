"""Letting the shop's other devices in: the code on this machine's screen, typed on the device."""

from __future__ import annotations

import socket
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from gaugewright.web.bay import bay_of
from gaugewright.web.doors import COOKIE
from gaugewright.web.templating import page

router = APIRouter()
HALF_A_YEAR_S = 180 * 24 * 3600


@router.get("/share", response_class=HTMLResponse, include_in_schema=False)
def share_page(request: Request) -> HTMLResponse:
    """How another device comes in; the code shows on this machine alone."""
    doors = bay_of(request).doors
    client = request.client.host if request.client else None
    code = doors.code if doors.shared and doors.at_home(client) else ""
    port = request.url.port or 80
    return page(
        request,
        "share.html",
        code=f"{code[:4]} {code[4:]}" if code else "",
        address=f"http://{own_address()}:{port}",
    )


@router.get("/pair", response_class=HTMLResponse, include_in_schema=False)
def pair_page(request: Request) -> HTMLResponse:
    """Where a new device types the code."""
    return page(request, "pair.html", wrong=False)


@router.post("/pair", response_class=HTMLResponse, include_in_schema=False)
def pair(
    request: Request,
    code: Annotated[str, Form(max_length=40)],
    name: Annotated[str, Form(max_length=60)] = "",
) -> Response:
    """Let a device in that knows the code."""
    token = bay_of(request).doors.try_code(code, name)
    if token is None:
        return page(request, "pair.html", status=403, wrong=True)
    answer = RedirectResponse("/", status_code=303)
    answer.set_cookie(COOKIE, token, max_age=HALF_A_YEAR_S, httponly=True, samesite="strict")
    plain = "".join(sign for sign in name if sign.isalnum() or sign in " -")[:40]
    answer.set_cookie("device_name", plain, max_age=HALF_A_YEAR_S, httponly=True, samesite="strict")
    return answer


def own_address() -> str:
    """This machine's address in the shop's network, as far as it can be told."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(("192.0.2.1", 9))
            return str(asked.getsockname()[0])
        except OSError:
            return socket.gethostname()
