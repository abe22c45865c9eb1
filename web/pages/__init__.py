"""One module a page, or a few that belong together."""

from __future__ import annotations

from fastapi import APIRouter

from web.pages import (
    after,
    entries,
    forecast,
    help_page,
    night,
    paper,
    plan,
    plans,
    search,
    service,
    sign_in,
    weekend,
)

PAGES = (sign_in, weekend, search, plans, plan, night, entries, service, forecast, paper, after, help_page)
ROUTERS: tuple[APIRouter, ...] = tuple(module.router for module in PAGES)
