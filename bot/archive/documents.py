"""The files that letters carry in little, made when a letter leaves."""

from __future__ import annotations

import asyncio
from datetime import datetime
from functools import partial

from bot.archive.pack import calendar_of, packed
from bot.assistant.exchange import Document
from storage.engine import Store

__all__ = ["made"]

_WRITERS = {"archive": packed, "calendar": calendar_of}


async def made(store: Store, document: Document) -> bytes:
    """The file's bytes, from what the household had said when the letter was written.

    Made in a thread of its own. Raises KeyError for a kind that this version does not know.
    """
    write, data = _WRITERS[document.kind], document.data
    async with store.read() as tx:
        kept = await tx.transfer.holdings(data["household"], up_to=data["up_to"])
    return await asyncio.to_thread(partial(write, kept, now=datetime.fromisoformat(data["at"])))
