"""Photos that come with words: kept by the platform's reference, and shown again from the journal."""

from __future__ import annotations

from dataclasses import replace

from bot.assistant.data_replies import PhotoShown
from bot.assistant.exchange import Heard, PhotoRef
from bot.assistant.replies import Hint, Reply
from bot.assistant.scene import Outcome, Scene
from storage.engine import Transaction
from storage.photos import Photo

__all__ = ["considered", "shown"]


async def considered(tx: Transaction, outcome: Outcome, heard: Heard, photo: PhotoRef) -> Outcome:
    """Keeps the photo of a message that was kept, and those of an album, each a message of its own.

    The words stand under one photo of an album, whichever comes first; nothing is said to the others.
    """
    scene = outcome.scene
    was_kept = await tx.journal.last(scene.chat.id, heard.message) is not None
    if was_kept or photo.album is not None:
        await tx.photos.keep(
            scene.household_id,
            scene.chat.id,
            scene.person.id,
            heard.message,
            Photo(photo.reference, photo.is_file),
            album=photo.album,
            now=scene.now,
        )
    if heard.text:
        return outcome
    alone = photo.album is None and scene.chat.private
    return replace(outcome, replies=(Hint(code="photo_no_words"),) if alone else ())


async def shown(tx: Transaction, scene: Scene, entry_id: int | None) -> tuple[Reply, ...]:
    """The photos that came with an entry of this household; empty where it has no such entry."""
    entry = next((entry for entry in scene.entries if entry.id == entry_id), None)
    if entry is None:
        return ()
    chat_id, _, message = entry.message_key.partition(":")
    found = await tx.photos.of(scene.household_id, int(chat_id), message)
    said = tuple(each.fact for each in scene.entries if each.message_key == entry.message_key)
    return tuple(
        PhotoShown(
            reference=photo.reference,
            is_file=photo.is_file,
            at=entry.happened_at,
            author=entry.author,
            facts=said,
            place=place,
            total=len(found),
        )
        for place, photo in enumerate(found, start=1)
    ) or (Hint(code="photo_gone"),)
