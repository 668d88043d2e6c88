"""From runs to verdicts: what held over every order and start, what broke, and what decided between the two."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from circuitcheck.checks.allowed import allowed
from circuitcheck.checks.conditions import latch_state
from circuitcheck.checks.finding import Finding
from circuitcheck.checks.findings import Found, rules_at_work, static_findings
from circuitcheck.checks.outcome import FAILING, Failure, Outcome, Race, StudyResult, Verdict
from circuitcheck.checks.race import deciding, find_cure, tied
from circuitcheck.checks.refusing import refusal_of
from circuitcheck.checks.run import MOST_WORK, Notebook, Run, RunBudget, Track, replay, run_check
from circuitcheck.checks.stopped import StudyStopped, left
from circuitcheck.checks.trial import Trial
from circuitcheck.checks.watches import Broken, Watch
from circuitcheck.engine.program import Program, read
from circuitcheck.engine.record import Recording
from circuitcheck.engine.start import Start, TooManyStarts, starts
from circuitcheck.engine.state import Order
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import LATCH_TESTS, Check, Claim, Expectation, Study, atoms, conditions
from circuitcheck.model.unsure import collected

if TYPE_CHECKING:
    from circuitcheck.model.drawing import At

GRAVEST = (Verdict.FAILS, Verdict.RACE, Verdict.OPEN_START, Verdict.UNDECIDED)
"""Of several runs that a claim is watched in, the one with the gravest verdict counts."""
AFTERWARDS = 8
"""How many gt of a run are kept after the gt in which something broke, for its picture."""


def judge(
    study: Study, begins: Callable[[str], None] = lambda title: None, budget: RunBudget | None = None
) -> StudyResult:
    """Runs every check of a study and judges its checks, its claims and what was found on the way.

    `begins` is called with the title of each check whose run begins. `budget` is the one that all studies of a file
    share. Raises StudyStopped on Ctrl-C, once a check has begun.
    """
    with collected() as before:
        program = Program(study.circuit)
        found = Found(study, program)
        static = list(static_findings(study, program))
        found.add(static)
        try:
            all_starts = starts(program)
        except TooManyStarts as many:
            return _result(study, _none_decided(study, many), found)
    found.open_start(all_starts)
    runs, outcomes, stopped = _judged(study, program, all_starts, begins, budget or RunBudget())
    for run in runs:
        _look_over(run, all_starts, outcomes, found)
    if not stopped and (study.drawn is not None or study.circuit.drawing is not None):
        from circuitcheck.checks.drawing.facing import turned_round  # only what is drawn faces some way

        for turned in turned_round(study, static, outcomes_of_runs):
            found.instead(turned.findings, turned.gone)
    outcomes = tuple(replace(each, relied=each.relied | before) for each in outcomes)
    result = _result(study, outcomes, found)
    if stopped:
        raise StudyStopped(result)
    return result


def _judged(
    study: Study, program: Program, all_starts: Sequence[Start], begins: Callable[[str], None], budget: RunBudget
) -> tuple[list[Run], tuple[Outcome, ...], bool]:
    """The run of every check of a study, what its checks and claims come to in them, and whether it was stopped."""
    runs: list[Run] = []
    stopped = False
    try:
        for check in study.checks:
            begins(check.title)
            # A check that must fail shows a known limit: what happens there is no news, and breaks no claim. Neither
            # does one that does what the claims assume is never done.
            watched = () if check.fails_because or not allowed(check, study.assumptions) else study.claims
            runs.append(run_check(program, all_starts, check, watched, Notebook(), most=budget.most))
            budget.left -= runs[-1].work
    except KeyboardInterrupt:
        stopped = True
    checks = (*map(_judge_check, runs), *map(left, study.checks[len(runs) :]))
    claims = [_judge_claim(claim, runs) for claim in study.claims]
    if stopped:  # what a run has broken is broken
        claims = [
            each if each.verdict in FAILING else left(claim) for each, claim in zip(claims, study.claims, strict=True)
        ]
    return runs, (*checks, *claims), stopped


def outcomes_of_runs(study: Study) -> tuple[Outcome, ...]:
    """What the checks and claims of a study come to in runs, and nothing besides."""
    program = Program(study.circuit)
    try:
        _, outcomes, stopped = _judged(study, program, starts(program), lambda title: None, RunBudget())
    except TooManyStarts as many:
        return _none_decided(study, many)
    if stopped:
        raise KeyboardInterrupt
    return outcomes


def _none_decided(study: Study, many: TooManyStarts) -> tuple[Outcome, ...]:
    asked: tuple[Check | Claim, ...] = (*study.checks, *study.claims)
    return tuple(_undecided(each, str(many)) for each in asked)


def try_out(study: Study, program: Program | None = None) -> Trial:
    """Runs the one check of a study and keeps the run; `program` is its circuit wired up, if that was done before."""
    program = program or Program(study.circuit)
    check = study.checks[0]
    found = Found(study, program)
    try:
        all_starts = starts(program)
    except TooManyStarts as many:
        return Trial(_undecided(check, str(many)), None, 0, (), ())
    found.open_start(all_starts)
    run = run_check(program, all_starts, check, (), Notebook())
    outcome = _judge_check(run)
    _look_over(run, all_starts, (outcome,), found)
    recording = replay(run, run.tracks[0], run.seen_until) if run.tracks else None
    ends = len({bytes(track.simulator.levels) for track in run.tracks})
    return Trial(outcome, recording, ends, all_starts, found.all())


def _result(study: Study, outcomes: tuple[Outcome, ...], found: Found) -> StudyResult:
    circuit = study.circuit
    skipped = tuple(Outcome(each.title, each.span, Verdict.SKIPPED, detail=each.skipped) for each in study.skipped)
    built: tuple[Outcome, ...] = ()
    if study.drawn is not None:
        from circuitcheck.checks.drawing.built import judged  # only a file that draws its circuit as well is compared

        built = judged(study)
    return StudyResult(
        study.label,
        circuit.name,
        circuit.title,
        circuit.rules,
        len(circuit.by_name),
        (*outcomes, *skipped, *built),
        found.all(),
        where=places_of(study),
    )


def places_of(study: Study) -> Mapping[str, At]:
    """Where the parts of a study's circuit stand, by its own names; empty where nothing is drawn."""
    if study.drawn is None:
        return study.circuit.where
    from circuitcheck.checks.drawing.built import places

    return places(study.circuit, study.drawn)


