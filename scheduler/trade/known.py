"""Which of the trade's own tables speak of a cut of somebody's menu, by its name or its IMPS item number."""

from __future__ import annotations

from scheduler.model.menu import Cut
from scheduler.trade.buying import ITEMS
from scheduler.trade.cut_heat import CUT_HEAT, CutHeat

_BY_IMPS = {item.imps: name for name, item in ITEMS.items() if item.imps}
_BY_FAMILY = {"fat": "fat trim", "sausage": "sausage"}


def known_as(cut: Cut) -> str | None:
    """The name under which `ITEMS` and `CUT_HEAT` know a cut; None if they do not.

    By name ("Packer-Brisket"), then by item number, then by a known name inside its own ("fat trim pan"); sausage and
    fat are known by their family.
    """
    name = " ".join(cut.name.replace("-", " ").replace("_", " ").split()).lower()
    names = {known.lower(): known for known in ITEMS}
    if name in names:
        return names[name]
    if cut.imps in _BY_IMPS:
        return _BY_IMPS[cut.imps]
    inside = [known for low, known in names.items() if low in name]
    return max(inside, key=len) if inside else _BY_FAMILY.get(cut.family)


def heat_of(cut: Cut) -> CutHeat | None:
    """What the cook-time curve knows of a cut, or None."""
    name = known_as(cut)
    return None if name is None else CUT_HEAT[name]
