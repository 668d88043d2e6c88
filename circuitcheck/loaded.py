"""A circuit file as Python sees it: read without mistakes, ready to be verified, or to be started and driven."""

from __future__ import annotations

from pathlib import Path

from circuitcheck.checks.outcome import Outcome
from circuitcheck.diagnostics import did_you_mean
from circuitcheck.errors import (
    InvalidCircuit,
    NotAsExpected,
    RunGivenUp,
    UnknownName,
    WrongCall,
    must_be_count,
    must_be_name,
    must_be_path,
    must_be_text,
    must_be_words,
)
from circuitcheck.language.load import Loaded, load_file, load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.prove.meter import USUAL_STATES
from circuitcheck.signals import Setting
from circuitcheck.simulation import WIDTH, Simulation
from circuitcheck.verify import Exit, FileReport, attempted, report_on


class LoadedCircuit:
    """A circuit that has been read without mistakes. `load`, `loads` and `Builder.build` make one.

    >>> mill
    <circuit of circuit>
    """

    def __init__(self, loaded: Loaded, folder: str | Path, root: str | Path = "") -> None:
        if not loaded.valid:
            raise InvalidCircuit(loaded.diagnostics)
        self._loaded = loaded
        self._folder = folder
        self._root = root

    @property
    def circuit(self) -> Circuit:
        """The file's own circuit: its parts, outputs and rules. Raises WrongCall if the file only holds definitions.

        >>> [part.name for part in mill.circuit.inputs]
        ['rope', 'bell_push']
        """
        study = next((study for study in self._loaded.studies if not study.label), None)
        if study is None:
            what = f"{self._loaded.path} holds definitions only, and no circuit of its own"
            raise WrongCall(what, "load a file that uses them")
        return study.circuit

    def verify(self) -> FileReport:
        """Runs and judges every check and claim of the file.

        >>> mill.verify().exit.name
        'HOLDS'
        """
        return report_on(self._loaded)

    def expect_all(self, states: int = USUAL_STATES) -> None:
        """Asserts that every check and claim of the file holds. Raises NotAsExpected with the report on the rest.

        `states` is how many states are looked at to prove each claim.

        >>> mill.expect_all()
        """
        __tracebackhide__ = True
        must_be_count(states)
        report = report_on(self._loaded, states=states)
        if report.exit is not Exit.HOLDS:
            from circuitcheck.report.lines import plain
            from circuitcheck.report.terminal.verdict_lines import report_lines, summary

            text = plain([summary([report]), *report_lines(report, WIDTH, quiet=True)])
            raise NotAsExpected(text.rstrip())

    def start(self) -> Simulation:
        """Starts a run: the circuit at the end of gt 0, nobody having touched it. Raises RunGivenUp and WrongCall.

        >>> mill.start()
        <run of mill at 0t>
        """
        return Simulation(self.circuit, self)

    def table(self, output: str) -> list[Setting]:
        """What a settled output is at each setting of the inputs that it depends on, the first input changing fastest.

        Of a machine that moves this is over every rest that single changes lead to, each made at rest. Raises
        UnknownName and WrongCall, and RunGivenUp where the table would be too large.

        >>> for setting in mill.table("open"):
        ...     print(setting.inputs["rope"], setting.is_on)
        False False
        True True
        """
        must_be_name(output)
        circuit = self.circuit
        signal = circuit.signal(output)
        if signal is None:
            raise UnknownName(f"no part is called '{output}'", did_you_mean(output, circuit.signals))
        from circuitcheck.explain.settled_table import settled_table  # with networkx, which few runs need

        found = settled_table(circuit, signal)
        if isinstance(found, str):
            raise RunGivenUp(f"no table of '{output}': {found}", "ask for a signal that depends on less")
        return found

    def tried(self, lines: list[str]) -> Outcome:
        """What a check made of these lines comes to in the file's own circuit. Raises InvalidCircuit and RunGivenUp.

        The last line but one is what is expected.

        >>> mill.tried(["at 1s press bell_push", "at 1s expect bell", "until 1s"]).verdict.name
        'HOLDS'
        """
        if not isinstance(lines, list | tuple) or len(lines) < 2:
            what = f"{lines!r:.60} is no list of lines that ends with what is expected and until when"
            raise WrongCall(what, "give a list such as ['at 1s expect open', 'until 1s']")
        must_be_words(*lines)
        read = self._loaded.sources
        again = load_text("\n".join(read[self._loaded.path]), self._loaded.path, self._folder, self._root, lines)
        for path, text in read.items():
            # The files that it uses are read again, and what is expected of this circuit must not be asked of another.
            if again.sources.get(path, text) != text:
                raise RunGivenUp(f"'{path}', which the circuit uses, is gone or changed", "load the circuit again")
        attempt = attempted(again)
        if attempt.trial is None:
            raise InvalidCircuit(attempt.diagnostics, lines[-2])
        return attempt.trial.outcome

    def __repr__(self) -> str:
        return f"<circuit of {self._loaded.path}>"


def load(path: str | Path, root: str | Path = "") -> LoadedCircuit:
    """Reads a circuit file. It uses files below `root`, or below its own folder without one. Raises InvalidCircuit.

    >>> try:
    ...     circuitcheck.load("nowhere.circuit")
    ... except circuitcheck.InvalidCircuit as refused:
    ...     print([each.code for each in refused.diagnostics])
    ['CKT501']
    """
    must_be_path(path)
    must_be_path(root)
    return LoadedCircuit(load_file(path, root), Path(path).parent, root)


def loads(text: str, folder: str | Path = ".") -> LoadedCircuit:
    """Reads a circuit from text; `use` lines look into `folder`. Raises InvalidCircuit.

    >>> circuitcheck.loads("lever rope").circuit.signals
    ['rope']
    """
    must_be_text(text)
    must_be_path(folder)
    return LoadedCircuit(load_text(text, "circuit", folder), folder)
