"""What a layout brings with it that no claim of its file is about, looked at by the doors of plans."""

from __future__ import annotations

from circuitcheck.examine import opened_as_read
from circuitcheck.language.load import Loaded
from circuitcheck.placing.task import Task
from circuitcheck.plans.looking_after import Laid, LookedAt, looked_at


def look(task: Task, text: str) -> LookedAt:
    """Looks at the file with its drawing, and at the drawing that it had before, if it had one."""
    before = None if task.drawn is None else _laid(task.loaded, task.of)
    return looked_at(_laid(task.read(text), task.of), before)


def _laid(loaded: Loaded, of: str) -> Laid:
    opened = opened_as_read(loaded, of)
    drawn = opened.drawn
    return Laid(drawn.drawing, drawn.circuit, drawn.meant, opened.where)
