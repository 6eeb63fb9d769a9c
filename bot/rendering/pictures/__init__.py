"""Pictures: from the small specification that a letter keeps to a PNG.

What a picture shows is decided with the reply and kept as data; it is drawn when the letter leaves. The
drawing library is imported with the first picture, for it takes half a second that most runs never need.
"""

from __future__ import annotations

from threading import Lock

from bot.assistant.exchange import Picture
from bot.rendering.pictures.chart import CHART
from bot.rendering.pictures.site_map import SITE_MAP

__all__ = ["UnknownPicture", "drawn"]

# The library shares fonts and caches between figures and does not promise to be safe in threads.
_ONE_AT_A_TIME = Lock()


class UnknownPicture(ValueError):
    """Nobody here knows how to draw this."""


def drawn(picture: Picture) -> bytes:
    """The picture as PNG, 1080 pixels wide. Takes some 0.1 s: call it off the event loop.

    Raises UnknownPicture for a kind that is not known, ValueError for data that is none of its kind.
    """
    if picture.kind not in (SITE_MAP, CHART):
        raise UnknownPicture(picture.kind)
    from bot.rendering.pictures.chart_figure import chart_figure
    from bot.rendering.pictures.sheet import png_of
    from bot.rendering.pictures.site_map_figure import site_map_figure

    figure_of = {SITE_MAP: site_map_figure, CHART: chart_figure}[picture.kind]
    with _ONE_AT_A_TIME:
        return png_of(figure_of(picture.data))
