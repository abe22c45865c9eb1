"""Words for people: times, days, cuts, places, money. Shared by the crew plan and the terminal.

Every function takes aware times and prints the wall clock of their own zone, so turn them into the kitchen's zone
first. An hour that the autumn clock change repeats is printed with its zone's letters ("1:30 am EDT").
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal

from scheduler.model.crew import WEEKDAYS

ClockStyle = Literal["12h", "24h"]

WRAP_WORDS: dict[str, str] = {
    "paper": "in paper",
    "foil": "in foil",
    "paper-and-tallow": "in paper with tallow",
    "none": "no wrap",
}

_IRREGULAR = {
    "loaf": "loaves",
    "half": "halves",
    "calf": "calves",
    "shelf": "shelves",
    "knife": "knives",
    "person": "people",
}
_WAVE = re.compile(r"^([A-Z][a-z]{2}) (\d\d):(\d\d)$")
_DEGREES = re.compile(r"(?<=\d) F\b")
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:am|pm|lb|h|min)\b|°F)|(?<=\d h) (?=\d\d\b)")


def _repeated(moment: datetime) -> bool:
    first, second = moment.replace(fold=0).utcoffset(), moment.replace(fold=1).utcoffset()
    return first is not None and second is not None and first > second


def _plain_clock(hour: int, minute: int, clock: ClockStyle) -> str:
    if clock == "24h":
        return f"{hour:02d}:{minute:02d}"
    if minute == 0 and hour in (0, 12):
        return "noon" if hour else "midnight"
    digits = f"{hour % 12 or 12}" + (f":{minute:02d}" if minute else "")
    return f"{digits} {'pm' if hour >= 12 else 'am'}"


def clock_text(moment: datetime, clock: ClockStyle) -> str:
    """The time of day: "9:45 pm", "11 am", "noon"; or "21:45"."""
    text = _plain_clock(moment.hour, moment.minute, clock)
    return f"{text} {moment.tzname()}" if _repeated(moment) else text


def bare_clock(moment: datetime, clock: ClockStyle) -> str:
    """The time of day where am or pm is plain: "9:45", "11:00"."""
    if clock == "24h" or _repeated(moment):
        return clock_text(moment, clock)
    return f"{moment.hour % 12 or 12}:{moment.minute:02d}"


def day_text(moment: date) -> str:
    """The day in full: "Saturday, November 1"."""
    return f"{moment:%A, %B} {moment.day}"


def short_day(moment: date) -> str:
    """Three letters: "Sat"."""
    return WEEKDAYS[moment.weekday()].capitalize()


def _is_midnight(moment: datetime) -> bool:
    return (moment.hour, moment.minute) == (0, 0)


def moment_text(moment: datetime, clock: ClockStyle) -> str:
    """Day and time: "Sat 9:45 pm". Midnight names both days, because nobody agrees to which one it belongs."""
    if clock == "12h" and _is_midnight(moment):
        return f"midnight {short_day(moment - timedelta(days=1))} to {short_day(moment)}"
    return f"{short_day(moment)} {clock_text(moment, clock)}"


def span_text(start: datetime, end: datetime, clock: ClockStyle) -> str:
    """From one time to another without days: "3:45 to 5:15 am", "11 am to 2 pm"."""
    first, last = clock_text(start, clock), clock_text(end, clock)
    if first == last:
        return first
    half, last_half = first[-3:], last[-3:]
    within = abs(end - start) < timedelta(hours=12)
    if half == last_half and half in (" am", " pm") and within:
        first = first[:-3]
    return f"{first} to {last}"


def day_span_text(start: datetime, end: datetime, clock: ClockStyle) -> str:
    """From one time to another with the days: "Fri 10 pm to Sat 6 am", "Sat 11 am to 2 pm"."""
    until_midnight = _is_midnight(end) and end.date() - start.date() == timedelta(days=1)
    if start.date() == end.date() or until_midnight:
        text = span_text(start, end, clock)
        if clock == "12h" and _is_midnight(start):
            # "Sat midnight" could be either end of Saturday; "Sat 12 to 5 am" could not.
            text = text.replace("midnight", "12" if text.endswith(" am") else "12 am", 1)
        return f"{short_day(start)} {text}"
    return f"{moment_text(start, clock)} to {moment_text(end, clock)}"


def wave_text(wave: str, clock: ClockStyle) -> str:
    """The name of a wave for people: "Sat 11:00" becomes "Sat 11 am"; an order keeps its own name."""
    found = _WAVE.match(wave)
    if found is None:
        return wave
    day, hour, minute = found.groups()
    return f"{day} {_plain_clock(int(hour), int(minute), clock)}"


def money_text(cents: int) -> str:
    """Dollars and cents: "$1,234.50"."""
    sign = "-" if cents < 0 else ""
    return f"{sign}${abs(cents) // 100:,}.{abs(cents) % 100:02d}"


def whole_dollars(cents: float) -> str:
    """Dollars to the nearest one: "$1,235"."""
    return money_text(round(cents / 100) * 100)[:-3]


def about_dollars(cents: float) -> str:
    """Dollars to be said aloud, with two figures: "about $1,200"; to the dollar below 100."""
    dollars = round(cents / 100)
    digits = len(str(abs(dollars)))
    return whole_dollars(cents) if digits <= 2 else f"about {whole_dollars(round(dollars, 2 - digits) * 100)}"


def percent_text(share: float) -> str:
    """A share in percent with one decimal: "3.4%"; never rounds a gap down to 0."""
    if 0 < share < 0.001:
        return "less than 0.1%"
    return f"{share * 100:.1f}%"


def number_text(value: float) -> str:
    """A number without needless zeros: "6", "2.5", "0.25"."""
    return str(Decimal(str(value)).quantize(Decimal("0.01"), rounding=ROUND_HALF_UP).normalize().__format__("f"))


def degrees_text(text: str) -> str:
    """Puts the degree sign into prose: "at 135 F" becomes "at 135 °F"."""
    return _DEGREES.sub(" °F", text)


def tight(value: object) -> object:
    """Text for a page in which no line breaks between a figure and its unit; anything else as it is."""
    return _BEFORE_UNIT.sub("\N{NO-BREAK SPACE}", value) if type(value) is str else value


def list_text(items: Sequence[str], last: str = "and") -> str:
    """Items as prose: "a, b and c"."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def codes_text(codes: Sequence[str]) -> str:
    """Codes of loads in few signs, the letters of a cut once: "BR01, 03, 04; PB02"."""
    cuts: dict[str, list[str]] = {}
    for code in codes:
        letters = code.rstrip("0123456789")
        cuts.setdefault(letters, []).append(code.removeprefix(letters))
    return "; ".join(f"{letters}{', '.join(numbers)}" for letters, numbers in cuts.items())


