"""From a transcript to its tagging, with what people decided, on narrations written for these tests."""

from itertools import pairwise
from pathlib import Path

import pytest

from indexer.models.tagged import AssertionKind, Given, GivenMention, GivenSegment, HeardForm, Mention, Standing
from indexer.models.timed import Word
from indexer.narration.mentions import with_given
from indexer.tagging import tag
from indexer.transcripts.reading import parse_transcript
from indexer.vocabulary.loading import load_vocabulary
from tests.learning.plain_english import docstrings
from tests.learning.plain_english import transcript as transcript_of

NARRATION = """[0:00] This lady is seventy-four with a dense brown nucleus and a small pupil.
[0:10] Side port first, then dispersive viscoelastic into the chamber.
[0:20] Keratome, two point four, clear cornea.
[0:30] Forceps now, I go round with the rhexis, about five and a half millimetres.
[0:45] Hydrodissection, you see the wave, and the nucleus turns.
[1:00] Phaco tip in, I groove, deep, rotate, and groove again. No tension ring needed here.
[1:20] The quadrants come to the centre one by one.
[1:40] Irrigation and aspiration, the cortex strips nicely.
[2:00] Fill the bag, and the lens goes in, plus twenty-one, and I dial it round.
[2:20] Washing out the viscoelastic from behind the optic.
[2:35] I hydrate the wounds. Cefuroxime in the chamber.
"""


@pytest.fixture(scope="module")
def vocabulary():
    return load_vocabulary()


@pytest.fixture(scope="module")
def transcript():
    return parse_transcript(NARRATION.encode(), "narration.txt")


@pytest.fixture(scope="module")
def tagging(vocabulary, transcript):
    return tag(transcript, vocabulary)


def test_steps_follow_the_operation(tagging, vocabulary):
    steps = [vocabulary.coarse(segment.step) for segment in tagging.segments]
    expected = ["capsulorhexis", "hydrodissection", "phacoemulsification", "cortex-aspiration", "viscoelastic-removal"]
    assert [step for step in dict.fromkeys(steps) if step in expected] == expected


def test_segments_do_not_overlap_and_leave_no_gap(tagging):
    for before, after in pairwise(tagging.segments):
        assert before.end_ms == after.start_ms
        assert before.step != after.step
    assert all(segment.end_ms > segment.start_ms for segment in tagging.segments)


def test_every_mark_carries_its_evidence_and_a_confidence(tagging):
    assert tagging.mentions and tagging.segments and tagging.measures
    for mark in (*tagging.mentions, *tagging.segments, *tagging.findings):
        assert 0 < mark.confidence <= 1
        assert mark.evidence and all(reason.text for reason in mark.evidence)


def test_what_is_said_not_to_be_is_not_done(tagging):
    ring = [mention for mention in tagging.mentions if mention.concept == "capsular-tension-ring"]
    assert [mention.assertion for mention in ring] == [AssertionKind.ABSENT]


def test_findings_and_measures_are_read(tagging):
    assert {"dense-nucleus", "small-pupil"} <= {finding.concept for finding in tagging.findings}
    values = {measure.measure: (measure.low, measure.high) for measure in tagging.measures}
    assert values["capsulorhexis-diameter"] == (5.5, 5.5)
    assert values["incision-width"] == (2.4, 2.4)
    assert values["patient-age"] == (74, 74)


def test_an_accepted_stretch_stays_what_a_person_made_it(vocabulary, transcript):
    fixed = GivenSegment(step="anterior-vitrectomy", start_ms=60_000, end_ms=80_000, standing=Standing.ACCEPTED)
    tagging = tag(transcript, vocabulary, Given(segments=(fixed,)))
    inside = [segment for segment in tagging.segments if segment.start_ms < 78_000 and segment.end_ms > 62_000]
    assert {segment.step for segment in inside} == {"anterior-vitrectomy"}


def test_a_refused_step_is_not_proposed_again(vocabulary, transcript, tagging):
    refused = next(segment for segment in tagging.segments if segment.step == "capsulorhexis")
    given = Given(
        segments=(
            GivenSegment(
                step="capsulorhexis", start_ms=refused.start_ms, end_ms=refused.end_ms, standing=Standing.REFUSED
            ),
        )
    )
    for segment in tag(transcript, vocabulary, given).segments:
        overlap = min(segment.end_ms, refused.end_ms) - max(segment.start_ms, refused.start_ms)
        assert segment.step != "capsulorhexis" or overlap < 1500


GERMAN = "Und jetzt sehen wir hier, dass der Kern nicht hart ist, und ich mache eine kleine Öffnung in die Kapsel mit der Pinzette."
FRENCH = "Et maintenant je fais une petite ouverture dans la capsule avec la pince, et on voit que le noyau n'est pas très dur."


