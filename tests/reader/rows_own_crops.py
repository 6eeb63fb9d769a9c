"""Crops that the household adds to the table."""

from rows import say, setting, silent, sow

PH = setting(name="band", crop="sorrelette", what="ph", low=5.8, high=6.4)
EC = setting(name="band", crop="sorrelette", what="ec", low=1.2, high=1.8)
KNOWN = {"crops": ["sorrelette", "Red Zorp"]}

ROWS = [
    say("we grow sorrelette: ph 5.8-6.4", PH),
    say("we grow sorrelette: ph 5.8-6.4, ec 1.2-1.8", PH, EC),
    say("we grow sorrelette, ec 1.2 to 1.8 and ph between 5.8 and 6.4", EC, PH),
    say("I grow sorrelette with ec 1.2-1.8", EC),
    say("add a crop: sorrelette, ph 5.8-6.4", PH),
    say("add a crop: sorrelette", setting(name="crop", value="sorrelette")),
    say("new crop sea fennel", setting(name="crop", value="sea fennel")),
    say(
        "we grow red zorp: ph 5.8-6.2",
        setting(name="band", crop="red zorp", what="ph", low=5.8, high=6.2),
    ),
    say(
        "we grow rocket: ph 5.8-6.2",
        setting(name="band", crop="arugula", what="ph", low=5.8, high=6.2),
    ),
    say("we grow sorrelette: ph 6.4-5.8", unclear="implausible"),
    say("we grow sorrelette: ph 58-64", unclear="implausible"),
    say("add a crop: basil", unclear="ambiguous"),
    say("set sorrelette ph 5.8-6.4", unclear="unknown"),
    say("set sorrelette ph 5.8-6.4", PH, **KNOWN),
    say("sorrelette is a herb", setting(name="crop_group", crop="sorrelette", value="herb"), **KNOWN),
    say("red zorp are leafy greens", setting(name="crop_group", crop="Red Zorp", value="leafy"), **KNOWN),
    say(
        "sorrelette is a root vegetable", setting(name="crop_group", crop="sorrelette", value="root"), **KNOWN
    ),
    say("sowed red zorp in A1", sow(crop="Red Zorp", sites=["A1"]), **KNOWN),
    silent("basil is a herb"),
    silent("we grow apart"),
    silent("we grow basil: it is great"),
]
