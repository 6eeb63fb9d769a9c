"""A season of an invented household on forty sites, told by messages and checked against its own notebook."""

from __future__ import annotations

import random
from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any

from bot import terminal
from bot.assistant.garden_replies import CameUpShown, HarvestShown, LotsShown, SitesShown
from bot.assistant.replies import Logged, PlantsShown
from bot.assistant.scene import Outcome
from domain.facts import Observation
from tests.assistant.talk import Talk

ROWS = {
    "A": ("basil", "Corner Shop 24", 0.9, 7),
    "B": ("lettuce", "Green Gate 7", 0.95, 3),
    "C": ("pak choi", "Old Barn 2021", 0.35, 5),
    "D": ("lettuce", "Old Barn 2022", 0.3, 4),
    "E": ("dill", "Green Gate 9", 0.8, 10),
}
"""Crop, packet, how good the packet truly is, days until it is up, by row of eight sites."""
PLACES = range(1, 9)
DAYS = 75


@dataclass
class Notebook:
    """What the household itself wrote down, kept without the program."""

    standing: dict[str, tuple[str, int, str]] = field(default_factory=dict)  # site: crop, day sown, packet
    up: set[str] = field(default_factory=set)
    came: dict[tuple[str, str], int] = field(default_factory=lambda: defaultdict(int))  # (crop, packet)
    failed: dict[tuple[str, str], int] = field(default_factory=lambda: defaultdict(int))
    grams: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    plugs: int = 120

    def sow(self, site: str, crop: str, day: int, packet: str) -> None:
        self.standing[site] = (crop, day, packet)
        self.up.discard(site)
        self.plugs -= 1

    def waiting(self, crop: str) -> set[str]:
        return {site for site, (of, _, __) in self.standing.items() if of == crop and site not in self.up}


class Household:
    """Lives one day after the other and tells the assistant about it."""

    def __init__(self, talk: Talk, clock: Any) -> None:
        self.talk, self.clock, self.rng, self.book, self.day = talk, clock, random.Random(40), Notebook(), 0
        self.unasked: dict[int, int] = defaultdict(int)
        self.told: list[str] = []

    async def live(self) -> None:
        await self.talk.say("we have 120 plugs")
        for row in ROWS:
            await self._sow_row(row)
        for self.day in range(1, DAYS + 1):
            self.clock.advance(days=1)
            await self._listen()
            await self._look()
            await self._tend()

    async def _listen(self) -> None:
        self.unasked[self.day] += await self.talk.tick()
        self.told += [self.talk.text] if self.talk.letters else []

    async def _sow_row(self, row: str) -> None:
        crop, packet, _, __ = ROWS[row]
        outcome = await self.talk.say(f"sowed {crop} in {row}1-{row}8, lot {packet}")
        for place in PLACES:
            self.book.sow(f"{row}{place}", crop, self.day, packet)
        (reply,) = outcome.replies
        assert isinstance(reply, Logged)
        assert reply.plants is not None
        assert [each.sowing.crop for each in reply.plants.outlooks] == [crop]
        assert reply.plants.conflicts == ()

    async def _look(self) -> None:
        """What is up is told on its day; what is long overdue is given up and sown anew."""
        for site, (crop, sown, packet) in sorted(self.book.standing.items()):
            _, __, good, days = next(row for row in ROWS.values() if row[0] == crop and row[1] == packet)
            if site in self.book.up:
                continue
            if self.day == sown + days and self.rng.random() < good:
                await self.talk.say(f"{site} is up")
                self.book.up.add(site)
                self.book.came[crop, packet] += 1
            elif self.day == sown + 20:
                better = "Green Gate 7" if crop == "lettuce" else packet
                await self.talk.say(f"nothing in {site}, gave up")
                await self.talk.say(f"reseeded {site} with {crop}, lot {better}")
                self.book.failed[crop, packet] += 1
                self.book.sow(site, crop, self.day, better)

    async def _tend(self) -> None:
        if self.day == 30:
            await self.talk.say("moved the lettuce from B1 to F1")
            self.book.standing["F1"] = self.book.standing.pop("B1")
            if "B1" in self.book.up:
                self.book.up.remove("B1")
                self.book.up.add("F1")
        if self.day in (40, 50, 60):
            for site in ("A1", "A2", "B2", "B3"):
                grams = self.rng.randint(20, 60)
                await self.talk.say(f"picked {grams} g from {site}")
                self.book.grams[self.book.standing[site][0]] += grams
        if self.day == 61:
            await self.talk.say("pulled B2, bolted")
            del self.book.standing["B2"]
            self.book.up.discard("B2")


