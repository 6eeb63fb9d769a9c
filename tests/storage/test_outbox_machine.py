"""Any course of posting, sending, crashing and waiting: nothing is lost, nothing repeated that may not be."""

from __future__ import annotations

import asyncio
import shutil
import tempfile
from collections import Counter
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test
from stored import LEASE, Home, letter, settled

from storage.engine import open_store
from storage.outbox import OutboxClaim

START = datetime(2026, 5, 4, 19, 5, tzinfo=UTC)
KINDS = ("reply", "reminder", "edit", "reaction")
MOST_ARRIVALS = {"reply": 1, "reminder": 2, "edit": 2, "reaction": 2}


class Outbox(RuleBasedStateMachine):
    """Two chats, a platform that takes a letter or does not, and senders that die between any two steps."""

    template: Path

    @initialize()
    def open(self) -> None:
        self.runner = asyncio.Runner()
        self.folder = tempfile.TemporaryDirectory()
        path = Path(self.folder.name) / "rillkeeper.db"
        shutil.copy(self.template, path)
        self.store = open_store(f"sqlite:///{path}")
        self.now = START
        self.held: list[OutboxClaim] = []
        self.kinds: dict[str, str] = {}
        self.posted: dict[int, list[str]] = {}
        self.arrived: list[tuple[datetime, int, str, bool]] = []
        self.refused: set[str] = set()
        self.crashed_or_doubted: set[str] = set()
        self.homes = [
            self.run(settled(self.store, "5", self.now)),
            self.run(settled(self.store, "-6", self.now, private=False)),
        ]

    def run(self, work: Any) -> Any:
        return self.runner.run(work)

    @rule(home=st.integers(0, 1), kind=st.sampled_from(KINDS))
    def post(self, home: int, kind: str) -> None:
        key = f"{kind}{len(self.kinds)}"
        self.kinds[key] = kind
        where: Home = self.homes[home]
        self.posted.setdefault(where.chat.id, []).append(key)

        async def post() -> None:
            async with self.store.write() as tx:
                for _ in range(2):
                    await tx.outbox.post(
                        where.id, where.chat.id, letter(key, kind), dedupe_key=key, now=self.now
                    )

        self.run(post())

    @rule(limit=st.integers(1, 3))
    def claim(self, limit: int) -> None:
        async def claim() -> list[OutboxClaim]:
            async with self.store.write() as tx:
                return await tx.outbox.claim(self.now, platform="telegram", limit=limit, lease=LEASE)

        for claimed in self.run(claim()):
            assert claimed.letter["html"] not in self.refused
            self.held.append(claimed)

    @rule(outcome=st.sampled_from(["sent", "not_sent", "doubt_taken", "doubt_not_taken", "refused"]))
    def send(self, outcome: str) -> None:
        """The one that was claimed first is sent, and what came of it is written down."""
        if not self.held:
            return
        claimed = self.held.pop(0)
        key = claimed.letter["html"]
        if outcome in ("sent", "doubt_taken"):
            self.arrived.append((self.now, claimed.chat.id, key, claimed.repeated))

        async def settle() -> bool:
            async with self.store.write() as tx:
                if outcome == "sent":
                    return await tx.outbox.sent(claimed, str(len(self.arrived)), self.now)
                if outcome == "not_sent":
                    return await tx.outbox.not_sent(claimed, self.now + timedelta(seconds=5))
                if outcome == "refused":
                    return await tx.outbox.failed(claimed, "refused")
                return await tx.outbox.uncertain(claimed, self.now)

        if not self.run(settle()):
            self.crashed_or_doubted.add(key)
        elif outcome == "refused":
            self.refused.add(key)
        elif outcome.startswith("doubt"):
            self.crashed_or_doubted.add(key)

    @rule(taken=st.booleans())
    def crash(self, taken: bool) -> None:
        """Everybody who holds a letter dies, just before or just after the platform took it."""
        for claimed in self.held:
            if taken:
                self.arrived.append((self.now, claimed.chat.id, claimed.letter["html"], claimed.repeated))
            self.crashed_or_doubted.add(claimed.letter["html"])
        self.held.clear()

    @rule(seconds=st.sampled_from([0.3, 1.0, 5.0, 61.0]))
    def wait(self, seconds: float) -> None:
        """Time goes by; who still holds a letter is quicker than its lease, or has lost it."""
        self.now += timedelta(seconds=seconds)
        if seconds > LEASE.total_seconds():
            self.crash(taken=False)

    @invariant()
    def repeats_are_allowed_ones(self) -> None:
        if not hasattr(self, "store"):
            return
        for key, count in Counter(key for _, _, key, _ in self.arrived).items():
            assert count <= MOST_ARRIVALS[self.kinds[key]]
            assert count == 1 or key in self.crashed_or_doubted
        seen: set[str] = set()
        for _, _, key, is_marked in self.arrived:
            if self.kinds[key] == "reminder":
                assert is_marked or key not in seen
            else:
                assert not is_marked
            seen.add(key)

    @invariant()
    def each_chat_is_served_in_order_and_in_pace(self) -> None:
        if not hasattr(self, "store"):
            return
        for chat_id, keys in self.posted.items():
            here = [(at, key) for at, chat, key, _ in self.arrived if chat == chat_id]
            order = [keys.index(key) for _, key in here]
            assert order == sorted(order)
            assert all(after - before >= timedelta(seconds=1) for (before, _), (after, _) in pairwise(here))

    @invariant()
    def a_group_gets_twenty_a_minute(self) -> None:
        if not hasattr(self, "store"):
            return
        group = self.homes[1].chat.id
        times = [at for at, chat, _, _ in self.arrived if chat == group]
        for first in times:
            assert sum(first <= other < first + timedelta(seconds=60) for other in times) <= 20

    def teardown(self) -> None:
        if not hasattr(self, "store"):
            return
        try:
            self.crash(taken=False)
            for _ in range(4 * len(self.kinds) + 4):
                self.now += 3 * LEASE
                self.claim(3)
                while self.held:
                    self.send("sent")
            self.nothing_is_lost()
            self.repeats_are_allowed_ones()
            self.each_chat_is_served_in_order_and_in_pace()
        finally:
            self.run(self.store.close())
            self.runner.close()
            self.folder.cleanup()

    def nothing_is_lost(self) -> None:
        """What was neither refused nor in doubt has arrived, and nothing waits any more."""
        arrived = {key for _, _, key, _ in self.arrived}
        assert set(self.kinds) - arrived <= self.refused | self.crashed_or_doubted

        async def waiting() -> int:
            async with self.store.read() as tx:
                return sum([len(await tx.outbox.open_of(home.chat.id)) for home in self.homes])

        assert self.run(waiting()) == 0


def test_any_course_of_events(upgraded_file: Path) -> None:
    class OnThisFile(Outbox):
        template = upgraded_file

    run_state_machine_as_test(
        OnThisFile, settings=settings(max_examples=15, stateful_step_count=25, deadline=None)
    )


@pytest.mark.parametrize("crashes", [1, 2, 3])
def test_a_reminder_survives_one_crash_and_ends_after_two(upgraded_file: Path, crashes: int) -> None:
    machine = Outbox()
    machine.template = upgraded_file
    machine.open()
    machine.post(0, "reminder")
    for _ in range(crashes):
        machine.claim(1)
        machine.crash(taken=False)
        machine.now += 3 * LEASE
    machine.claim(1)
    assert len(machine.held) == (1 if crashes == 1 else 0)
    machine.teardown()
