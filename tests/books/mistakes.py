"""Scenario folders with one mistake each, and the sentence that each must give. All start from `corner-saturday`."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@dataclass(frozen=True)
class Mistake:
    """Replace `old` by `new` in a file (`old` empty: append), and this one sentence must come."""

    file: str
    old: str
    new: str
    sentence: str

    def make(self, folder: Path) -> None:
        """Make the mistake in a folder."""
        path = folder / self.file
        text = path.read_text(encoding="utf-8")
        assert not self.old or text.count(self.old) >= 1, f"{self.old!r} is not in {self.file}"
        path.write_text(text.replace(self.old, self.new, 1) if self.old else text + self.new, encoding="utf-8")


def copy_of(name: str, to: Path) -> Path:
    """A copy of a scenario folder to spoil."""
    return Path(shutil.copytree(SCENARIOS / name, to / name))


CUT = 'menu.toml: cut "packer brisket"'
RECIPE = f'{CUT}, recipe "250 paper"'
NIGHT = 'crew.toml: pattern "night"'
WAVE = "weekend.toml: wave"

SPRING = (
    "2026-03-08",
    "02:30 does not exist in America/Chicago: the clock skips it; choose a time before or after the change.",
)

MISTAKES: dict[str, Mistake] = {
    # One thing in one file
    "toml typo": Mistake(
        "menu.toml",
        "spaces = 1\n",
        "spaces 1\n",
        "menu.toml: is not valid TOML at line 34, column 8: expected '=' after a key in a key/value pair; "
        "correct that line.",
    ),
    "time without seconds": Mistake(
        "crew.toml",
        "starts = 22:30:00",
        "starts = 22:30",
        "crew.toml: is not valid TOML at line 38, column 12: expected newline or end of document after a statement; "
        "write a time without quotes and with seconds, such as 22:00:00.",
    ),
    "leftovers worth more than meat": Mistake(
        "menu.toml",
        "cost_cents = 6900\n",
        "cost_cents = 6900\nleftover_cents = 400\n",
        f"{CUT}: leftover_cents 400 times 18 portions is not below cost_cents 6900, so it would pay to cook "
        "without end; correct it.",
    ),
    "time as a number": Mistake(
        "crew.toml",
        "starts = 22:30:00",
        "starts = 1350",
        f"{NIGHT}, starts: 1350 is not a local time; write it without quotes and with seconds, such as 22:00:00.",
    ),
    "time in quotes": Mistake(
        "weekend.toml",
        "plan_from = 2026-05-15T16:00:00",
        'plan_from = "Friday"',
        'weekend.toml: plan_from: "Friday" is not a local date and time; '
        "write it without quotes, such as 2026-06-13T11:00:00.",
    ),
    "time with an offset": Mistake(
        "weekend.toml",
        "at = 2026-05-16T13:30:00",
        "at = 2026-05-16T13:30:00-05:00",
        f"{WAVE} (packer brisket, Sat 2026-05-16 13:30), at: 2026-05-16T13:30:00-05:00 carries an offset; "
        "give the local time without an offset.",
    ),
    "closing with an offset": Mistake(
        "weekend.toml",
        "closes = 2026-05-16T16:00:00",
        "closes = 2026-05-16T16:00:00-05:00",
        "weekend.toml: day (Sat 2026-05-16 11:00), closes: 2026-05-16T16:00:00-05:00 carries an offset; "
        "give the local time without an offset.",
    ),
    "time with seconds": Mistake(
        "weekend.toml",
        "plan_from = 2026-05-15T16:00:00",
        "plan_from = 2026-05-15T16:00:30",
        "weekend.toml: plan_from: 2026-05-15T16:00:30 is not a whole minute; give it seconds of 00.",
    ),
    "early above likely": Mistake(
        "menu.toml",
        "early_min = 285",
        "early_min = 500",
        f"{RECIPE}, finish: a range must rise: early 500 <= likely 465 <= late 645; "
        "put early, likely and late in rising order.",
    ),
    "wrap window backwards": Mistake(
        "menu.toml",
        "wrap_to_min = 420",
        "wrap_to_min = 42",
        f"{RECIPE}: wrap_from_min must be above 0 and not above wrap_to_min (they are 330 and 42); "
        "correct one of the two numbers.",
    ),
    "temperature band backwards": Mistake(
        "menu.toml",
        "high_f = 265",
        "high_f = 226",
        f"{RECIPE}: the low end of a temperature band is above its high end; put the lower temperature first.",
    ),
    "misspelt setting": Mistake(
        "menu.toml",
        "slower_pct_per_lb",
        "slower_pct_per_lbs",
        f"{RECIPE}, slower_pct_per_lbs: no such setting is known; write slower_pct_per_lb if that is meant.",
    ),
    "missing setting": Mistake(
        "menu.toml",
        "done_f = 203\n",
        "",
        f"{CUT}, done_f: it is missing; add it.",
    ),
    "decimals where none may be": Mistake(
        "menu.toml",
        "rest_min = 60",
        "rest_min = 60.5",
        f"{CUT}, rest_min: 60.5 is not a whole number; give a whole number without quotes or decimals.",
    ),
    "number in quotes": Mistake(
        "site.toml",
        "wrap_tables = 2",
        'wrap_tables = "2"',
        'site.toml: wrap_tables: "2" is not a whole number; give a whole number without quotes or decimals.',
    ),
    "negative number": Mistake(
        "site.toml",
        "tend_min = 4",
        "tend_min = -4",
        'site.toml: firebox "long box", tend_min: -4 is below 0; give at least 0.',
    ),
    "number too large": Mistake(
        "site.toml",
        "wood_lb_per_h = 16",
        "wood_lb_per_h = 1600",
        'site.toml: firebox "long box", wood_lb_per_h: 1600 is above 500; give at most 500.',
    ),
    "too many decimals": Mistake(
        "menu.toml",
        "hold_spaces = 0.75",
        "hold_spaces = 0.755",
        'menu.toml: cut "pork butt", hold_spaces: 0.755 has more than two decimals; round it to hundredths.',
    ),
    "not one of the kinds": Mistake(
        "menu.toml",
        'wrap_kind = "paper"',
        'wrap_kind = "papyrus"',
        f'{RECIPE}, wrap_kind: "papyrus" is not "paper", "foil", "paper-and-tallow" or "none"; use one of these.',
    ),
    "code in small letters": Mistake(
        "menu.toml",
        'code = "BR"',
        'code = "br"',
        f'{CUT}, code: "br" is not one to three capital letters; write it such as "BR".',
    ),
    "list that is none": Mistake(
        "crew.toml",
        'skills = ["fire", "pit", "wrap", "slice"]',
        'skills = "fire"',
        'crew.toml: person "Wade", skills: "fire" is not a list; '
        "put it in [square brackets], or use [[double brackets]] for a table.",
    ),
    "empty list": Mistake(
        "site.toml",
        "setpoints_f = [250, 275]",
        "setpoints_f = []",
        'site.toml: firebox "long box", setpoints_f: it has too few entries; give at least 1.',
    ),
    "unknown skill": Mistake(
        "crew.toml",
        '"pit", "wrap", "slice", "counter"',
        '"pit", "rap", "slice", "counter"',
        'crew.toml: person "Sol", skills (number 2): "rap" is not "fire", "pit", "wrap", "slice" or "counter"; '
        "use one of these.",
    ),
    "true where a number belongs": Mistake(
        "menu.toml",
        "rest_min = 60",
        "rest_min = true",
        f"{CUT}, rest_min: true is not a whole number; give a whole number without quotes or decimals.",
    ),
    "unknown time zone": Mistake(
        "weekend.toml",
        "America/Chicago",
        "America/Chicagoo",
        "weekend.toml: timezone: 'America/Chicagoo' is not a time zone of the tz database; "
        'use a name such as "America/Chicago".',
    ),
    # Names
    "code used twice": Mistake(
        "menu.toml",
        'code = "PB"',
        'code = "BR"',
        'menu.toml: cut "pork butt", code: "BR" is used by cut "packer brisket" also; give each its own code.',
    ),
    "place named twice": Mistake(
        "site.toml",
        'name = "cabinet"',
        'name = "oven"',
        'site.toml: hold_cabinet "oven", name: "oven" is used by oven "oven" also; give each its own name.',
    ),
    "rack named twice": Mistake(
        "site.toml",
        'name = "cool end"',
        'name = "hot end"',
        'site.toml: smoker "long", rack "hot end", name: "hot end" is used twice; give each its own name.',
    ),
    "recipe named twice": Mistake(
        "menu.toml",
        'name = "275 tallow paper"',
        'name = "250 paper"',
        f'{RECIPE}, name: "250 paper" is used twice; give each its own name.',
    ),
    "person named twice": Mistake(
        "crew.toml",
        'name = "Lupe"',
        'name = "Wade"',
        'crew.toml: person "Wade", name: "Wade" is used twice; give each its own name.',
    ),
    "order named twice": Mistake(
        "weekend.toml",
        "",
        '\n[[order]]\nname = "ball game"\ncut = "sausage"\nat = 2026-05-16T12:00:00\npieces = 4\n',
        'weekend.toml: order "ball game", name: "ball game" is used twice; give each its own name.',
    ),
    "unknown firebox": Mistake(
        "site.toml",
        'firebox = "long box"',
        'firebox = "lung box"',
        'site.toml: smoker "long", firebox: no firebox is called "lung box"; write "long box" if that is meant.',
    ),
    "unknown cut on a rack": Mistake(
        "site.toml",
        "offset_f = 15\n",
        'offset_f = 15\nfits = ["spare rib"]\n',
        'site.toml: smoker "long", rack "hot end", fits: no cut is called "spare rib"; '
        'write "spare ribs" if that is meant.',
    ),
    "unknown pattern": Mistake(
        "crew.toml",
        'patterns = ["early", "day"]',
        'patterns = ["early", "xyz"]',
        'crew.toml: person "Sol", patterns: no shift pattern is called "xyz"; '
        'use one of "day", "early", "late", "night".',
    ),
    "unknown cut in a wave": Mistake(
        "weekend.toml",
        'cut = "pork butt"\nat = 2026-05-16T11:00:00',
        'cut = "pork but"\nat = 2026-05-16T11:00:00',
        f'{WAVE} (pork but, Sat 2026-05-16 11:00), cut: no cut is called "pork but"; '
        'write "pork butt" if that is meant.',
    ),
    "unknown cut in an order": Mistake(
        "weekend.toml",
        'name = "ball game"\ncut = "pork butt"',
        'name = "ball game"\ncut = "ham"',
        'weekend.toml: order "ball game", cut: no cut is called "ham"; '
        'use one of "half chicken", "packer brisket", "pork butt", "sausage", "spare ribs".',
    ),
    "unknown person away": Mistake(
        "weekend.toml",
        "",
        '\n[[away]]\nperson = "Wad"\nfrom_at = 2026-05-16T08:00:00\nuntil_at = 2026-05-16T12:00:00\n',
        'weekend.toml: away "Wad", person: no person is called "Wad"; write "Wade" if that is meant.',
    ),
    "unknown place out of use": Mistake(
        "weekend.toml",
        "",
        '\n[[out_of_use]]\nplace = "cabinett"\n',
        'weekend.toml: out_of_use "cabinett", place: no place is called "cabinett"; write "cabinet" if that is meant.',
    ),
    "unknown cut in weights": Mistake(
        "weekend.toml",
        "",
        '\n[weights_lb]\n"pork butts" = 9.5\n',
        'weekend.toml: weights_lb: no cut is called "pork butts"; write "pork butt" if that is meant.',
    ),
    "unknown cut in stock": Mistake(
        "weekend.toml",
        "",
        '\n[in_stock]\n"pork butts" = 4\n',
        'weekend.toml: in_stock: no cut is called "pork butts"; write "pork butt" if that is meant.',
    ),
    # Fit
    "piece larger than any rack": Mistake(
        "menu.toml",
        "spaces = 1\n",
        "spaces = 7\n",
        f"{CUT}, spaces: one piece takes 7 spaces and the largest rack that takes it has 6; "
        "correct the spaces or give it a larger rack in site.toml.",
    ),
    "no rack is hot enough": Mistake(
        "menu.toml",
        "low_f = 260\nhigh_f = 295",
        "low_f = 300\nhigh_f = 350",
        'menu.toml: cut "half chicken", recipe: no rack that takes it gets to a temperature of any of its recipes '
        "(racks have 240, 250, 265, 275, 290 F); widen low_f to high_f of a recipe, or add a setpoint in site.toml.",
    ),
    "no rest shelf is large enough": Mistake(
        "menu.toml",
        "rest_spaces = 1\n",
        "rest_spaces = 20\n",
        f"{CUT}, rest_spaces: one piece takes 20 and the largest rest shelf has 14; "
        "correct it, or add a larger [[rest_shelf]] in site.toml.",
    ),
    "no cabinet is large enough": Mistake(
        "menu.toml",
        "hold_spaces = 1\n",
        "hold_spaces = 20\n",
        f"{CUT}, hold_spaces: one piece takes 20 and the largest holding cabinet at its temperature has 14; "
        "correct it, or add a larger [[hold_cabinet]] in site.toml.",
    ),
    "no cabinet has its temperature": Mistake(
        "menu.toml",
        "hold_low_f = 140\nhold_high_f = 155",
        "hold_low_f = 160\nhold_high_f = 170",
        f"{CUT}, hold_low_f: no holding cabinet is set between 160 and 170 F; "
        "widen hold_low_f to hold_high_f, or add such a [[hold_cabinet]] in site.toml.",
    ),
    # Safety
    "poultry called done too early": Mistake(
        "menu.toml",
        "done_f = 175",
        "done_f = 160",
        'menu.toml: cut "half chicken", done_f: 160 F is not done for poultry (FDA Food Code 3-401.11(A)(3): 165 F); '
        "set 165 or more.",
    ),
    "needled butts done too early": Mistake(
        "menu.toml",
        "done_f = 202",
        "done_f = 150\nintact = false",
        'menu.toml: cut "pork butt", done_f: 150 F is not done for pork (FDA Food Code 3-401.11(A)(2), without '
        "poultry in it: 155 F); set 155 or more.",
    ),
    # The crew and the calendar
    "shift of 30 hours": Mistake(
        "crew.toml",
        "length_min = 600",
        "length_min = 1800",
        f"{NIGHT}, length_min: a shift of 30 hours is longer than the longest shift of 10 hours; "
        "shorten it or correct longest_shift_min.",
    ),
    "born after the weekend": Mistake(
        "crew.toml",
        'name = "Wade"\n',
        'name = "Wade"\nbirth_years = [2009, 2099]\n',
        'crew.toml: person "Wade", birth_years: 2009 to 2099 is not a first and a last possible year of birth; '
        "give [first, last], such as [2009, 2010].",
    ),
    "opens after closing": Mistake(
        "weekend.toml",
        "opens = 2026-05-16T11:00:00",
        "opens = 2026-05-16T17:00:00",
        "weekend.toml: day (Sat 2026-05-16 17:00): closes Sat 16:00 must be after opens Sat 17:00; "
        "correct one of the two times.",
    ),
    "wave after closing": Mistake(
        "weekend.toml",
        "at = 2026-05-16T13:30:00",
        "at = 2026-05-16T17:30:00",
        f"{WAVE} (packer brisket, Sat 2026-05-16 17:30), at: it is not before closing at Sat 2026-05-16 16:00; "
        "choose a time before closing.",
    ),
    "wave before planning": Mistake(
        "weekend.toml",
        "at = 2026-05-16T13:30:00",
        "at = 2026-05-15T13:30:00",
        f"{WAVE} (packer brisket, Fri 2026-05-15 13:30), at: it is not after plan_from, Fri 2026-05-15 16:00; "
        "choose a later time or plan from an earlier one.",
    ),
    "wave on no service day": Mistake(
        "weekend.toml",
        "at = 2026-05-16T13:30:00",
        "at = 2026-05-17T13:30:00",
        f"{WAVE} (packer brisket, Sun 2026-05-17 13:30), at: no service day is on that date; "
        "correct the date or add a [[day]].",
    ),
    "serving after closing": Mistake(
        "weekend.toml",
        "until = 2026-05-16T14:30:00",
        "until = 2026-05-16T16:30:00",
        f"{WAVE} (spare ribs, Sat 2026-05-16 13:00), until: serving ends at Sat 2026-05-16 16:30, after closing at "
        "Sat 2026-05-16 16:00; end it at closing or before.",
    ),
    "serving ends before it starts": Mistake(
        "weekend.toml",
        "until = 2026-05-16T14:30:00",
        "until = 2026-05-16T12:30:00",
        f"{WAVE} (spare ribs, Sat 2026-05-16 13:00), until: it ends before it starts; give a later until.",
    ),
    "two waves at once": Mistake(
        "weekend.toml",
        "at = 2026-05-16T13:30:00",
        "at = 2026-05-16T11:00:00",
        f"{WAVE} (packer brisket, Sat 2026-05-16 11:00), at: the same cut has another wave at the same time; "
        "put the pieces of both into one.",
    ),
    "order after closing": Mistake(
        "weekend.toml",
        "at = 2026-05-16T12:00:00",
        "at = 2026-05-16T19:00:00",
        'weekend.toml: order "ball game", at: it is not before closing at Sat 2026-05-16 16:00; '
        "choose a time before closing.",
    ),
    "opens before planning": Mistake(
        "weekend.toml",
        "opens = 2026-05-16T11:00:00",
        "opens = 2026-05-15T12:00:00",
        "weekend.toml: day (Fri 2026-05-15 12:00), opens: it opens before plan_from, Fri 2026-05-15 16:00; "
        "correct the day or plan from an earlier time.",
    ),
    "days overlap": Mistake(
        "weekend.toml",
        "",
        "\n[[day]]\nopens = 2026-05-16T15:00:00\ncloses = 2026-05-16T19:00:00\n",
        "weekend.toml: day (Sat 2026-05-16 15:00), opens: it opens before the day of Sat 2026-05-16 11:00 closes; "
        "correct one of the two days.",
    ),
    "wrong year": Mistake(
        "weekend.toml",
        "plan_from = 2026-05-15",
        "plan_from = 2025-05-15",
        "weekend.toml: plan_from: it is more than 7 days before the last closing, Sat 2026-05-16 16:00; "
        "correct one of the two dates.",
    ),
    "impossible year": Mistake(
        "weekend.toml",
        "at = 2026-05-16T13:30:00",
        "at = 9999-05-16T13:30:00",
        f"{WAVE} (packer brisket, Sun 9999-05-16 13:30), at: 9999-05-16T13:30:00 is not in a year of any weekend; "
        "give a year from 2000 to 2099.",
    ),
    "back before away": Mistake(
        "weekend.toml",
        "",
        '\n[[away]]\nperson = "Wade"\nfrom_at = 2026-05-16T12:00:00\nuntil_at = 2026-05-16T08:00:00\n',
        'weekend.toml: away "Wade", until_at: it is not after from_at; give a later until_at.',
    ),
    "mended before broken": Mistake(
        "weekend.toml",
        "",
        '\n[[out_of_use]]\nplace = "oven"\nfrom_at = 2026-05-16T12:00:00\nuntil_at = 2026-05-16T08:00:00\n',
        'weekend.toml: out_of_use "oven", until_at: it is not after from_at; give a later until_at.',
    ),
    "time that the clock skips": Mistake(
        "weekend.toml",
        "",
        '\n[[out_of_use]]\nplace = "oven"\nfrom_at = 2026-03-08T02:30:00\n',
        f'weekend.toml: out_of_use "oven", from_at: {SPRING[0]} {SPRING[1]}',
    ),
}
