"""One module a page, or a few that belong together."""

from __future__ import annotations

from fastapi import APIRouter

from web.pages import entries, night, paper, plan, plans, search, sign_in, weekend

ROUTERS: tuple[APIRouter, ...] = tuple(
    module.router for module in (sign_in, weekend, search, plans, plan, night, entries, paper)
)
