"""The forms that an English noun phrase or verb takes, so that the vocabulary need list only one of them."""

from __future__ import annotations

VOWELS = frozenset("aeiou")
SIBILANTS = ("s", "x", "z", "ch", "sh")
# Greek and Latin plurals of the trade that no rule of English makes.
IRREGULAR_PLURALS = {
    "capsulorhexis": ("capsulorhexes",),
    "rhexis": ("rhexes",),
    "paracentesis": ("paracenteses",),
    "synechia": ("synechiae",),
    "synechiae": ("synechia",),
    "dialysis": ("dialyses",),
    "vectis": ("vectes",),
    "nucleus": ("nuclei",),
    "speculum": ("specula", "speculums"),
    "haptic": ("haptics",),
    "half": ("halves",),
    "knife": ("knives",),
    "iris": ("irides", "irises"),
}
IRREGULAR_VERBS = {
    "cut": ("cuts", "cutting"),
    "put": ("puts", "putting"),
    "split": ("splits", "splitting"),
    "tear": ("tears", "tore", "torn", "tearing"),
    "take": ("takes", "took", "taken", "taking"),
    "make": ("makes", "made", "making"),
    "fill": ("fills", "filled", "filling"),
    "bring": ("brings", "brought", "bringing"),
    "go": ("goes", "went", "gone", "going"),
    "hold": ("holds", "held", "holding"),
    "wash": ("washes", "washed", "washing"),
    "suture": ("sutures", "sutured", "suturing"),
    "stain": ("stains", "stained", "staining"),
    "dial": ("dials", "dialled", "dialed", "dialling", "dialing"),
}


def plurals(word: str) -> tuple[str, ...]:
    """The plural forms of a singular noun."""
    if word in IRREGULAR_PLURALS:
        return IRREGULAR_PLURALS[word]
    if word.endswith(SIBILANTS):
        return (word + "es",)
    if word.endswith("y") and len(word) > 2 and word[-2] not in VOWELS:
        return (word[:-1] + "ies",)
    return (word + "s",)


def conjugations(verb: str) -> tuple[str, ...]:
    """The third person, the past and the participles of a verb in its plain form."""
    if verb in IRREGULAR_VERBS:
        return IRREGULAR_VERBS[verb]
    third = plurals(verb)[0]
    if verb.endswith("e"):
        return third, verb + "d", verb[:-1] + "ing"
    if verb.endswith("y") and len(verb) > 2 and verb[-2] not in VOWELS:
        return third, verb[:-1] + "ied", verb + "ing"
    plain = (third, verb + "ed", verb + "ing")
    closed = len(verb) > 2 and verb[-1] not in "aeiouwxyh" and verb[-2] in VOWELS and verb[-3] not in VOWELS
    return (*plain, verb + verb[-1] + "ed", verb + verb[-1] + "ing") if closed else plain


def noun_forms(words: tuple[str, ...]) -> set[tuple[str, ...]]:
    """A noun phrase and its plurals: the last word inflects, or the word before "of", "in", "for"."""
    forms = {words}
    if not words:
        return forms
    head = len(words) - 1
    for index, word in enumerate(words):
        if index and word in ("of", "in", "for", "with", "under", "at", "on"):
            head = index - 1
            break
    if words[head].isalpha() and len(words[head]) > 2:
        forms.update((*words[:head], plural, *words[head + 1 :]) for plural in plurals(words[head]))
    return forms


def verb_forms(words: tuple[str, ...]) -> set[tuple[str, ...]]:
    """A verb phrase with its verb in every form: the verb is the first word that is no pronoun."""
    forms = {words}
    pronouns = ("i", "we", "you", "he", "she", "they", "it", "to", "then", "now")
    head = next((index for index, word in enumerate(words) if word not in pronouns), None)
    if head is not None and words[head].isalpha() and len(words[head]) > 2:
        forms.update((*words[:head], verb, *words[head + 1 :]) for verb in conjugations(words[head]))
    return forms
