"""The buying and prep sheet: what to order, take in, thaw, trim and season on the days before, and the wood."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from scheduler.model.weekend import minutes_text
from scheduler.report.desk import Desk
from scheduler.report.words import (
    day_text,
    degrees_text,
    list_text,
    money_text,
    number_text,
    pieces_text,
    sentence,
    short_day,
)
from scheduler.trade.buying import BuyLine, PrepDay, Triple
from scheduler.trade.cautions import cautions
from scheduler.trade.food_safety import DEFERS, RULES
from scheduler.trade.orders import Orders, OwnTrim, WoodOrder, orders_of
from scheduler.trade.portions import CutPortions

ORDER, TAKE_IN, THAW, TRIM = range(4)
"""In which order the jobs of a day are told."""


@dataclass(frozen=True, slots=True)
class BuyRow:
    """One line of the buying list, in words."""

    what: str
    imps: str
    band: str
    cases: str
    pieces: str
    weight: str
    cost: str
    by: str
    note: str


@dataclass(frozen=True, slots=True)
class YieldRow:
    """What a cut becomes, in words: each range low to high with the likely one."""

    what: str
    raw: str
    trimmed: str
    cooked: str
    portions: str
    menu: str


@dataclass(frozen=True, slots=True)
class PrepJob:
    """Something to do on a day before, to tick off."""

    what: str
    detail: str
    wide: bool = False
    """True if its detail is long."""


@dataclass(frozen=True, slots=True)
class PrepBlock:
    """A day of prep."""

    title: str
    hands: str
    """Minutes of hands of all jobs, empty where there are none."""
    cooler: str
    jobs: tuple[PrepJob, ...]


@dataclass(frozen=True, slots=True)
class PrepSheet:
    """Context of the sheet."""

    anchor: str
    title: str
    rows: tuple[BuyRow, ...]
    total: str
    weight: str
    wood: tuple[str, ...]
    notes: tuple[str, ...]
    yields: tuple[YieldRow, ...]
    days: tuple[PrepBlock, ...]
    hands: str
    cautions: tuple[str, ...]


def date_text(day: date) -> str:
    """A short date: "Thu 11"."""
    return f"{short_day(day)} {day.day}"


def pounds_text(weight_lb: float) -> str:
    """Whole pounds: "1,242 lb"; below 10 lb with a decimal."""
    return f"{weight_lb:,.0f} lb" if weight_lb >= 10 else f"{number_text(round(weight_lb, 1))} lb"


def plain_text(name: str) -> str:
    """A cut as the supplier calls it, without slabs and pans."""
    return " ".join(name.replace("-", " ").replace("_", " ").split())


def span_of(minutes: Triple) -> str:
    """Minutes of hands with their range: "about 3 h 29 (1 h 54 to 6 h 58)"."""
    low, likely, high = (minutes_text(round(value)) for value in minutes)
    return f"about {likely} ({low} to {high})"


def _row(line: BuyLine, orders: Orders) -> BuyRow:
    size = orders.items[line.cut].case_pieces
    spare = f"{line.spare_pieces} to spare" if line.spare_pieces else ""
    return BuyRow(
        what=plain_text(line.cut),
        imps=line.imps,
        band=line.band,
        cases=f"{line.cases} of {size}" if size > 1 else "by the piece",
        pieces=f"{line.pieces:,}",
        weight=pounds_text(line.weight_lb),
        cost=money_text(line.cost_cents),
        by=date_text(line.deliver_by),
        note=spare,
    )


def wood_lines(wood: WoodOrder) -> tuple[str, ...]:
    """What to order of wood; nothing if nothing burns."""
    if not wood.likely_lb:
        return ()
    cords = f"{number_text(wood.cords)} {'cord' if wood.cords <= 1 else 'cords'}"
    return (
        f"Order {cords} of seasoned wood, split, before the first fire.",
        f"The fires of this plan likely burn {pounds_text(wood.likely_lb)}; a hard burn may take "
        f"{pounds_text(wood.hard_lb)}. Take off what lies in the yard. A cord of seasoned red oak weighs about "
        "3,600 lb, of hickory 4,160 lb.",
    )


def _trim_note(trim: OwnTrim | None) -> str:
    if trim is None:
        return ""
    low, _, high = trim.trim_lb
    enough = "more than enough" if low >= trim.needed_lb else "perhaps enough" if high >= trim.needed_lb else "not all"
    return (
        f"Your own beef gives {low:,.0f} to {high:,.0f} lb of trim, {enough} for the {pounds_text(trim.needed_lb)} "
        "that the plan renders: buy fat only if you keep none."
    )


def _jobs(orders: Orders) -> dict[date, list[tuple[int, PrepJob]]]:
    found: dict[date, list[tuple[int, PrepJob]]] = defaultdict(list)
    by_delivery: dict[date, list[str]] = defaultdict(list)
    for line in orders.lines:
        if line.cases:
            by_delivery[line.deliver_by].append(pieces_text(line.pieces, line.cut))
    if by_delivery:
        first = min(line.order_by for line in orders.lines if line.cases)
        wood = " And the wood." if orders.wood.cords else ""
        detail = f"Each line for its day.{wood}" if len(by_delivery) > 1 else wood.strip()
        found[first].append((ORDER, PrepJob("Order the meat of the list above.", detail)))
    for day, what_comes in by_delivery.items():
        detail = f"{list_text(what_comes)}. Straight into the cooler; send back what is not cold."
        hard = "; frozen meat hard" if any(line.thaw_from == day for line in orders.lines) else ""
        found[day].append((TAKE_IN, PrepJob(f"Take in and probe the meat: 41 °F or below{hard}.", detail, True)))
    for thaw in orders.thaws:
        what = f"Thaw {pieces_text(thaw.pieces, thaw.cut)} in the cooler."
        detail = f"On trays, lowest shelf, 41 °F or below; thawed through by {day_text(thaw.ready_on)}."
        found[thaw.on].append((THAW, PrepJob(what, detail)))
    for prep in orders.prep:
        found[prep.on].append((TRIM, _trim_job(prep, orders)))
    return found


def _trim_job(prep: PrepDay, orders: Orders) -> PrepJob:
    do = "Trim and season" if any(orders.items[prep.cut].season_min) else "Cut up"
    return PrepJob(f"{do} {pieces_text(prep.pieces, prep.cut)}.", f"Hands {span_of(prep.minutes)}.")


def _total(prep: list[PrepDay]) -> Triple:
    low, likely, high = (sum(day.minutes[i] for day in prep) for i in range(3))
    return low, likely, high


def _blocks(orders: Orders) -> tuple[PrepBlock, ...]:
    cooler = {day.on: f"{pounds_text(day.weight_lb)}, {day.cuft:,.0f} cubic feet" for day in orders.cooler}
    blocks = []
    for day, jobs in sorted(_jobs(orders).items()):
        prep = [one for one in orders.prep if one.on == day]
        told = tuple(job for _, job in sorted(jobs, key=lambda pair: pair[0]))
        hands = span_of(_total(prep)) if len(prep) > 1 else ""
        blocks.append(PrepBlock(day_text(day), hands, cooler.get(day, ""), told))
    return tuple(blocks)


def _cautions(orders: Orders) -> tuple[str, ...]:
    raw = next(caution.sentence for caution in cautions("food") if caution.sentence.startswith("Raw meat"))
    thaw = [RULES["THAW"].sentence, RULES["THAW"].caution] if orders.thaws else []
    told = [RULES["COLD-HOLD"].sentence, RULES["COLD-HOLD"].caution, *thaw, raw, cautions("blades")[0].sentence, DEFERS]
    return tuple(degrees_text(each) for each in told)


def prep_sheet(desk: Desk) -> PrepSheet | None:
    """The sheet of all that lies before the plan; None if it cooks nothing."""
    if not desk.plan.loads:
        return None
    orders = orders_of(desk.plan, desk.scenario)
    prep = list(orders.prep)
    hands = (
        f"Trimming and seasoning take {span_of(_total(prep))} of hands in all. The plan's shifts do not hold this "
        "work: call somebody in for it, or do it where a shift has time."
        if prep
        else ""
    )
    return PrepSheet(
        anchor="prep",
        title="Buying and prep",
        rows=tuple(_row(line, orders) for line in orders.lines if line.cases),
        total=money_text(orders.cost_cents),
        weight=pounds_text(sum(line.weight_lb for line in orders.lines)),
        wood=wood_lines(orders.wood),
        notes=tuple(note for note in _notes(desk, orders) if note),
        yields=tuple(_yield_row(each) for each in orders.portions),
        days=_blocks(orders),
        hands=hands,
        cautions=_cautions(orders),
    )


def _notes(desk: Desk, orders: Orders) -> Iterator[str]:
    yield _stock_note(desk)
    yield _trim_note(orders.own_trim)
    for each in orders.portions:
        yield sentence(each.note)


def _range_text(triple: Triple) -> str:
    low, likely, high = triple
    return f"{likely:,.0f} ({low:,.0f} to {high:,.0f})"


def _yield_row(found: CutPortions) -> YieldRow:
    fat = found.portions is None
    return YieldRow(
        what=plain_text(found.cut),
        raw=f"{found.raw_lb:,.0f}",
        trimmed="" if fat else _range_text(found.trimmed_lb),
        cooked=_range_text(found.cooked_lb) + (" tallow" if fat else ""),
        portions="" if found.portions is None else _range_text(found.portions),
        menu=f"{found.menu_portions:,.0f}",
    )


def _stock_note(desk: Desk) -> str:
    stock = [pieces_text(count, cut) for cut, count in desk.scenario.weekend.in_stock.items() if count]
    return f"In stock and taken off: {list_text(stock)}. Probe them too." if stock else ""
