"""The same examples on every run."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("same every run", derandomize=True, deadline=None)
settings.load_profile("same every run")
