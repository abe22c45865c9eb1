"""The same examples on every run, however busy the machine."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("same every run", derandomize=True, deadline=None)
settings.load_profile("same every run")
