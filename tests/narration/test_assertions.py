"""Rules of assertion on spoken narration, and on sentences of published negation examples."""

import pytest

from indexer.models.tagged import AssertionKind
from indexer.narration.assertion import assertion_of, shipped_phrases
from indexer.vocabulary.words import normalise


def meant(sentence: str, thing: str) -> AssertionKind:
    words, target = normalise(sentence), normalise(thing)
    first = next(at for at in range(len(words)) if words[at : at + len(target)] == target)
    kind, _ = assertion_of(words, [False] * len(words), first, first + len(target), shipped_phrases())
    return kind


@pytest.mark.parametrize(
    ("sentence", "thing", "kind"),
    [
        ("the chopper goes in from the left", "chopper", "done"),
        ("no vitreous anywhere", "vitreous", "absent"),
        ("no doubt about it this is a hard nucleus", "hard nucleus", "done"),
        ("I did not need the hooks", "hooks", "absent"),
        ("later I will put a tension ring", "tension ring", "planned"),
        ("if the flap runs out you stop", "flap runs out", "considered"),
        ("instead of a needle I take the forceps", "needle", "considered"),
        ("no stitch but the wound leaks", "wound leaks", "done"),
    ],
)
def test_how_a_thing_is_meant(sentence, thing, kind):
    assert meant(sentence, thing) == kind


# Sentences of the open test set of NegEx (chapmanbe/negex, rsAnnotations-1-120-random.txt) and of medspacy's own context
# tests, with their published answer; the condition stands in capitals there.
@pytest.mark.parametrize(
    ("sentence", "condition", "negated"),
    [
        ("Extremities reveal no peripheral cyanosis or EDEMA.", "edema", True),
        ("The lungs are clear to auscultation bilaterally, no wheezes or RALES.", "rales", True),
        ("Heart - Regular rate and rhythm, no MURMURS, gallops, or rubs.", "murmurs", True),
        ("She denies any DIAPHORESIS.", "diaphoresis", True),
        ("There is no evidence of pneumonia.", "pneumonia", True),
        ("HYPERTENSION.", "hypertension", False),
    ],
)
def test_published_negations(sentence, condition, negated):
    assert (meant(sentence, condition) is AssertionKind.ABSENT) == negated
