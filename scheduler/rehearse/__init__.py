"""A plan played many times over: how sure is it?"""

from __future__ import annotations

from scheduler.rehearse.play import Rehearsal, WaveOdds, rehearse

__all__ = ["Rehearsal", "WaveOdds", "rehearse"]
