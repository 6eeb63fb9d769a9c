"""Words and fixed phrases, each with the key under which the phrase tables know it.

A key in capitals stands for all its spellings. Words that are not here are their own key. To teach the
reader another spelling, add it to its line.
"""

from __future__ import annotations

from typing import Literal

from bot.reader.fillers import words
from domain.facts import ProductRole

__all__ = ["DROPPED", "PHRASES", "PRODUCT_ROLES", "SLOTS"]


_KEYS: tuple[tuple[str, str], ...] = (
    # Names of values (rule 2)
    ("PH", "ph|ph value|ph level|ph reading|ph's|phs|strip|test strip|ph strip|ph test|dip strip"),
    ("PH", "ph - wert|ph wert|phwert|ph - value|ph - level|valeur ph|valeur du ph|valor ph|valor de ph"),
    ("EC", "ec - wert|ec wert|ecwert|leitwert|ec - value|ec - level|valeur ec|valor ec"),
    ("EC", "ec|cond|conductivity|ec level|ec value|ec reading|ec's"),
    ("CF", "cf"),
    ("PPM", "ppm|tds|ppms|tds ppm|ppm tds|tds level|ppm level|ppm's"),
    (
        "STRENGTH",
        "strength|strength of feed|strength of water|food level|feed reads|feed strength|nutrient strength|"
        "nutrient level|feed level|food reads",
    ),
    (
        "WTEMP",
        "water temp|water temperature|tank temp|tank temperature|res temp|reservoir temp|reservoir "
        "temperature",
    ),
    (
        "WTEMP",
        "solution temp|temp of water|temp water|temperature water|temperature of water|water's|waters|"
        "h2o temp",
    ),
    ("WTEMP", "nutrient temp|solution temperature|watertemp|wt|temp in tank|temp of tank|wtemp"),
    ("TEMP", "temp|temperature|temps|tmp|temperatur|temp's"),
    (
        "AIR",
        "air|air temp|air temperature|room|room temp|room temperature|ambient|ambient temp|temp air|airtemp",
    ),
    ("AIR", "temp of air|temp room|temp of room|temp in room|temperature air|temperature in room|roomtemp"),
    ("RH", "rh|humidity|humid|relative humidity|hum|rel humidity|air humidity|room humidity"),
    (
        "LEVEL",
        "level|water level|tank level|level in tank|res level|reservoir level|level of water|level of "
        "tank|level's|levels",
    ),
    ("DO", "do|dissolved oxygen|dissolved o2|oxygen"),
    ("WATER", "water|h2o|nutrient water|agua"),
    ("TANK", "tank|reservoir|res|rez|bucket|solution|nutrient solution|nute solution|whole tank"),
    # Pouring in
    ("ADDED", "added|put in|put|poured|poured in|dosed|dosed with|dosed in|gave|gave it|gave them|squirted"),
    (
        "ADDED",
        "squirted in|dripped|dripped in|threw in|tipped in|mixed in|stirred in|dropped in|dumped in|"
        "chucked in",
    ),
    (
        "ADDED",
        "used|adjusted with|corrected with|have put|did put|adding|put into|popped in|fed|fed it|fed them",
    ),
    (
        "ADDED",
        "gived|added in|dose of|a dose of|another|dosed it with|have added|has added|did add|putted|putting|"
        "pour in",
    ),
    ("ADD", "add|pour|dose|give|add in|feed it|feed them|dosing"),
    (
        "TOPPED",
        "topped up|topped off|topped it up|topped it off|toped up|toped off|refilled|refilled it|"
        "topped all up",
    ),
    ("FILLED", "filled|filled up|topped|filled it|topped it"),
    (
        "TOPPED",
        "topped water|filled it up|topped her up|have topped up|did top up|did a top up|did topup|did "
        "a topup",
    ),
    (
        "TOPPED",
        "did top off|did a top off|topping up|topping off|topuped|top upped|topped tank up|topped "
        "water up|refill of",
    ),
    (
        "TOPUP",
        "top up|topup|top-up|top off|topoff|top-off|refill|top ups|top it up|top it off|top - up|top - off",
    ),
    ("CHANGED", "changed|swapped|replaced|renewed"),
    ("CHANGED", "changed out|swapped out|exchanged|refreshed|have changed|did change|switched out"),
    (
        "DUMPED",
        "dumped and refilled|emptied and refilled|drained and refilled|dump and refill|dumped & "
        "refilled|drained & refilled",
    ),
    ("DRAINED", "dumped|drained|emptied|drained out|emptied out|dumped out"),
    ("TOOKOUT", "took out|have taken out|taken out"),
    ("CHANGE", "change|swap|replace|renew|refresh|empty"),
    (
        "WATERCHANGE",
        "water change|res change|reservoir change|tank change|water swap|solution change|waterchange|"
        "water - change",
    ),
    # Plants
    (
        "SOWED",
        "i sow|we sow|i plant|we plant|i seed|we seed|sowed|sown|planted|seeded|have sown|has sown|"
        "did sow|put seeds of|started seeds of|plugged|sow'd|sowing|planting",
    ),
    ("GOT", "got"),
    (
        "EMERGED",
        "is coming out|are coming out|coming out|is born|are born|was born|has come out|have come out",
    ),
    ("DIED", "is die|has die|is died|are died|is dying off"),
    ("PICKED", "have collect|have pick|have harvest|have cut"),
    ("REMIND", "remember me|remember us|reminder me|reminder us"),
    ("AWAY", "in holidays|holidays|in vacation|in holiday|on leave"),
    ("WTEMP", "temp agua|temp del agua|temperatura agua|temperatura del agua|temp da agua|wasser|wassertemp"),
    ("TEMP", "temperatura"),
    ("please", "pls|plz|plss|plse"),
    ("STARTED", "started|have started"),
    ("SOW", "sow|plant|seed"),
    (
        "RESOWED",
        "reseeded|resowed|replanted|re - seeded|re - sowed|re - planted|sowed again|planted again|"
        "resown|re - sown",
    ),
    ("RESOWED", "re seeded|re sowed"),
    (
        "EMERGED",
        "popped up|came up|come up|sprouted|germinated|emerged|has sprouted|have sprouted|has "
        "germinated|popped",
    ),
    (
        "EMERGED",
        "have germinated|has emerged|have emerged|has come up|have come up|is up|are up|is out|are "
        "out|has popped up",
    ),
    (
        "EMERGED",
        "have popped up|poked through|poking through|is showing|are showing|is sprouting|are "
        "sprouting|broke through",
    ),
    (
        "EMERGED",
        "is germinating|are germinating|came out|poked up|just up|up already|is through|are through|"
        "is coming up",
    ),
    (
        "EMERGED",
        "are coming up|is popping up|are popping up|sprouting|popping up|coming up|has popped|have "
        "popped|r up|is sprouted",
    ),
    ("DAMPED", "damped off|damping off|dampened off|has damped off|have damped off|damp off|dampen off"),
    (
        "DIED",
        "died|is dead|are dead|has died|have died|dead|died off|didn't make it|did not make it|"
        "perished|kicked bucket",
    ),
    (
        "DIED",
        "didnt make it|failed|has failed|never came up|never sprouted|never germinated|didn't come up|"
        "didnt come up",
    ),
    (
        "DIED",
        "did not come up|never emerged|croaked|is a goner|are gone|didn't germinate|didnt germinate|"
        "did not germinate",
    ),
    (
        "CAUSE",
        "dried out|dried up|rotted|rotted away|root rot|drowned|snapped|got eaten|was eaten|eaten|fell over",
    ),
    (
        "CAUSE",
        "shrivelled|shriveled|burnt|burned|got burned|got burnt|withered|shrivelled up|shriveled up",
    ),
    (
        "CAUSE",
        "got too hot|got knocked over|eaten by slugs|eaten by snails|has dried out|went mouldy|went "
        "moldy|rotted off",
    ),
    ("LOST", "lost|we lost|have lost"),
    ("GAVEUP", "gave up|giving up|gave up on|giving up on|given up on|given up"),
    (
        "NOTHING",
        "nothing|no sign|no sign of life|no germination|no sprouts|no show|no shows|nothing came up|"
        "nothing yet",
    ),
    (
        "MOVED",
        "moved|planted out|transplanted|shifted|transferred|relocated|repotted|have moved|potted up|moving|"
        "transplanting|transplant",
    ),
    ("THINNED", "thinned|thinned out|have thinned|thinning"),
    (
        "PRUNED",
        "pruned|trimmed|pruned back|trimmed back|cut back|have pruned|deleafed|removed leaves from|"
        "pruning|trimming",
    ),
    (
        "PINCHED",
        "pinched|pinched out|pinched off|pinched back|topped plant|tipped|pinched tips of|have "
        "pinched|pinching",
    ),
    ("TRAINED", "trained|tied up|tied in|staked|tied|trellised|have trained|training"),
    (
        "POLLINATED",
        "pollinated|hand pollinated|hand - pollinated|have pollinated|pollinating|brushed flowers of|"
        "pollenated",
    ),
    (
        "PICKED",
        "cutted|i pick|we pick|i harvest|we harvest|picked|harvested|cut|snipped|have picked|have harvested|"
        "took|collected|clipped|gathered|harvest|picking|harvesting",
    ),
    ("PULLED", "pulled|removed|pulled out|ripped out|composted|binned|tossed|pulled up|cleared|chucked out"),
    ("PULLED", "dug out|threw out|have pulled|have removed|took off|got rid of|cleared out|tore out|yanked"),
    (
        "FLOWERING",
        "flowering|in flower|blooming|in bloom|bloomed|flowered|has flowers|have flowers|blossoms",
    ),
    (
        "FLOWERING",
        "blossoming|first flower|first flowers|first bloom|first blossom|started flowering|has flower",
    ),
    ("FLOWERING", "is flowering|are flowering|started to flower|flowers on|got flowers"),
    (
        "FRUITING",
        "fruiting|setting fruit|set fruit|in fruit|first fruit|first fruits|has fruit|has fruits|have "
        "fruit|is fruiting",
    ),
    ("FRUITING", "are fruiting|started fruiting|got fruit|has set fruit|fruit set|started to fruit"),
    (
        "BOLTING",
        "bolting|bolted|is bolting|are bolting|going to seed|gone to seed|has bolted|started bolting|"
        "have bolted",
    ),
    ("BOLTING", "is going to seed|went to seed|started to bolt"),
    # Chores
    (
        "RINSED",
        "rinsed|cleaned|washed|cleaned out|scrubbed|flushed|wiped|rinsed out|washed out|have cleaned|"
        "did clean",
    ),
    ("RINSED", "have rinsed|descaled|did rinse|hosed|hosed out"),
    ("CLEAN", "clean|rinse|wash|scrub|flush|wipe|rinse out|wash out|clean out"),
    ("CALIBRATE", "calibrate|recalibrate"),
    ("CHECK", "check|test|inspect|measure"),
    ("ADJUST", "adjust"),
    ("HAVE", "we have|i have|we've got|i've got|we got|have got|we've|we still have|still have"),
    ("CALIBRATED", "calibrated|recalibrated|re - calibrated|have calibrated|calibration of|calibrated with"),
    ("REFILLED", "refilled cap"),
    ("ADJUSTED", "adjusted|raised|lowered|moved up|moved down|lifted|set"),
    ("CHECKED", "checked|tested|inspected|looked at|have checked"),
    ("FILTER", "filter|filters|pump filter|sponge|filter sponge|filter pad|prefilter|pre - filter|strainer"),
    ("PUMP", "pump|pump's|water pump|circulation pump|impeller|air pump|pumps"),
    ("PHMETER", "ph meter|ph pen|ph probe|ph tester|ph metre|ph sensor|ph electrode"),
    (
        "ECMETER",
        "ec meter|ec pen|tds meter|tds pen|ppm meter|ec probe|ec tester|conductivity meter|tds tester|"
        "ec metre",
    ),
    ("METER", "meter|pen|tester"),
    ("PROBE", "probe|probes|electrode|sensor|electrodes|sensors"),
    (
        "PROBECAP",
        "probe cap|storage cap|cap of probe|probe's cap|meter cap|storage solution|probe storage "
        "solution|ph cap|cap",
    ),
    ("LIGHTS", "lights|light|lamp|lamps|led|leds|grow light|grow lights|light height|grow lamp"),
    ("TIMER", "timer|timers|light timer|pump timer|outlet timer"),
    (
        "AWAY",
        "away|going away|on holiday|on holidays|on vacation|out of town|on vacations|travelling|"
        "traveling|off on holiday",
    ),
    (
        "AWAY",
        "gone|takes over|take over|taking over|on a trip|holiday|vacation|not home|not at home|out of "
        "country|abroad",
    ),
    # Questions
    ("HOWMUCH", "how much|how many|hw much|hom much|how mutch|how mch|howmuch|how much of"),
    (
        "SHOULD",
        "should i|should we|do i need to|do we need to|shall i|shall we|do i have to|do we have to|"
        "ought i to",
    ),
    ("SHOULD", "must i|must we|need i|time to|is it time to|do i|do we|can i|can we|could i|could we|may i"),
    ("WHATIF", "what if|what happens if|what would happen if|whatif|what will happen if|wat if"),
    ("WHY", "why|y is|why's|how come|whys|what is causing|what's causing|what causes"),
    ("WHATS", "what's|whats|what is|what are|wats|what r|what're|wat is|which is|show me|tell me"),
    ("HOWIS", "how is|how's|hows|how are|how're|how r|hw is|how does|how did|how do"),
    ("HOWIS", "how was|how were|how has|how have"),
    (
        "REMIND",
        "remind me to|remind us to|remind me|remind us|remind|reminder to|set a reminder to|set reminder to",
    ),
    (
        "REMIND",
        "reminder|set a reminder for|set reminder|remind everyone to|reminder for|remind me about|"
        "remind us about",
    ),
    (
        "REMIND",
        "remember me to|nudge me to|ping me to|pls remind me to|remind me of|remind us of|ping us to|"
        "nudge us to",
    ),
    ("REMIND", "remind all to|remember us to|set a reminder"),
)

