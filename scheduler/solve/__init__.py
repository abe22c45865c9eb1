"""The solver. `plan_weekend` is the way in; nothing outside this package knows OR-Tools or HiGHS."""

from scheduler.solve.progress import Listener, Progress
from scheduler.solve.search import plan_weekend

__all__ = ["Listener", "Progress", "plan_weekend"]
