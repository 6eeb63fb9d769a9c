"""Names with their numbers: ``ph 5.9``, ``650 ppm``, ``level half``. One value at a time.

What belongs together in one reading is decided in ``readings``.
"""

from __future__ import annotations

from dataclasses import replace

from bot.reader.everyday import (
    is_change,
    is_clear_oxygen,
    is_door,
    is_ph_moved,
    is_weak,
    is_weather,
)
from bot.reader.fillers import APPROX, LINKS, OPINIONS, SKIPPED
from bot.reader.items import Item, Line
from bot.reader.numbers import Number, Quantity
from bot.reader.plausibility import is_plausible
from bot.reader.result import ReaderSettings, Reason
from bot.reader.scales import scale_in
from bot.reader.slots import (
    ACCEPTS,
    BY_UNIT,
    JOINTS,
    MARK_NOUNS,
    MARKS,
    MAX_COLUMNS,
    MAX_LINKS,
    METERS,
    POURED,
    QUANTITIES,
    SAYS,
    SIDES,
    SLIPS,
    STRICT,
    Fields,
    Value,
    clash_key,
    fields_of,
    suggestions_for,
)
from bot.reader.substances import is_of_substance

__all__ = ["ValueReader"]


MAX_PAIRS = 4
"""So many names with their numbers are looked at to tell which of them a number goes with."""


