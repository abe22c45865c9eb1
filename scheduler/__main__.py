"""`python -m scheduler` is the console script."""

from __future__ import annotations

from scheduler.cli import main

main()
