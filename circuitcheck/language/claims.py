"""From check and claim lines to the model's: names looked up, amounts read, rows and values repeated."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from circuitcheck.diagnostics import Diagnostic, Span, article, did_you_mean, either, error
from circuitcheck.language import tree
from circuitcheck.language.asked import ConditionReader
from circuitcheck.language.daylight import time_bound
from circuitcheck.language.scope import Scope
from circuitcheck.language.values import Reader
from circuitcheck.model import claims as model
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.duration import show
from circuitcheck.model.light import PHASES
from circuitcheck.model.parts.cells import cells_of
from circuitcheck.model.rules import RULES

OF_ALL_RUNS = frozenset({"possible", "racing", "burning", "eventual", "recurring", "resting"})
"""Forms of claims that no single run of a check, which ends, can be watched for."""
ONLY_NEVER = ("racing", "burning")


class ClaimReader:
    """Reads the checks and claims that stand in one scope, about one circuit."""

    def __init__(self, scope: Scope, circuit: Circuit, source: Sequence[str], mistakes: list[Diagnostic]) -> None:
        self._scope = scope
        self._circuit = circuit
        self._source = source
        self._mistakes = mistakes
        self._amounts = Reader(scope.values, mistakes)
        self._reads = ConditionReader(scope, circuit, mistakes)
        self._forms: dict[str, Callable[..., model.Body | None]] = {
            "invariant": self._invariant,
            "response": self._response,
            "lasting_until": self._until,
            "steady": self._steady,
            "inversion": self._inversion,
            "following": self._following,
            "pulses": self._pulses,
            "gaps": self._gaps,
            "delay": self._delay,
            "possible": self._possible,
            "racing": self._unraced,
            "burning": self._unburnt,
            "eventual": self._eventual,
            "recurring": self._recurring,
            "resting": self._resting,
        }

    # Checks

    def check(self, block: tree.CheckBlock, suffix: str) -> model.Check:
        """One check; `suffix` tells repeated ones apart."""
        acts: list[model.Act] = []
        expectations: list[model.Expectation] = []
        throughout: list[model.Claim] = []
        until = 0
        for line in block.lines:
            if isinstance(line, tree.Acts):
                acts += self._acts(line)
            elif isinstance(line, tree.Expects):
                expectation = self._expectation(line, max((act.at for act in acts), default=0))
                if expectation is not None:
                    expectations.append(expectation)
            elif isinstance(line, tree.Throughout):
                throughout += self._throughout(line)
            else:
                until = max(until, self._amounts.duration(line.until) or 0)
        until = max([until, *(act.at for act in acts), *(each.end - 1 for each in expectations)])
        self._no_doubles(acts)
        return model.Check(
            block.title.text + suffix,
            tuple(sorted(acts, key=lambda act: act.at)),
            tuple(expectations),
            tuple(throughout),
            until,
            block.title.span,
            self._failing(block.judged),
            self._skipped(block.judged),
        )

    def _no_doubles(self, acts: Iterable[model.Act]) -> None:
        seen: set[tuple[int, str]] = set()
        for act in acts:
            if (act.at, act.name) in seen:
                message = f"'{act.name}' has two actions at {show(act.at)}, so their order is unknown"
                self._fail("CKT405", act.span, message, "put them into different gt")
            seen.add((act.at, act.name))

    def _acts(self, line: tree.Acts) -> Iterator[model.Act]:
        at = self._amounts.duration(line.at)
        for item in line.actions:
            for name in self._scope.signals(item.name, self._mistakes):
                act = self._act(item, name, at or 0)
                if act is not None:
                    yield act

    def _act(self, item: tree.ActionItem, name: str, at: int) -> model.Act | None:
        part = self._circuit.by_name.get(name)
        if part is None:
            return None
        verb = item.verb.text
        if verb not in part.verbs:
            if not part.verbs:
                message = f"'{name}' is {article(part.word)}, which is not an input"
                self._fail(
                    "CKT401", item.name.span, message, "only levers, buttons, plates and analogue inputs have actions"
                )
            else:
                ways = either(f"'{way}'" for way in sorted(part.verbs))
                self._fail(
                    "CKT401", item.verb.span, f"'{name}' is {article(part.word)} and takes no '{verb}'", f"use {ways}"
                )
            return None
        return model.Act(at, name, verb, self._reads.level(item.level), item.name.span)

    def _expectation(self, line: tree.Expects, last_act: int) -> model.Expectation | None:
        start = self._amounts.duration(line.start)
        end = self._amounts.duration(line.end) if line.end is not None else None
        condition = self._reads.condition(line.condition)
        if start is None or condition is None or (line.end is not None and end is None):
            return None
        if line.how == "at":
            start, end = start, start + 1
        elif line.how == "by":
            start, end = last_act, start + 1
        if end is None or end <= start:
            hint = f"choose a time after the action at {show(last_act)}" if line.how == "by" else "choose a later end"
            self._fail("CKT403", line.span, "this time is empty: it ends before it begins", hint)
            return None
        if not (line.how == "at" and isinstance(condition, model.Atom)):
            self._reads.unknown_alone((condition,))
        words = self._words(line.span)
        return model.Expectation(start, end, condition, line.span, line.how == "by", words)

    def _throughout(self, line: tree.Throughout) -> Iterator[model.Claim]:
        if line.body.form in OF_ALL_RUNS:
            self._fail(
                "CKT408",
                line.body.span,
                "this is a claim about all runs together, not about one",
                "claim it outside of checks",
            )
            return
        body = self._body(line.body, negated=False)
        if body is not None:
            words = self._words(line.body.span).removeprefix("throughout").strip()
            yield model.Claim(words, body, line.body.span, words)

    # Claims

    def claims(self, line: tree.ClaimLine, suffix: str) -> list[model.Claim]:
        """The claims of one line: one, or one for each member of a row."""
        negated = line.quantifier.text == "never"
        title = line.title.text + suffix
        if line.each is None:
            return self._claim(line, title, negated)
        base = line.each.text
        numbers = self._scope.names.rows.get(self._scope.full(base))
        if numbers is None:
            hint = did_you_mean(base, list(self._scope.names.rows)) or "a row is declared as in: lever pond.1 to pond.3"
            self._fail("CKT201", line.each.span, f"no row is called '{base}'", hint)
            return []
        found: list[model.Claim] = []
        for number in numbers:
            self._reads.member = {base: f"{base}.{number}"}
            mistakes_before = len(self._mistakes)
            found += self._claim(line, f"{title}, {base}.{number}", negated)
            if len(self._mistakes) > mistakes_before:
                break  # the other members would only repeat the mistake
        self._reads.member = {}
        return found

    def response(self, line: tree.ResponseLine) -> list[model.Claim]:
        """The claim of a line about the time from a phase to an edge; none where it has a mistake."""
        before = len(self._mistakes)
        phase = line.phase.text
        if phase not in PHASES:
            hint = did_you_mean(phase, PHASES) or f"the phases are {', '.join(PHASES)}"
            self._fail("CKT312", line.phase.span, f"no phase of the day is called '{phase}'", hint)
        if not before and not any(cells_of(self._circuit.parts)):
            hint = "add a sensor, or claim how long it takes with 'always'"
            self._fail("CKT409", line.response.span, "nothing in this circuit changes at random", hint)
        days = line.days.text if line.days is not None else ""
        if line.days is not None and days not in model.DAYS:
            hint = did_you_mean(days, model.DAYS) or f"they can be {', '.join(model.DAYS)}"
            self._fail("CKT410", line.days.span, f"no days are called '{days}'", hint)
        signal = self._reads.signal(line.target)
        test = model.Test(line.edge.text if line.edge is not None else "rises")
        bounds = tuple(time_bound(bound, self._amounts, self._mistakes) for bound in line.bounds)
        failing, skipped = self._failing(line.judged), self._skipped(line.judged)
        if signal is None or len(self._mistakes) > before:
            return []
        body = model.Timely(phase, model.Atom(signal, test, 0, line.target.span), bounds, days)
        words = self._words(line.response.span)
        return [model.Claim(line.title.text, body, line.title.span, words, failing, skipped)]

    def _claim(self, line: tree.ClaimLine, title: str, negated: bool) -> list[model.Claim]:
        body = self._body(line.body, negated)
        if body is None:
            return []
        words = self._words(line.quantifier.span)
        fails_because, skipped = self._failing(line.judged), self._skipped(line.judged)
        return [model.Claim(title, body, line.title.span, words, fails_because, skipped)]

    def _body(self, body: tree.Body, negated: bool) -> model.Body | None:
        if negated and body.form not in (*ONLY_NEVER, "invariant"):
            self._fail(
                "CKT404", body.span, "'never' is followed by a condition only", "use 'always', or write a condition"
            )
            return None
        if not negated and body.form in ONLY_NEVER:
            self._fail("CKT404", body.span, "this is claimed with 'never' only", "use 'never'")
            return None
        mistakes_before = len(self._mistakes)
        made = self._forms[body.form](*body.items)
        if made is not None:
            self._reads.unknown_alone(model.conditions(made))
        if len(self._mistakes) > mistakes_before:
            return None
        if negated and isinstance(made, model.Invariant):
            return model.Invariant(model.Not(made.condition))
        return made

    def _invariant(self, condition: tree.Condition) -> model.Body | None:
        made = self._reads.condition(condition)
        return None if made is None else model.Invariant(made)

    def _response(
        self,
        trigger: tree.Condition,
        goal: tree.Condition,
        within: tree.Amount | None,
        unless: tree.Condition | None,
    ) -> model.Body | None:
        when, then = self._reads.condition(trigger), self._reads.condition(goal)
        limit = 0 if within is None else self._amounts.duration(within)
        withdrawn = None if unless is None else self._reads.condition(unless)
        if when is None or then is None or limit is None:
            return None
        return model.Response(when, then, limit, withdrawn)

    def _until(self, trigger: tree.Condition, held: tree.Condition, release: tree.Condition) -> model.Body | None:
        when, hold, until = self._reads.condition(trigger), self._reads.condition(held), self._reads.condition(release)
        if when is None or hold is None or until is None:
            return None
        return model.Until(when, hold, until)

    def _steady(self, trigger: tree.Condition, name: tree.Word, amount: tree.Amount) -> model.Body | None:
        when, signal, duration = (
            self._reads.condition(trigger),
            self._reads.signal(name),
            self._amounts.duration(amount),
        )
        if when is None or signal is None or duration is None:
            return None
        if duration == 0:
            self._fail("CKT305", amount.span, "stable for no time at all claims nothing", "from 1gt on")
        return model.Steady(when, signal, duration)

    def _inversion(self, name: tree.Word, other: tree.Word, within: tree.Amount) -> model.Body | None:
        return self._relation(name, other, within, inverted=True)

    def _following(self, name: tree.Word, other: tree.Word, within: tree.Amount) -> model.Body | None:
        return self._relation(name, other, within, inverted=False)

    def _relation(self, name: tree.Word, other: tree.Word, within: tree.Amount, inverted: bool) -> model.Body | None:
        one, two, limit = self._reads.signal(name), self._reads.signal(other), self._amounts.duration(within)
        if one is None or two is None or limit is None:
            return None
        return model.Relation(one, two, inverted, limit)

    def _pulses(self, name: tree.Word, bounds: tree.Bounds) -> model.Body | None:
        return self._lengths(name, bounds, of_gaps=False)

    def _gaps(self, name: tree.Word, bounds: tree.Bounds) -> model.Body | None:
        return self._lengths(name, bounds, of_gaps=True)

    def _lengths(self, name: tree.Word, bounds: tree.Bounds, of_gaps: bool) -> model.Body | None:
        signal = self._reads.signal(name)
        least, most = self._bounds(bounds)
        return None if signal is None else model.Lengths(signal, of_gaps, least, most)

    def _delay(self, start: tree.EdgeWords, end: tree.EdgeWords, bounds: tree.Bounds) -> model.Body | None:
        first, second = self._edge(start), self._edge(end)
        least, most = self._bounds(bounds)
        return None if first is None or second is None else model.Delay(first, second, least, most)

    def _possible(self, condition: tree.Condition | None) -> model.Body | None:
        if condition is None:
            return model.Possible(None, rest=True)
        made = self._reads.condition(condition)
        return None if made is None else model.Possible(made)

    def _unraced(self, name: tree.Word) -> model.Body | None:
        names = self._reads.signals(name)
        return model.Unraced(names) if names else None

    def _unburnt(self, name: tree.Word) -> model.Body | None:
        names = self._reads.signals(name)
        for each in names:
            part = self._circuit.by_name.get(each)
            if part is not None and not part.burns_out:
                message = f"'{each}' is {article(part.word)}, and only torches burn out (T4)"
                self._fail("CKT402", name.span, message, "name a torch, or one side of a latch")
                return None
        return model.Unburnt(names) if names else None

    def _eventual(
        self,
        trigger: tree.Condition,
        goal: tree.Condition,
        meanwhile: tree.Condition | None,
        given: tuple[tree.Condition, ...],
    ) -> model.Body | None:
        when, then = self._reads.condition(trigger), self._reads.condition(goal)
        held = None if meanwhile is None else self._reads.condition(meanwhile)
        fair = self._given(given)
        if when is None or then is None or fair is None:
            return None
        return model.Eventually(when, then, held, fair)

    def _recurring(self, condition: tree.Condition, given: tuple[tree.Condition, ...]) -> model.Body | None:
        made, fair = self._reads.condition(condition), self._given(given)
        return None if made is None or fair is None else model.Recurring(made, fair)

    def _resting(self) -> model.Body:
        return model.Resting()

    def _given(self, given: tuple[tree.Condition, ...]) -> tuple[model.Condition, ...] | None:
        made = tuple(found for each in given if (found := self._reads.condition(each)) is not None)
        return made if len(made) == len(given) else None

    def _bounds(self, bounds: tree.Bounds) -> tuple[int | None, int | None]:
        least = None if bounds.least is None else self._amounts.duration(bounds.least)
        most = None if bounds.most is None else self._amounts.duration(bounds.most)
        if least is not None and most is not None and least > most and bounds.most is not None:
            self._fail("CKT403", bounds.most.span, "the least is longer than the most", "swap them")
        return least, most

    def _edge(self, edge: tree.EdgeWords) -> model.Atom | None:
        signal = self._reads.signal(edge.name)
        return None if signal is None else model.Atom(signal, model.Test(edge.test), 0, edge.name.span)

    # The rest

    def _failing(self, judged: tree.Judged | None) -> str:
        if not isinstance(judged, tree.Failing):
            return ""
        rule = judged.rule
        if rule.text not in RULES:
            hint = did_you_mean(rule.text, RULES) or "the rules are those that messages cite, such as T3 or R4"
            self._fail("CKT406", rule.span, f"there is no rule '{rule.text}'", hint)
        return rule.text

    def _skipped(self, judged: tree.Judged | None) -> str:
        if not isinstance(judged, tree.Skipping):
            return ""
        reason = judged.reason
        if not reason.text.strip():
            self._fail("CKT303", reason.span, "what is skipped needs a reason", "say why it is skipped")
        return reason.text

    def _words(self, span: Span) -> str:
        line = self._source[span.line - 1] if 0 < span.line <= len(self._source) else ""
        return without_comment(line).strip()

    def _fail(self, code: str, span: Span, message: str, hint: str = "") -> None:
        self._mistakes.append(error(code, span, message, hint))


def without_comment(line: str) -> str:
    quoted = False
    for position, letter in enumerate(line):
        if letter == '"':
            quoted = not quoted
        elif letter == "#" and not quoted:
            return line[:position]
    return line
