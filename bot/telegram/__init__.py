"""The assistant's Telegram side: updates in, letters out. The one place that knows python-telegram-bot."""

import os

# From its next major version on the library gives spans of time as timedelta; until then it warns at every
# 429 unless it is asked for that.
os.environ.setdefault("PTB_TIMEDELTA", "true")
