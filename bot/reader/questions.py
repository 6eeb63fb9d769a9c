"""What a household asks: what it is about; its numbers, crops and sites are picked from its clause."""

from __future__ import annotations

from dataclasses import replace

from bot.reader.fillers import words
from bot.reader.findings import Finding, Phrase, Scene, found
from bot.reader.goals import ec_said, from_to, ph_said
from bot.reader.items import Item, sites_of
from bot.reader.patterns import Hit
from bot.reader.slots import ACCEPTS
from bot.reader.water import litres_of
from domain.facts import Question, QuestionAbout

__all__ = ["QUESTION_PHRASES", "asked"]

_BY_ROLE: dict[str, QuestionAbout] = {
    "ph_down": "ph_down",
    "ph_up": "ph_up",
    "nutrient": "nutrient",
    "adjuster": "adjuster",
}
_WITH_VALUES = ("ph_down", "ph_up", "adjuster", "nutrient", "dilute")
SMALLEST_TANK_L = 0.25
"""A smaller volume in a question is a dose, not a tank. [L]"""

_ENDS = frozenset((".", "?", "!", "nl", ";"))


def _clause(hit: Hit) -> list[Item]:
    items = hit.line.items
    last = hit.first
    while last < len(items) and items[last].key not in _ENDS:
        last += 1
    return items[hit.first : last]


def _strength_made(items: list[Item]) -> Item | None:
    """``mix nutrient for 20 l at ec 1.2``: how strong it shall be."""
    for before, name, number in zip(items, items[1:], items[2:], strict=False):
        if before.key in ("at", "of", "to", "with") and name.key in ("EC", "PPM") and number.key == "#num":
            return number
    return None


def asked(scene: Scene, hit: Hit, about: QuestionAbout) -> Finding:
    """The question with everything that its clause gives."""
    items = _clause(hit)
    volume_l: float | None = None
    crop: str | None = None
    sites: tuple[str, ...] = ()
    for item in items:
        if item.key in ("#vol", "#oz") and volume_l is None and about != "what_if":
            litres = litres_of(item, us=scene.settings.units == "us")
            volume_l = litres if litres is not None and litres >= SMALLEST_TANK_L else None
        elif item.key == "#crop" and crop is None:
            crop = item.value
        elif item.key == "#site":
            sites += sites_of(item)
    low, high = from_to(items) if about in _WITH_VALUES else (None, None)
    if about == "mix" and (made := _strength_made(items)) is not None:
        high = made
    nothing: tuple[float | None, float | None] = (None, None)
    ph = ec = nothing
    if low is not None or high is not None:
        if about in ("nutrient", "dilute") or any(item.key in ("EC", "PPM", "#ec", "#ppm") for item in items):
            ec = (ec_said(scene, low), ec_said(scene, high))
        else:
            ph = (ph_said(low), ph_said(high))
    question = Question(
        about=about,
        volume_l=volume_l,
        ph_from=ph[0],
        ph_to=ph[1],
        ec_from=ec[0],
        ec_to=ec[1],
        crop=crop,
        sites=sites or None,
    )
    return found(question, timeless=True, ends=hit.first + len(items) - 1)


def _about(about: QuestionAbout) -> Phrase:
    return Phrase(lambda scene, hit: asked(scene, hit, about), stated=False)


def _about_product(scene: Scene, hit: Hit) -> Finding | None:
    product = hit.item("product") or hit.item("adjuster")
    about = _BY_ROLE.get(str(product.value)) if product is not None else None
    if any(item.key == "left" for item in _clause(hit)):
        return None  # ``how much food is left`` asks for the store
    return None if about is None else asked(scene, hit, about)


def _if_asked(scene: Scene, hit: Hit) -> Finding | None:
    """``i need to add food`` is a plan, with a question mark a question."""
    last = hit.last + 1
    items = hit.line.items
    while last < len(items) and items[last].key not in _ENDS:
        last += 1
    return _about_product(scene, hit) if last < len(items) and items[last].key == "?" else None


