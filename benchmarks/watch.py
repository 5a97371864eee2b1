"""How soon a sick bellows temperature is told, and how often a healthy one cries: a report.

python -m benchmarks.watch
"""

from __future__ import annotations

import time

import numpy as np
from tests.evidence.test_alerts import asked, healthy

from takeup.evidence.alerts import AlertKind


def main() -> None:
    """Print false alerts per tag-year and delays."""
    tags, days = 60, 1460
    began = time.perf_counter()
    cries, looks = 0, 0
    for seed in range(tags):
        value = healthy(1000 + seed, days)
        for end in range(800, days, 90):
            looks += 1
            cries += bool(asked(value[:end]))
    took = time.perf_counter() - began
    print(f"healthy: {cries} alerts in {looks} looks, one each 90 days: "
          f"{cries / (looks * 90 / 365.25):.3f} a tag-year; {took / looks * 1e3:.0f} ms a look")  # fmt: skip
    print("step K   told in days (median, slowest of 20)   missed within 60")
    for size in (8.0, 12.0, 20.0, 40.0, -20.0):
        delays = []
        for seed in range(20):
            value = healthy(2000 + seed, 900)
            delay = None
            for after in (7, 10, 14, 21, 28, 40, 60):
                sick = value.copy()
                sick[-after:] += size
                if any(a.kind in {AlertKind.STEP_UP, AlertKind.STEP_DOWN, AlertKind.ABOVE,
                                  AlertKind.BELOW} for a in asked(sick)):  # fmt: skip
                    delay = after
                    break
            delays.append(delay)
        told = [d for d in delays if d is not None]
        words = f"{np.median(told):.0f}, {max(told)}" if told else "none"
        print(f"{size:+6.0f}   {words:>36}   {delays.count(None)}")


if __name__ == "__main__":
    main()
