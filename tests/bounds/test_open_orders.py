"""Orders that stay open for many parts at once take work of their own, and that work is bounded too (rule C5)."""

from __future__ import annotations

from circuitcheck.checks.run import MOST_WORK
from circuitcheck.engine import work
from circuitcheck.verify import Exit, verify_text

COUNT = 14


def register() -> str:
    """Set-reset latches behind gates of torches, all let through by one lever: common practice, no source; rule L1."""
    lines = ["lever take starts on", "lever give", "torch dark from give"]
    for number in range(1, COUNT + 1):
        on, off = ("give", "dark") if number == 1 else (f"q_{number - 1}", f"q_{number - 1}.inverse")
        lines.append(f"torch s_{number} from {off}, take")
        lines.append(f"torch r_{number} from {on}, take")
        lines.append(f"latch q_{number} set s_{number} reset r_{number} starts {'set' if number % 2 else 'reset'}")
    return "\n".join(lines)


# The lever that is let go twice has fourteen latches race one another, each with the next.
def test_a_run_in_which_all_of_a_register_races_is_given_up_within_its_work() -> None:
    text = f'{register()}\ncheck "turn"\n  at 4gt take off\n  at 12gt take on\n  at 20gt take off\n  until 60gt\nend\n'
    begun = work.done()
    report = verify_text(text, states=0)
    assert report.exit is Exit.UNDECIDED
    assert work.done() - begun < 3 * MOST_WORK
