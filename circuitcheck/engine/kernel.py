"""The kernel: the one loop that carries out what is due, and the theory of operation.

Theory. A circuit changes only at moments at which a wait is over or somebody acts from outside. A wait stands in
the calendar under the gt in which it is over and its order class (rule C3), and within those in the order in which
it began. One gt runs so (rule C2): waits that are over, class by class; water that looks; pistons that were called;
what is in motion and lands (all three stand in the calendar as later classes of their gt); outside actions, last or,
under another setting, first.

When a device changes its level, every port it feeds is read afresh, and each device with a port whose level has
changed is updated; only then does the next device act. A stroke changes the wiring itself, and all ports are then read
afresh (`engine.stroking`). Devices updated by one change may begin waits that are over in one gt and class: their order
is unknown (rule C5). Where it can matter it is left open: one simulator stands for all orders (`engine.ties`).
Only when two devices come up to act and it matters to what they do which is first, the simulator is split into copies,
one for each order, and all go on (`engine.deciding`). `engine.orders` says which orders matter.

The kernel knows nothing of open orders. It stops and hands back where a change is to be told whose readers may tie, or
reads more than they do of each other, and where a slot comes up while an order is open. `engine.simulator` decides,
and lets it go on.
"""

from __future__ import annotations

from heapq import heappop, heappush

from circuitcheck.engine.memory import CLASS_MASK, Memory
from circuitcheck.engine.wiring import read
from circuitcheck.model.parts.waits import CLASS_BITS

NOTHING_DUE = -1
SLOT_COMES_UP = -2


def run(memory: Memory, limit: int) -> int:
    """Runs on until everything below a key is done. Returns NOTHING_DUE then.

    Returns SLOT_COMES_UP before the next devices act while an order is open, and the number of a device whose change is
    to be told where `Wiring.direct` does not say to whom.

    All time is spent in this loop: it says again what `Memory.begin` and `Memory.take_slot` do, because calls would
    cost more than what they do (measured on a ring of torches).
    """
    acts, direct = memory.wiring.acts, memory.wiring.direct
    levels, readings, waiting = memory.levels, memory.readings, memory.waiting
    calendar, keys, acting, pending, deferred = (
        memory.calendar,
        memory.keys,
        memory.acting,
        memory.pending,
        memory.deferred,
    )
    orders_open = memory.ties is not None
    watched = orders_open or memory.recorder is not None
    now = memory.now << CLASS_BITS
    while True:
        if pending:
            changed = pending.pop(0)
        elif deferred:
            memory.program.devices[deferred.pop()].after(memory)
            continue
        else:
            if not acting:
                if not keys or keys[0] >= limit:
                    return NOTHING_DUE
                memory.now = keys[0] >> CLASS_BITS
                if orders_open:
                    return SLOT_COMES_UP
                key = heappop(keys)
                now = key & ~CLASS_MASK
                memory.order_class = key & CLASS_MASK
                acting += calendar.pop(key)
                if len(acting) > 1:
                    acting.reverse()
            changed = acting.pop()
            waiting[changed] = 0
            if watched:
                memory.take_turn(changed)
            level = acts[changed](memory)
            if level == levels[changed]:
                continue
            if watched:
                memory.is_changing(changed, level)
            levels[changed] = level
        reached = direct[changed]
        if reached is None:
            return changed
        if watched:
            memory.telling = changed
        for port, loss, feeds, _, device, on_input_change, waits in reached:
            level = levels[changed] - loss if feeds is None else read(feeds, levels)
            if level < 0:
                level = 0
            if level == readings[port]:
                continue
            readings[port] = level
            if waits is None:
                wait = on_input_change(memory)
            else:  # a part that only reacts (`model.parts.base.Reaction`)
                wait = waits[(2 if level else 0) + (1 if levels[device] else 0)]
                if waiting[device]:
                    wait = 0 if wait else on_input_change(memory)
            if not wait:
                continue
            if watched:
                memory.begin(device, wait)
                continue
            waiting[device] = 1
            key = now + wait
            if key in calendar:
                calendar[key].append(device)
            else:
                calendar[key] = [device]
                heappush(keys, key)