def _is_value_right(scene: Scene, hit: Hit) -> Finding | None:
    """``is 6.3 ok for basil``; but ``are 12 ok`` may be guests as well."""
    value = hit.item("strength")
    named = any(item.key in ACCEPTS or item.key in ("#crop", "#site") for item in _clause(hit))
    is_count = value is not None and value.key == "#num" and float(value.value.value).is_integer()
    return None if is_count and not named else asked(scene, hit, "bands")


def _when_due(scene: Scene, hit: Hit) -> Finding | None:
    """``when is the filter due``, but not ``when is dinner due``."""
    of_others = any(
        item.key.isalpha() and item.key.islower() and item.key not in _OF_DUE for item in _clause(hit)[1:]
    )
    return None if of_others and "due" in hit.match[0].split() else asked(scene, hit, "due")


def _about_water(scene: Scene, hit: Hit) -> Finding | None:
    """``how much water``: to bring the strength down, or to fill up."""
    keys = {item.key for item in _clause(hit)}
    about: QuestionAbout = (
        "dilute"
        if keys & {"EC", "PPM", "#ec", "#ppm", "dilute", "STRENGTH", "strength", "strong"}
        else "top_up"
    )
    return asked(scene, hit, about)


def _about_change(scene: Scene, hit: Hit) -> Finding | None:
    """How to move a value: the product that moves it that way."""
    keys = hit.match[0].split()
    down = any(key in _DOWNWARD for key in keys)
    if "PH" in keys or "#prod" in keys:
        return asked(scene, hit, "ph_down" if down else "ph_up")
    return asked(scene, hit, "dilute" if down else "nutrient")


def _about_it(scene: Scene, hit: Hit) -> Finding | None:
    """``ec is 2.4, how do i bring it down``: of the value that was named before."""
    named = [item.key for item in hit.line.items[: hit.first] if item.key in ("PH", "EC", "PPM", "STRENGTH")]
    down = any(key in _DOWNWARD for key in hit.match[0].split())
    if not named:
        return None
    if named[-1] == "PH":
        return asked(scene, hit, "ph_down" if down else "ph_up")
    return asked(scene, hit, "dilute" if down else "nutrient")


def _seed_lot(scene: Scene, hit: Hit) -> Finding | None:
    """The question about a lot, with the lot's name as typed."""
    items = hit.items("lot")
    while items and items[-1].key in _AFTER_LOT:
        items = items[:-1]
    if not items:
        return asked(scene, hit, "seed_lot")
    about_lot = asked(scene, hit, "seed_lot")
    lot = scene.line.cleaned.raw(items[0].start, items[-1].end)
    question = replace(about_lot.facts[0], crop=None, sites=None, lot=lot)  # type: ignore[call-arg]
    return Finding((question,), timeless=True, ends=about_lot.ends)


def _alone(about: QuestionAbout) -> Phrase:
    """``ph?``, ``top up?``: a question where nothing stands before it in its clause."""

    def build(scene: Scene, hit: Hit) -> Finding | None:
        before = scene.line.items[hit.first - 1].key if hit.first else ""
        return asked(scene, hit, about) if before in ("", ",", ".", "nl", "!", "and") else None

    return Phrase(build, stated=False)


_OF_DUE = words(
    "is it are they was next due again the be will should does do a for of get something anything"
)
"""Words beside ``due`` that leave it ours."""
_AFTER_LOT = words(
    "do doing did germinate germinating GERMINATE EMERGED come up UP DO going perform work out go "
    "sprout so far"
)
_DOWNWARD = words("lower reduce drop decrease bring_down down DOWN dilute ADJUST_DOWN less weaken")
_UP = "raise|increase|up|boost|ADJUST_UP|strengthen|higher"
_DOWN = "lower|reduce|drop|decrease|dilute|weaken|ADJUST_DOWN"
_OK = "ok|okay|fine|good|alright|right|safe|normal|bad|high|low|HIGH|much|strong|weak"
_RISING = (
    "rising|falling|dropping|climbing|drifting|stable|going|moving|changing|stuck|increasing|"
    "decreasing|swinging"
)
_HOW = "how|HOWIS (do|can|to|should|would|DO|SHOULD)? (i|we|you|u)?"
_BEST = "best|ideal|optimal|optimum|perfect|target|recommended"
_MEASURE = "(ml|mls|grams|g|drops|scoops|squirts|tsp|capfuls|litres|liters|gallons|L|l|pumps)? of?"

