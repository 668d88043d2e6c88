"""Pytest collects circuit files, makes an item of each check and claim, and tells what is wrong where it stands."""

from __future__ import annotations

import pytest

# What a run imports only as it needs it stays imported, so that runs in this process don't each import it again.
import circuitcheck.verify  # noqa: F401

ROPE = "lever rope\ntorch slack from rope starts on\nlamp calm from slack\n"
GOOD = ROPE + 'check "pull"\n  at 10gt rope on\n  by 20gt expect calm off\nend\nalways "quick" slack off or calm\n'
FAILING = ROPE + 'check "push"\n  at 10gt rope on\n  at 11gt expect slack off\nend\n'
SAID = ROPE + 'check "short" fails because T3\n  at 10gt rope on\n  at 11gt rope off\n  by 30gt expect slack off\nend\n'
BROKEN = "lever rope\nlamp bell from rop\n"


def write(pytester: pytest.Pytester, **texts: str) -> None:
    for name, text in texts.items():
        (pytester.path / f"{name}.circuit").write_text(text, encoding="utf-8")


def outcomes(pytester: pytest.Pytester, *words: str) -> tuple[dict[str, int], str]:
    """How many items came to what, and all that was written, by a run in this process."""
    run = pytester.runpytest_inprocess("-p", "no:cacheprovider", *words)
    return run.parseoutcomes(), run.stdout.str()


def outcomes_apart(pytester: pytest.Pytester, *words: str) -> tuple[dict[str, int], str]:
    """The same by a process of its own, and by those that it starts: where what is imported or who works matters."""
    run = apart(pytester, *words)
    return run.parseoutcomes(), run.stdout.str()


