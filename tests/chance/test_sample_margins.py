"""Of a sampled response: what was so already and how sure the rest is are both given in days.

The margins are those of a share of n in 95 of 100 cases, 1.96 × √(0.25 / n): any textbook of statistics.
"""

from __future__ import annotations

from math import sqrt
from typing import Any

import pytest
from report.schemas import faults

from circuitcheck.chance.first_edge import response, sampled
from circuitcheck.chance.first_edge.response import Response, respond
from circuitcheck.chance.machine.joint import TooLarge
from circuitcheck.checks.outcome import Verdict
from circuitcheck.judging.responses import judged
from circuitcheck.language.load import load_text
from circuitcheck.model.claims import Timely
from circuitcheck.report.exchange.data import headed
from circuitcheck.report.lines import plain
from circuitcheck.report.terminal.response_figures import response_data, response_lines

from .calling import CYCLE

DAYS = 93
LATCHED = (
    CYCLE + "place bed gets sky through leaf, water\n"
    "sensor reed cells 2 at bed becomes off chance 1/256 becomes on chance 1/256\n"
    "detector stir.* watches reed.*\nrepeater longer.* from stir.* delay 2t\n"
    "latch gate set longer.1 reset longer.2 starts reset\nlamp open from gate\n"
    "response of night to open: 50% within 10s\n"
)


def margin(days: int) -> float:
    return 1.96 * sqrt(0.25 / days)


@pytest.fixture(name="found")
def _found(monkeypatch: pytest.MonkeyPatch) -> Response:
    """The response of a circuit that is called too large to be calculated, from so many days."""

    def too_large(*_: Any) -> Response:
        raise TooLarge("it was not tried")

    monkeypatch.setattr(response, "_exactly", too_large)
    monkeypatch.setattr(sampled, "MOST_DAYS", DAYS)
    study = load_text(LATCHED).studies[0]
    body = study.claims[0].body
    assert isinstance(body, Timely)
    return respond(study.circuit, body.phase, body.edge)


def test_days_that_were_so_already_and_days_in_question_make_all_days(found: Response) -> None:
    assert found.days == DAYS
    assert 0 < found.in_question < DAYS
    assert found.already == pytest.approx((DAYS - found.in_question) / DAYS)


def test_each_share_has_the_margin_of_the_days_that_it_is_of(found: Response) -> None:
    assert found.left_out == pytest.approx(margin(found.in_question), rel=1e-3)
    assert found.already_off == pytest.approx(margin(DAYS), rel=1e-3)


def test_a_claim_too_close_to_tell_says_both_in_days_and_that_nothing_was_left_out(found: Response) -> None:
    study = load_text(LATCHED).studies[0]
    body = study.claims[0].body
    assert isinstance(body, Timely)
    close = body._replace(bounds=(body.bounds[0]._replace(share=found.distribution.within(body.bounds[0].time)),))
    outcome = judged(study.claims[0], close, found, study.circuit)
    assert outcome.verdict is Verdict.UNDECIDED
    assert f"in {DAYS - found.in_question} of {DAYS} days" in outcome.detail
    assert f"{found.in_question} days of {DAYS} were in question" in outcome.detail
    assert "left out" not in outcome.detail


def test_people_and_machines_get_the_margin_of_what_was_so_already(found: Response) -> None:
    said = " ".join(plain(response_lines(found, (), 100)).split())
    assert f"{found.in_question} days of {DAYS} were in question" in said
    assert "give or take" in said
    data = response_data(found, ())
    assert (data["sampled_days"], data["days_in_question"]) == (DAYS, found.in_question)
    assert data["already_off"] == found.already_off
    whole = headed("a", {"responses": [data], "claims": [], "assumptions": []})
    assert faults("response", whole) == []