class ValueReader:
    """Finds values in one line."""

    def __init__(self, line: Line, settings: ReaderSettings) -> None:
        self._line = line
        self._items = line.items
        self._keys = line.around
        self._settings = settings
        self.scale, self.scale_items = scale_in(line.items, settings.ppm_scale)

    def at(self, i: int) -> Value | None:
        """The value that starts at item ``i``: name and number, either way round, or a telling unit."""
        key = self._items[i].key
        if key in ACCEPTS:
            return self._named(key, i)
        if key in SLIPS:
            return self._named(SLIPS[key], i)
        if key == "#vol" and len(self._items) == 2 and self._keys[i + 1] == "TANK":
            typed = self._line.typed(i, i)
            value = self._no("LEVEL", i, i + 1, "ambiguous")
            return replace(value, weak=True, suggestions=(f"tank at {typed}", f"tank holds {typed}"))
        if key in ("TANK", "#tank"):
            return self._tank(i)
        if (
            key == "#prod"
            and self._keys[i + 1] == "to"
            and self._keys[i + 2] == "#num"
            and is_ph_moved(self._line, i)
        ):
            return self._value("PH", i, i + 2, i + 2)
        if key == "t" and (i > 0 or "PH " in self._line.keys or "EC " in self._line.keys):
            at = i + 2 if self._keys[i + 1] in ("=", ":") else i + 1
            return self._value("TEMP", i, at, at) if self._keys[at] in ("#num", "#temp") else None
        if (
            key in METERS
            and (at := i + 2 if self._keys[i + 1] in SAYS else i + 1)
            and self._keys[at] == "#num"
        ):
            slot = (
                "PPM"
                if key == "ECMETER" and self._line.typed(i, i).lower()[:3] in ("tds", "ppm")
                else METERS[key]
            )
            return self._value(slot, i, at, at)
        if key in ("#num", "#temp", "#pct", "#mgl", "#ec", "#ppm", "#cf") or key in APPROX:
            return self._number_first(i)
        return None

    def table_at(self, i: int) -> list[Value]:
        """``ph/ec/temp: 5.9/1.4/19``: as many numbers as names, in the same order; else none."""
        keys = self._keys
        if keys[i + 1] not in ACCEPTS and keys[i + 1] not in JOINTS:
            return []
        slots: list[str] = []
        j = i
        while keys[j] in ACCEPTS and len(slots) < MAX_COLUMNS:
            slots.append(keys[j])
            j += 1
            while keys[j] in JOINTS and keys[j + 1] in ACCEPTS:
                j += 1
        if len(slots) < 2:
            return []
        while self._keys[j] in (":", "=", "-", "is", "are", "was", "were"):
            j += 1
        places: list[int] = []
        while j < len(self._items) and self._keys[j][0] == "#" and len(places) <= len(slots):
            places.append(j)
            j += 1
            if self._keys[j] in JOINTS:
                j += 1
        if len(places) != len(slots) or any(
            self._keys[at] not in ACCEPTS[slot] for slot, at in zip(slots, places, strict=True)
        ):
            return []
        found = [self._value(slot, at, at, at) for slot, at in zip(slots, places, strict=True)]
        values = [value for value in found if value is not None]
        if len(values) < len(slots):
            return []
        return [replace(values[0], first=i), *values[1:]]

    def named_at(self, i: int) -> bool:
        """Whether a name with its own number stands at item ``i``."""
        key = self._keys[i]
        value = self._named(key, i) if key in ACCEPTS else None
        return value is not None and value.reason is None

    def again(self, slot: str, i: int) -> Value | None:
        """A bare number at item ``i`` that goes on with ``slot``: ``6.4 then 5.9``."""
        if self._keys[i] not in ACCEPTS[slot]:
            return None
        return self._value(slot, i, i, i)

    def _named(self, slot: str, i: int) -> Value | None:
        j, approx, signed = self._skip_links(i + 1)
        found_key = self._keys[j]
        if slot == "PPM" and found_key in ACCEPTS[slot] and is_of_substance(self._items, i, j):
            return None
        if slot == "PH" and self._keys[j + 1] == "is" and self._keys[j + 2] in ("neutral", "best"):
            return None  # ``ph 7 is neutral``
        if is_change(self._line, i, j):
            return Value(clash_key(slot), {}, i, j if found_key in ACCEPTS[slot] else j - 1)
        if slot == "LEVEL" and not signed:
            mark = self._mark(i, self._after_plain_links(i + 1))
            if mark is not None:
                return mark
        if found_key not in ACCEPTS[slot]:
            if slot in STRICT and j == i + 1 and found_key in QUANTITIES and self._keys[j + 1] not in POURED:
                return self._no(slot, i, j, "ambiguous")
            return None
        if slot == "DO" and found_key == "#num" and not is_clear_oxygen(self._line, i, j):
            return None
        return self._value(slot, i, j, j, approx=approx, signed=signed)

    def _skip_links(self, j: int) -> tuple[int, bool, bool]:
        """(index of what follows the name's links, ``about`` was said, a sign stands before the number)."""
        approx = False
        limit = j + MAX_LINKS
        while j < limit:
            key = self._keys[j]
            if key in ("-", "+") and self._is_sign(j):
                return j + 1, approx, True
            in_column = key == "nl" and self._keys[j + 1][:1] == "#" and self._keys[j + 2] in ("", "nl")
            tight = key in (".", ",", ";") and self._keys[j + 1] == "#num" and self._is_tight(j)
            aside = tight or (key == "," and self._keys[j - 1] in OPINIONS and self._keys[j + 1] == "#num")
            aside = aside or (key == "." and self._keys[j - 1] in APPROX)  # ``approx. 5.5``
            is_double = key == "it" and self._keys[j + 1] == "is"  # ``the ph it is 5,8``
            if not (j in self.scale_items or key in SKIPPED or in_column or aside or is_double):
                break
            approx = approx or key in APPROX
            j += 1
        return j, approx, False

    def _is_tight(self, j: int) -> bool:
        """``ph.6.2``: nothing but the sign stands between the name and the number."""
        items = self._items
        return items[j].start == items[j - 1].end and items[j + 1].start == items[j].end

    def _after_plain_links(self, j: int) -> int:
        while self._keys[j] in LINKS or (
            self._keys[j] in ("down", "DOWN", "UP") and self._keys[j + 1] == "to"
        ):
            j += 1
        return j

    def _is_sign(self, j: int) -> bool:
        """Rule 2: a sign has a space, ``=`` or ``:`` before it and none after it."""
        items = self._items
        if j + 1 >= len(items) or items[j + 1].start != items[j].end:
            return False
        return items[j - 1].end < items[j].start or items[j - 1].key in ("=", ":") or items[j].key == "+"

    def _tank(self, i: int) -> Value | None:
        """``tank at 38 L`` is a level; ``tank 45 L`` alone may be that or the tank's size (rule 12)."""
        link, number = self._keys[i + 1], self._keys[i + 2]
        if link in ("at", "reads") and (mark := self._mark(i, i + 2)) is not None:
            return mark
        if link in ("at", "reads") and number in ("#num", "#vol", "#len", "#pct"):
            return self._value("LEVEL", i, i + 2, i + 2)
        start = i + 2 if link == "is" else i + 1
        start += link == "is" and number == "at"  # ``tank is at half``
        mark = self._mark(i, start)
        if mark is not None and (self._keys[mark.last] in ("full", "empty") or self._keys[start - 1] == "at"):
            return mark
        at = i + 2 if link in ("is", ":", "=", "-", "has", "have") else i + 1
        at += self._keys[at] == "of"
        if self._keys[at] == "#vol" and self._keys[at + 1] in POURED:
            return None  # ``herb tank: 5 ml down``
        if self._keys[at] == "#vol" or (self._keys[at] == "#num" and len(self._items) == at + 1):
            typed = self._line.typed(at, at)
            value = self._no("LEVEL", i, at, "ambiguous")
            return replace(value, weak=True, suggestions=(f"tank at {typed}", f"tank holds {typed}"))
        return None

    def _number_first(self, i: int) -> Value | None:
        j, approx = i, False
        while self._keys[j] in APPROX and j < i + 2:
            j, approx = j + 1, True
        key = self._keys[j]
        slot = self._keys[j + 1]
        if j < len(self._items) and is_of_substance(self._items, i, j):
            return None
        if key == "#num" and self._keys[j + 1] == "-" and self._keys[j + 2] == "#num":
            slot = self._keys[j + 3]
            if slot != "PH":
                return None
            return self._value("PH", i, j, j + 3, approx=approx)
        if key == "#temp" and slot == "in" and self._keys[j + 2] == "AIR":
            return self._value("AIR", i, j, j + 2, approx=approx)
        if slot == "for" and self._keys[j + 2] in STRICT and key in ACCEPTS[self._keys[j + 2]]:
            return self._value(self._keys[j + 2], i, j, j + 2, approx=approx)
        if slot in ACCEPTS and key in ACCEPTS[slot] and slot not in ("DO", "LEVEL"):
            value = self._value(slot, i, j, j + 1, approx=approx)
            owned = self._named(slot, j + 1)
            if value is not None and not (owned is not None and (value.reason or self._is_next(owned))):
                return value
        if key in BY_UNIT and not is_weather(self._line, j):
            return self._value(BY_UNIT[key], i, j, j, approx=approx)
        return None

    def _is_next(self, owned: Value) -> bool:
        """``week 3 ph 5.9 ec 1.4``: where every name has a number right after it, the one before is odd."""
        following: Value | None = owned
        for _ in range(MAX_PAIRS):
            if following is None or following.reason is not None or following.last > following.first + 1:
                return False
            key = self._keys[following.last + 1]
            if key not in ACCEPTS:
                return True
            following = self._named(key, following.last + 1)
        return False

    def _value(
        self, slot: str, first: int, at: int, last: int, *, approx: bool = False, signed: bool = False
    ) -> Value | None:
        """The value of ``slot`` whose number is item ``at``."""
        number = self._items[at].value
        last = max(last, at)
        if self._items[at].key == "#len" and self._end_of_mark(self._items[at]) > self._items[at].end:
            last = at + 2
        negative = signed and self._items[at - 1].key == "-"
        if not number.finite:
            return self._no(slot, first, last, "implausible")
        if isinstance(number, Number) and (
            (number.style == "half" and slot != "LEVEL") or is_door(self._line, first, number)
        ):
            return None
        span = self._span_end(slot, at)
        if span is not None:
            return self._ph_span(first, at, span, max(last, span), approx)
        if slot != "PH" and self._is_range(at):
            return self._no(slot, first, max(last, at + 2), "ambiguous")
        amount = number.typed if isinstance(number, Quantity) else number.value
        if self._keys[last + 1] == "ish" or (self._keys[last + 1] == "-" and self._keys[last + 2] == "ish"):
            approx, last = True, last + (1 if self._keys[last + 1] == "ish" else 2)
        if signed and not (slot == "AIR" and negative):
            return self._no(slot, first, last, "implausible")
        fields = self._fields(slot, -amount if negative else amount, self._items[at])
        if isinstance(fields, str):
            return self._no(slot, first, last, fields, amount)
        if approx or self._is_about(first):
            fields["approx"] = True
        return Value(clash_key(slot), fields, first, last, weak=is_weak(self._line, slot, first, last))

    def _span_end(self, slot: str, at: int) -> int | None:
        """Where ``6-6.5`` or ``6 to 6.5`` ends, for pH; for others a range is ambiguous by itself."""
        if self._keys[at] != "#num" or self._keys[at + 1] not in ("-", "to", "and"):
            return None
        if self._keys[at + 2] != "#num" or slot != "PH":
            return None
        sign = self._keys[at + 1]
        if sign == "and" and self._keys[at - 1] != "between":
            return None
        if sign == "to" and (self._keys[at - 1] == "from" or self._amount(at) > self._amount(at + 2)):
            return None
        if sign == "-" and self._is_sign(at + 1):
            return None
        return at + 2

    def _is_range(self, at: int) -> bool:
        """``ec 1.4-1.6``: which of the two, nobody can tell."""
        if (
            self._keys[at + 1] not in ("-", "to")
            or self._keys[at + 2] != self._keys[at]
            or at + 2 in self.scale_items
        ):
            return False
        if self._keys[at + 1] == "to":
            return self._keys[at - 1] != "from" and self._amount(at) <= self._amount(at + 2)
        return not self._is_sign(at + 1) and self._items[at + 2].start - self._items[at].end <= 3

    def _ph_span(self, first: int, low: int, high: int, last: int, approx: bool) -> Value:
        ends = sorted((self._amount(low), self._amount(high)))
        if not all(is_plausible("ph", end) for end in ends):
            return self._no("PH", first, last, "implausible")
        if ends[1] - ends[0] > 3:
            return self._no("PH", first, last, "ambiguous")
        fields: Fields = {
            "ph": (ends[0] + ends[1]) / 2,
            "ph_span": ends[1] - ends[0],
        }
        if approx:
            fields["approx"] = True
        return Value("ph", fields, first, last)

    def _fields(self, slot: str, amount: float, item: Item) -> Fields | Reason:
        if slot == "LEVEL" and item.key in ("#len", "#pct"):
            return {"level_mark": self._line.cleaned.raw(item.start, self._end_of_mark(item))}
        return fields_of(slot, amount, item, self._settings, self.scale)

    def _end_of_mark(self, item: Item) -> int:
        """Where ``2 cm below the line`` ends."""
        at = self._items.index(item)
        if self._keys[at + 1] in SIDES and self._keys[at + 2] in MARK_NOUNS:
            return self._items[at + 2].end
        return item.end

    def _mark(self, i: int, j: int) -> Value | None:
        """``level half``, ``level at the line``, ``level 1/2``."""
        number = self._items[j].value if j < len(self._items) else None
        last = j
        if (
            isinstance(number, Number)
            and number.style in ("half", "fraction")
            and self._keys[j + 1] not in ("#vol",)
        ):
            if self._keys[j + 1] in ("full", "way"):
                last = j + 1
        elif self._keys[j] in MARKS:
            if self._keys[j + 1] in ("full", "way", "empty", "line", "mark"):
                last = j + 1
        elif self._keys[j] in MARK_NOUNS:
            pass
        elif self._keys[j + 1] in MARK_NOUNS and self._keys[j] not in ("", ",") and self._keys[j][0] != "#":
            last = j + 1
        else:
            return None
        text = self._line.typed(j, last)
        if self._line.cleaned.text[: self._items[j].start].endswith("the "):
            start = self._items[j].start - 4
            text = self._line.cleaned.raw(start, self._items[last].end)
        return Value("level", {"level_mark": text}, i, last, weak=True)

    def _is_about(self, first: int) -> bool:
        return self._keys[first - 1] in APPROX

    def _no(self, slot: str, first: int, last: int, reason: Reason, amount: float | None = None) -> Value:
        last = min(last, len(self._items) - 1)
        weak = is_weak(self._line, slot, first, last)
        suggestions = suggestions_for(slot, amount, reason)
        return Value(clash_key(slot), {}, first, last, reason, weak, suggestions)

    def _amount(self, i: int) -> float:
        return float(self._items[i].value.value)
