"""Calendar addresses with a secret word in them: a calendar program can fetch one, but cannot sign in."""

from __future__ import annotations

import hmac
import secrets
from hashlib import sha256
from typing import Any

from web.kitchen import Kitchen
from web.store.uploads import answer, first_answer

KEY = "feed-secret"


def feed_word(kitchen: Kitchen, person: str) -> str:
    """The word of a person's address."""
    found = answer(kitchen.database, KEY)
    data = found[1] if found is not None else _first(kitchen)
    return hmac.new(bytes.fromhex(data["secret"]), person.encode(), sha256).hexdigest()[:32]


def _first(kitchen: Kitchen) -> dict[str, Any]:
    """The secret of the first visit, whoever else visits for the first time just now."""
    return first_answer(kitchen.database, KEY, {"secret": secrets.token_hex(32)}, kitchen.settings.now())


def is_word(kitchen: Kitchen, person: str, word: str) -> bool:
    """True if it is."""
    return hmac.compare_digest(feed_word(kitchen, person).encode(), word.encode())
