"""Seed in stock: counted by the seed where the packet says how many, else by the packet."""

from rows import say, silent, sow, stock

ROWS = [
    say("we have a packet of 50 basil seeds", stock(item="basil seeds", count=50)),
    say("we have 50 basil seeds", stock(item="basil seeds", count=50)),
    say("bought 2 packets of 50 basil seeds", stock(item="basil seeds", count=100)),
    say("we have 100 rocket seeds", stock(item="arugula seeds", count=100)),
    say("we have 50 basil seeds, lot Green Gate 7", stock(item="basil seeds, lot Green Gate 7", count=50)),
    say("we have 50 basil seeds from Corner Shop", stock(item="basil seeds, lot Corner Shop", count=50)),
    say("30 basil seeds left", stock(item="basil seeds", count=30)),
    say("out of basil seeds", stock(item="basil seeds", count=0)),
    say("bought 2 packets of basil seeds", stock(item="packets of basil seeds", count=2)),
    say("bought 3 packets of seeds", stock(item="packets of seeds", count=3)),
    say("we have 9000000 basil seeds", unclear="implausible"),
    say("sowed 3 basil seeds in A1", sow(crop="basil", sites=["A1"], count=3)),
    silent("basil seeds are tiny"),
    silent("should we have 50 basil seeds?"),
]