def _look_over(run: Run, all_starts: Sequence[Start], outcomes: Iterable[Outcome], found: Found) -> None:
    """Takes what was found in a run; what a race led to, and its cure ends, belongs to the race."""
    check = run.check
    if not check.fails_because:
        races = [each.race for each in outcomes if each.race is not None and _broke_in(each, check)]
        noted = run.notebook.by_part(run.program)
        cured = [noted - race.cure.notes for race in races if race.cure is not None]
        notebook = run.notebook.without(run.program, frozenset().union(*cured))
        found.noted(notebook, check, all_starts)
        found.ending(run, races)
    found.flashing(run)  # a check that must fail flashes all the same


def _broke_in(outcome: Outcome, check: Check) -> bool:
    return outcome.failure is not None and outcome.failure.check is check


def _undecided(asked: Check | Claim, why: str) -> Outcome:
    return Outcome(asked.title, asked.span, Verdict.UNDECIDED, detail=why)


# Checks


def _judge_check(run: Run) -> Outcome:
    check = run.check
    own = range(len(check.expectations) + len(check.throughout))
    outcome = _judge(run, own, check.title, check, Verdict.HOLDS)
    outcome = replace(outcome, relied=run.relied, refusal=refusal_of(run))
    if outcome.verdict is Verdict.HOLDS:
        outcome = _vacuous(run) or outcome
    return _against_word(outcome, check.fails_because, run) if check.fails_because else outcome


def _vacuous(run: Run) -> Outcome | None:
    """What to say of a check that holds because what it claims throughout never came up, or because it asks nothing."""
    check = run.check
    if not check.expectations and not check.throughout:
        return Outcome(check.title, check.span, Verdict.HOLDS, detail="it expects nothing")
    first = len(check.expectations)
    for claim, each in run.watched[first : first + len(check.throughout)]:
        if not each.triggered and isinstance(claim, Claim):
            detail = f"in its run the trigger of this never occurred: {claim.words}"
            return Outcome(check.title, check.span, Verdict.NOT_MET, detail=detail, relied=run.relied)
    return None


