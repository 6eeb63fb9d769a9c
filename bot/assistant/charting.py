"""Looking back on the water: which readings, bands and hands a chart shows, and where the values go."""

from __future__ import annotations

from datetime import datetime, timedelta

from bot.assistant.chart_replies import ChartPanel, ChartShown, NothingDrawn, TrendShown
from bot.assistant.replies import Hint
from bot.assistant.scene import Scene
from bot.reader.charts import ChartWish, chart_wish, quantities_named
from domain.bands import Verdict, verdict
from domain.forecast import LOOKS_BACK, Leaves, TooLittle, Trend, trend
from domain.history import QUANTITIES, BandSpan, Hand, Point, Quantity, bands_over, hands, points

__all__ = ["chart", "chart_asked", "leaves_of", "trends_asked"]

USUAL = timedelta(days=30)
"""What a chart shows where no time is named."""


def chart_asked(scene: Scene, args: str) -> ChartShown | NothingDrawn | Hint:
    """The chart that the words after ``chart`` ask for."""
    wish = chart_wish(
        args, now=scene.at, zone=scene.zone, day_first=scene.reader_settings.day_first
    )  # fmt: skip
    if wish.unread:
        return Hint(code="chart_unread", about=wish.unread)
    all_hands = hands(scene.told)
    since = _since(scene, wish, all_hands)
    if since is None:
        return Hint(code="chart_no_hand", about=str(wish.hand).replace("_", " "))
    return chart(scene, wish.whats, since, wish.until or scene.at)


def chart(
    scene: Scene, whats: tuple[Quantity, ...], since: datetime, until: datetime
) -> ChartShown | NothingDrawn:
    """The values over a time, one panel for each that was read in it.

    whats : empty for all.
    """
    all_hands = hands(scene.told)
    read = {what: points(scene.told, what) for what in whats or QUANTITIES}
    shown = {what: _within(found, since, until) for what, found in read.items()}
    if not any(shown.values()):
        outside = [point.at for found in read.values() for point in found if point.at <= scene.at]
        return NothingDrawn(
            whats=whats, since=since, until=until, now=scene.at, latest=max(outside, default=None)
        )
    first = min(found[0].at for found in shown.values() if found)
    is_now = scene.at - until < timedelta(minutes=1)
    drawn = {what: found for what, found in shown.items() if found}
    looked_at = [point.at for found in drawn.values() for point in found]
    bands = bands_over(scene.trusted, tuple(drawn), looked_at, until)
    moves = {what: trend(read[what], all_hands, what, scene.at) if is_now else None for what in drawn}
    return ChartShown(
        panels=tuple(_panel(scene, what, found, bands[what], moves[what]) for what, found in drawn.items()),
        hands=tuple(hand for hand in all_hands if since <= hand.at <= until),
        since=max(since, first),
        until=until,
        now=scene.at,
        missing=tuple(what for what in whats if not shown[what]),
    )


def trends_asked(scene: Scene, text: str) -> TrendShown | NothingDrawn:
    """Where the values go that a question names; where it names none, all that were read of late."""
    asked = quantities_named(text)
    found = chart(scene, asked, scene.at - LOOKS_BACK, scene.at)
    return TrendShown(panels=found.panels, now=scene.at) if isinstance(found, ChartShown) else found


def leaves_of(scene: Scene, moves: Trend) -> Leaves | None:
    """When a value leaves the tolerable band of today; a level: when it falls to the lowest that was set."""
    if moves.what != "level_l":
        band = scene.bands.of(moves.what)
        return moves.leaves(band.tolerable_low, band.tolerable_high)
    lowest = scene.choices.minimum_level_l
    return moves.leaves(lowest, float("inf")) if lowest is not None else None


def _since(scene: Scene, wish: ChartWish, all_hands: tuple[Hand, ...]) -> datetime | None:
    if wish.everything:
        return datetime.min.replace(tzinfo=scene.at.tzinfo)
    if wish.hand is None:
        return wish.since or scene.at - USUAL
    is_dose = wish.hand == "dose"
    fitting = [
        hand.at
        for hand in all_hands
        if hand.at <= scene.at
        and (hand.kind == wish.hand or (is_dose and hand.kind not in ("top_up", "water_change")))
    ]
    return max(fitting, default=None)


def _within(found: tuple[Point, ...], since: datetime, until: datetime) -> tuple[Point, ...]:
    return tuple(point for point in found if since <= point.at <= until)


def _panel(
    scene: Scene,
    what: Quantity,
    shown: tuple[Point, ...],
    bands: tuple[BandSpan, ...],
    moves: Trend | TooLittle | None,
) -> ChartPanel:
    trusted = [point for point in shown if not point.doubted]
    last = trusted[-1] if trusted else shown[-1]
    return ChartPanel(
        what=what,
        points=shown,
        bands=bands,
        last=last,
        verdict=_verdict(scene, what, last) if moves is not None and trusted else None,
        trend=moves,
        leaves=leaves_of(scene, moves) if isinstance(moves, Trend) else None,
    )


def _verdict(scene: Scene, what: Quantity, last: Point) -> Verdict | None:
    return verdict(last.value, scene.bands.of(what)) if what != "level_l" else None
