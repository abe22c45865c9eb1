"""Results as Markdown: this program's figures, and its peers beside it. Medians over seeds."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from statistics import median

from scheduler.bench.one import METHODS, OURS
from scheduler.bench.outcome import Record, time_to
from scheduler.bench.results import Results
from scheduler.bench.sizes import FAMILIES, VARIANTS

OWN_HEAD = (
    "family",
    "variant",
    "runs",
    "s given",
    "cores had",
    "answer at, s",
    "first plan, s",
    "over final",
    "5 % at, s",
    "2 % at, s",
    "1 % at, s",
    "gap",
    "cost",
    "bound",
    "memory, MB",
    "reshuffle, s",
    "at 3 s",
)
BEST = "the best of them, whole weekend"
PEER_HEAD = (
    "family",
    "peer",
    "runs",
    "has a plan",
    "its cost",
    "ours there",
    "over ours",
    "ours no dearer",
    "ours sooner",
    "cores had",
)


def markdown(results: Results) -> str:
    """Both tables, with the machine above them."""
    where = ", ".join(f"{name} {value}" for name, value in results.machine.items())
    parts = [f"{where}. Medians over the runs of a row.", _table(OWN_HEAD, _own_rows(results.records))]
    peer_rows = list(_peer_rows(results.records))
    if peer_rows:
        parts.append(_table(PEER_HEAD, peer_rows))
    failed = [f"- {r.case}, {r.method}: {r.note}" for r in results.records if r.cents is None]
    if failed:
        parts.append("\n".join(["No plan:", "", *failed]))
    noted = [f"- {r.case}: {r.note}" for r in results.records if r.method == OURS and r.cents is not None and r.note]
    if noted:
        parts.append("\n".join(["The reshuffle:", "", *noted]))
    return "\n\n".join(parts) + "\n"


def _table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = [head, ("---",) * len(head), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def _own_rows(records: Iterable[Record]) -> Iterable[tuple[str, ...]]:
    ours = [r for r in records if r.method == OURS and not r.part]
    for family in FAMILIES:
        for variant in VARIANTS:
            some = [r for r in ours if (r.family, r.variant) == (family, variant)]
            if some:
                yield _own_row(some)


def _own_row(some: list[Record]) -> tuple[str, ...]:
    def mid(value: Callable[[Record], float | None], form: str = "{:.1f}") -> str:
        return middle([value(r) for r in some], form)

    return (
        some[0].family,
        some[0].variant,
        str(len(some)),
        f"{some[0].seconds:g}",
        mid(lambda r: r.more.get("cores")),
        mid(lambda r: r.more.get("answer_s"), "{:.0f}"),
        mid(lambda r: r.first_s),
        mid(lambda r: _over(r.first_cents, r.cents), "{:+.1%}"),
        *(mid(lambda r, gap=gap: r.gap_s.get(gap)) for gap in ("5", "2", "1")),  # type: ignore[misc]
        mid(lambda r: r.gap, "{:.1%}"),
        mid(lambda r: None if r.cents is None else r.cents / 100, "${:,.0f}"),
        mid(lambda r: None if r.bound_cents is None else r.bound_cents / 100, "${:,.0f}"),
        mid(lambda r: r.memory_mb, "{:,.0f}"),
        mid(lambda r: r.more.get("reshuffle_first_s"), "{:.2f}"),
        mid(lambda r: _over(r.more.get("reshuffle_3s_cents"), r.more.get("reshuffle_15s_cents")), "{:+.1%}"),
    )


def middle(values: list[float | None], form: str) -> str:
    """The median, where what was not reached counts as later than all; "–" if that is the median."""
    known = [value if value is not None else float("inf") for value in values]
    found = median(known) if known else float("inf")
    return "–" if found == float("inf") else form.format(found)


def _over(cost: float | None, other: float | None) -> float | None:
    return None if cost is None or not other else cost / other - 1


def _peer_rows(records: tuple[Record, ...]) -> Iterable[tuple[str, ...]]:
    ours = {(r.case, r.scenario_hash): r for r in records if r.method == OURS}
    for family in FAMILIES:
        for method in METHODS:
            pairs = [
                (r, ours[r.case, r.scenario_hash])
                for r in records
                if (r.family, r.method) == (family, method) and (r.case, r.scenario_hash) in ours
            ]
            if pairs:
                yield _peer_row(family, method, pairs)
        best = [
            (peer, ours[peer.case, peer.scenario_hash])
            for peer in _best_peers(records, family)
            if (peer.case, peer.scenario_hash) in ours
        ]
        if best:
            yield _peer_row(family, BEST, best)


def _best_peers(records: tuple[Record, ...], family: str) -> Iterable[Record]:
    """Of each whole weekend the cheapest plan that any peer has."""
    cases: dict[tuple[str, str], Record] = {}
    for r in records:
        if r.family != family or r.method == OURS or r.part or r.cents is None:
            continue
        known = cases.get((r.case, r.scenario_hash))
        if known is None or r.cents < (known.cents or 0):
            cases[r.case, r.scenario_hash] = r
    return cases.values()


def _peer_row(family: str, method: str, pairs: list[tuple[Record, Record]]) -> tuple[str, ...]:
    have = [(peer, own) for peer, own in pairs if peer.cents is not None]
    better = [own for peer, own in have if own.cents is not None and own.cents <= (peer.cents or 0)]
    ratios: list[float | None] = [_over(peer.cents, own.cents) for peer, own in have]
    return (
        family,
        method + (" (part)" if pairs[0][0].part else ""),
        str(len(pairs)),
        str(len(have)),
        middle([(peer.cents or 0) / 100 for peer, _ in have], "${:,.2f}"),
        middle([None if own.cents is None else own.cents / 100 for _, own in have], "${:,.2f}"),
        middle(ratios, "{:+.1%}"),
        f"{len(better) + len(pairs) - len(have)} of {len(pairs)}",
        middle([sooner(peer, own) for peer, own in have], "{:.1f} times"),
        middle([peer.more.get("cores") for peer, _ in pairs], "{:.1f}"),
    )


def sooner(peer: Record, own: Record) -> float | None:
    """How many times sooner ours had the peer's best cost than the peer did; 0 if it never had it."""
    if peer.cents is None or not peer.found:
        return None
    mine = time_to(own, peer.cents)
    return 0.0 if mine is None else peer.found[-1][0] / max(mine, 0.01)
