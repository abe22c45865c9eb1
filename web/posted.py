"""What a form or a script sent, read with limits."""

from __future__ import annotations

from typing import Any

from fastapi import Request
from fastapi.exceptions import HTTPException

MOST_FIELDS = 4000
MOST_LETTERS = 4000


async def posted_form(request: Request) -> dict[str, str]:
    """The text fields of a form; of a name that comes twice the last. Files are left out."""
    async with request.form(max_files=0, max_fields=MOST_FIELDS, max_part_size=MOST_LETTERS * 4) as form:
        return {name: value[:MOST_LETTERS] for name, value in form.multi_items() if isinstance(value, str)}


async def posted_json(request: Request) -> dict[str, Any]:
    """A JSON object. HTTPException 400 if it is none."""
    try:
        data = await request.json()
    except (ValueError, RecursionError):
        raise HTTPException(400, "That is not JSON") from None
    if not isinstance(data, dict):
        raise HTTPException(400, "That is not a JSON object")
    return data