def _against_word(outcome: Outcome, rule: str, run: Run) -> Outcome:
    """What a check that must fail comes to: the rule it names must have been at work in its run."""
    if outcome.verdict is Verdict.UNDECIDED:
        return outcome
    if outcome.verdict is Verdict.HOLDS:
        return replace(outcome, verdict=Verdict.HOLDS_AGAINST_WORD, detail=f"the file says it fails because of {rule}")
    at_work = rules_at_work(run, outcome)
    if rule in at_work:
        return replace(outcome, verdict=Verdict.FAILS_AS_SAID, detail=f"because of {rule}")
    seen = ", ".join(sorted(at_work)) or "nothing of note"
    detail = f"the file says because of {rule}; rules that apply in this run: {seen}"
    return replace(outcome, verdict=Verdict.FAILS_OTHERWISE, detail=detail)


def _judge(run: Run, watched: Iterable[int], title: str, asked: Check | Claim, good: Verdict) -> Outcome:
    """The verdict on some of a run's watches together."""
    numbers = list(watched)
    known = next((number for number in numbers if number in run.known_latches), None)
    broken = {id(track): first for track in run.tracks if (first := _first_break(track, numbers)) is not None}
    if known is not None and not broken:
        return _known_latch(run, known, title, asked)
    if not broken:
        return _undecided(asked, run.limit) if run.limit else Outcome(title, asked.span, good)
    bad = min((track for track in run.tracks if id(track) in broken), key=lambda track: broken[id(track)][0])
    holding = [track for track in run.tracks if id(track) not in broken]
    at, number = broken[id(bad)]
    failure = _failure(run, bad, number, at)
    outcome = Outcome(title, asked.span, Verdict.FAILS, failure)
    if not holding:
        return outcome
    if any(track.start == bad.start for track in holding):
        return replace(outcome, verdict=Verdict.RACE, race=_race(run, bad, numbers))
    return replace(outcome, verdict=Verdict.OPEN_START, starts=bad.start.tried)


def _first_break(track: Track, numbers: Iterable[int]) -> tuple[int, int] | None:
    """The gt and number of the watch that broke first on a track, if any did."""
    breaks = [(state.at, number) for number in numbers if isinstance(state := track.watches[number], Broken)]
    return min(breaks) if breaks else None


def _known_latch(run: Run, number: int, title: str, asked: Check | Claim) -> Outcome:
    failure = _failure(run, run.tracks[0], number, run.known_latches[number])
    return Outcome(title, asked.span, Verdict.FAILS, failure)


def _failure(run: Run, track: Track, number: int, at: int) -> Failure:
    # Past the end of the check, too: what was about to happen tells why it has not happened yet.
    recording = replay(run, track, at + AFTERWARDS)
    broken, state = run.watched[number][0], track.watches[number]
    since = state.since if isinstance(state, Broken) else None
    return Failure(broken, at, recording, run.check, _latch_states(broken, recording, at), since)


def _latch_states(broken: Claim | Expectation, recording: Recording, at: int) -> tuple[tuple[str, str], ...]:
    asked = (broken.condition,) if isinstance(broken, Expectation) else conditions(broken.body)
    names = {atom.name for each in asked for atom in atoms(each) if atom.test in LATCH_TESTS}
    levels = recording.levels_at(at)
    return tuple((name, latch_state(name, levels, recording.program)) for name in sorted(names))


# Races


def _race(run: Run, bad: Track, numbers: Sequence[int]) -> Race | None:
    """The two parts whose order decides, found by taking back choices from the last to the first."""

    left = MOST_WORK

    def once_more(program: Program, all_starts: Sequence[Start], orders: Sequence[Order]) -> Run:
        """The run once more, within what all of them may do together."""
        nonlocal left
        again = _again(run, program, all_starts, orders, left)
        left -= again.work
        return again

    def can_hold(orders: Sequence[Order]) -> Sequence[Order] | None:
        if left <= 0:
            return None
        again = once_more(run.program, (bad.start,), orders)
        good = [track for track in again.tracks if _first_break(track, numbers) is None]
        return good[0].orders() if good and not again.limit else None

    decided = deciding(bad.orders(), can_hold)
    pair = tied(*decided) if decided else None
    if decided is None or pair is None:
        return None
    names = run.program.names
    by_hand = all(run.program.devices[device].part.verbs for device in pair)
    first, second = names[pair[0]], names[pair[1]]

    def holding(circuit: Circuit) -> frozenset[tuple[str, str]] | None:
        program = Program(circuit)
        try:
            again = once_more(program, starts(program), ())
        except TooManyStarts:
            return None
        if again.limit or any(_first_break(track, numbers) is not None for track in again.tracks):
            return None
        return again.notebook.by_part(program)

    return Race(decided[0].game_tick, first, second, by_hand, find_cure(run.program.circuit, (first, second), holding))


