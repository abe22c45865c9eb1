"""From raw as purchased to trimmed, cooked and portions, as ranges, and from fat trim to tallow.

Working yields are common practice, no source, set so that the published anchors lie inside: smoked brisket 56.0 % at
194 F and 59.3 % at 185 F with a 3 h hold (Kerth et al., Meat Muscle Biol. art. 18269), Boston butt 57.8 % edible,
spareribs 39.0 % edible, short ribs 49.6 % edible, broiler 58.6 % on the bone (USDA SR26, NDB 10083, 10089, 13148,
5009). Fat content of trim and suet: SR26 NDB 13019 and 13335.
"""

from __future__ import annotations

from dataclasses import dataclass

Triple = tuple[float, float, float]
"""Low, likely, high."""

BARBECUE_MOST = 0.70
"""Barbecued meat weighs no more than this share of the fresh uncooked meat: 9 CFR 319.80."""

TRIM_FAT, SUET_FAT = 0.7089, 0.9400
"""Fat content of ordinary beef fat trim and of suet; tallow can never be more."""
TALLOW_YIELD: Triple = (0.55, 0.65, 0.75)
"""Tallow from trim, common practice; capped by the fat content."""


@dataclass(frozen=True, slots=True)
class CutYield:
    """Shares (0 to 1) of one cut. `trim_loss` of the purchased weight, `cook` of the trimmed weight (with bone),
    `edible` cooked and boneless of the purchased weight (None where it is sold on the bone). Portions come by cooked
    pounds (`portion_lb`) or by the piece (`piece_portions`)."""

    name: str
    trim_loss: Triple
    cook: Triple
    edible: Triple | None
    portion_lb: Triple | None = None
    piece_portions: Triple | None = None


ADULT_LB: Triple = (0.25, 1 / 3, 0.5)
"""Cooked boneless meat for an adult (common practice)."""

_ALL = (
    CutYield("packer brisket", (0.15, 0.25, 0.35), (0.52, 0.58, 0.65), (0.38, 0.45, 0.52), ADULT_LB),
    CutYield("pork butt", (0.0, 0.03, 0.08), (0.55, 0.62, 0.68), (0.48, 0.55, 0.60), ADULT_LB),
    CutYield("spare ribs", (0.02, 0.06, 0.10), (0.62, 0.70, 0.77), (0.33, 0.39, 0.45), None, (2, 3, 4)),
    CutYield("St. Louis ribs", (0.25, 0.30, 0.38), (0.65, 0.72, 0.78), None, None, (2, 3, 4)),
    CutYield("beef plate ribs", (0.05, 0.12, 0.20), (0.60, 0.67, 0.73), (0.40, 0.47, 0.52), None, (3, 3, 4)),
    CutYield("turkey breast", (0.02, 0.05, 0.08), (0.72, 0.78, 0.84), (0.68, 0.74, 0.80), ADULT_LB),
    CutYield("half chicken", (0.0, 0.02, 0.05), (0.58, 0.70, 0.78), None, None, (1, 1, 2)),
    CutYield("sausage", (0.0, 0.0, 0.0), (0.75, 0.82, 0.90), None, None, (2 / 3, 1, 1)),
)

CUT_YIELD: dict[str, CutYield] = {cut.name: cut for cut in _ALL}


@dataclass(frozen=True, slots=True)
class YieldChain:
    """One purchase on its way: pounds at each step and portions, low / likely / high."""

    raw_lb: float
    trim_lb: Triple
    trimmed_lb: Triple
    cooked_lb: Triple
    edible_lb: Triple | None
    portions: Triple


def yield_chain(cut: CutYield, pieces: int, weight_lb: float) -> YieldChain:
    """What so many pieces of a raw weight (lb each) become. ValueError if there are none or they weigh nothing."""
    if pieces < 0 or weight_lb <= 0:
        raise ValueError("a yield needs 0 or more pieces that weigh something")
    raw = pieces * weight_lb
    low_loss, likely_loss, high_loss = cut.trim_loss
    trimmed = (raw * (1 - high_loss), raw * (1 - likely_loss), raw * (1 - low_loss))
    cooked = (trimmed[0] * cut.cook[0], trimmed[1] * cut.cook[1], trimmed[2] * cut.cook[2])
    edible = None if cut.edible is None else (raw * cut.edible[0], raw * cut.edible[1], raw * cut.edible[2])
    return YieldChain(
        raw_lb=raw,
        trim_lb=(raw * low_loss, raw * likely_loss, raw * high_loss),
        trimmed_lb=trimmed,
        cooked_lb=cooked,
        edible_lb=edible,
        portions=_portions(cut, pieces, edible),
    )


def _portions(cut: CutYield, pieces: int, edible: Triple | None) -> Triple:
    if cut.piece_portions is not None:
        low, likely, high = cut.piece_portions
        return pieces * low, pieces * likely, pieces * high
    if cut.portion_lb is None or edible is None:
        raise ValueError(f"{cut.name} has neither portions by the piece nor by the pound")
    small, usual, big = cut.portion_lb
    return edible[0] / big, edible[1] / usual, edible[2] / small


def raw_lb_per_portion(cut: CutYield) -> float:
    """Likely pounds to purchase for one portion. ValueError for cuts portioned by the piece."""
    if cut.edible is None or cut.portion_lb is None:
        raise ValueError(f"{cut.name} is portioned by the piece")
    return cut.portion_lb[1] / cut.edible[1]


def tallow_lb(trim_lb: float, suet: bool = False) -> Triple:
    """Tallow from fat trim (lb), low / likely / high, never above its fat content."""
    if trim_lb < 0:
        raise ValueError("trim cannot weigh less than nothing")
    most = SUET_FAT if suet else TRIM_FAT
    low, likely, high = (trim_lb * min(share, most) for share in TALLOW_YIELD)
    return low, likely, high


def tallow_breach(trim_lb: float, got_lb: float, suet: bool = False) -> str | None:
    """Why a claimed amount of tallow cannot be, or None."""
    most = trim_lb * (SUET_FAT if suet else TRIM_FAT)
    if got_lb <= most + 1e-9:
        return None
    return f"{got_lb:g} lb of tallow is more than the {most:.1f} lb of fat in {trim_lb:g} lb of trim"


def identity_breach(fresh_lb: float, cooked_lb: float) -> str | None:
    """Why meat may not be labeled "barbecued" by 9 CFR 319.80 (cooked weight above 70 % of the fresh), or None.

    The rule is about labeled meat products under inspection; it is a check on yields here, not advice on menus.
    """
    if fresh_lb <= 0:
        raise ValueError("fresh meat must weigh something")
    share = cooked_lb / fresh_lb
    if share <= BARBECUE_MOST + 1e-12:
        return None
    return f"cooked to {share:.0%} of the fresh weight, above the 70 % of 9 CFR 319.80 for barbecued meat"
