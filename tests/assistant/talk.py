"""A household that talks to the assistant over a real store, without any chat platform."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from bot.assistant.assistant import Assistant
from bot.assistant.exchange import Answer, ChatRef, Heard, Letter, PersonRef, Pressed
from bot.assistant.scene import Outcome
from bot.rendering import to_plain
from domain.journal import Entry
from storage.engine import Store


@dataclass
class Talk:
    """One person in one chat. ``letters`` holds what the last message or press brought."""

    store: Store
    clock: Any
    assistant: Assistant
    chat: ChatRef
    person: PersonRef
    letters: list[Letter] = field(default_factory=list)
    count: int = 0
    said_at: dict[str, datetime] = field(default_factory=dict)

    @property
    def text(self) -> str:
        """What was answered, as a terminal shows it."""
        return "\n".join(to_plain(letter.html) for letter in self.letters)

    @property
    def prose(self) -> str:
        """The same without its line breaks, which are for narrow screens."""
        return " ".join(self.text.split())

    def someone(self, name: str, address: str) -> Talk:
        """Another person in the same chat."""
        return Talk(
            self.store,
            self.clock,
            self.assistant,
            self.chat,
            PersonRef(address, name),
            count=int(address) * 1000,
        )

    def elsewhere(self, address: str, *, private: bool = True) -> Talk:
        """The same person in another chat."""
        chat = ChatRef("terminal", address, private=private, title=address)
        return Talk(self.store, self.clock, self.assistant, chat, self.person)

    async def say(self, text: str, *, at: datetime | None = None, message: str | None = None) -> Outcome:
        self.count += 1
        command, _, args = text[1:].partition(" ") if text.startswith("/") else ("", "", "")
        heard = Heard(
            chat=self.chat,
            person=self.person,
            message=message or str(self.count),
            said_at=at or self.clock(),
            text=text,
            command=command or None,
            args=args,
        )
        return await self.hear(heard)

    async def edit(self, message: str, text: str, **by: float) -> Outcome:
        edited_at = self.clock() + (timedelta(**by) if by else timedelta(seconds=30))
        said_at = self.said_at.get(message, self.clock())
        return await self.hear(
            Heard(
                chat=self.chat,
                person=self.person,
                message=message,
                said_at=said_at,
                text=text,
                edited_at=edited_at,
            )
        )

    async def hear(self, heard: Heard) -> Outcome:
        self.said_at.setdefault(heard.message, heard.said_at)
        outcome = await self.assistant.hear(heard)
        await self.collect(outcome.scene.chat.id)
        return outcome

    async def press(self, label: str, *, press: str = "p1", data: str | None = None) -> Answer:
        if data is None:
            data = next(
                button.data
                for letter in reversed(self.letters)
                for row in letter.buttons
                for button in row
                if button.label == label
            )
        answer = await self.assistant.press(
            Pressed(chat=self.chat, person=self.person, press=press, pressed_at=self.clock(), data=data)
        )
        await self.collect()
        return answer

    async def collect(self, chat_id: int | None = None) -> None:
        """Takes what waits for this chat."""
        async with self.store.write() as tx:
            if chat_id is None:
                chat = await tx.households.find_chat(self.chat.platform, self.chat.address)
                assert chat is not None
                chat_id = chat.id
            waiting = await tx.outbox.open_of(chat_id)
            await tx.outbox.shown([letter.id for letter in waiting], self.clock())
        self.letters = [Letter.from_json(letter.letter) for letter in waiting]

    async def tick(self) -> int:
        """One beat of the heart, and what it brings to this chat."""
        posted = await self.assistant.tick(self.clock())
        await self.collect()
        return posted

    async def journal(self) -> list[Entry]:
        """What stands in the household's journal."""
        async with self.store.read() as tx:
            chat = await tx.households.find_chat(self.chat.platform, self.chat.address)
            return await tx.journal.entries(chat.household_id) if chat else []
