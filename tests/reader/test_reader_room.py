"""What the reader's room promises besides reading: quick to import, and pure."""

import json
import subprocess
import sys

HEAVY = ("pint", "dateparser", "numpy", "scipy", "sqlalchemy", "telegram", "storage")
BOUND_S = 0.3
"""How long the import may take, in processor time. [s]"""

_IMPORT = """
import json, sys, time
start = time.process_time()
import bot.reader
took_s = time.process_time() - start
print(json.dumps({"took_s": took_s, "modules": sorted(name.partition(".")[0] for name in sys.modules)}))
"""


def test_the_reader_is_quick_to_import_and_brings_nothing_heavy() -> None:
    runs = [_import() for _ in range(3)]
    assert min(run["took_s"] for run in runs) < BOUND_S
    assert not set(HEAVY) & set(runs[0]["modules"])


def _import() -> dict:
    done = subprocess.run([sys.executable, "-c", _IMPORT], capture_output=True, text=True, check=True)
    return json.loads(done.stdout)