def _again(run: Run, program: Program, all_starts: Sequence[Start], orders: Sequence[Order], most: int) -> Run:
    claims = [each for each, _ in run.watched if isinstance(each, Claim)][len(run.check.throughout) :]
    return run_check(program, all_starts, run.check, claims, Notebook(), orders, most=most)


# Claims


def replayed(circuit: Circuit, claim: Claim, check: Check) -> Outcome:
    """The verdict on a claim in the run of one check, over all starts and orders.

    Raises TooManyStarts, and GivenUp if the run was given up before it broke the claim.
    """
    program = Program(circuit)
    plain = claim._replace(fails_because="")
    run = run_check(program, starts(program), check, (plain,), Notebook(), until_broken=True)
    outcome = _judge(run, (len(run.watched) - 1,), claim.title, claim, Verdict.UNBROKEN)
    if outcome.failure is None:
        run.to_its_end()
    if not claim.fails_because or outcome.verdict is Verdict.UNBROKEN:
        return outcome
    return _against_word(outcome, claim.fails_because, run)


def shown(circuit: Circuit, claim: Claim, check: Check, at: int) -> Failure:
    """One way the run of a check can go, as the failure of a claim at a gt. Raises TooManyStarts and GivenUp."""
    program = Program(circuit)
    run = run_check(program, starts(program), check, (), Notebook()).to_its_end()
    recording = replay(run, run.tracks[0], run.until)
    return Failure(claim, at, recording, check, _latch_states(claim, recording, at))


def dispute(circuit: Circuit, check: Check, name: str) -> Race | None:
    """The two parts whose order decides what a signal is at the end of a check's run.

    Raises TooManyStarts and GivenUp.
    """
    program = Program(circuit)
    run = run_check(program, starts(program), check, (), Notebook()).to_its_end()
    feeds = program.probe(name)
    ways: dict[int, Sequence[Order]] = {}
    for track in run.tracks:
        ways.setdefault(read(feeds, track.simulator.levels), track.orders())
    if len(ways) < 2:
        return None
    one, other = list(ways.values())[:2]
    for mine, theirs in zip(one, other, strict=False):
        pair = tied(mine, theirs)
        if pair is not None:
            by_hand = all(program.devices[device].part.verbs for device in pair)
            return Race(mine.game_tick, program.names[pair[0]], program.names[pair[1]], by_hand, cure_sought=False)
    return None


def _judge_claim(claim: Claim, runs: Sequence[Run]) -> Outcome:
    """A claim is watched in every run; what no run broke is still not proved."""
    watching = [(run, number) for run in runs for number, (each, _) in enumerate(run.watched) if each is claim]
    judged = [(_judge(run, (number,), claim.title, claim, Verdict.UNBROKEN), run) for run, number in watching]
    for verdict in GRAVEST:
        for outcome, run in judged:
            if outcome.verdict is verdict:
                outcome = replace(outcome, runs=len(watching), relied=run.relied)
                return _against_word(outcome, claim.fails_because, run) if claim.fails_because else outcome
    relied = frozenset[str]().union(*(run.relied for run, _ in watching))
    return replace(_unbroken(claim, [run.watched[number][1] for run, number in watching]), relied=relied)


def _unbroken(claim: Claim, watches: Sequence[Watch]) -> Outcome:
    outcome = Outcome(claim.title, claim.span, Verdict.UNBROKEN, runs=len(watches))
    if not any(each.triggered for each in watches):
        why = "no check runs this circuit" if not watches else "its trigger occurred in no run"
        return replace(outcome, verdict=Verdict.NOT_MET, detail=why)
    if claim.fails_because:
        detail = f"the file says it fails because of {claim.fails_because}; no run broke it"
        return replace(outcome, verdict=Verdict.HOLDS_AGAINST_WORD, detail=detail)
    return outcome


def findings_of(results: Iterable[StudyResult]) -> tuple[Finding, ...]:
    """The findings of several studies of one file, each once; of cautions about one lamp the gravest."""
    distinct: dict[tuple[str, str, object, bool], Finding] = {}
    for finding in (finding for result in results for finding in result.findings):
        key = (finding.rule, finding.part, finding.span, finding.by_itself)
        if finding.flashes > distinct.setdefault(key, finding).flashes:
            distinct[key] = finding
    return tuple(distinct.values())
