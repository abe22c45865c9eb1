"""Calendar addresses with a secret word in them: a calendar program can fetch one, but cannot sign in."""

from __future__ import annotations

import hmac
import secrets
from hashlib import sha256

from web.kitchen import Kitchen
from web.store.uploads import answer, keep_answer

KEY = "feed-secret"


def feed_word(kitchen: Kitchen, person: str) -> str:
    """The word of a person's address."""
    found = answer(kitchen.database, KEY)
    if found is None:
        keep_answer(kitchen.database, KEY, {"secret": secrets.token_hex(32)}, kitchen.settings.now())
        found = answer(kitchen.database, KEY)
    assert found is not None
    return hmac.new(bytes.fromhex(found[1]["secret"]), person.encode(), sha256).hexdigest()[:32]


def is_word(kitchen: Kitchen, person: str, word: str) -> bool:
    """True if it is."""
    return hmac.compare_digest(feed_word(kitchen, person).encode(), word.encode())
