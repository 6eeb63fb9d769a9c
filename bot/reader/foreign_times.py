"""When something was, in the words of households whose first language is another: ``ayer``, ``vor 3 Tagen``.

Spellings stand without accents, as ``scan`` leaves them. A day that is named in them must not pass for now.
"""

from __future__ import annotations

from datetime import timedelta

from bot.reader.numbers import number_at
from bot.reader.scan import Token, word_at
from bot.reader.timewords import Day, TimePhrase

__all__ = ["FOREIGN_STARTS", "FOREIGN_UNITS", "foreign_at"]

_WEEKDAYS = (
    "montag lunes lundi lunedi maandag poniedzialek",
    "dienstag martes mardi martedi dinsdag wtorek",
    "mittwoch miercoles mercredi mercoledi woensdag sroda srode",
    "donnerstag jueves jeudi giovedi donderdag czwartek",
    "freitag viernes vendredi venerdi vrijdag piatek",
    "samstag sonnabend sabado samedi sabato zaterdag sobota sobote",
    "sonntag domingo dimanche domenica zondag niedziela niedziele",
)
_DAYS: tuple[tuple[int, str, str], ...] = (
    (0, "", "heute|hoy|hoje|oggi|vandaag|dzis|dzisiaj|aujourd'hui"),
    (-1, "", "gestern|ayer|ontem|ieri|gisteren|wczoraj"),
    (-2, "", "vorgestern|anteayer|antier|anteontem|przedwczoraj|avant - hier|eergisteren"),
    (1, "", "morgen|manana|amanha|domani|demain|jutro"),
    (2, "", "ubermorgen|pasado manana|pojutrze|overmorgen"),
    (0, "morning", "heute morgen|heute fruh|esta manana|hoy por la manana|esta manha|hoje de manha"),
    (0, "morning", "ce matin|stamattina|vanmorgen|vanochtend|dzis rano|dzisiaj rano"),
    (0, "noon", "heute mittag"),
    (0, "afternoon", "heute nachmittag|esta tarde|hoje a tarde|hoje de tarde|vanmiddag"),
    (0, "evening", "heute abend|ce soir|stasera|vanavond|dzis wieczorem"),
    (0, "tonight", "esta noche|esta noite|hoje a noite"),
    (-1, "morning", "gestern morgen|gestern fruh|ayer por la manana|ontem de manha|wczoraj rano|hier matin"),
    (-1, "afternoon", "gestern nachmittag|ayer por la tarde|ontem a tarde"),
    (-1, "evening", "gestern abend|hier soir|ieri sera|gisteravond|wczoraj wieczorem"),
    (-1, "night", "anoche|ayer por la noche|ayer noche|ontem a noite|ontem de noite"),
    (1, "morning", "morgen fruh|manana por la manana|amanha de manha|jutro rano|demain matin"),
)
_PHRASES: dict[tuple[str, ...], TimePhrase] = (
    {
        tuple(spelled.split()): TimePhrase(len(spelled.split()), day=Day("offset", offset), part=part or None)
        for offset, part, spellings in _DAYS
        for spelled in spellings.split("|")
    }
    | {
        (name,): TimePhrase(1, day=Day("weekday", number))
        for number, names in enumerate(_WEEKDAYS)
        for name in names.split()
    }
    | {
        (name, *dash, "feira"): TimePhrase(2 + len(dash), day=Day("weekday", number))
        for number, name in enumerate(["segunda", "terca", "quarta", "quinta", "sexta"])
        for dash in ((), ("-",))
    }
)
_LONGEST = max(map(len, _PHRASES))

_UNITS: dict[str, timedelta] = {
    name: span
    for span, names in (
        (timedelta(days=1), "dia dias tag tage tagen jour jours giorno giorni dzien dni dag dagen"),
        (timedelta(days=7), "semana semanas woche wochen semaine semaines settimana settimane tydzien weken"),
        (timedelta(hours=1), "hora horas stunde stunden std heure heures ora ore godzine godziny godzin uur"),
        (timedelta(minutes=1), "minuto minutos minuten minuti minuty minut"),
    )
    for name in names.split()
}
FOREIGN_UNITS = frozenset(_UNITS)
_BEFORE_SPAN = (("il", "y", "a"), ("hace",), ("ha",), ("vor",), ("faz",))
_AFTER_SPAN = frozenset(("atras", "fa", "temu", "geleden", "zuvor"))
_ONES = {
    word: value
    for value, names in enumerate(
        (
            "un una uma um ein eine einer einem une uno een jeden",
            "dos dois duas zwei deux due dwa dwie twee",
            "tres drei trois tre trzy drie",
        ),
        1,
    )
    for word in names.split()
}
FOREIGN_STARTS = (
    frozenset(words[0] for words in _PHRASES)
    | frozenset(words[0] for words in _BEFORE_SPAN)
    | frozenset(_ONES)
)
"""Words with which a phrase of this module can start, besides a number."""


def foreign_at(tokens: list[Token], i: int) -> TimePhrase | None:
    """The time phrase in another language that starts at token ``i``, if one does."""
    words = tuple(token.text for token in tokens[i : i + _LONGEST])
    for length in range(len(words), 0, -1):
        phrase = _PHRASES.get(words[:length])
        if phrase is not None:
            return TimePhrase(i + length, day=phrase.day, part=phrase.part)
    for lead in _BEFORE_SPAN:
        if words[: len(lead)] == lead:
            span = _span(tokens, i + len(lead))
            return _back(*span) if span is not None else None
    span = _span(tokens, i)
    if span is not None and word_at(tokens, span[1]) in _AFTER_SPAN:
        return _back(span[0], span[1] + 1)
    return None


def _span(tokens: list[Token], i: int) -> tuple[timedelta, int] | None:
    """``3 dias``, ``einer Stunde``: how long, and the token after it."""
    value: float | None = _ONES.get(word_at(tokens, i))
    end = i + 1
    if value is None and i < len(tokens) and tokens[i].kind == "n":
        number = number_at(tokens, i, grouped=False)
        if number is None or not number.finite or not 0 < number.value <= 1000:
            return None
        value, end = number.value, number.end
    unit = _UNITS.get(word_at(tokens, end))
    return None if value is None or unit is None else (value * unit, end + 1)


def _back(span: timedelta, end: int) -> TimePhrase:
    """So long ago: whole days by the calendar, hours and minutes by the clock."""
    if span % timedelta(days=1):
        return TimePhrase(end, elapsed=-span)
    return TimePhrase(end, day=Day("offset", -span.days))
