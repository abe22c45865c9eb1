"""The command line: plan a weekend, audit a plan, show a plan. Exit status 0 done, 1 breaches found, 2 bad input.

Heavy imports (the solver, the report) happen inside the commands, so that help and mistakes come at once.
"""

from __future__ import annotations

from scheduler.cli import (
    backtest,
    bench,
    buy,
    forecast,
    learn,
    many,
    night,
    quantities,
    rehearse,
    reshuffle,
    review,
    safety,
    serve,
    trial,
)
from scheduler.cli.commands import app


def main() -> None:
    """Entry of the console script and of `python -m scheduler`."""
    app(prog_name="pit-scheduler")


__all__ = [
    "app",
    "backtest",
    "bench",
    "buy",
    "forecast",
    "learn",
    "main",
    "many",
    "night",
    "quantities",
    "rehearse",
    "reshuffle",
    "review",
    "safety",
    "serve",
    "trial",
]
