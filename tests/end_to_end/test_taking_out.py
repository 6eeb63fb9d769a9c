"""Taking the data out in the chat: a document for one person, in a group only how to get it (Case 74)."""

from __future__ import annotations

import io
import zipfile

from bot_at_home import Home, someone

from demo.room.platform import Sent


def inside(sent: Sent) -> dict[str, bytes]:
    assert sent.file is not None
    with zipfile.ZipFile(io.BytesIO(sent.file)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


async def test_export_in_private_sends_that_households_data_alone(home: Home) -> None:
    ana, chat = someone(home.platform)
    zoltan, next_door = someone(home.platform, 6, "Zoltan")
    await home.start()
    home.platform.say(next_door, zoltan, "note: my neighbours must not read this")
    home.platform.say(chat, ana, "ph 6.4")
    home.platform.say(chat, ana, "note: =1+1 on B2")
    await home.until_facts(chat, 2)
    await home.until_facts(next_door, 1)
    home.platform.say(chat, ana, "/export")
    await home.platform.until(lambda: any(sent.file for sent in home.platform.sent), what="the archive")
    (sent,) = [sent for sent in home.platform.sent if sent.file]
    assert (sent.method, sent.chat_id) == ("sendDocument", chat.id)
    assert sent.file_name.endswith(".zip")
    everything = b"".join(inside(sent).values())
    assert b"6.4" in everything
    assert b"neighbours" not in everything
    assert b"Zoltan" not in everything


async def test_export_in_a_group_points_the_way_and_a_press_brings_it_in_private(home: Home) -> None:
    ana, private = someone(home.platform)
    ben = home.platform.person(7, "Ben")
    group = home.platform.group("Balcony", [ana, ben])
    await home.start()
    home.platform.say(group, ana, "ph 6.4")
    await home.until_facts(group, 1)
    home.platform.say(group, ana, "/export@lab_bot")
    await home.platform.until(lambda: any(s.labels == ["Send it to me"] for s in home.platform.sent))
    (pointer,) = [sent for sent in home.platform.sent if sent.labels == ["Send it to me"]]
    assert not any(sent.file for sent in home.platform.sent)
    home.platform.press(pointer, "Send it to me", ben)  # Ben has never written to the bot in private
    (refused,) = await home.platform.wait_for_answers(1)
    assert refused.alert
    home.platform.say(private, ana, "/help")
    home.platform.press(pointer, "Send it to me", ana)
    await home.platform.until(lambda: any(sent.file for sent in home.platform.sent), what="the archive")
    (sent,) = [sent for sent in home.platform.sent if sent.file]
    assert sent.chat_id == private.id
    assert b"6.4" in inside(sent)["journal.jsonl"]
