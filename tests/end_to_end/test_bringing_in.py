"""Files sent in the chat: looked at, shown, and taken in by a press; never run, never trusted."""

from __future__ import annotations

import io
import time
import zipfile
from typing import Any

import pytest
from bot_at_home import Home, someone

from bot.assistant import bringing_in
from demo.room.platform import Sent

NOTES = b"Date,pH,ppm,notes\n2026-05-01,6.1,720,changed the water\n2026-05-02 19:30,5.9,,all fine\n"


def said(sent: Sent) -> str:
    """Its words, wherever its lines break."""
    return " ".join(sent.text.split())


async def newest(home: Home, words: str) -> Sent:
    def found() -> list[Sent]:
        return [sent for sent in home.platform.sent if words in said(sent)]

    await home.platform.until(lambda: bool(found()), what=words)
    return found()[-1]


async def test_notes_are_shown_first_and_kept_by_a_press_and_undone_at_once(home: Home) -> None:
    ana, chat = someone(home.platform)
    await home.start()
    home.platform.send_file(chat, ana, "notes.csv", NOTES, mime_type="text/csv")
    shown = await newest(home, "Nothing is kept yet")
    assert "date, pH, ppm, notes." in said(shown)
    assert await home.facts(chat) == []
    home.platform.press(shown, "Keep it", ana)
    home.platform.press(shown, "Keep it", ana)
    kinds = sorted(fact.kind for fact in await home.until_facts(chat, 4))
    assert kinds == ["observation", "reading", "reading", "water_change"]
    kept = await newest(home, "Kept")
    assert (kept.method, kept.message_id) == ("editMessageText", shown.message_id)
    await home.platform.wait_for_answers(2)
    assert len(await home.facts(chat)) == 4
    home.platform.press(kept, "Undo", ana)
    await home.platform.wait_for_answers(3)
    assert await home.facts(chat) == []


async def test_a_file_that_takes_longer_than_the_lease_is_read_once(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Case 67: thousands of rows take a minute on a small machine, and nobody else begins anew meanwhile."""
    ana, chat = someone(home.platform)
    reads: list[str] = []
    look_at = bringing_in.look_at

    def slowly(name: str, *rest: Any) -> bringing_in.Looked:
        reads.append(name)
        time.sleep(1.0)
        return look_at(name, *rest)

    monkeypatch.setattr(bringing_in, "look_at", slowly)
    home.clock.run_at(1.0)
    await home.start(inbox_lease_s=0.3)
    home.platform.send_file(chat, ana, "notes.csv", NOTES, mime_type="text/csv")
    await newest(home, "Nothing is kept yet")
    await home.platform.settled()
    assert reads == ["notes.csv"]


async def test_what_is_too_big_is_refused_before_it_is_fetched(home: Home) -> None:
    """Case 67."""
    ana, chat = someone(home.platform)
    await home.start()
    home.platform.send_file(chat, ana, "../../x.csv", NOTES, size=25 * 1024 * 1024)
    refused = await newest(home, "Nothing was kept")
    assert "20 MB" in said(refused)
    assert not any(call.method == "getFile" for call in home.platform.calls)


async def test_a_name_that_is_a_path_and_a_cell_that_is_a_formula_come_to_nothing(home: Home) -> None:
    """Case 67."""
    ana, chat = someone(home.platform)
    await home.start()
    home.platform.send_file(chat, ana, "../../x.csv", b"date,ph,notes\n2026-05-01,6,=cmd|' /C calc'!A0\n")
    refused = await newest(home, "Nothing was kept")
    assert "Line 2" in said(refused)
    assert "formula" in said(refused)
    assert not refused.buttons
    assert await home.facts(chat) == []


async def test_an_archive_goes_out_is_forgotten_elsewhere_and_comes_in_again(home: Home) -> None:
    ana, chat = someone(home.platform)
    ben, new = someone(home.platform, 6, "Ben")
    await home.start()
    home.platform.say(chat, ana, "ph 6.4")
    home.platform.say(chat, ana, "sowed basil in A1-A3")
    await home.until_facts(chat, 2)
    home.platform.say(chat, ana, "/export")
    await home.platform.until(lambda: any(sent.file for sent in home.platform.sent), what="the archive")
    archive = next(sent.file for sent in home.platform.sent if sent.file)
    home.platform.send_file(new, ben, "home.zip", archive)
    shown = await newest(home, "An archive")
    home.platform.press(shown, "Keep it", ben)
    assert await home.until_facts(new, 2) == await home.facts(chat)
    home.platform.send_file(new, ben, "home.zip", archive)
    assert "empty journal" in said(await newest(home, "Nothing was kept"))


async def test_a_file_between_members_of_a_group_is_not_touched(home: Home) -> None:
    ana = home.platform.person(5, "Ana")
    group = home.platform.group("Balcony", [ana])
    await home.start()
    home.platform.send_file(group, ana, "holiday.csv", NOTES)
    home.platform.say(group, ana, "ph 6.4")
    await home.until_facts(group, 1)
    assert not any(call.method == "getFile" for call in home.platform.calls)


async def test_a_zip_that_claims_a_gigabyte_is_left_closed(home: Home) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as bomb:
        bomb.writestr("journal.jsonl", b"0" * (200 * 1024 * 1024))
        bomb.writestr("household.json", b"{}")
    ana, chat = someone(home.platform)
    await home.start()
    home.platform.send_file(chat, ana, "bomb.zip", out.getvalue())
    assert "far too much" in said(await newest(home, "Nothing was kept"))
