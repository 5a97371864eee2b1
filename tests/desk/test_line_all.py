"""Many lines worked out at once say what each says by itself, and can be stopped."""

import pytest
from benchmarks.line import zigzag

from takeup.desk import line_all, lines
from takeup.errors import Cancelled
from takeup.line.text import write


@pytest.fixture
def tasks():
    """Two lines that can be worked out, and a text with a fault."""
    text = write(zigzag(2, contact=True))
    return {
        "A": (text, {}, ()),
        "B": (write(zigzag(1, contact=True)), {}, ("EJ-1: a rod circle",)),
        "C": (text.replace('station = "s0.1"', 'station = "nowhere"'), {}, ()),
    }


@pytest.mark.parametrize("workers", [1, 2])
def test_lines_together_say_what_each_says_alone(tasks, workers):
    """In this process or in others, in the order asked, faults told and not raised."""
    found = line_all.work_out_all(tasks, workers=workers)
    assert list(found) == ["A", "B", "C"]
    assert found["A"].report is not None
    assert found["B"].asked == ("EJ-1: a rod circle",)
    assert found["C"].line is None
    for tag, task in tasks.items():
        alone = lines.work_out(*task)
        assert found[tag].faults == alone.faults
        for one, two in zip(found[tag].results, alone.results, strict=True):
            assert one.rows == pytest.approx(two.rows, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize("workers", [1, 2])
def test_working_out_can_be_stopped(tasks, workers):
    """Progress that says stop ends it, wherever the lines are worked out."""
    told = []

    def stop(share: float, text: str) -> None:
        told.append(share)
        if len(told) > 1:
            raise Cancelled("stopped")

    with pytest.raises(Cancelled, match="stopped"):
        line_all.work_out_all(tasks, progress=stop, workers=workers)
    assert all(share < 1.0 for share in told)


def test_every_model_of_a_site_is_worked_out(demo_site):
    """Lines with a model, each as by itself; progress ends at the whole."""
    told = []
    found = line_all.solve_all(demo_site, progress=lambda share, text: told.append(share))
    assert "12-SC" in found
    assert told == sorted(told)
    assert told[-1] == 1.0
    alone = lines.solved(demo_site, "12-SC")
    assert [one.id for one in found["12-SC"].report.checks] == [
        one.id for one in alone.report.checks
    ]
    assert found["12-SC"].ready is not None
    assert line_all.solve_all(demo_site, ["no such line"]) == {}
