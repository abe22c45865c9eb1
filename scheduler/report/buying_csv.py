"""The buying list as CSV (RFC 4180), for a spreadsheet or a supplier, and as plain data."""

from __future__ import annotations

import csv
from io import StringIO
from typing import Any

from scheduler.report.loads_csv import safe_cell
from scheduler.trade.buying import Triple
from scheduler.trade.orders import Orders

COLUMNS = (
    "cut",
    "imps",
    "name",
    "weight_band",
    "cases",
    "case_pieces",
    "pieces",
    "weight_lb",
    "spare_pieces",
    "cost_usd",
    "order_by",
    "deliver_by",
    "thaw_from",
    "trim_from",
)


def buying_rows(orders: Orders) -> list[dict[str, Any]]:
    """One row for each line of the buying list; dates ISO 8601, cost in dollars."""
    return [
        {
            "cut": line.cut,
            "imps": line.imps,
            "name": line.name,
            "weight_band": line.band,
            "cases": line.cases,
            "case_pieces": orders.items[line.cut].case_pieces,
            "pieces": line.pieces,
            "weight_lb": round(line.weight_lb, 2),
            "spare_pieces": line.spare_pieces,
            "cost_usd": f"{line.cost_cents / 100:.2f}",
            "order_by": line.order_by.isoformat(),
            "deliver_by": line.deliver_by.isoformat(),
            "thaw_from": "" if line.thaw_from is None else line.thaw_from.isoformat(),
            "trim_from": line.trim_on.isoformat(),
        }
        for line in orders.lines
        if line.cases
    ]


def buying_csv(orders: Orders) -> str:
    """The file's text. Lines end with CR LF, as RFC 4180 asks."""
    out = StringIO()
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for row in buying_rows(orders):
        writer.writerow([safe_cell(str(row[column])) for column in COLUMNS])
    return out.getvalue()


def _triple(values: Triple) -> dict[str, float]:
    return {name: round(value, 2) for name, value in zip(("low", "likely", "high"), values, strict=True)}


def orders_data(orders: Orders) -> dict[str, Any]:
    """All of it for a program: buying list, prep, thaws, cooler, wood."""
    return {
        "buy": [
            {key: value for key, value in row.items() if key != "cost_usd"} | {"cost_cents": line.cost_cents}
            for row, line in zip(buying_rows(orders), (x for x in orders.lines if x.cases), strict=True)
        ],
        "cost_cents": orders.cost_cents,
        "thaw": [
            {"on": x.on.isoformat(), "cut": x.cut, "pieces": x.pieces, "ready_on": x.ready_on.isoformat()}
            for x in orders.thaws
        ],
        "prep": [
            {
                "on": x.on.isoformat(),
                "cut": x.cut,
                "pieces": x.pieces,
                "hand_min": _triple(x.minutes),
            }
            for x in orders.prep
        ],
        "cooler": [
            {"on": x.on.isoformat(), "weight_lb": round(x.weight_lb, 1), "cubic_feet": round(x.cuft, 1)}
            for x in orders.cooler
        ],
        "yields": [
            {
                "cut": x.cut,
                "raw_lb": round(x.raw_lb, 2),
                "trimmed_lb": _triple(x.trimmed_lb),
                "cooked_lb": _triple(x.cooked_lb),
                "portions": None if x.portions is None else _triple(x.portions),
                "menu_portions": x.menu_portions,
            }
            for x in orders.portions
        ],
        "wood": {
            "likely_lb": round(orders.wood.likely_lb, 1),
            "hard_lb": round(orders.wood.hard_lb, 1),
            "cords_to_order": orders.wood.cords,
        },
    }