class AtTerminal(Talk):
    """Speaks as ``rillkeeper say`` does: an assistant of its own for each text, reminders first."""

    async def say(self, text: str, **_: Any) -> Outcome:
        said = await terminal.say(
            self.store, text, person=self.person.name, chat=self.chat.address, group=False, at=self.clock()
        )
        self.letters = list(said.letters)
        return said.outcome


async def test_a_season_is_kept_as_the_household_wrote_it_down(talk: Talk, clock: Any) -> None:
    talk = AtTerminal(talk.store, clock, talk.assistant, talk.chat, talk.person)
    household = Household(talk, clock)
    await household.live()
    book, day = household.book, household.day

    shown = (await talk.say("/plants")).replies[0]
    assert isinstance(shown, PlantsShown)
    stands = {site: (p.crop, p.days, p.lot) for p in shown.plantings for site in p.sites}
    assert stands == {site: (crop, day - sown, lot) for site, (crop, sown, lot) in book.standing.items()}
    assert sum(planting.count for planting in shown.plantings) == len(book.standing) == 39
    up = {site for p in shown.plantings if p.up_count for site in p.sites}
    assert up == book.up

    lots = (await talk.say("which seeds are best")).replies[0]
    assert isinstance(lots, LotsShown)
    for record in lots.records:
        key = (record.crop, record.name or "")
        assert record.came == book.came[key]
        assert record.tried - record.came >= book.failed[key]
        assert record.likely is not None
        assert record.share in record.likely
    assert sum(record.came for record in lots.records) == sum(book.came.values())
    assert [(best.crop, best.name) for best in lots.best] == [("lettuce", "Green Gate 7")]
    assert "packet of 2022, 4 years old" in talk.prose

    picked = (await talk.say("when can I pick the lettuce")).replies[0]
    assert isinstance(picked, HarvestShown)
    assert [(given.key, given.grams) for given in picked.given] == [("lettuce", book.grams["lettuce"])]
    assert {a.state for a in picked.ahead if a.planting.harvested_at} == {"picked"}

    seen = (await talk.say("what's in B2")).replies[0]
    assert isinstance(seen, SitesShown)
    assert seen.sites[0].last is not None
    assert (seen.sites[0].last.crop, seen.sites[0].last.end) == ("lettuce", "removed")
    moved = (await talk.say("what's in F1")).replies[0]
    assert isinstance(moved, SitesShown)
    assert [(p.crop, p.days) for p in moved.sites[0].plantings] == [("lettuce", day - book.standing["F1"][1])]

    due = (await talk.say("what is due to come up")).replies[0]
    assert isinstance(due, CameUpShown)
    for outlook in due.coming:
        assert set(outlook.sowing.waiting_sites) <= book.waiting(outlook.sowing.crop)

    assert max(household.unasked.values()) <= 2
    heard = "\n".join(household.told)
    assert "Look for lettuce seedlings" in heard
    assert "Sow pak choi again in" in heard
    assert "see whether the basil can be picked" in heard.lower()
    lines = [text for text in heard.splitlines() if text.startswith(("Look for", "See whether", "Sow "))]
    assert len(lines) == len(set(lines)), "nobody is told the same twice"


async def test_what_does_not_fit_is_asked_about_once(talk: Talk) -> None:
    await talk.say("sowed basil in A1-A3, lot Corner Shop 24")
    outcome = await talk.say("sowed dill in A1")
    (reply,) = outcome.replies
    assert isinstance(reply, Logged)
    assert reply.plants is not None
    assert [conflict.code for conflict in reply.plants.conflicts] == ["site_taken"]
    assert "Basil in A1 still stands there" in talk.text
    outcome = await talk.say("C7 is up")
    assert [conflict.code for conflict in outcome.replies[0].plants.conflicts] == ["nothing_there"]  # type: ignore[union-attr]
    outcome = await talk.say("A2 is up")
    assert outcome.replies[0].plants.conflicts == ()  # type: ignore[union-attr]
    assert "A2: basil, day 0" in talk.text


