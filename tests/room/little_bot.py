"""A little bot in a process of its own: repeats what it hears. Dies unconfirmed, once, when told to."""

from __future__ import annotations

import json
import os
import signal
import sys
import urllib.request
from pathlib import Path
from typing import Any

BASE = os.environ["RILLKEEPER_API_URL"] + os.environ["RILLKEEPER_TOKEN"]
SETTINGS = {name: value for name, value in os.environ.items() if name.startswith("RILLKEEPER_")}


def call(method: str, **params: Any) -> Any:
    body = json.dumps(params).encode()
    request = urllib.request.Request(f"{BASE}/{method}", body, {"Content-Type": "application/json"})  # noqa: S310
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    with opener.open(request, timeout=30) as response:
        return json.load(response)["result"]


def leave(*_: object) -> None:
    Path("left.txt").write_text("cleanly")
    sys.exit(0)


signal.signal(signal.SIGTERM, leave)
Path("settings.json").write_text(json.dumps(SETTINGS))
offset = 0
while True:
    for update in call("getUpdates", offset=offset, timeout=5):
        offset = update["update_id"] + 1
        message = update["message"]
        if message["text"] == "die" and not Path("died.txt").exists():
            Path("died.txt").write_text("once")
            os.kill(os.getpid(), signal.SIGKILL)
        call(
            "sendMessage",
            chat_id=message["chat"]["id"],
            text=f"heard {message['text']}",
            reply_parameters={"message_id": message["message_id"]},
        )
