"""The menu: cuts that are cooked whole, and the recipes by which they may be cooked."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field, StringConstraints, model_validator

from scheduler.model.base import Cents, Frozen, Minutes, Name, Range, Spaces, named
from scheduler.model.site import Degrees

WrapKind = Literal["paper", "foil", "paper-and-tallow", "none"]
HandMinutes = Annotated[float, Field(ge=0, le=120)]
"""Minutes of one person's hands for one piece."""

CutCode = Annotated[str, StringConstraints(pattern=r"^[A-Z]{1,3}$")]


class Learned(Frozen):
    """Where a recipe's range came from, if it was learned from cooks."""

    on: date
    cooks: Annotated[int, Field(ge=1)]
    before: Range
    """The range before anything was learned; what is learned later starts from it, so that no cook counts twice."""


class Recipe(Frozen):
    """One way to cook a cut.

    The rack temperature (setpoint plus the rack's offset) must stay between `low_f` and `high_f` until the wrap,
    and between `finish_low_f` and `finish_high_f` after it. All times are for a fire kept inside that band, at a
    rack without offset, for a piece of `ref_weight_lb`; `slower_pct_per_lb` and `faster_pct_per_f` say by how many
    percent they stretch for each pound above it and shrink for each degree of rack offset. They are applied by
    `scheduler.trade.stage`.

    A wrapped recipe (`wrap_kind` not "none") is wrapped `wrap_from_min` to `wrap_to_min` after loading: any time in
    that window is a choice. `finish` is the uncertain stage: from the wrap, or from loading when unwrapped, to done.
    """

    name: Name
    low_f: Degrees
    high_f: Degrees
    wrap_kind: WrapKind
    wrap_from_min: Minutes = 0
    wrap_to_min: Minutes = 0
    finish: Range
    finish_low_f: Degrees | None = None
    finish_high_f: Degrees | None = None
    oven_ok: bool = False
    """True if a wrapped piece may finish in an oven."""
    ref_weight_lb: Annotated[float, Field(gt=0, le=200)]
    slower_pct_per_lb: Annotated[float, Field(ge=0, le=50)] = 0.0
    faster_pct_per_f: Annotated[float, Field(ge=0, le=5)] = 0.0
    learned: Learned | None = None

    @property
    def wrapped(self) -> bool:
        """True if the crew wraps it on the way."""
        return self.wrap_kind != "none"

    @property
    def finish_band_f(self) -> tuple[int, int]:
        """The band of rack or oven temperatures that it accepts after the wrap."""
        low = self.low_f if self.finish_low_f is None else self.finish_low_f
        high = self.high_f if self.finish_high_f is None else self.finish_high_f
        return low, high

    @model_validator(mode="after")
    def _sound(self) -> Recipe:
        low, high = self.finish_band_f
        if self.low_f > self.high_f or low > high:
            raise ValueError(f"recipe {self.name!r}: the low end of a temperature band is above its high end")
        if self.wrapped and not 0 < self.wrap_from_min <= self.wrap_to_min:
            raise ValueError(
                f"recipe {self.name!r}: wrap_from_min must be above 0 and not above wrap_to_min "
                f"(they are {self.wrap_from_min} and {self.wrap_to_min})"
            )
        if not self.wrapped and (self.wrap_from_min or self.wrap_to_min or self.oven_ok):
            raise ValueError(f"recipe {self.name!r}: an unwrapped recipe has no wrap window and no oven finish")
        if self.finish.early_min == 0:
            raise ValueError(f"recipe {self.name!r}: finish.early_min must be above 0")
        return self


class Hands(Frozen):
    """Minutes of one person's hands for one piece, by task."""

    load_min: HandMinutes
    wrap_min: HandMinutes = 0.0
    pull_min: HandMinutes
    slice_min: HandMinutes = 0.0


class Cut(Frozen):
    """A thing on the menu that is cooked whole."""

    name: Name
    code: CutCode
    """Letters that start the code of each load, such as BR for BR03."""
    imps: str = ""
    """Institutional Meat Purchase Specifications item number, where there is one."""
    family: Literal["beef", "pork", "poultry", "sausage", "fat"]
    intact: bool = True
    """False for meat that was ground, injected or needled, so that its middle may carry germs."""
    frozen: bool = False
    """True if it is delivered frozen and has to thaw."""
    case_pieces: Annotated[int, Field(ge=1, le=1000)] | None = None
    """Pieces in a case as the supplier packs them; None takes what is common."""
    raw_low_lb: Annotated[float, Field(gt=0, le=200)]
    raw_high_lb: Annotated[float, Field(gt=0, le=200)]
    spaces: Spaces
    """Spaces of one piece on a rack or in an oven."""
    rest_spaces: Spaces
    hold_spaces: Spaces
    done_f: Degrees
    rest_min: Minutes
    """Least ambient rest after the pull."""
    hold_max_min: Minutes
    """Longest hot hold, from the early pull plus rest to the end of serving."""
    hold_low_f: Degrees = 135
    hold_high_f: Degrees = 180
    hold_free_min: Minutes = 0
    """Holding up to this long costs no quality."""
    hold_loss_cents_per_h: Cents = 0
    """Quality lost by one piece for each hour held beyond `hold_free_min` before its wave."""
    move_cents: Cents = 0
    """Price of handing one piece to another smoker or an oven at its wrap."""
    portions: Annotated[float, Field(gt=0, le=1000)]
    price_cents: Cents
    """Price of one portion."""
    cost_cents: Cents
    """Raw cost of one piece."""
    leftover_cents: Cents = 0
    """What a portion left at closing still brings, chilled by the rules and sold as something else; 0 if thrown."""
    hands: Hands
    recipes: Annotated[tuple[Recipe, ...], Field(min_length=1, alias="recipe")]

    @property
    def weight_lb(self) -> float:
        """Middle of the raw weight range, lb a piece."""
        return (self.raw_low_lb + self.raw_high_lb) / 2

    @property
    def margin_cents(self) -> int:
        """What one piece earns when it is sold whole: price of its portions less its raw cost."""
        return round(self.portions * self.price_cents) - self.cost_cents

    def recipe(self, name: str) -> Recipe:
        """The recipe of that name; KeyError if there is none."""
        return named(self.recipes, name)

    @model_validator(mode="after")
    def _sound(self) -> Cut:
        if self.raw_low_lb > self.raw_high_lb:
            raise ValueError(f"raw_low_lb {self.raw_low_lb:g} is above raw_high_lb {self.raw_high_lb:g}")
        if self.hold_low_f > self.hold_high_f:
            raise ValueError(f"hold_low_f {self.hold_low_f} is above hold_high_f {self.hold_high_f}")
        if self.spaces == 0:
            raise ValueError("spaces must be above 0: every piece takes room on a rack")
        if self.cost_cents and self.leftover_cents * self.portions >= self.cost_cents:
            raise ValueError(
                f"leftover_cents {self.leftover_cents} times {self.portions:g} portions is not below cost_cents "
                f"{self.cost_cents}, so it would pay to cook without end"
            )
        return self


class Menu(Frozen):
    """All cuts, the user's own included."""

    cuts: Annotated[tuple[Cut, ...], Field(min_length=1, alias="cut")]

    def cut(self, name: str) -> Cut:
        """The cut of that name; KeyError if there is none."""
        return named(self.cuts, name)
