"""What the reader's room promises besides reading: quick to import, and pure."""

import json
import subprocess
import sys

HEAVY = ("pint", "dateparser", "numpy", "scipy", "sqlalchemy", "telegram", "storage")
BOUND = 1000
"""How many pieces of plain work the import may take: 0.3 s on the machine that the contract's bounds are for,
where a piece takes 0.30 ms (``benchmarks.longest``)."""

_IMPORT = """
import json, sys, time
start = time.process_time()
import bot.reader
took_s = time.process_time() - start
modules = sorted(name.partition(".")[0] for name in sys.modules)
from benchmarks.longest import plain_work
plain_work()
start = time.process_time()
for _ in range(100):
    plain_work()
piece_s = (time.process_time() - start) / 100
print(json.dumps({"pieces": took_s / piece_s, "modules": modules}))
"""


def test_the_reader_is_quick_to_import_and_brings_nothing_heavy() -> None:
    runs = [_import() for _ in range(3)]
    assert min(run["pieces"] for run in runs) < BOUND
    assert not set(HEAVY) & set(runs[0]["modules"])


def _import() -> dict:
    done = subprocess.run([sys.executable, "-c", _IMPORT], capture_output=True, text=True, check=True)
    return json.loads(done.stdout)
