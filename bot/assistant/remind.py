"""Reminders: the table is kept in step with the journal, and what falls due moves to the outbox."""

from __future__ import annotations

import logging
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from bot.assistant import orders
from bot.assistant.absence import keeper_of, own_chat
from bot.assistant.digest import digest
from bot.assistant.due_replies import Reminded, RemindedItem
from bot.assistant.exchange import GENERAL
from bot.assistant.record import Origin, keep, revision
from bot.assistant.replies import Hint, Undone
from bot.assistant.scene import Outcome, Scene, looking_on
from bot.assistant.schedule import FORGETTING, URGENT, still_due
from bot.reader import Found, Read
from bot.rendering import Voice, render
from domain.digest import DIGEST
from domain.due import OWN_KEY
from domain.facts import Chore, ChoreTask, Fact, Setting, TopUp, WaterChange, names_of
from domain.household import Choices, choices
from domain.recurrence import Rule
from domain.routine import after_telling, habits, quiet_until, task_meant
from domain.tanks import tank_of_key
from storage.engine import Store, Transaction
from storage.households import Chat, Person
from storage.reminders import ReminderRow

__all__ = ["done", "item_of", "later", "next_of", "passed_over", "said_again", "stopped", "tell"]

logger = logging.getLogger(__name__)

LATE = timedelta(minutes=30)
"""From here on a reminder says that it comes late."""
PUT_OFF = timedelta(hours=3)
"""What ``later`` means: common practice of people with something on the stove."""
UNASKED_A_DAY = 2
"""At most so many messages a household gets unasked on one of its days; what is urgent stands apart."""
AFTER_FAILURE = timedelta(hours=1)
"""What could not be told is tried again after so long, not at every beat."""


async def tell(store: Store, now: datetime, *, household_id: int | None = None) -> int:
    """Posts what is due, bundled by household, and moves each reminder on; gives how many letters.

    household_id : only this household's; ``None``: everybody's.
    Each household has a transaction of its own: a crash leaves both its letters and its dates or neither,
    and where one household's reminders cannot be told, those of the others still are.
    """
    numbers = [household_id] if household_id is not None else await _households_due(store, now)
    posted = 0
    for number in numbers:
        try:
            async with store.write() as tx:
                posted += await _tell_household(tx, number, now)
        except Exception as error:  # whatever it is, it must not silence everybody
            logger.error("the reminders of household %d failed: %s", number, type(error).__name__)
            async with store.write() as tx:
                for row in await tx.reminders.due(now, household_id=number):
                    await tx.reminders.put_off(row.id, now + AFTER_FAILURE)
    return posted


async def _households_due(store: Store, now: datetime) -> list[int]:
    async with store.read() as tx:
        return await tx.reminders.households_due(now)


async def _tell_household(tx: Transaction, household_id: int, now: datetime) -> int:
    due = await tx.reminders.due(now, household_id=household_id)
    rows = [row for row in due if row.source != FORGETTING]
    if not rows:
        return 0
    await tx.households.lock(household_id)
    chosen = choices(await tx.journal.entries(household_id))
    wait = await _wait_until(tx, household_id, chosen, now)
    chats = [chat for chat in await tx.households.chats(household_id) if chat.active]
    on_duty = chosen.keeper_on(now.astimezone(chosen.zone).date())
    keeper = await keeper_of(tx, household_id, on_duty)
    theirs = await own_chat(tx, household_id, keeper)
    # What one person alone is told in their own chat reaches nobody while they are away.
    shared = next((chat for chat in chats if not chat.private), theirs) if on_duty else None
    by_place: dict[tuple[int, str], list[ReminderRow]] = defaultdict(list)
    for row in rows:
        if wait is not None and row.source != URGENT:
            await tx.reminders.put_off(row.id, wait)
        elif await _moved_on(tx, row, now, chosen.zone) and (chat := _chat_for(row, chats, shared)):
            by_place[chat.id, _topic(row, chat)].append(row)
    posted = 0
    for (chat_id, thread), found in by_place.items():
        due = [row for row in found if row.task != DIGEST]
        if due:
            posted += await _post(tx, household_id, (chat_id, thread), due, chosen, now, keeper)
        for row in found:
            if row.task == DIGEST:
                chat = next(each for each in chats if each.id == chat_id)
                posted += await _post_digest(tx, chat, thread, row, now)
    return posted


