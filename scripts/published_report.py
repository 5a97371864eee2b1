"""Print the published, derived and frozen values that deviate most from what Takeup gives."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "published"))


def main() -> int:
    """Print the worst rows first; 1 when any is outside its tolerance."""
    from test_published import deviations

    rows = sorted(deviations(), key=lambda row: -row.relative)
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    print(f"{len(rows)} values; the {min(count, len(rows))} largest deviations")
    print(
        f"{'case':44} {'value':14} {'kind':10} {'expected':>13} {'got':>13} {'rel':>9}  tolerance"
    )
    for row in rows[:count]:
        mark = "" if row.good else "  OUTSIDE"
        print(
            f"{row.id:44} {row.name:14} {row.kind:10} {row.expected:13.6g} {row.got:13.6g} "
            f"{row.relative:9.2e}  {row.tolerance}{mark}"
        )
    return 0 if all(row.good for row in rows) else 1


if __name__ == "__main__":
    raise SystemExit(main())
