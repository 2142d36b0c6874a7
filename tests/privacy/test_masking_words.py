"""Words and texts without what must go, silences, and decisions that hold for equal findings."""

from __future__ import annotations

from indexer.models.identifying import IdentifierDecision
from indexer.models.timed import Word
from indexer.privacy.identifiers import Finder
from indexer.privacy.masking import masked, masked_text
from indexer.timespan import Span


def words(text: str) -> list[Word]:
    return [
        Word(text=w, start_ms=1000 * n, end_ms=1000 * n + 900, cue=0, timing="given")
        for n, w in enumerate(text.split())
    ]


SAID = words("this is Mrs Thornwick, born on the third of March 1964, a 93 year old. Mrs Thornwick's lens")


def test_what_was_found_is_masked_and_muted() -> None:
    made = masked(SAID, Finder().in_words(SAID))
    assert " ".join(w.text for w in made.words) == (
        "this is Mrs [name], born on the [1964], a [90 or older] year old. Mrs [name] lens"
    )
    assert made.mute[0] == Span(3000 - 250, 3900 + 250)
    assert all(before.end_ms < after.start_ms for before, after in zip(made.mute, made.mute[1:], strict=False))


def test_words_whose_times_were_only_spread_are_muted_for_longer() -> None:
    spread = [word.model_copy(update={"timing": "spread"}) for word in SAID]
    found = Finder().in_words(SAID)
    assert masked(spread, found).mute[0].length_ms > masked(SAID, found).mute[0].length_ms


def test_whole_dates_are_shifted_by_the_days_of_the_case() -> None:
    made = masked(SAID, Finder().in_words(SAID), shift_days=-40)
    assert "[1964-01-23]," in [word.text for word in made.words]  # 3 March less 40 days, by the calendar of `datetime`


def test_what_a_person_decided_to_keep_stays_wherever_it_is_equal() -> None:
    found = Finder().in_words(SAID)
    name = next(one for one in found if one.kind == "name")
    kept = IdentifierDecision(key=name.key, remove=False, reason="a name that we made up")
    assert "Thornwick," in [word.text for word in masked(SAID, found, [kept]).words]
    again = IdentifierDecision(key=name.key, remove=True, case_id="this-case")
    assert "Thornwick," not in [word.text for word in masked(SAID, found, [again, kept]).words]


def test_texts() -> None:
    finder, title = Finder(), "Mr Thornwick, 2019-03-04, ring"
    assert masked_text(title, finder.in_text(title, "title"), "title") == "Mr [name], [2019], ring"
