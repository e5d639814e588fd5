"""The interface for other programs, told on a page of our own."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from gaugewright.web.templating import page

router = APIRouter()


@router.get("/interface", response_class=HTMLResponse, include_in_schema=False)
def interface_page(request: Request) -> HTMLResponse:
    """Every address that other programs may ask, from the same description as /openapi.json."""
    return page(request, "interface.html", ways=_ways(request.app.openapi()))


def _ways(described: dict[str, Any]) -> list[dict[str, Any]]:
    """Of each: method, path, what it says (text and names of keys in turn), keys sent."""
    schemas = described.get("components", {}).get("schemas", {})
    return [
        {
            "method": method.upper(),
            "path": path,
            "says": told.get("description", "").split("\n\n")[0].split("`"),
            "keys": _keys(told, schemas),
        }
        for path, methods in described["paths"].items()
        for method, told in methods.items()
    ]


def _keys(told: dict[str, Any], schemas: dict[str, Any]) -> list[tuple[str, bool]]:
    """The keys of what is sent, and whether each is needed."""
    body = told.get("requestBody", {}).get("content", {}).get("application/json", {})
    name = body.get("schema", {}).get("$ref", "").rpartition("/")[2]
    schema = schemas.get(name, {})
    needed = schema.get("required", [])
    return [(key, key in needed) for key in schema.get("properties", {})]
