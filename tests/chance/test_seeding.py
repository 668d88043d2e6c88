"""What re-seeds cells once all have faded (common practice, X2, X3, G1)."""

from __future__ import annotations

import pytest

from circuitcheck.chance.light.seeding import reseeding
from circuitcheck.language.load import load_text

BED = "place bed gets sky through leaf, water when flap off\n"
MACHINE = """
lever     flap
sensor    turf    cells 3  at bed  fades  grows from {sources}
detector  stir.*  watches turf.*
junction  row     joins stir.*
lamp      sign    from row
"""


def said(places: str, more: str, sources: str) -> list[str]:
    loaded = load_text(places + MACHINE.format(sources=sources) + more)
    assert loaded.valid, loaded.diagnostics
    return list(reseeding(loaded.studies[0].circuit))


def test_a_bank_in_the_sun_re_seeds_the_turf_by_day() -> None:
    """X3: it takes light 9 where the grown cell is; at dusk and dawn the sky has that for a while (G1: 14 to 5)."""
    found = said(BED + "place bank gets sky\n", "sensor rim cells 2 at bank\n", "rim.*")
    assert found == ["'turf' is re-seeded from 'rim' in day, dusk, dawn"]


def test_turf_that_has_faded_re_seeds_nothing() -> None:
    (found,) = said(BED, "", "turf.*")
    assert found == "nothing re-seeds 'turf': all that could grow over it has faded as well"


def test_a_bank_in_the_dark_re_seeds_nothing_and_the_light_is_reported() -> None:
    (found,) = said(BED + "place cave gets standing_light through 6 aside\n", "sensor rim cells 2 at cave\n", "rim.*")
    assert found.startswith("nothing re-seeds 'turf'")
    assert "the light at 'cave' is 8 or less, and it takes 9 or more" in found


@pytest.mark.parametrize(("aside", "alone"), [(6, True), (7, False)])
def test_a_lamp_re_seeds_at_night_only_if_its_light_is_9_where_the_grown_cells_are(aside: int, alone: bool) -> None:
    """G1: a lamp gives 15, less 1 a block. The bed lies open, with 4 at night: as much as a bare cell takes (X3)."""
    places = f"place bed gets sky\nplace bank gets sky or glow through {aside} aside\n"
    found = said(places, "lever rope\nlamp glow from rope\nsensor rim cells 2 at bank\n", "rim.*")
    at_night = "'turf' is re-seeded from 'rim' in day, dusk, night, dawn, and by the machine's own light alone in night"
    by_day = "'turf' is re-seeded from 'rim' in day, dusk, dawn"
    assert found == ([at_night] if alone else [by_day, "the machine's own light makes no difference to that"])
