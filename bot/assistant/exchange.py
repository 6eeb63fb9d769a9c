"""What comes to the assistant and what it sends back, as plain data that names no chat platform."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any, Literal

__all__ = [
    "GENERAL",
    "Answer",
    "Button",
    "ChatRef",
    "Brought",
    "Document",
    "Heard",
    "Letter",
    "KEPT_PHOTO",
    "LetterKind",
    "PersonRef",
    "PhotoRef",
    "Picture",
    "Pressed",
]

GENERAL = ""
"""The topic of a group that has no number: the platform is told none."""

DATA_BYTES = 64
"""The longest button data that the platform takes. [bytes]"""


@dataclass(frozen=True, slots=True)
class ChatRef:
    """Where something was said.

    platform : ``telegram`` or ``terminal``.
    address : the platform's own id of the chat.
    private : one person's chat with the assistant; otherwise a group.
    title : the group's title or the person's name.
    thread : the topic inside a group, where the platform has topics.
    """

    platform: str
    address: str
    private: bool
    title: str = ""
    thread: str | None = None


@dataclass(frozen=True, slots=True)
class PersonRef:
    """Who said it. ``address``: the platform's id; ``None`` for one who hides behind the group."""

    address: str | None
    name: str
    language: str | None = None


@dataclass(frozen=True, slots=True)
class Brought:
    """A file that came with a message.

    id : the platform's reference to it. name : as the sender calls it, never a path.
    size : as the platform tells it. [bytes]
    content : the file; ``None`` where it was not fetched, being too big.
    """

    id: str
    name: str
    size: int
    content: bytes | None = None


@dataclass(frozen=True, slots=True)
class PhotoRef:
    """A photo that came with a message.

    reference : how the platform shows it again. album : what those share that were sent together.
    is_file : it was sent as a file.
    """

    reference: str
    album: str | None = None
    is_file: bool = False


@dataclass(frozen=True, slots=True)
class Heard:
    """One message as it came in.

    message : the platform's id of the message, unique in its chat.
    said_at : when it was sent, aware; an edit keeps the time of the original.
    edited_at : when it was edited; ``None`` for a new message.
    text : what it says, the mention of the assistant cut off.
    command, args : for ``/name args``; ``text`` is then the whole message.
    addressed : in a group, it was meant for the assistant (mention, reply, command).
    file : a document that came with it; ``text`` is then its caption, and may be empty.
    photo : a photo that came with it; likewise.
    """

    chat: ChatRef
    person: PersonRef
    message: str
    said_at: datetime
    text: str
    edited_at: datetime | None = None
    command: str | None = None
    args: str = ""
    addressed: bool = True
    file: Brought | None = None
    photo: PhotoRef | None = None


@dataclass(frozen=True, slots=True)
class Pressed:
    """A button that was pressed.

    press : the platform's id of this press, unique.
    data : what the button carried; never trusted.
    message : the message under which the button stands; ``None`` where the platform no longer shows it.
    """

    chat: ChatRef
    person: PersonRef
    press: str
    pressed_at: datetime
    data: str
    message: str | None = None


@dataclass(frozen=True, slots=True)
class Button:
    """A button under a message. ``data`` is ``v1:verb:id...``, at most 64 bytes."""

    label: str
    data: str

    def __post_init__(self) -> None:
        if not 1 <= len(self.data.encode()) <= DATA_BYTES:
            raise ValueError(f"button data must have 1 to {DATA_BYTES} bytes: {self.data!r}")


LetterKind = Literal["reply", "reminder", "edit", "reaction"]


KEPT_PHOTO = "photo"
"""The kind of picture that nobody draws: a photo of the household's, by the platform's reference."""


@dataclass(frozen=True, slots=True)
class Picture:
    """What a picture shows, in little: it is drawn when the letter leaves (``bot.rendering.pictures``).

    kind : which drawing. data : what it draws, as JSON data.
    """

    kind: str
    data: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Document:
    """A file, in little: it is made when the letter leaves (``bot.archive.documents``).

    kind : which file. name : what it is called where it arrives. data : what it is made from, as JSON data.
    """

    kind: str
    name: str
    data: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Letter:
    """A message on its way out, ready for the platform.

    html : the text, escaped, in the small HTML that chats take; for a ``reaction`` its one emoji.
    buttons : rows of buttons.
    answers : the message it answers (shown as a reply in groups), or reacts to.
    amends : for an ``edit``: the letter (its number in the outbox) whose message is rewritten.
    details : what the ``why`` button shows; escaped HTML.
    silent : arrives without a sound.
    picture : shown above the text, which is then its caption.
    document : sent with the text as its caption; a letter has a picture or a document, not both.
    joins : the token of an invite; a platform that has links for such shows one below the text.
    thread : the topic that it belongs to, GENERAL for the one without a number; ``None``: the chat's home.
    """

    kind: LetterKind
    html: str
    buttons: tuple[tuple[Button, ...], ...] = ()
    answers: str | None = None
    amends: int | None = None
    details: str | None = None
    silent: bool = False
    picture: Picture | None = None
    document: Document | None = None
    joins: str | None = None
    thread: str | None = None

    def as_json(self) -> dict[str, Any]:
        """The letter as the outbox keeps it."""
        return asdict(self)

    @classmethod
    def from_json(cls, kept: Mapping[str, Any]) -> Letter:
        """The letter that ``as_json`` wrote."""
        rows = tuple(tuple(Button(**button) for button in row) for row in kept["buttons"])
        drawn, enclosed = kept.get("picture"), kept.get("document")
        return cls(
            **{
                **kept,
                "buttons": rows,
                "picture": Picture(**drawn) if drawn else None,
                "document": Document(**enclosed) if enclosed else None,
            }
        )


@dataclass(frozen=True, slots=True)
class Answer:
    """What the presser of a button sees at once. ``alert`` must be closed by hand."""

    text: str = ""
    alert: bool = False