async def test_a_sign_gets_possible_causes_in_five_lines(talk: Talk) -> None:
    await talk.say("sowed lettuce in B1-B3")
    for said in (
        "note: yellow leaves on B1",
        "B2 looks leggy",
        "aphids on the lettuce",
        "note: slimy roots, B3 wilting",
    ):
        outcome = await talk.say(said)
        (reply,) = outcome.replies
        assert isinstance(reply, Logged)
        assert isinstance(reply.facts[0], Observation)
        assert reply.plants is not None
        assert reply.plants.troubles
        assert len(talk.text.splitlines()) <= 6, said
        assert max(map(len, talk.text.splitlines())) <= 46, said
        assert "May be" in talk.text
        assert "lettuce, day 0" in talk.text
    await talk.say("note: B1 looks lush")
    assert "May be" not in talk.text


async def test_asking_whether_it_is_up_records_nothing(talk: Talk) -> None:
    await talk.say("sowed basil in A1")
    for asked in (
        "has the basil come up",
        "is the basil up yet",
        "what came up this week",
        "what is due to come up",
    ):
        outcome = await talk.say(asked)
        assert isinstance(outcome.replies[0], CameUpShown), asked
    assert [entry.fact.kind for entry in await talk.journal()] == ["sow"]


async def test_packets_are_asked_for_by_name(talk: Talk, clock: Any) -> None:
    await talk.say("sowed basil in A1-A4, lot Corner Shop 24")
    clock.advance(days=7)
    await talk.say("A1-A3 are up")
    outcome = await talk.say("how is the corner shop basil doing")
    (reply,) = outcome.replies
    assert isinstance(reply, LotsShown)
    (record,) = reply.records
    assert (record.name, record.crop, record.came, record.tried, record.waiting) == (
        "Corner Shop 24",
        "basil",
        3,
        3,
        1,
    )
    assert record.days == (7.0, 7.0, 7.0)


async def test_bands_of_seedlings_are_weaker_than_those_of_the_grown_plant(talk: Talk) -> None:
    """Common practice: seedlings at 0.4 to 0.6 of full strength (stages.csv)."""
    young = (await talk.say("bands for basil seedlings")).replies[0].bands.ec  # type: ignore[union-attr]
    grown = (await talk.say("bands for basil")).replies[0].bands.ec  # type: ignore[union-attr]
    assert young.ideal_high < grown.ideal_high
    assert young.ideal_low < grown.ideal_low


async def test_behind_an_answer_stand_its_sources_and_assumptions(talk: Talk, clock: Any) -> None:
    await talk.say("sowed lettuce in B1-B3, lot Green Gate 7")
    assert "UC Santa Cruz" in (talk.letters[0].details or "")
    clock.advance(days=3)
    await talk.say("B1 is up")
    await talk.say("what is due to come up")
    assert "log-normally" in (talk.letters[0].details or "")
    await talk.say("how is the green gate lettuce doing")
    assert "Jeffreys" in (talk.letters[0].details or "")
    await talk.say("when can I pick the lettuce")
    assert "first harvest" in (talk.letters[0].details or "")
    await talk.say("note: B1 looks leggy")
    assert "Pramuk" in (talk.letters[0].details or "")
    assert "cm above the leaves" in talk.text
    assert len(talk.text.splitlines()) <= 6


async def test_only_what_was_named_is_shown(talk: Talk) -> None:
    await talk.say("sowed spinach in A1-A4")
    await talk.say("note: A2 looks leggy")
    assert "A2: spinach, day 0" in talk.text
    await talk.say("moved the spinach from A1 to B1")
    assert "B1: spinach, day 0" in talk.text
    await talk.say("what's in row A")
    assert talk.text.count("A3: spinach, day 0") == 1
    await talk.say("how much spinach did we pick")
    assert "Nothing picked so far" in talk.text
