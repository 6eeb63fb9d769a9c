"""Wishes for a chart that do not begin with the word, and what is none."""

from rows import command, question, reading, say, silent

ROWS = [
    say("ph and ec since the water change", command(name="chart", args="ph and ec since the water change")),
    say("ph last week", command(name="chart", args="ph last week")),
    say("temp last 3 days", command(name="chart", args="temp last 3 days")),
    say("level since sunday", command(name="chart", args="level since sunday")),
    say("the ph over the last month", command(name="chart", args="ph over the last month")),
    say("ec since 20 april", command(name="chart", args="ec since 20 april")),
    say("ec since 20 april?", question(about="trend")),
    say("ec over the last week?", question(about="trend")),
    say("show me a chart of ec over the last week?", command(name="chart", args="ec over the last week")),
    say("ec graph", command(name="chart", args="ec graph")),
    say("show me the ph graph please", command(name="chart", args="ph graph please")),
    say("will ph leave the band", question(about="trend")),
    say("graph ph", command(name="chart", args="ph")),
    say("plot ph and ec", command(name="chart", args="ph and ec")),
    say("show me a chart of ph", command(name="chart", args="ph")),
    say("show me a graph of the water temp since noon", command(name="chart", args="temp since noon")),
    say(
        "chart ph and ec since the last water change",
        command(name="chart", args="ph and ec since the last water change"),
    ),
    say("when will ph leave the band", question(about="trend")),
    say("when is the ec going to be too high?", question(about="trend")),
    say("how long until ph is out of band", question(about="trend")),
    say("when will the lettuce be ready", question(about="harvest", crop="lettuce")),
    silent("show me the picture"),
    silent("what a graph"),
    say("ph 5.9 today", reading(ph=5.9)),
    say("level 30 litres", reading(level_l=30)),
]
