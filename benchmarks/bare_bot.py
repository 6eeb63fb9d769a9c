"""The other side of the comparison: about the least that a bot on python-telegram-bot can do.

One handler, one row into SQLite without an ORM, one reply. It confirms before it handles, keeps no order
across a restart, and loses what it held when it dies.
"""

from __future__ import annotations

import os
import sqlite3
import sys

from telegram import Update
from telegram.ext import ApplicationBuilder, ContextTypes, MessageHandler, filters


def main(database: str) -> None:
    kept = sqlite3.connect(database, isolation_level=None)
    kept.execute("CREATE TABLE said (chat INTEGER, message INTEGER, text TEXT)")

    async def echo(update: Update, _context: ContextTypes.DEFAULT_TYPE) -> None:
        message = update.message
        if message is None or message.text is None:
            return
        row = (message.chat_id, message.message_id, message.text)
        kept.execute("INSERT INTO said VALUES (?, ?, ?)", row)
        await message.reply_text(message.text)

    app = (
        ApplicationBuilder()
        .token(os.environ["RILLKEEPER_TOKEN"])
        .base_url(os.environ["RILLKEEPER_API_URL"])
        .build()
    )
    app.add_handler(MessageHandler(filters.TEXT, echo))
    app.run_polling()


if __name__ == "__main__":
    main(sys.argv[1])