async def _post_digest(tx: Transaction, chat: Chat, thread: str, row: ReminderRow, now: datetime) -> int:
    """The week in a letter of its own: it has a picture. Where the chores have just taken the day's last
    message it waits, and where nothing was logged nobody is told."""
    scene = looking_on(await tx.journal.entries(chat.household_id), now, chat=chat)
    wait = await _wait_until(tx, chat.household_id, scene.choices, now)
    if wait is not None:
        await tx.reminders.put_off(row.id, wait)
        return 0
    shown = digest(scene, row.id, row.planned_at)
    if shown is None:
        return 0
    voice = Voice.of(scene.choices, speaks_ppm=scene.speaks_ppm)
    number = await tx.outbox.post(
        chat.household_id,
        chat.id,
        replace(render(shown, voice), thread=thread, kind="reminder").as_json(),
        dedupe_key=f"reminder:{row.id}:{int(row.due_at.timestamp())}:{row.fired_count}",
        now=now,
        reminder_id=row.id,
    )
    return int(number is not None)


async def _moved_on(tx: Transaction, row: ReminderRow, now: datetime, zone: ZoneInfo) -> bool:
    """Moves a reminder to its next date, or ends it; ``False`` where its rule cannot be followed."""
    try:
        upcoming = after_telling(row.rrule, row.planned_at, now, zone)
    except ValueError:
        logger.error("reminder %d has no rule that can be followed", row.id)
        await tx.reminders.put_off(row.id, now + AFTER_FAILURE)
        return False
    await tx.reminders.advance(row.id, upcoming)
    return True


async def _post(
    tx: Transaction,
    household_id: int,
    place: tuple[int, str],
    due: list[ReminderRow],
    chosen: Choices,
    now: datetime,
    keeper: Person | None,
) -> int:
    chat_id, thread = place
    # What comes but once stands first: what comes round again can wait in the list.
    due = sorted(due, key=lambda row: (row.source != URGENT, row.rrule is not None, row.due_at))
    reminded = Reminded(
        dues=tuple(item_of(row) for row in due),
        now=now,
        late_since=_late_since(due, now),
        keeper=chosen.keeper_on(now.astimezone(chosen.zone).date()),
        address=keeper.address if keeper is not None else None,
    )
    # The letter counts against the day's share by this one: as urgent only where all of it is.
    first = next((row for row in due if row.source != URGENT), due[0])
    number = await tx.outbox.post(
        household_id,
        chat_id,
        replace(render(reminded, Voice.of(chosen)), thread=thread).as_json(),
        dedupe_key=f"reminder:{first.id}:{int(first.due_at.timestamp())}:{first.fired_count}",
        now=now,
        reminder_id=first.id,
    )
    return int(number is not None)


async def _wait_until(tx: Transaction, household_id: int, chosen: Choices, now: datetime) -> datetime | None:
    """Until when what is not urgent must wait: quiet hours, or the day's share of messages is spent."""
    quiet = quiet_until(now, chosen.zone)
    if quiet is not None:
        return quiet
    local = now.astimezone(chosen.zone)
    midnight = datetime.combine(local.date(), time(), tzinfo=chosen.zone)
    if await tx.outbox.reminded_since(household_id, midnight, apart=URGENT) < UNASKED_A_DAY:
        return None
    tomorrow = datetime.combine(local.date() + timedelta(days=1), time(), tzinfo=chosen.zone)
    return quiet_until(tomorrow, chosen.zone) or tomorrow


def _chat_for(row: ReminderRow, chats: list[Chat], shared: Chat | None = None) -> Chat | None:
    """Where to tell it: its own chat, else the household's group, else any chat it has.

    shared : where whoever has taken over reads; what would reach somebody else alone goes there.
    """
    own = next((chat for chat in chats if chat.id == row.chat_id), None)
    if shared is not None and row.source != URGENT and (own is None or own.private):
        return shared
    return own or next((chat for chat in chats if not chat.private), None) or next(iter(chats), None)


def _topic(row: ReminderRow, chat: Chat) -> str:
    """The topic it was asked for in, else the chat's home."""
    asked_in = row.thread if chat.id == row.chat_id else None
    return asked_in if asked_in is not None else chat.thread or GENERAL


def item_of(row: ReminderRow) -> RemindedItem:
    """One reminder as a letter shows it."""
    return RemindedItem(
        reminder=row.id,
        task=row.task,
        text=row.text,
        why=row.why,
        planned_at=row.planned_at,
        may_stop=row.task == "own" or row.rrule is not None or row.task not in habits(),
    )


def _late_since(rows: Iterable[ReminderRow], now: datetime) -> datetime | None:
    earliest = min(row.due_at for row in rows)
    return earliest if now - earliest > LATE else None