def apart(pytester: pytest.Pytester, *words: str) -> pytest.RunResult:
    """A run in processes of their own. All plugins that are installed would take most of its time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PYTEST_DISABLE_PLUGIN_AUTOLOAD", "1")
        plugins = ("-p", "circuitcheck.pytest_plugin", "-p", "xdist.plugin", "-p", "no:cacheprovider")
        return pytester.runpytest_subprocess(*plugins, *words)


def test_each_check_and_claim_of_a_circuit_file_is_an_item(pytester: pytest.Pytester) -> None:
    write(pytester, sluice=GOOD)
    found, text = outcomes(pytester, "-v")
    assert found == {"passed": 2}
    assert "sluice.circuit::pull PASSED" in text
    assert "sluice.circuit::quick PASSED" in text


def test_other_files_are_left_alone(pytester: pytest.Pytester) -> None:
    (pytester.path / "notes.txt").write_text(BROKEN)
    pytester.makepyfile("def test_it():\n    pass\n")
    assert outcomes(pytester)[0] == {"passed": 1}


def test_a_failure_names_the_file_and_the_line_and_what_happened(pytester: pytest.Pytester) -> None:
    write(pytester, sluice=FAILING)
    found, text = outcomes(pytester)
    assert found == {"failed": 1}
    assert "sluice.circuit:4:" in text
    assert "sluice.circuit:6:3" in text
    assert "expected" in text
    assert "Traceback" not in text
    assert "pytest_plugin.py" not in text


def test_a_broken_file_is_one_clear_error_while_others_run(pytester: pytest.Pytester) -> None:
    write(pytester, broken=BROKEN, good=GOOD)
    found, text = outcomes(pytester)
    assert found == {"passed": 2, "errors": 1}
    assert "CKT201" in text
    assert "broken.circuit:2:16" in text
    assert "did you mean 'rope'?" in text
    assert "Traceback" not in text
    assert "pytest_plugin.py" not in text


def test_items_are_chosen_by_their_titles(pytester: pytest.Pytester) -> None:
    write(pytester, good=GOOD, failing=FAILING)
    assert outcomes(pytester, "-k", "pull")[0] == {"passed": 1, "deselected": 2}
    assert outcomes(pytester, "-k", "push")[0] == {"failed": 1, "deselected": 2}
    assert outcomes(pytester, "good.circuit::quick")[0] == {"passed": 1}


def test_a_check_that_fails_as_it_says_is_an_expected_failure_with_its_reason(pytester: pytest.Pytester) -> None:
    write(pytester, sluice=SAID)
    found, text = outcomes(pytester, "-rx")
    assert found == {"xfailed": 1}
    assert "because of T3" in text


def test_what_the_file_sets_aside_is_skipped_with_its_reason(pytester: pytest.Pytester) -> None:
    write(pytester, sluice=GOOD.replace('"pull"', '"pull" skipped because "the rope is not laid"'))
    found, text = outcomes(pytester, "-rs")
    assert found == {"passed": 1, "skipped": 1}
    assert "the rope is not laid" in text


def test_a_check_that_holds_against_its_word_fails(pytester: pytest.Pytester) -> None:
    write(pytester, sluice=SAID.replace("11gt", "15gt"))
    assert outcomes(pytester)[0] == {"failed": 1}


def test_a_claim_that_never_came_up_is_skipped_with_the_reason(pytester: pytest.Pytester) -> None:
    write(pytester, sluice=GOOD + 'always "fall" when slack and calm off then rope\n')
    found, text = outcomes(pytester, "-rs")
    assert found == {"passed": 2, "skipped": 1}
    assert "its trigger never occurs" in text


def test_titles_with_brackets_colons_and_marks_are_items(pytester: pytest.Pytester) -> None:
    write(pytester, sluice=GOOD.replace("pull", "a::b [c] \x1b[31m \u202ed"))
    found, text = outcomes(pytester, "-v")
    assert found == {"passed": 2}
    assert "a:b (c)" in text
    assert "\u202e" not in text


def test_checks_of_a_definition_are_items_of_their_own(pytester: pytest.Pytester) -> None:
    text = (
        "define slow (a) given wait 2t from 1t to 3t gives b\n  repeater b from a delay wait\n"
        '  check "soon"\n    at 10gt a on\n    by 14gt expect b\n  end\nend\n'
    )
    write(pytester, slow=text)
    found, shown = outcomes(pytester, "-v")
    assert found == {"passed": 2, "failed": 1}
    assert "slow.circuit::slow, wait 3t: soon FAILED" in shown


def test_a_forbidden_finding_fails_the_file(pytester: pytest.Pytester) -> None:
    """The exit code of the command line is 1 for it; a test run must not be green over the same file."""
    write(pytester, sluice=GOOD + "dust line from rope length 16\nlamp end_lamp from line\nforbid P2\nforbid T4\n")
    found, text = outcomes(pytester, "-v")
    assert found == {"passed": 3, "failed": 1}
    assert "sluice.circuit::forbid P2 FAILED" in text
    assert "sluice.circuit:11:" in text
    assert "hint:" in text


def test_the_summary_of_a_run_says_where_and_what(pytester: pytest.Pytester, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    skipped = GOOD.replace('"pull"', '"pull" skipped because "the rope is not laid"')
    write(pytester, failing=FAILING, broken=BROKEN, skipped=skipped)
    _, text = outcomes(pytester, "-rsfE")
    assert "FAILED failing.circuit::push - Failed: failing.circuit:4: fails at 11gt: 'slack' was" in text
    assert (
        "ERROR broken.circuit::mistakes in the file - Failed: broken.circuit:2: CKT201 nothing here is called" in text
    )
    assert "SKIPPED [1] skipped.circuit:4: skipped, as the file says: the rope is not laid" in text


def test_a_root_that_is_no_folder_is_reported_before_anything_runs(pytester: pytest.Pytester) -> None:
    write(pytester, good=GOOD)
    pytester.makeini("[pytest]\ncircuit_root = nowhere\n")
    run = pytester.runpytest_subprocess()
    assert run.ret == pytest.ExitCode.USAGE_ERROR
    assert "circuit_root" in run.stderr.str()
    assert "is no folder" in run.stderr.str()


FLASHING = (
    "torch wheel from cam\nrepeater cam from wheel delay 2t\nlamp one from wheel\nlamp two from cam\n"
    'always "lit or dark" one or one off\nalways "rest" two or two off\nsilence S1 because "nobody looks"\n'
)


@pytest.mark.parametrize("words", [["-q"], ["-qq"], ["-n", "2"], ["--disable-warnings", "-q"]], ids=" ".join)
def test_what_can_harm_people_is_reported_once_however_little_is_asked_for(
    pytester: pytest.Pytester, words: list[str]
) -> None:
    write(pytester, mill=FLASHING)
    run = apart(pytester, *words) if "-n" in words else pytester.runpytest_inprocess("-p", "no:cacheprovider", *words)
    assert run.ret == 0
    (said,) = [row for row in run.outlines if "photosensitive epilepsy" in row]
    assert "mill.circuit:3:6: S1" in said
    assert "nobody looks" in said
