"""The whole path of a message: by HTTP into the inbox, read, into the journal, the reply by HTTP out again.

Beside it, in the same run and against the same stand-in of the platform, a bare bot that writes one row and
echoes. Each bot is a process of its own. Every message comes from a chat of its own, because a chat gets at
most one reply a second. Of several rounds the best counts: what else the machine does only makes it slower.
Processor time is the steadier figure where the machine is shared.
"""

from __future__ import annotations

import asyncio
import os
import statistics
import sys
import tempfile
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

from demo.room.platform import Platform

__all__ = ["Figure", "measure"]

Figure = tuple[str, float, float, str]
"""What was measured, ours, the plain way's, and the unit."""

ROOT = Path(__file__).parents[1]
TEXT = "ph 6.1 ec 1.4 temp 19"
CROWD = 200
"""How many messages wait at once when throughput is measured, each from a household that is known."""

ROUNDS = 4
"""How often the crowd is measured, after a first time in which each household is new."""

ONE_BY_ONE = 60
"""How many messages are sent one after another when latency is measured."""

OURS = (
    "-c",
    "import asyncio; from bot.settings import load_settings; from bot.telegram.application import run_bot; "
    "asyncio.run(run_bot(load_settings(_env_file=None)))",
)
BARE = ("-m", "benchmarks.bare_bot")


@dataclass(frozen=True, slots=True)
class Costs:
    """What one bot took.

    start_s : from nothing to the first request for news. [s]
    cpu_ms : processor time of the bot for one message of the crowd. [ms]
    """

    start_s: float
    per_second: float
    cpu_ms: float
    median_ms: float
    late_ms: float


async def _costs(*command: str) -> Costs:
    async with Platform() as platform:
        begun_s = time.perf_counter()
        async with _running(platform, *command) as process:
            await platform.until(lambda: _has_polled(platform), timeout=30, what="the first poll")
            start_s = time.perf_counter() - begun_s
            await _crowd(platform, CROWD)
            before_s = _processor_s(process)
            crowd_s = min([await _crowd(platform, CROWD) for _ in range(ROUNDS)])
            cpu_ms = (_processor_s(process) - before_s) * 1000 / (ROUNDS * CROWD)
            latencies_ms = [await _one(platform, place) for place in range(ONE_BY_ONE)]
    late_ms = statistics.quantiles(latencies_ms, n=20)[-1]
    return Costs(start_s, CROWD / crowd_s, cpu_ms, statistics.median(latencies_ms), late_ms)


def _processor_s(process: int) -> float:
    """The processor time that a process has had so far; nought where the system does not tell. [s]"""
    told = Path(f"/proc/{process}/stat")
    if not told.exists():
        return 0.0
    user, system = told.read_text().rpartition(")")[2].split()[11:13]
    return (int(user) + int(system)) / os.sysconf("SC_CLK_TCK")


@asynccontextmanager
async def _running(platform: Platform, *command: str) -> AsyncIterator[int]:
    """Runs a bot; gives the number of its process."""
    with tempfile.TemporaryDirectory() as folder:
        database = Path(folder) / "bench.db"
        surroundings = {
            **{name: value for name, value in os.environ.items() if not name.startswith("RILLKEEPER_")},
            "PYTHONPATH": str(ROOT),
            "RILLKEEPER_TOKEN": platform.token,
            "RILLKEEPER_API_URL": platform.base_url,
            "RILLKEEPER_DATABASE_URL": f"sqlite:///{database}",
        }
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            *command,
            str(database),
            cwd=ROOT,
            env=surroundings,
            stderr=asyncio.subprocess.DEVNULL,
        )
        try:
            yield process.pid
        finally:
            process.terminate()
            await process.wait()


def _has_polled(platform: Platform) -> bool:
    return any(call.method == "getUpdates" for call in platform.calls)


async def _crowd(platform: Platform, count: int) -> float:
    """The time from the first of ``count`` messages to the last reply. [s]"""
    before = len(platform.sent)
    began_s = time.perf_counter()
    for place in range(count):
        _say(platform, place)
    await platform.wait_for_sent(count, since=before, timeout=120)
    return time.perf_counter() - began_s


async def _one(platform: Platform, place: int) -> float:
    """The time from one message to its reply. [ms]"""
    before = len(platform.sent)
    began_s = time.perf_counter()
    _say(platform, place)
    await platform.wait_for_sent(1, since=before, timeout=30)
    return (time.perf_counter() - began_s) * 1000


def _say(platform: Platform, place: int) -> None:
    person = platform.person(1_000 + place, f"Person {place}")
    platform.say(platform.private_chat(person), person, TEXT)


def measure() -> list[Figure]:
    """Throughput, latency and start-up of the whole path, ours and the bare bot's."""
    bare = asyncio.run(_costs(*BARE))
    ours = asyncio.run(_costs(*OURS))
    return [
        (f"whole path, {CROWD} messages at once", ours.per_second, bare.per_second, "messages/s"),
        ("whole path, processor time of one message", ours.cpu_ms, bare.cpu_ms, "ms"),
        ("whole path, one message, median", ours.median_ms, bare.median_ms, "ms"),
        ("whole path, one message, 95 of 100", ours.late_ms, bare.late_ms, "ms"),
        ("start until the first request for news", ours.start_s, bare.start_s, "s"),
    ]
