"""The buying list and the prep before a cook: pieces -> pounds -> cases by IMPS item, thaw and trim days, prep minutes.

IMPS names and numbers: USDA Institutional Meat Purchase Specifications (names seen; weight bands from memory, low
confidence: ask the supplier). Pieces in a case, prep minutes and cooler space are common practice, no source.
Thawing takes about a day in the cooler for each 4 to 5 lb (USDA consumer advice, from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

Triple = tuple[float, float, float]
"""Low, likely, high."""

THAW_LB_PER_DAY = 4.0
COOLER_LB_PER_CUFT = 25.0
"""Boxed meat with room for air around it."""
ORDER_LEAD_DAYS = 2
"""From the order to the delivery, unless the supplier says otherwise."""


@dataclass(frozen=True, slots=True)
class Item:
    """How one cut is bought and prepared. `bands_lb` are the weight ranges it is sold in; the last may be open
    (inf).
    """

    cut: str
    imps: str
    name: str
    bands_lb: tuple[tuple[float, float], ...]
    case_pieces: int
    trim_min: Triple
    season_min: Triple


_INF = float("inf")
_NO_BANDS: tuple[tuple[float, float], ...] = ()

_ALL = (
    Item(
        "packer brisket",
        "120",
        "brisket, deckle-off, boneless",
        ((6, 8), (8, 10), (10, 12), (12, _INF)),
        5,
        (5, 9, 18),
        (1, 2, 4),
    ),
    Item("pork butt", "406", "Boston butt, bone-in", ((4, 8), (8, 12), (12, _INF)), 8, (1, 2.5, 5), (1, 2, 4)),
    Item("spare ribs", "416", "spareribs", ((0, 2.5), (2.5, 3.5), (3.5, 5.5), (5.5, _INF)), 10, (2, 4, 7), (1, 2, 4)),
    Item("St. Louis ribs", "416A", "St. Louis style ribs", ((1.5, 2), (2, 3), (3, _INF)), 12, (1, 2, 3), (1, 2, 4)),
    Item(
        "beef plate ribs",
        "123A",
        "short plate, short ribs, trimmed",
        ((2, 3), (3, 4), (4, 5), (5, _INF)),
        8,
        (2, 4, 7),
        (1, 2, 4),
    ),
    Item("turkey breast", "", "turkey breast, boneless, raw", _NO_BANDS, 8, (1, 1.5, 3), (1, 1.5, 3)),
    Item("half chicken", "", "broiler, halved", _NO_BANDS, 24, (1, 1.5, 3), (1, 1.5, 3)),
    Item("sausage", "", "raw sausage links", _NO_BANDS, 80, (0, 0, 0), (0, 0, 0)),
    Item("fat trim", "", "beef fat trim", _NO_BANDS, 4, (0.5, 1, 2), (0, 0, 0)),
)

ITEMS: dict[str, Item] = {item.cut: item for item in _ALL}


@dataclass(frozen=True, slots=True)
class Need:
    """So many pieces of a cut for a cook. `cents_per_lb` is the raw price; `frozen` meat has to thaw."""

    cut: str
    pieces: int
    weight_lb: float
    load_on: date
    cents_per_lb: float = 0.0
    frozen: bool = False
    in_stock: int = 0


@dataclass(frozen=True, slots=True)
class BuyLine:
    """One line of the buying list."""

    cut: str
    imps: str
    name: str
    band: str
    pieces: int
    weight_lb: float
    cases: int
    spare_pieces: int
    """Pieces in the last case that no plan needs."""
    cost_cents: int
    """Of whole cases."""
    cooler_cuft: float
    order_by: date
    deliver_by: date
    thaw_from: date | None
    trim_on: date


@dataclass(frozen=True, slots=True)
class PrepDay:
    """Minutes of hands for trimming and seasoning on one day before a cook, low / likely / high."""

    on: date
    cut: str
    pieces: int
    minutes: Triple


def band_of(item: Item, weight_lb: float) -> str:
    """The weight band of a piece in words, such as "10-12 lb" or "12 lb up"; "" where none is sold.

    A weight between or below the bands gets the nearest.
    """
    if not item.bands_lb:
        return ""
    low, high = min(item.bands_lb, key=lambda band: (max(band[0] - weight_lb, weight_lb - band[1], 0.0), -band[0]))
    if high == _INF:
        return f"{low:g} lb up"
    return f"{low:g}-{high:g} lb" if low else f"{high:g} lb down"


def thaw_days(weight_lb: float) -> int:
    """Days in the cooler until a frozen piece of this weight is thawed, at least 1."""
    if weight_lb <= 0:
        raise ValueError("a piece must weigh something")
    return max(1, ceil(weight_lb / THAW_LB_PER_DAY))


def _checked(need: Need, item: Item | None = None) -> Item:
    if need.pieces < 0 or need.in_stock < 0 or need.weight_lb <= 0 or need.cents_per_lb < 0:
        raise ValueError(f"{need.cut}: pieces, stock and price must be 0 or more, and a piece must weigh something")
    return item or ITEMS[need.cut]


def buy_line(need: Need, item: Item | None = None) -> BuyLine:
    """One cut for one cook, in whole cases. KeyError for a cut without item, ValueError for figures that cannot be.

    Trimmed the day before loading; frozen meat is delivered in time to thaw until then, fresh meat the day before.
    """
    item = _checked(need, item)
    missing = max(0, need.pieces - need.in_stock)
    cases = ceil(missing / item.case_pieces)
    bought = cases * item.case_pieces
    trim_on = need.load_on - timedelta(days=1)
    thaw_from = trim_on - timedelta(days=thaw_days(need.weight_lb)) if need.frozen else None
    deliver_by = thaw_from or trim_on
    weight = bought * need.weight_lb
    return BuyLine(
        cut=need.cut,
        imps=item.imps,
        name=item.name,
        band=band_of(item, need.weight_lb),
        pieces=bought,
        weight_lb=weight,
        cases=cases,
        spare_pieces=bought - missing,
        cost_cents=round(weight * need.cents_per_lb),
        cooler_cuft=(need.pieces + max(0, bought - missing)) * need.weight_lb / COOLER_LB_PER_CUFT,
        order_by=deliver_by - timedelta(days=ORDER_LEAD_DAYS),
        deliver_by=deliver_by,
        thaw_from=thaw_from,
        trim_on=trim_on,
    )


def merged(needs: Iterable[Need]) -> list[Need]:
    """Needs of one cut, weight, price and state on several days as one purchase for the first day."""
    found: dict[tuple[object, ...], Need] = {}
    for need in sorted(needs, key=lambda need: (need.load_on, need.cut)):
        key = (need.cut, need.weight_lb, need.cents_per_lb, need.frozen)
        first = found.get(key)
        found[key] = (
            need
            if first is None
            else Need(
                need.cut,
                first.pieces + need.pieces,
                need.weight_lb,
                first.load_on,
                need.cents_per_lb,
                need.frozen,
                first.in_stock + need.in_stock,
            )
        )
    return list(found.values())


def buying_list(needs: Iterable[Need], items: Mapping[str, Item] = ITEMS) -> list[BuyLine]:
    """The buying list of a plan: one line for each cut, weight and state, in the order in which it must be ordered.

    KeyError for a cut that `items` does not have.
    """
    lines = [buy_line(need, items[need.cut]) for need in merged(needs)]
    return sorted(lines, key=lambda line: (line.order_by, line.cut))


def prep_days(needs: Iterable[Need], items: Mapping[str, Item] = ITEMS) -> list[PrepDay]:
    """Trimming and seasoning of each cut the day before it is loaded. KeyError for a cut that `items` does not have."""
    found = []
    for need in needs:
        item = _checked(need, items[need.cut])
        minutes = tuple(need.pieces * (t + s) for t, s in zip(item.trim_min, item.season_min, strict=True))
        found.append(
            PrepDay(need.load_on - timedelta(days=1), need.cut, need.pieces, (minutes[0], minutes[1], minutes[2]))
        )
    return sorted(found, key=lambda day: (day.on, day.cut))
