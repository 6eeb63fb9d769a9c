"""The household that lives in the room: invented people, their chats, and what to type first."""

from __future__ import annotations

from demo.room.platform import Platform

__all__ = ["PEOPLE", "SUGGESTIONS", "TANK_LITRES", "move_in"]

PEOPLE = ((5101, "Wren"), (5102, "Idris"), (5103, "Maud"))
"""Three who share a tank; invented, as is everything about them."""

GROUP_TITLE = "Landing shelf"
TANK_LITRES = 40

SUGGESTIONS = {
    "private": [
        "/start",
        f"tank holds {TANK_LITRES} L",
        "ph 6.6 ppm 720 temp 19",
        f"how much adjuster for {TANK_LITRES} litres",
        "sowed basil in A1-A3",
        "what's due",
    ],
    "group": [
        "/start",
        "ph 5.9 ppm 720 temp 19",
        "topped up 4 L",
        "picked 120 g lettuce B1",
        "remind us to rinse the filter every 2 weeks on sunday at 6pm",
    ],
}


def move_in(platform: Platform) -> None:
    """Put the household into a platform, unless people live there already."""
    platform.control.suggestions = SUGGESTIONS
    if platform.people():
        return
    people = [platform.person(number, name, "en") for number, name in PEOPLE]
    for person in people:
        platform.private_chat(person)
    platform.group(GROUP_TITLE, people)
