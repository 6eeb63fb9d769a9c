"""Pages of the journal in the chat: one message whose page is turned."""

from __future__ import annotations

from bot_at_home import Home, someone


async def test_the_page_is_turned_in_its_place(home: Home) -> None:
    ana, chat = someone(home.platform)
    await home.start()
    for number in range(9):
        home.platform.say(chat, ana, f"ph 6.0{number + 1}")
    await home.until_facts(chat, 9)
    await home.platform.wait_for_sent(9)
    home.platform.say(chat, ana, "/journal")
    page = (await home.platform.wait_for_sent(1, since=9))[0]
    assert "6.02" in page.text
    assert "6.01" not in page.text
    home.platform.press(page, "Older", ana)
    turned = (await home.platform.wait_for_sent(1, since=10))[0]
    assert turned.method == "editMessageText"
    assert turned.message_id == page.message_id
    assert "6.01" in turned.text
    home.platform.press(turned, "v1:turn:99999999:3", ana)
    await home.platform.wait_for_answers(2)
    assert "old" in home.platform.answers[1].text
