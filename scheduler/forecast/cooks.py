"""When meat is done, drawn from its range: pieces of one burn share a part of their luck, pieces of one load more.

A range is the 10th, 50th and 90th percentile, so a draw is a normal one whose halves are stretched to meet both ends (a
two-piece normal). A fire that runs cool makes all on it late: one part of the luck is one draw for each burn.
"""

from __future__ import annotations

import numpy as np

from scheduler.forecast.special import Floats

TENTH_Z = 1.2815515655446004
"""The 90th percentile of the standard normal distribution."""
BURN_SHARE, LOAD_SHARE = 0.4, 0.4
"""Shares of the variance of a piece's luck that it has in common with its burn, and beyond that with its load. Common
practice, no source.
"""


def done_after(early: Floats | float, likely: Floats | float, late: Floats | float, luck: Floats) -> Floats:
    """Minutes to done for standard normal luck; at luck 0 likely, at the 10th and 90th percentile early and late."""
    below, above = np.asarray(likely) - np.asarray(early), np.asarray(late) - np.asarray(likely)
    return np.asarray(np.asarray(likely) + luck / TENTH_Z * np.where(luck < 0, below, above))


def mixed_luck(burn: Floats, load: Floats, own: Floats) -> Floats:
    """Luck of a piece from that of its burn, its load and its own, all standard normal."""
    rest = 1 - BURN_SHARE - LOAD_SHARE
    return np.asarray(np.sqrt(BURN_SHARE) * burn + np.sqrt(LOAD_SHARE) * load + np.sqrt(rest) * own)
