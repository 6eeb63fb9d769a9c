"""Looking back: pages of the journal, with who, when, and what became of each message."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.assistant.talk import Talk


async def days_of_readings(talk: Talk, count: int) -> None:
    """A reading a day: 6.01 on the first, 6.02 on the second and so on."""
    for number in range(count):
        await talk.say(f"ph {6 + (number + 1) / 100:.2f}", at=talk.clock() - timedelta(days=count - number))


def shown(talk: Talk) -> list[str]:
    """The lines that say what was logged."""
    return [row for row in talk.text.splitlines() if "Mina:" in row or "Ben:" in row]


def labels(talk: Talk) -> list[str]:
    return [key.label for letter in talk.letters for row in letter.buttons for key in row]


async def test_the_newest_page_comes_first_and_buttons_lead_back_and_forth(talk: Talk) -> None:
    await days_of_readings(talk, 19)
    await talk.say("/journal")
    assert [row[-4:] for row in shown(talk)] == [f"6.{number:02}".rstrip("0") for number in range(12, 20)]
    assert labels(talk) == ["Older"]
    await talk.press("Older")
    assert shown(talk)[-1].endswith("pH 6.11")
    assert labels(talk) == ["Older", "Newer"]
    await talk.press("Older", press="p2")
    assert [row.split("pH ")[1] for row in shown(talk)] == ["6.01", "6.02", "6.03"]
    assert labels(talk) == ["Newer"]
    await talk.press("Newer", press="p3")
    assert shown(talk)[0].endswith("pH 6.04")


async def test_what_is_logged_meanwhile_shifts_no_page(talk: Talk) -> None:
    await days_of_readings(talk, 17)
    await talk.say("/journal")
    page = talk.letters
    await talk.say("topped up 2 L")
    talk.letters = page
    await talk.press("Older")
    assert shown(talk)[-1].endswith("pH 6.09")


async def test_changed_taken_back_and_doubted_messages_are_marked(talk: Talk) -> None:
    await talk.say("ph 6.4", message="m1")
    await talk.edit("m1", "ph 6.1")
    await talk.say("topped up 3 L", message="m2")
    await talk.say("undo")
    await talk.say("ph 9.9", message="m3")
    await talk.say("/journal")
    assert [row.split("Mina: ")[1] for row in shown(talk)] == [
        "pH 6.1 (edited)",
        "topped up 3 L (taken back)",
        "pH 9.9 (in doubt)",
    ]


async def test_two_people_are_told_apart_and_two_things_of_one_message_stand_together(talk: Talk) -> None:
    ben = talk.someone("Ben", "8")
    await ben.say("ph 6.0, topped up 2 L")
    await talk.say("rinsed the filter")
    await talk.say("/journal")
    assert [row.split(" ", 2)[2] for row in shown(talk)] == [
        "Ben: pH 6.0 and topped up 2 L",
        "Mina: filter rinsed",
    ]


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("journal B2", ["sowed basil in B2", "seedlings in B2 up"]),
        ("journal basil", ["sowed basil in B2"]),
        ("journal row C", ["sowed kale in C1"]),
        ("journal last week", ["seedlings in B2 up", "pH 6.0"]),
        ("journal readings", ["pH 6.0"]),
        ("journal D4", []),
    ],
)
async def test_a_part_can_be_asked_for(talk: Talk, asked: str, found: list[str]) -> None:
    now = talk.clock()
    await talk.say("sowed basil in B2", at=now - timedelta(days=20))
    await talk.say("sowed kale in C1", at=now - timedelta(days=19))
    await talk.say("B2 is up", at=now - timedelta(days=3))
    await talk.say("ph 6.0", at=now - timedelta(days=2))
    await talk.say(asked)
    assert [row.split("Mina: ")[1] for row in shown(talk)] == found


async def test_words_that_name_no_part_are_not_passed_over(talk: Talk) -> None:
    await talk.say("ph 6.0")
    await talk.say("/journal quokkas")
    assert "quokkas" in talk.text
    assert not shown(talk)


async def test_a_button_turns_no_page_of_another_household(talk: Talk) -> None:
    await days_of_readings(talk, 9)
    await talk.say("/journal")
    data = talk.letters[0].buttons[0][0].data
    stranger = talk.elsewhere("next door")
    await stranger.say("ph 7.0")
    answer = await stranger.press("", data=data)
    assert "old" in answer.text
    assert stranger.letters == []


async def test_the_pages_of_a_long_journal_are_short(talk: Talk) -> None:
    await days_of_readings(talk, 30)
    await talk.say("journal last 30 days")
    assert len(talk.text.splitlines()) <= 18
    assert max(map(len, talk.text.splitlines())) <= 40