@pytest.mark.parametrize(("text", "language"), [(GERMAN, "de"), (FRENCH, "fr")])
def test_other_languages_are_said_and_not_tagged(vocabulary, text, language):
    tagging = tag(parse_transcript(f"[0:00] {text}".encode(), "other.txt"), vocabulary)
    assert tagging.language == language
    assert tagging.segments == () and tagging.mentions == ()
    assert tagging.remarks


@pytest.mark.parametrize(
    "text",
    [
        "[0:00] lens",
        "[0:00] " + "lens " * 3000,
        "[0:00] now\n[10:00] well\n[20:00] so this is the end of it",
        "[0:00] 5 5 5 5 5",
    ],
    ids=["one word", "one word three thousand times", "ten minutes of silence", "numbers"],
)
def test_odd_transcripts_give_sound_results(vocabulary, text):
    tagging = tag(parse_transcript(text.encode(), "odd.txt"), vocabulary)
    assert all(before.end_ms <= after.start_ms for before, after in pairwise(tagging.segments))


def test_an_empty_run_of_words_gives_an_empty_tagging(vocabulary, transcript):
    empty = transcript.model_copy(update={"words": (), "cues": ()})
    tagging = tag(empty, vocabulary)
    assert (tagging.segments, tagging.mentions, tagging.measures, tagging.findings) == ((), (), (), ())


def test_a_misheard_form_that_a_person_assigned_is_known_from_then_on(vocabulary):
    text = b"[0:00] Now the forceps and the rhexis.\n[0:10] Plenty of quibbly wax in the chamber.\n[0:20] Then the keratome."
    heard = parse_transcript(text, "speaker.txt")
    given = Given(heard=(HeardForm(heard="quibbly wax", concept="viscoelastic"),))
    assert "viscoelastic" not in {mention.concept for mention in tag(heard, vocabulary).mentions}
    assert ("viscoelastic", "quibbly wax") in {(m.concept, m.heard) for m in tag(heard, vocabulary, given).mentions}


def test_what_a_person_said_of_words_stands(vocabulary, transcript, tagging):
    wrong = next(mention for mention in tagging.mentions if mention.concept == "keratome")
    other = next(mention for mention in tagging.mentions if mention.concept == "capsular-tension-ring")
    given = Given(
        mentions=(
            GivenMention(concept=None, assertion=None, start_ms=wrong.start_ms, end_ms=wrong.end_ms, heard=wrong.heard),
            GivenMention(
                concept="capsular-tension-ring",
                assertion=AssertionKind.DONE,
                start_ms=other.start_ms,
                end_ms=other.end_ms,
                heard=other.heard,
            ),
        )
    )
    again = tag(transcript, vocabulary, given)
    assert not [m for m in again.mentions if m.concept == "keratome" and m.start_ms == wrong.start_ms]
    kept = [m for m in again.mentions if m.concept == "capsular-tension-ring"]
    assert [(m.assertion, m.standing) for m in kept] == [(AssertionKind.DONE, Standing.ACCEPTED)]


def test_everyday_talk_is_not_tagged(vocabulary):
    """A cook chops, divides, cracks and polishes too."""
    told = (Path(__file__).parent / "narrations" / "plain" / "kitchen.txt").read_text()
    tagging = tag(parse_transcript(f"[0:00] {told}".encode(), "kitchen.txt"), vocabulary)
    assert (tagging.segments, tagging.mentions, tagging.language) == ((), (), "en")
    assert "hardly speak of an operation" in tagging.remarks[0]


@pytest.mark.slow
def test_at_most_one_false_term_in_a_thousand_words_of_package_texts(vocabulary):
    """The docstrings of installed packages, 50,000 words that nobody here wrote and no reader learned from."""
    words = wrong = 0
    for _, text in docstrings(most_words=50_000):
        spoken = transcript_of(text)
        words += len(spoken.words)
        wrong += len(tag(spoken, vocabulary).mentions)
    assert words >= 50_000
    assert wrong <= words / 1000


def test_a_refused_concept_leaves_others_on_its_words(vocabulary):
    """Two concepts read from one stretch: refusing the one says nothing of the other."""
    said = Mention(
        concept="keratome", assertion=AssertionKind.DONE, start_ms=0, end_ms=900, first_word=0, last_word=1,
        heard="blade", confidence=0.6,
    )  # fmt: skip
    other = said.model_copy(update={"concept": "side-port"})
    word = Word(text="blade", start_ms=0, end_ms=900, cue=0)
    refused = GivenMention(concept="keratome", assertion=None, start_ms=0, end_ms=900, heard="blade", refused=True)
    assert with_given([said, other], [refused], [word]) == [other]
