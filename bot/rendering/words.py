"""The words for codes. A code without words here is a defect that a test finds."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

__all__ = [
    "CAPTIONS",
    "CARED",
    "COLUMNS",
    "CHORES",
    "GROUPS",
    "HANDS",
    "DEEDS",
    "UNDER_WAY",
    "HOLDS",
    "LIMITS",
    "MARKS",
    "NEEDS",
    "NOTHING",
    "ROLES",
    "SCALE",
    "STEP_AGAIN",
    "STEP_EXAMPLES",
    "STEP_QUESTIONS",
    "WARM",
    "WARM_WHY",
    "WHAT",
    "words_for",
]


def _table(words: dict[str, str]) -> Mapping[str, str]:
    return MappingProxyType(words)


def words_for(table: Mapping[str, str], code: str) -> str:
    """The words for a code; the code itself, readable, where a table has none."""
    return table.get(code, code.replace("_", " "))


ROLES = _table({"ph_down": "pH down", "ph_up": "pH up", "nutrient": "nutrient", "other": "additive"})

WHAT = _table(
    {
        "ph": "pH",
        "ec_ms_cm": "strength",
        "water_temp_c": "water",
        "air_temp_c": "air",
        "dissolved_oxygen_mg_l": "oxygen",
        "humidity_pct": "humidity",
        "level_l": "level",
    }
)

HANDS = _table(
    {
        "ph_down": "pH down",
        "ph_up": "pH up",
        "nutrient": "feed",
        "other": "additive",
        "top_up": "top-up",
        "water_change": "water change",
    }
)

CARED = _table(
    {
        "water_change": "water change",
        "top_up": "top-up",
        "test_water": "water test",
        "retest": "second test",
        "rinse_filter": "filter",
        "clean_pump": "pump cleaned",
        "clean_tank": "tank cleaned",
        "calibrate_ph_meter": "pH meter",
        "calibrate_ec_meter": "strength meter",
        "clean_probe": "probe cleaned",
        "refill_probe_cap": "probe cap",
        "adjust_lights": "lights",
        "check_pump": "pump check",
        "check_timer": "timer check",
        "look": "look for seedlings",
        "reseed": "sow again",
        "thin": "thinning",
        "pick": "harvest",
        "stock": "supplies",
    }
)
"""Tasks in as few words as can be, for what was done, missed and lies ahead."""

CHORES = _table(
    {
        "rinse_filter": "filter rinsed",
        "clean_pump": "pump cleaned",
        "clean_tank": "tank cleaned",
        "calibrate_ph_meter": "pH meter calibrated",
        "calibrate_ec_meter": "strength meter calibrated",
        "clean_probe": "probe cleaned",
        "refill_probe_cap": "probe cap refilled",
        "adjust_lights": "lights adjusted",
        "check_pump": "pump checked",
        "check_timer": "timer checked",
    }
)

TENDED = _table(
    {
        "thin": "thinned",
        "prune": "pruned",
        "pinch": "pinched",
        "train": "trained",
        "pollinate": "pollinated",
    }
)

NEEDS = _table(
    {
        "reading": "a pH reading",
        "ec_reading": "a strength reading",
        "label_strength": "the strength on your adjuster's label",
        "ph_product": "which adjuster you use",
        "tank_volume": "how much your tank holds",
        "alkalinity": "your tap water's alkalinity",
        "feed_label": "the dose on your nutrient's label",
    }
)

STEP_QUESTIONS = _table(
    {
        "name": "What do you call your system?",
        "volume": "How much water does the tank hold,\nfilled to the line, pipes included?",
        "units": "Which units do you use?",
        "meter": "What does your strength meter show?",
        "zone": "Which city's clock do you live by?",
        "crops": "What is growing?",
        "ph_down": "What does your pH down's label say?",
        "ph_up": "What does your pH up's label say?",
        "nutrient": "What dose does your nutrient's label\ngive, and which N-P-K?",
    }
)

STEP_EXAMPLES = _table(
    {
        "name": "kitchen tower",
        "volume": "45 L",
        "volume.us": "12 gal",
        "zone": "Lisbon",
        "zone.us": "Chicago",
        "crops": "basil, lettuce 4, cherry tomato 2",
        "ph_down": "phosphoric acid 10 %",
        "ph_up": "potassium hydroxide 10 %",
        "nutrient": "A and B 2.5 ml per litre, 4-3-6",
        "nutrient.us": "A and B 10 ml per gallon, 4-3-6",
    }
)
"""What an answer may look like, where the households that count in gallons would say it otherwise as ``.us``."""

STEP_AGAIN = _table(
    {
        "name": "Please give a name of at most 40 letters.",
        "volume": "I need a volume, such as 45 L or 12 gal.",
        "units": "Please choose litres or US gallons.",
        "meter": "Please choose what the meter shows.",
        "zone": "I know no single zone by that name.\nTry the nearest big city.",
        "crops": "I know only crops by name and number:\nbasil, lettuce 4, cherry tomato 2",
        "ph_down": "pH down is an acid, never a base.\nI look for the acid and its strength:\nphosphoric acid 10 %. Or say: no label.",
        "ph_up": "pH up is a base, never an acid.\nI look for the base and its strength:\npotassium hydroxide 10 %. Or: no label.",
        "nutrient": "I look for a dose: 2.5 ml per litre,\n1 g per litre, 10 ml per gallon.",
    }
)

STEP_TITLES = _table(
    {
        "name": "System",
        "volume": "Tank",
        "units": "Units",
        "meter": "Meter",
        "zone": "Clock",
        "crops": "Growing",
        "ph_down": "pH down",
        "ph_up": "pH up",
        "nutrient": "Nutrient",
    }
)

GROUPS = _table(
    {
        "leafy": "a leafy green",
        "herb": "a herb",
        "fruiting": "a fruiting crop",
        "root": "a root",
        "flower": "a flower",
    }
)

SETTINGS = _table(
    {
        "system_name": "system",
        "tank_volume_l": "tank volume",
        "minimum_level_l": "lowest level",
        "units": "units",
        "ppm_scale": "ppm scale",
        "strength_unit": "meter shows",
        "time_zone": "clock",
        "sites": "sites",
        "crop": "a crop of yours,",
        "source_alkalinity_mg_l_caco3": "tap water alkalinity",
        "source_ph": "tap water pH",
        "source_ec_ms_cm": "tap water EC",
        "fish": "fish in the tank",
        "replies": "replies in the group",
        "tanks": "tanks",
        "setup_skipped": "skipped in the set-up",
    }
)

ASSUMED = _table(
    {
        "tank_volume": "{volume}",
        "ppm_scale": "500 scale",
        "crops": "greens",
    }
)

LIMITS = _table(
    {
        "just_after": "pH just after stays above 5.2 (acid) or below 7.0 (base)",
        "settled_shift": "at most 1 pH a day for standing plants",
        "ec_rise": "strength rises at most 0.4 mS/cm a step",
        "per_litre": "at most 1 ml of concentrate per litre a step",
        "overshoot": "chance of going too far at most 1 in 100",
        "far_edge": "chance of standing beyond the far edge tomorrow at most 1 in 100",
        "strongest_bottle": "safe with the strongest bottle sold",
        "label_maximum": "the most that the label allows",
        "half_at_once": "at most half the water at once",
    }
)

NOTHING = _table(
    {
        "in_band": "Nothing to add: {values} is in band.",
        "tolerable": "Nothing to add: {values} is fine for now.",
        "at_target": "Nothing to add: it is there already.",
        "wrong_direction": "No {product} now: {values} needs the other way.",
    }
)

HOLDS = _table(
    {
        "fish": "I do not dose this tank: animals live in\nit, and their limits are others.",
        "no_ph_reading": "Which pH does the water show?\nSend it, e.g. ph 6.4.",
        "no_ec_reading": "Which strength does the water show?\nSend it, e.g. ec 1.4 or ppm 720.",
        "reading_implausible": "Add nothing: no tank shows that. Check\nthe tester in its fluid, test again.",
        "reading_old": "Test again before you add anything:\nthe last reading is from {at}.",
        "reading_old.beside": "Test pH too: it was read {at}.",
        "reading_far_from_model": "Add nothing: not what this tank should show.\nCheck the tester, test again, then dose.",
        "target_unsafe": "pH {ph_to} is no aim for roots:\nchoose {low} to {high}.",
        "unlabelled_bottle": "Pour nothing from a bottle with no label.\nGet a labelled adjuster.",
        "under_way": "Add nothing now: {who} is {what}\n(began {at}). Test again {until}.",
        "await_retest": "Add no more yet: {amount} {unit} went in {at}.\nTest again {read_at}.",
        "wait_and_read": "Add nothing now: it may go too far by\nitself. Test again in a few hours.",
        "wait_and_read.settled_shift": "Today's pH shift (1.0) is used up.\nTest again tomorrow, then add more.",
        "source_too_strong": "Your tap water is too strong to thin with:\ntake rain or reverse-osmosis water.",
        "no_ec_aim": "I know no strength that suits your crops.\nSet one: set basil ec 1.0-1.4.",
        "unknown_product": "I do not know what that does to water.",
        "feed_unknown": "Which dose does your nutrient's label\ngive? Tell me in /settings.",
    }
)
"""Why nothing is added now, and what to do instead; at most two lines, the order first."""

WARM = _table({"high": "Cool it: shade, night light, more air.", "low": "Warm it gently to {aim}."})
"""What to do about the water's warmth."""