async def done(tx: Transaction, scene: Scene, row: ReminderRow) -> Outcome:
    """The thing was done: it is logged as if typed, which moves the reminder by construction."""
    task = (task_meant(row.text) or row.task) if row.task == "own" else row.task
    fact = _fact_of(task, scene.at, tank_of_key(row.key))
    if fact is None:
        await passed_over(tx, scene, row)
        asks_for_values = task in ("retest", "test_water")
        return Outcome(scene, replies=(Hint(code="send_reading"),) if asks_for_values else ())
    origin = Origin(f"press:{row.id}:{int(row.planned_at.timestamp())}", row.text, "pressed")
    found = Found(fact=fact, span=(0, len(row.text)))
    return await keep(tx, scene, Read(facts=(found,), unclear=()), origin)


def _fact_of(task: str, at: datetime, tank: str | None) -> Fact | None:
    """What doing a task puts into the journal; a test of the water is logged by its values alone."""
    if task == "water_change":
        return WaterChange(when=at, tank=tank)
    if task == "top_up":
        return TopUp(when=at, tank=tank)
    if task in names_of(ChoreTask):
        return Chore(task=task, when=at, tank=tank)  # type: ignore[arg-type]
    return None


async def later(tx: Transaction, scene: Scene, row: ReminderRow) -> datetime:
    """Puts one reminder off by a few hours, or until people may be disturbed again; gives when it comes.

    One that is told once had ended with the telling; it comes once more.
    """
    put_off = scene.now + PUT_OFF
    if row.source != URGENT:
        put_off = await _wait_until(tx, scene.household_id, scene.choices, put_off) or put_off
    await tx.reminders.put_off(row.id, put_off)
    return put_off


async def passed_over(tx: Transaction, scene: Scene, row: ReminderRow) -> datetime | None:
    """Leaves this one out: it comes again at its next regular date, if it has one."""
    upcoming = next_of(row, scene)
    await tx.reminders.advance(row.id, upcoming)
    await tx.reminders.settle(row.id, scene.now)
    return upcoming


def next_of(row: ReminderRow, scene: Scene) -> datetime | None:
    """The next regular date of a reminder; ``None`` where it has none."""
    return after_telling(row.rrule, row.planned_at, scene.now, scene.zone)


async def stopped(tx: Transaction, scene: Scene, row: ReminderRow) -> Outcome | None:
    """Nobody wants to be told of it any more; ``None`` where that is so already.

    Of the routine, it is kept as a setting, so that an undo brings it back; what the household asked for is
    taken back, and what else was in that message stays.
    """
    if not still_due(scene, row):
        return None
    if row.task == "own":
        return await _taken_back(tx, scene, int(row.key.removeprefix(OWN_KEY)))
    never = Setting(name="interval", task=row.task, rrule="", when=scene.at, tank=tank_of_key(row.key))
    text = f"no more: {row.text}"
    origin = Origin(f"press:off:{row.id}:{int(row.planned_at.timestamp())}", text, "pressed")
    found = Found(fact=never, span=(0, len(text)))
    return await keep(tx, scene, Read(facts=(found,), unclear=()), origin)


async def _taken_back(tx: Transaction, scene: Scene, entry_id: int) -> Outcome | None:
    entry = next((entry for entry in scene.entries if entry.id == entry_id), None)
    if entry is None:
        return None
    chat_id, _, message = entry.message_key.partition(":")
    standing = await tx.journal.last(int(chat_id), message)
    if standing is None:
        return None
    left = [said for said in standing.facts if said.fact != entry.fact]
    if not left:
        reply = await orders.take_back(tx, scene, standing)
        return Outcome(scene.after((), entry.message_key), replies=(reply,))
    origin = Origin.over(standing, standing.text, "pressed", scene.now)
    kept = [Found(fact=said.fact, span=said.span or (0, 0)) for said in left]
    doubted = any(said.doubted for said in left)
    number = await tx.journal.append(revision(scene, origin, kept, doubted=doubted))
    if number is None:
        return None
    after = scene.after(await tx.journal.entries_of(number), entry.message_key)
    return Outcome(after, replies=(Undone(facts=(entry.fact,), said_at=standing.said_at),))


def said_again(task: str) -> str:
    """What to type so that a task of the routine is reminded of again: ``change water every 2 weeks``."""
    if task == DIGEST:
        return "digest on"
    rule = Rule.from_rrule(habits()[task].rrule, at=datetime(2024, 1, 1, tzinfo=UTC))
    words = "change water" if task == "water_change" else task.replace("_", " ")
    return f"{words} {rule.in_words()}"