def unique(items: Iterable[str]) -> tuple[str, ...]:
    """Each item once, in the order of first sight."""
    return tuple(dict.fromkeys(items))


def plural(noun: str) -> str:
    """The plural of an English noun phrase, by its last word or the word before " of "."""
    head, of, rest = noun.partition(" of ")
    stem, space, last = head.rpartition(" ")
    if last in _IRREGULAR and not stem:
        last = _IRREGULAR[last]
    elif last.endswith(("s", "x", "ch", "sh")):
        last += "es"
    elif last.endswith("y") and last[-2:-1] not in "aeiou":
        last = f"{last[:-1]}ies"
    else:
        last += "s"
    return f"{stem}{space}{last}{of}{rest}"


def cut_text(name: str, pieces: int = 1) -> str:
    """A cut's name for people: "packer-brisket" is a packer brisket, several are packer briskets.

    Ribs are cooked by the slab, so one piece of "spare-ribs" is a slab of spare ribs. Tallow comes by the pan.
    """
    noun = _noun(name)
    last = noun.rsplit(" ", 1)[-1].lower()
    if last == "ribs" and " of " not in noun:
        noun = f"slab of {noun}"
    elif last in ("tallow", "trim") and " of " not in noun:
        noun = f"pan of {noun}"
    return noun if pieces == 1 else plural(noun)


def _noun(name: str) -> str:
    return " ".join(name.replace("-", " ").replace("_", " ").split())


def on_the_board(name: str) -> str:
    """What guests call a cut, however it is cooked: spare ribs, not slabs of them."""
    noun = _noun(name)
    return noun if cut_text(name) != noun else plural(noun)


def slicing_text(name: str) -> str:
    """What the knife does to a cut at service: butts are shredded, ribs and birds are cut up, the rest is sliced."""
    noun = cut_text(name, 2).lower()
    if any(word in noun for word in ("butt", "shoulder", "picnic")):
        return "shred"
    return "cut up" if any(word in noun for word in ("rib", "chicken", "hen")) else "slice"


def pieces_text(pieces: int, cut: str) -> str:
    """So many of a cut: "6 packer briskets"."""
    return f"{pieces:,} {cut_text(cut, pieces)}"


def count_text(count: int, noun: str) -> str:
    """So many of anything: "1 load", "3 loads"."""
    return f"{count:,} {noun if count == 1 else plural(noun)}"


def kind_of_place(name: str, kind: str) -> str:
    """A place with what it is, said once: "north" is "north smoker", "North smoker" stays."""
    return name if kind in name.lower() else f"{name} {kind}"


def rack_text(name: str) -> str:
    """A rack: "2" is "rack 2", "top" is "top rack", "Rack A" stays."""
    if "rack" in name.lower() or "shelf" in name.lower():
        return name
    return f"rack {name}" if len(name) <= 2 or name.isdigit() else f"{name} rack"


def shift_text(pattern: str) -> str:
    """A shift pattern: "night" is "night shift"."""
    return kind_of_place(pattern, "shift")


def shift_title_text(starts: date, pattern: str) -> str:
    """A shift with its day, said once: "Fri night shift"; "friday prep" on a Friday is "Fri prep shift"."""
    day = short_day(starts)
    first, _, rest = pattern.partition(" ")
    if rest and first.lower() in (f"{starts:%A}".lower(), day.lower()):
        pattern = rest
    elif pattern.lower() in (f"{starts:%A}".lower(), day.lower()):
        pattern = "shift"
    return f"{day} {shift_text(pattern)}"


def sentence(text: str) -> str:
    """With a capital and a full stop."""
    text = text.strip()
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text[-1] in ".!?" else ".")
