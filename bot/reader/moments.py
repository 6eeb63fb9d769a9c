"""Which moment a time phrase means: a record looks back, a reminder looks forward."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from bot.reader.timewords import PARTS, Day, TimePhrase

__all__ = ["REMINDER_TIME", "Moments", "NoSuchMoment"]

REMINDER_TIME = time(9)
"""When a reminder without a time comes (message contract, rule 10)."""

NEAR = timedelta(hours=2)
"""So long before its nominal time, ``evening`` may already be said of now."""


class NoSuchMoment(ValueError):
    """A phrase that names no day of the calendar, or lies on the wrong side of now."""


@dataclass(frozen=True, slots=True)
class Moments:
    """Resolves time phrases for one message.

    now : when the message was sent, in the household's zone.
    zone : the household's zone; local times are resolved in it.
    """

    now: datetime
    zone: ZoneInfo

    @classmethod
    def of(cls, now: datetime, zone: ZoneInfo) -> Moments:
        """Moments for a message sent at ``now`` (aware)."""
        return cls(now.astimezone(zone), zone)

    def at_local(self, local: datetime) -> datetime:
        """A wall-clock time in the zone: one that does not exist moves forward, of two the first."""
        aware = local.replace(tzinfo=self.zone, fold=0)
        return datetime.fromtimestamp(aware.timestamp(), self.zone)

    def elapsed(self, span: timedelta) -> datetime:
        """``span`` of real time after now."""
        return datetime.fromtimestamp(self.now.timestamp() + span.total_seconds(), self.zone)

    def of_record(self, phrase: TimePhrase | None) -> datetime:
        """When something that was recorded happened.

        Raises NoSuchMoment for a day that does not exist, or one that has not come yet.
        """
        if phrase is None:
            return self.now
        if phrase.elapsed is not None:
            return self._not_later(self.elapsed(phrase.elapsed))
        if phrase.day is None:
            return self._last_clock(phrase)
        if phrase.day.kind == "offset" and phrase.day.number == 0:
            return self._today(phrase)
        day = self._past_day(phrase.day)
        if day == self.now.date():
            moment = self._last_of(day, phrase)
            if moment > self.now and phrase.day.kind == "weekday":
                moment = self._last_of(day - timedelta(days=7), phrase)
            return self._not_later(moment)
        return self._not_later(self._last_of(day, phrase))

    def of_reminder(self, phrase: TimePhrase | None) -> datetime:
        """When a reminder shall come: the first such moment that is still ahead.

        Raises NoSuchMoment for a day that does not exist, or a full date that is past.
        """
        if phrase is None:
            phrase = TimePhrase(0)
        if phrase.elapsed is not None:
            return self.elapsed(phrase.elapsed)
        clock = self._reminder_clock(phrase)
        day = phrase.day
        today = self.now.date()
        if day is None:
            moment = self.at_local(datetime.combine(today, clock))
            return moment if moment > self.now else self.at_local(datetime.combine(_later(today, 1), clock))
        if day.kind == "weekday":
            ahead = (day.number - today.weekday()) % 7 or (7 if day.turn == "next" else 0)
            moment = self.at_local(datetime.combine(_later(today, ahead), clock))
            return (
                moment
                if moment > self.now
                else self.at_local(datetime.combine(_later(today, ahead + 7), clock))
            )
        if day.kind == "offset":
            moment = self.at_local(datetime.combine(_later(today, day.number), clock))
        else:
            moment = self._coming_date(day, clock)
        if moment <= self.now:
            raise NoSuchMoment("in the past")
        return moment

    def _reminder_clock(self, phrase: TimePhrase) -> time:
        """The time of day, bare hours by rule 10: 1 to 6 in the afternoon, 7 to 11 in the morning."""
        if phrase.clock is None:
            return time(PARTS[phrase.part]) if phrase.part else REMINDER_TIME
        hour = phrase.clock.hour
        if phrase.clock.bare or phrase.clock.loose:
            if phrase.part:
                hour = _hour_in(phrase.part, hour)
            elif 1 <= hour <= 6:
                hour += 12
        return time(hour, phrase.clock.minute)

    def _coming_date(self, day: Day, clock: time) -> datetime:
        if day.year:
            return self.at_local(datetime.combine(_date(day.year, day.month, day.number), clock))
        for year, month in self._months_ahead(day.month):
            try:
                moment = self.at_local(datetime.combine(_date(year, month, day.number), clock))
            except NoSuchMoment:
                continue
            if moment > self.now:
                return moment
        raise NoSuchMoment("no such day")

    def _months_ahead(self, month: int) -> list[tuple[int, int]]:
        """The months in which a coming day may lie: the named one of every year, or each month of one."""
        if month:
            return [
                (self.now.year + years, month) for years in range(9)
            ]  # 29 February may be eight years off
        return [_month_after(self.now.date(), months) for months in range(13)]

    def _past_day(self, day: Day) -> date:
        today = self.now.date()
        if day.kind == "offset":
            return _later(today, day.number)
        if day.kind == "weekday":
            if day.turn == "next":
                raise NoSuchMoment("in the future")
            back = (today.weekday() - day.number) % 7
            return today - timedelta(days=back or (7 if day.turn == "last" else 0))
        if day.year:
            return _date(day.year, day.month, day.number)
        if not day.month:
            for month in range(12):
                year, number = _month_after(today, -month)
                try:
                    found = _date(year, number, day.number)
                except NoSuchMoment:
                    continue
                if found <= today:
                    return found
            raise NoSuchMoment("no such day")
        for year in (today.year, today.year - 1, today.year - 2, today.year - 3, today.year - 4):
            try:
                found = _date(year, day.month, day.number)
            except NoSuchMoment:
                continue
            if found <= today:
                return found
        raise NoSuchMoment("no such day")

    def _today(self, phrase: TimePhrase) -> datetime:
        moment = self._last_of(self.now.date(), phrase)
        if moment > self.now and phrase.clock is None:
            return self.now
        return self._not_later(moment)

    def _last_clock(self, phrase: TimePhrase) -> datetime:
        """The latest such time of day that is not ahead."""
        today = self.now.date()
        moment = self._last_of(today, phrase)
        if moment <= self.now:
            return moment
        if phrase.clock is None and phrase.part not in ("noon", "midday") and moment - self.now <= NEAR:
            return self.now
        return self._last_of(today - timedelta(days=1), phrase)

    def _last_of(self, day: date, phrase: TimePhrase) -> datetime:
        """The moment on ``day``; of the two that a bare hour may mean the later one that is not ahead."""
        clock, part = phrase.clock, phrase.part
        if clock is None:
            local = time(PARTS[part]) if part else self.now.time().replace(tzinfo=None)
            return self.at_local(datetime.combine(day, local))
        if part:
            hour = _hour_in(part, clock.hour) if clock.bare or clock.loose else clock.hour
            return self.at_local(datetime.combine(day, time(hour, clock.minute)))
        if clock.bare:
            late = self.at_local(datetime.combine(day, time(clock.hour % 12 + 12, clock.minute)))
            if late <= self.now:
                return late
            return self.at_local(datetime.combine(day, time(clock.hour % 12, clock.minute)))
        return self.at_local(datetime.combine(day, time(clock.hour, clock.minute)))

    def _not_later(self, moment: datetime) -> datetime:
        if moment > self.now:
            raise NoSuchMoment("in the future")
        return moment


def _later(day: date, days: int) -> date:
    try:
        return day + timedelta(days=days)
    except OverflowError:
        raise NoSuchMoment("beyond the calendar") from None


def _hour_in(part: str, hour: int) -> int:
    """``7`` in the evening is 19, in the morning 7."""
    if part in ("afternoon", "arvo", "evening", "tonight") or (part == "night" and hour >= 6):
        return hour % 12 + 12
    return hour % 12 if part in ("morning", "night") else hour


def _month_after(day: date, months: int) -> tuple[int, int]:
    count = day.year * 12 + day.month - 1 + months
    return count // 12, count % 12 + 1


def _date(year: int, month: int, day: int) -> date:
    try:
        return date(year, month, day)
    except ValueError:
        raise NoSuchMoment("no such day") from None
