"""The weekly digest: asked for, turned off and on in words, and put together when it is due."""

from __future__ import annotations

import re
from datetime import datetime

from bot.assistant.chart_replies import ChartShown, DigestShown
from bot.assistant.charting import chart
from bot.assistant.scene import Scene
from bot.reader import Found, Read
from domain.digest import DIGEST, LOOKED_BACK, USUAL_RULE, week_of
from domain.facts import Setting

__all__ = ["about_digest", "digest"]

_NAME = r"(?:the |our |my )?(?:weekly )?(?:digest|summary)"
_OFF = re.compile(
    rf"(?:{_NAME} off|no (?:more )?{_NAME}|(?:stop|end|mute) {_NAME}|turn (?:off {_NAME}|{_NAME} off))", re.I
)
_ON = re.compile(rf"(?:{_NAME} on|(?:start|resume) {_NAME}|turn (?:on {_NAME}|{_NAME} on))", re.I)


def about_digest(text: str, at: datetime) -> Read | None:
    """``no weekly digest`` or ``digest on`` as a setting; ``None`` for any other text."""
    said = text.strip().rstrip(".!").strip()
    rrule = "" if _OFF.fullmatch(said) else USUAL_RULE if _ON.fullmatch(said) else None
    if rrule is None:
        return None
    setting = Setting(name="interval", task=DIGEST, rrule=rrule, when=at)
    return Read(facts=(Found(fact=setting, span=(0, len(text))),), unclear=())


def digest(
    scene: Scene, reminder: int | None = None, planned_at: datetime | None = None
) -> DigestShown | None:
    """The week until now; ``None`` where nothing was logged in it.

    reminder, planned_at : of the reminder that brings it, for its button; ``None`` where it was asked for.
    """
    week = week_of(scene.trusted, scene.garden, scene.bands, tuple(scene.dues.values()), scene.at)
    if not week.entries:
        return None
    drawn = chart(scene, (), scene.at - LOOKED_BACK, scene.at)
    return DigestShown(
        week=week,
        chart=drawn if isinstance(drawn, ChartShown) else None,
        now=scene.at,
        reminder=reminder,
        planned_at=planned_at,
    )
