"""Two circuits that are too large to be looked at whole: 160 gates with 36 inputs, fourteen flip-flops with one clock.

160 gates, 36 inputs and 7 outputs are the size of c432 in the ISCAS '85 set (F. Brglez and H. Fujiwara, "A neutral
netlist of 10 combinational benchmark circuits", ISCAS 1985), from memory; the gates themselves are drawn at random
here, NOR gates all of them, a torch each (rule T1).
"""

from __future__ import annotations

import random

from outside.building import circuit_text, gate

INPUTS = 36
WIDTHS = (22, 20, 18, 17, 16, 14, 13, 12, 11, 10, 7)
"""How many gates each layer has, from the inputs on: 160 together."""
FLIP_FLOPS = 14


def gate_circuit(*asked: str, seed: int = 432) -> str:
    """160 NOR gates; what no gate reads is shown by lamps `out1` to `out7`. Lines that ask something come last."""
    draw = random.Random(seed)
    known = [f"n{number}" for number in range(1, INPUTS + 1)]
    lines = [f"lever {name}" for name in known]
    unread = list(known)
    for width in WIDTHS:
        draw.shuffle(unread)
        layer = [f"g{len(known) - INPUTS + place}" for place in range(1, width + 1)]
        near = known[-2 * max(width, INPUTS // 2) :]
        for place, name in enumerate(layer):
            feeds = unread[place::width]
            while len(feeds) < 2 or draw.random() < 0.25:
                other = draw.choice(near)
                feeds += [other] if other not in feeds else []
            lines.append(f"torch {name} from {', '.join(feeds)}")
        known += layer
        unread = list(layer)
    lines += [f"lamp out{number} from {name}" for number, name in enumerate(unread, 1)]
    return "\n".join(["language 1", "circuit gates", "rules newer", *lines, *asked, ""])


def register_circuit(*asked: str) -> str:
    """Fourteen flip-flops with one clock, two data latches each; the XOR of the last two goes into the first."""
    stages = [f"q{number}" for number in range(1, FLIP_FLOPS + 1)]
    data = dict(zip(stages, ["back", *stages], strict=False))
    text = circuit_text((), {"back": gate("XOR", *stages[-2:])}, data, started=stages[:1])
    return text + "\n".join(["lamp last from q14", *asked, ""])
