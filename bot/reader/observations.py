"""What somebody noticed: a line that says ``note``, or one that names a site or crop and how it looks."""

from __future__ import annotations

from bot.reader.fillers import words
from bot.reader.items import Item, Line, sites_of
from domain.facts import Observation

__all__ = ["NOTE_WORDS", "LOOKS", "note_at", "observation_in"]

NOTE_WORDS = frozenset(("note", "obs", "fyi"))

LOOKS = words(
    "yellow yellowing yellowish yellows brown browning browned brownish spot spots spotty spotted curl "
    "curling curled curly wilt wilts wilting wilted wilty droopy drooping droops droop leggy lanky "
    "stretched mould mold mouldy moldy mildew algae slime slimy pest pests aphid aphids thrips whitefly "
    "whiteflies mites mite gnat gnats bug bugs slug slugs caterpillar caterpillars pale paler crispy "
    "crisp burnt tipburn burn scorched stunted limp sad floppy rot rotting rotten purple purplish white "
    "holes hole bleached sunburnt sunburned chewed eaten healthy happy lush sticky deformed twisted dry "
    "drying chlorosis necrotic blackened black discolored discoloured mushy soft smelly smells smell weak "
    "sick ill struggling unhappy bushy thriving dying browny fungus powdery webbing webs roots leaves "
    "tips edges lovely powder fuzz fuzzy silvery streaks toppled collapsed mealybugs"
) - {
    "roots",
    "leaves",
    "tips",
    "edges",
    "white",
    "burn",
    "ill",
    "black",
    "soft",
    "purple",
    "dry",
    "curly",
    "eaten",
}
_LOOK_VERBS = words("looks look looking is are has have seems seem got getting turning gone going turned")
_LOOK = words("looks look looking")
_OPINIONS = words(
    "great good amazing nice fine bad weird strange off better worse rough terrible awful big "
    "huge small tiny perfect "
    "beautiful funny odd ok okay poor wonky"
)
_SOFT_LOOKS = frozenset(("white", "burn", "black", "soft", "purple", "dry", "curly", "ill", "red", "eaten"))


def note_at(line: Line, i: int) -> tuple[int, Observation] | None:
    """(last item, what is noted) for the note that starts at item ``i``: all to the end of its line."""
    first = i + 1
    while first < len(line.items) and line.items[first].key in (":", "-", ",", "=", "."):
        first += 1
    last = _line_end(line, i)
    if first > last:
        return None
    start, end = line.items[i].end, line.items[last].end
    for _, time in line.times:
        if start <= time.start and time.end <= _next_line(line, last):
            end = max(end, time.end)
    text = line.cleaned.raw(_after_marks(line, i), end)
    return last, _observed(text, line.items[first : last + 1])


def _after_marks(line: Line, i: int) -> int:
    text = line.cleaned.text
    at = line.items[i].end
    while at < len(text) and text[at] in " :-,=.":
        at += 1
    return at


def _line_end(line: Line, i: int) -> int:
    """The last item of the line that item ``i`` stands in."""
    last = i
    while last + 1 < len(line.items) and line.items[last + 1].key != "nl":
        last += 1
    return last


def _next_line(line: Line, last: int) -> int:
    return line.items[last + 1].start if last + 1 < len(line.items) else len(line.cleaned.text)


def _observed(text: str, items: list[Item]) -> Observation:
    crop = next((item.value for item in items if item.key == "#crop"), None)
    sites = tuple(label for item in items if item.key == "#site" for label in sites_of(item))
    return Observation(text=text, crop=crop, sites=sites or None)


def observation_in(line: Line, first: int, last: int) -> Observation | None:
    """The observation that items ``first`` to ``last`` are, if they name a site or crop and how it looks."""
    items = line.items[first : last + 1]
    keys = {item.key for item in items}
    if not keys & {"#site", "#crop"}:
        return None
    if (
        not keys & LOOKS
        and not (keys & _SOFT_LOOKS and keys & _LOOK_VERBS)
        and not (keys & _LOOK and keys & _OPINIONS)
    ):
        return None
    return _observed(_text_of(line, first, last), items)


def _text_of(line: Line, first: int, last: int) -> str:
    """The observation as typed: its whole line, where nothing else stands in it."""
    items, text = line.items, line.cleaned.text
    start = items[first - 1].end if first else 0
    end = items[last + 1].start if last + 1 < len(items) else len(text)
    line_start = text.rfind("\n", 0, items[first].start) + 1
    line_end = text.find("\n", items[last].end)
    line_end = len(text) if line_end < 0 else line_end
    if not text[line_start:start].strip() and not text[end:line_end].strip(" .!\n"):
        return line.cleaned.raw(line_start, line_end).strip()
    return line.cleaned.raw(start, end).strip(" ,;:-").removesuffix(" and").removesuffix(" but").rstrip(" ,")