SLOTS = frozenset(
    ("PH", "EC", "CF", "PPM", "STRENGTH", "WTEMP", "TEMP", "AIR", "RH", "LEVEL", "DO", "WATER"),
)
"""Keys that name a value, so that the number after them is no clock time."""

_PRODUCTS: tuple[tuple[str, ProductRole | Literal["adjuster"], str], ...] = (
    (
        "#prod",
        "ph_down",
        "ph down|phdown|ph - down|ph minus|ph acid|ph lower|ph reducer|ph lowerer|ph decreaser",
    ),
    (
        "#prod",
        "ph_down",
        "phosphoric acid|citric acid|nitric acid|acid|ph dwn|phd|p h down|ph - minus|down solution",
    ),
    ("DOWN", "ph_down", "down|dwn"),
    (
        "#prod",
        "ph_up",
        "ph up|phup|ph - up|ph plus|ph raiser|ph increaser|ph base|alkali|ph alkaline|p h up|ph - plus",
    ),
    ("UP", "ph_up", "up"),
    ("BASE", "ph_up", "base"),
    (
        "FOOD",
        "nutrient",
        "food|feed|plant food|nutes|nute|nutrient|nutrients|nutrition|fertilizer|fertiliser|ferts|fert",
    ),
    (
        "FOOD",
        "nutrient",
        "fertilizers|fertilisers|liquid feed|plant feed|nutriants|nutrient mix|nutriments|nutrient feed",
    ),
    (
        "ADJUSTER",
        "adjuster",
        "adjuster|ph adjuster|ph adjuster solution|adjustor|ph adjustor|ph corrector|corrector",
    ),
)

PHRASES: dict[tuple[str, ...], tuple[str, str]] = {
    tuple(variant.split()): (key, "")
    for key, spellings in _KEYS
    for spelling in spellings.split("|")
    for variant in {spelling, spelling.replace(" of ", " of the "), spelling.replace(" in ", " in the ")}
}
"""Every phrase as its words, with its key and, for products, the role."""

PRODUCT_ROLES: dict[str, ProductRole] = {
    spelling: role
    for _, role, spellings in _PRODUCTS
    if role != "adjuster"
    for spelling in spellings.split("|")
}
"""Every product name that any household understands, with its role."""

PHRASES.update(
    {
        tuple(spelling.split()): (key, role)
        for key, role, spellings in _PRODUCTS
        for spelling in spellings.split("|")
    }
)

DROPPED = words(
    "the teh hte my our your this these those just also really actually finally already very so only"
)
"""Words that say nothing to the phrase tables."""
