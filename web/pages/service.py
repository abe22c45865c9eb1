"""The service day: count, see the odds, call last."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from web.door import Anyone
from web.service_board import ServiceBoard, service_board
from web.show import fragment, kitchen_of, page

router = APIRouter()


@dataclass(frozen=True, slots=True)
class ServicePage:
    """Context of the page around the board."""

    board: ServiceBoard | None


def _board(request: Request) -> ServiceBoard | None:
    kitchen = kitchen_of(request)
    kept = kitchen.in_force()
    return None if kept is None else service_board(kitchen, kept)


@router.get("/service")
def service(request: Request, who: Anyone) -> HTMLResponse:
    """The page."""
    return page(request, who, "Service", "service.html", ServicePage(_board(request)))


@router.get("/service/board")
def board(request: Request, who: Anyone, person: str = "") -> HTMLResponse:
    """The board alone, for the page's script."""
    found = _board(request)
    if found is None:
        raise LookupError("there is no plan in force")
    return fragment("service_board.html", ServicePage(found))