WARM_WHY = _table(
    {
        "high": "Warm water holds little air and brings root rot (common practice).",
        "low": "Roots take up little when they are cold (common practice).",
    }
)

CAPTIONS = _table(
    {
        "photo": "The photo. Its words follow.",
        "site_map": "What stands where. The list follows.",
        "chart": "The water. Its words follow.",
    }
)
"""Under a picture whose text is too long to stand there."""

UNDER_WAY = _table(
    {
        "ph_down": "adding pH down",
        "ph_up": "adding pH up",
        "nutrient": "adding nutrient",
        "other": "adding something",
        "any": "dosing",
    }
)
"""What somebody does whose hands are in the water."""

DEEDS = _table(
    {
        "see": "see this",
        "log": "log",
        "undo_own": "take anything back",
        "undo_others": "take back what others logged",
        "remind": "change reminders",
        "away": "say who takes over",
        "settings": "change the tank's settings",
        "invite": "invite anybody",
        "members": "change who belongs here",
        "hand_over": "hand the household over",
        "leave": "leave",
    }
)
"""What a member may not do, after ``you cannot``."""

COLUMNS = _table(
    {
        "date": "date",
        "time": "time",
        "ph": "pH",
        "ec": "EC",
        "ppm": "ppm",
        "scale": "ppm scale",
        "water": "water temperature",
        "air": "air temperature",
        "humidity": "humidity %",
        "level": "water level",
        "oxygen": "oxygen mg/L",
        "note": "notes",
    }
)
"""What a column of somebody's notes holds."""

MARKS = _table({"edited": "edited", "taken_back": "taken back", "doubted": "in doubt"})
"""What became of a message, as the journal shows it."""

UNCLEAR = _table(
    {
        "implausible": "No tank has that.",
        "ambiguous": "It could mean several things.",
        "conflict": "It gives one value twice.",
        "missing_value": "A number or unit is missing.",
        "unknown": "I do not know that name.",
    }
)

SCALE = "Which scale your ppm are on: in 1413 µS/cm fluid a 500 meter shows about 707, a 700 meter about 989."
"""Exact: 1.413 mS/cm times 500 and times 700, the scales that meters are sold with."""