QUESTION_PHRASES: tuple[tuple[str, Phrase], ...] = (
    (f"HOWMUCH more? {_MEASURE} <product>", Phrase(_about_product, stated=False)),
    (f"HOWMUCH more? {_MEASURE} ADJUSTER", _about("adjuster")),
    (f"HOWMUCH more? {_MEASURE} (plain|tap|fresh|ro)? WATER", Phrase(_about_water, stated=False)),
    ("HOWMUCH <gap> TOPUP|TOPPED", _about("top_up")),
    ("HOWMUCH <gap> lower|raise|reduce|increase|drop <gap> PH", Phrase(_about_change, stated=False)),
    ("HOWMUCH (for|in) <volume>", _about("adjuster")),
    (
        "HOWMUCH (should|do|to|SHOULD|must|can|DO)? (i|we)? (need|to|have)? to? add|ADD|dose|ADDED|"
        "use <gap> <product>",
        Phrase(_about_product, stated=False),
    ),
    (
        "HOWMUCH (should|do|to|SHOULD|must|can|DO)? (i|we)? (need|to|have)? to? add|ADD|dose|ADDED|use",
        _about("adjuster"),
    ),
    ("<product> for <volume>", Phrase(_about_product, stated=False)),
    ("<product> to get|go|bring|take <gap> from|to <number>", Phrase(_about_product, stated=False)),
    ("ADJUSTER for? <volume>", _about("adjuster")),
    (
        "need|want|have|trying to? get|go|bring|take|move <gap> from <number> to <number:goal>",
        _about("adjuster"),
    ),
    # What to do
    ("i|we need to? ADD|ADDED|put some? more? <product>", Phrase(_if_asked, stated=False)),
    ("SHOULD dilute|water_down", _about("dilute")),
    ("SHOULD <gap> mix|combine|premix", _about("mix")),
    ("is it? (ok|okay|safe|fine|alright) to mix|combine", _about("mix")),
    ("HOWIS|how (i|we|you|to|can)? (i|we)? dilute", _about("dilute")),
    ("SHOULD TOPUP|TOPPED|FILLED", _about("top_up")),
    (
        "SHOULD (ADD|ADDED|give|put|need|use) some? more? a? (bit|little)? (more)? of? <product>",
        Phrase(_about_product, stated=False),
    ),
    ("SHOULD ADD|ADDED|give|put|use <amount> of? <product>", Phrase(_about_product, stated=False)),
    ("SHOULD (ADD|ADDED|put) some? more? (plain|tap)? WATER", _about("top_up")),
    ("SHOULD (ADD|ADDED|dose) some? more? ADJUSTER", _about("adjuster")),
    (
        "SHOULD CHANGE|CHANGED|DRAINED|DUMPED|CLEAN|CALIBRATE|RINSED <gap> WATER|TANK|FILTER|PUMP|"
        "PROBE|PHMETER|ECMETER|METER|it",
        _about("due"),
    ),
    ("SHOULD <gap> WATERCHANGE", _about("due")),
    ("SHOULD (ADD|ADDED) some? more? $$", _about("adjuster")),
    (f"SHOULD <gap> {_DOWN}|raise|increase <gap> <value_name>", Phrase(_about_change, stated=False)),
    ("SHOULD PICKED|pick|harvest|cut <gap> <plant>", _about("harvest")),
    ("does|do|is|did it|TANK|WATER (need|needs)? <gap> TOPUP|TOPPED", _about("top_up")),
    (
        f"{_HOW} ADJUST_UP|ADJUST_DOWN|{_DOWN}|{_UP} <gap> PH|EC|PPM|STRENGTH|CF",
        Phrase(_about_change, stated=False),
    ),
    (
        f"{_HOW} (get|bring|make) <gap> <value_name> (up|down|UP|DOWN|higher|lower)",
        Phrase(_about_change, stated=False),
    ),
    (f"{_HOW} bring|get|lower|raise|reduce|BRING it (down|DOWN|up|UP)", Phrase(_about_it, stated=False)),
    (f"{_HOW} mix <gap> FOOD|#part|#prod|nutrients|b", _about("mix")),
    ("which|what goes|go (in)? first", _about("mix")),
    ("in? what|which order <gap> ADD|ADDED|mix|put|FOOD|#part|#prod|nutrients|go", _about("mix")),
    ("which|what <gap> first <gap> #part|FOOD|#prod", _about("mix")),
    # What for, what if, why
    ("WHATIF <gap> <topic>", _about("what_if")),
    ("what will|would|does <gap> TOPUP", _about("what_if")),
    ("what happens|happen (to|with) <topic> if", _about("what_if")),
    ("WHATIF <gap> ADD|ADDED|CHANGE|TOPUP|dilute|SOW|MOVED|power|electricity|leak|leaks", _about("what_if")),
    *(
        (f"what (do|DO|SHOULD)? (i|we)? do|DO (if|when) <gap> {topic}", _about("what_if"))
        for topic in ("<topic>", "power|electricity|leak|leaks")
    ),
    ("WHY <gap> <topic>", _about("why")),
    ("why <gap> <topic>", _about("why")),
    ("WHATS wrong|eating|happening <gap> <topic>", _about("why")),
    # Asked in few words
    ("need|more some? <product> ?", Phrase(_about_product, stated=False)),
    ("do|does|DO <gap> need <gap> <product>", Phrase(_about_product, stated=False)),
    ("does|do|DO <gap> need <gap> WATER", _about("top_up")),
    ("TOPUP (now|today|tonight|needed)? ?", _alone("top_up")),
    ("need to? TOPUP (now|today|tonight)? ?", _alone("top_up")),
    ("WATERCHANGE (now|today|due|needed)? ?", _alone("due")),
    ("CHANGE WATER|TANK (now|today)? ?", _alone("due")),
    ("due (today|now)? ?", _alone("due")),
    ("anything due", _about("due")),
    # Seeds, sites, harvest
    ("HOWIS <sites>", _about("site")),
    (
        "which|what|WHATS <gap> lot|lots|batch|seeds|seed <gap> EMERGED|germinate|germinates|best|"
        "works|better|worst",
        _about("seed_lot"),
    ),
    ("which|what|WHATS (SOW|seed|seeds)? lot|batch (is|was|did|are|were)? <gap> <plant>", _about("seed_lot")),
    ("HOWIS|how|WHATS <gap> lot|batch <rest:lot>", Phrase(_seed_lot, stated=False)),
    ("germination|GERMINATION rate? (of|for|in) <rest:lot>", Phrase(_seed_lot, stated=False)),
    ("WHATS|what|who|whos|who's|which <gap> in|on|at <sites>", _about("site")),
    ("WHATS|what <sites> $$", _about("site")),
    ("WHATS|what (is|did|do|does)? <gap> SOW|SOWED|growing|grow|planted <gap> <sites>", _about("site")),
    ("where <gap> <crop>", _about("site")),
    ("which sites|site|spots|slots|pods <gap> free|empty|open|available|left", _about("site")),
    ("any free|empty|open sites|site|spots|slots|pods", _about("site")),
    ("when|WHENS <gap> PICKED|pick|harvest|ready|cut|eat <gap> <plant>", _about("harvest")),
    ("when|WHENS <gap> <plant> <gap> PICKED|pick|harvest|ready|cut|eat|ripe", _about("harvest")),
    ("when|WHENS <gap> harvest|PICKED $$", _about("harvest")),
    ("is|are <gap> <plant> <gap> ready|ripe", _about("harvest")),
    ("how long (until|till|before|to) <gap> (harvest|PICKED|pick|ready|eat)", _about("harvest")),
    # Values: what they should be, what they are, how they move
    ("what|WHATS|which|HOWMUCH <gap> <value_name> <gap> for|with <gap> <crop>", _about("bands")),
    ("what|which <value_name> (do|does|should|is|DO|would) <gap> <crop>", _about("bands")),
    (
        "what|WHATS (do|does|should|DO) <gap> <crop> <gap> want|like|need|prefer|likes|wants|needs",
        _about("bands"),
    ),
    ("what should <gap> <value_name> <gap> be", _about("bands")),
    ("what <value_name> should <gap> be|aim|have|target|go|keep|run|use", _about("bands")),
    (
        f"what|WHATS <gap> {_BEST}|good|right|range|band|bands|target|limits <gap> <value_name>",
        _about("bands"),
    ),
    ("what|WHATS <gap> <value_name> range|band|bands|target|limits|goal", _about("bands")),
    (f"{_BEST} <value_name> (range|level|value)? for <gap> <crop>", _about("bands")),
    (f"{_BEST} <value_name> (range|level|value|values)? $$", _about("bands")),
    ("<value_name> range|band|target (for|of) <gap> <crop>", _about("bands")),
    ("<value_name> for <crop>", _about("bands")),
    ("<crop> <value_name> range|band|target", _about("bands")),
    (f"is|are <gap> <strength> <gap> {_OK} (for <gap> <crop>)?", Phrase(_is_value_right, stated=False)),
    (f"is|are <crop> {_OK} (with|at|in) <gap> <value_name>", _about("bands")),
    ("is|are <value_name> trending", _about("trend")),
    (f"is|are <value_name> (still)? {_RISING}", _about("trend")),
    ("<value_name> trend|history", _about("trend")),
    ("trend|trends (of|for|in)? <value_name>", _about("trend")),
    (
        "HOWIS|how <value_name> <gap> CHANGE|CHANGED|"
        "change|been|changed|moved|trending|changing|developed|developing|"
        "evolved|moving|drifted",
        _about("trend"),
    ),
    ("HOWIS|how has|have|did <value_name>", _about("trend")),
    ("what|WHATS <gap> trend", _about("trend")),
    (
        "when|WHENS <gap> <value_name> <gap> leave|leaves|leaving|reach|reaches|cross|crosses|exceed|exceeds|"
        "out|outside|high|low|band",
        _about("trend"),
    ),
    (
        "will|does <value_name> (soon|ever)? leave|reach|exceed|cross (the|its)? band|range|limit",
        _about("trend"),
    ),
    (
        "how long|soon (until|till|before|will)? <gap> <value_name> <gap> leave|leaves|out|outside|high|low|"
        "reaches|crosses|band",
        _about("trend"),
    ),
    (f"is|are (too)? <value_name> (too)? {_OK}", _about("status")),
    (f"is|are <gap> TANK|WATER|#tank|everything|plants|all (too)? {_OK}", _about("status")),
    (
        "HOWIS (everything)? TANK|WATER|#tank|plants|system|tower|garden|PH|EC|PPM|TEMP|WTEMP|LEVEL "
        "(doing|going|looking|today|now|at)? $$",
        _about("status"),
    ),
    (
        "WHATS|what (was|is|were)? (last|latest|current|newest)? <value_name> (now|reading|right|at|"
        "currently|level|today|atm)? (in|of TANK)? $$",
        _about("status"),
    ),
    ("WHATS|what (was|is|were)? (last|latest|current|newest) reading|readings|values", _about("status")),
    ("<value_name> (over|for|in|since|during|from|after|last|past|this|#every) <gap> ?", _alone("trend")),
    ("<value_name> ?", _alone("status")),
    ("status (now|please|today|report)? ?", _alone("status")),
    ("status (now|please|today|report)? $$", _alone("status")),
    # What is to be done
    ("what SHOULD DO|do (this|next)? (week|weekend|tonight)? $$", _about("due")),
    ("WHATS|what <gap> due|todo|overdue|pending", _about("due")),
    ("WHATS|what <gap> (need|needs|have|left) <gap> (do|doing|done|DO)", _about("due")),
    ("WHATS|what (jobs|chores|tasks|do) <gap> (today|week|due|DO|do)", _about("due")),
    (
        "when|WHENS <gap> WATERCHANGE|CHANGE|CHANGED|TOPUP|CLEAN|CALIBRATE|RINSED|feeding|due <gap>",
        Phrase(_when_due, stated=False),
    ),
    ("is|are <gap> WATERCHANGE|FILTER|CALIBRATE|TOPUP|anything|something <gap> due", _about("due")),
    ("anything due|DUE", _about("due")),
    ("anything (to)? do|DO (for|on|in|at) TANK|plants|garden", _about("due")),
)
