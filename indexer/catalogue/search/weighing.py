"""How much what a passage holds counts for what is asked: first by itself, then with what lies around it.

Every weight stands in `Scale`, with 1 for a thing that is done in the passage itself. They were set on narrations that
are kept apart from the tests; nothing in them knows a phrase.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import log

from indexer.catalogue.search.asked import Asked, Term
from indexer.catalogue.search.holding import Held, Holding, Said
from indexer.models import AssertionKind


@dataclass(frozen=True)
class Scale:
    """What each way of holding something counts."""

    step: float = 1.2
    """The passage's own step."""
    finding: float = 1.3
    """A finding of the case, for each of its passages."""
    asserted: Mapping[AssertionKind, float] = field(
        default_factory=lambda: {
            AssertionKind.DONE: 1.0,
            AssertionKind.PLANNED: 0.3,
            AssertionKind.EARLIER: 0.4,
            AssertionKind.CONSIDERED: 0.3,
            AssertionKind.ABSENT: 0.25,
        }
    )
    denied: float = 0.9
    """A thing said to be absent or only considered, where that was asked for."""
    again: float = 1.0
    """A thing that was done earlier in the recording already, and is still at work."""
    often: float = 0.0
    """What a thing named e times counts more."""
    doubt: float = 1.0
    """The power to which the certainty of a reading is taken."""
    other_step: float = 0.8
    """A step named within another one, of what a thing named so counts."""
    next_door: float = 0.65
    """What the passage before or after holds."""
    same_case: float = 0.1
    """What any other passage of the case holds."""
    partly: float = 0.1
    """What is left to a passage that holds hardly anything of the concepts asked for."""
    word: float = 0.28
    """A plain word in the stretch that playing begins with."""
    read_word: float = 0.1
    """A word that a concept was read from: it counts beside the concept, for who asks in the very words."""
    word_elsewhere: float = 0.5
    """The same elsewhere in the passage, of that."""
    word_next_door: float = 0.5
    word_in_case: float = 0.05
    word_in_title: float = 0.3
    akin: float = 1.0
    """A word of a like meaning in its place, the less the more passages say one."""
    told: float = 0.1
    """A word that is told beside one asked for, of the logarithm by which it is likelier there."""
    likely_step: float = 0.2
    """The same for the passage's step, where the words asked for belong to some steps more than to others."""
    alike: float = 0.6
    """A word that is only spelled alike."""
    telling: float = 0.6
    """A passage in which one only talks (before or after the operation), of what an act counts."""
    unmarked: float = 0.4
    """A passage that says all words of a concept which nobody marked in it."""
    enough: float = 0.2
    """Passages that hold less than this share of what is asked do not answer."""


SCALE = Scale()


@dataclass(frozen=True)
class Rarity:
    """How telling each term and word is here: log((all + 1) / (holding + 0.5)), never below 0.1."""

    terms: Mapping[str, float]
    words: Mapping[str, float]
    akin: Mapping[str, float] = field(default_factory=dict)

    @classmethod
    def of(cls, holding: Holding, passages: int) -> Rarity:
        """Count within the scope, so that what a viewer may not see has no say."""

        def rarity(many: int) -> float:
            return max(0.1, log((passages + 1) / (many + 0.5)))

        return cls(
            {concept: rarity(len(held.keys)) for concept, held in holding.terms.items()},
            {stem: rarity(len(keys)) for stem, keys in holding.words.items()},
            {stem: rarity(len(set(holding.words[stem]).union(*held.values()))) for stem, held in holding.akin.items()},
        )


@dataclass(frozen=True)
class Around:
    """What lies around a passage: keys of those next to it, and of all of its case."""

    step: str
    """The step of the one."""
    case_id: str
    next_door: Sequence[int]
    case: Sequence[int]
    """In order of recording and time."""


@dataclass(frozen=True)
class Weight:
    """What a passage has of the query: its score, and which terms and words it holds itself."""

    score: float
    terms: frozenset[str]
    words: frozenset[str]


class Scales:
    """Weighs passages for one query."""

    def __init__(
        self,
        asked: Asked,
        holding: Holding,
        rarity: Rarity,
        wanted: AssertionKind | None,
        scale: Scale = SCALE,
    ) -> None:
        self.asked, self.holding, self.rarity, self.wanted, self.scale = asked, holding, rarity, wanted, scale
        self.values = self._word_values()
        self.akin = self._akin_values()
        self._akin_keys = {stem: set[int]().union(*held.values()) for stem, held in holding.akin.items()}
        self.akin_of: dict[str, list[str]] = defaultdict(list)
        for word, others in holding.akin.items():
            for other in others:
                self.akin_of[other].append(word)
        self.groups = asked.groups
        self._keys = {concept: held.keys for concept, held in holding.terms.items()}
        self._unmarked = {term.concept: self._saying(term) for term in asked.terms}
        self._case: dict[tuple[str, str], tuple[float, int | None]] = {}
        self._case_words: dict[str, frozenset[str]] = {}
        self.full = sum(self._most(group) for group in self.groups)
        self.full += sum(self.values[stem] for stem in asked.words)

    def _saying(self, term: Term) -> set[int]:
        """Passages that say all the words a term was read from."""
        said = [set(self.holding.words[stem]) for stem in term.stems]
        return set.intersection(*said) if said else set()

    def _word_values(self) -> dict[str, float]:
        """What each stem counts: plain words first, then those that concepts were read from."""
        scale, rarity = self.scale, self.rarity.words
        values = {}
        for stem in self.asked.words:
            values[stem] = scale.word * rarity[stem] * (scale.alike if self.holding.alike.get(stem) else 1.0)
        for term in self.asked.terms:
            for stem in term.stems:
                values.setdefault(stem, scale.read_word * rarity[stem])
        return values

    def _akin_values(self) -> dict[str, float]:
        """What a word of a like meaning counts for each word asked for."""
        return {
            stem: self.scale.word * self.scale.akin * self.rarity.akin[stem]
            for stem, held in self.holding.akin.items()
            if held
        }

    def tells(self, term: Term) -> float:
        """What a term counts where it is fully held."""
        return float(self.rarity.terms[term.concept] * term.certainty**self.scale.doubt)

    def _most(self, group: Sequence[Term]) -> float:
        return max(self.tells(term) for term in group)

    def candidates(self) -> list[int]:
        """All passages that hold enough of what is asked by themselves, those with most first."""
        shares: dict[int, float] = defaultdict(float)
        for group in self.groups:
            best: dict[int, float] = defaultdict(float)
            for term in group:
                for key in self._keys[term.concept]:
                    best[key] = max(best[key], self.tells(term) * self.strength(term, key))
                for key in self._unmarked[term.concept]:
                    best[key] = max(best[key], self.tells(term) * self.scale.unmarked)
            for key, value in best.items():
                shares[key] += value
        for stem in self.asked.words:
            for key in {*self.holding.words[stem], *self.holding.titles.get(stem, ())}:
                shares[key] += self.values[stem]
            for key in self._akin_keys[stem] - self.holding.words[stem].keys():
                shares[key] += self.akin[stem]
        for stem in self.values.keys() - set(self.asked.words):
            for key in self.holding.words[stem]:
                # Enough to tell two apart that hold the same, and for a query whose concepts nobody marked.
                shares[key] += self.values[stem] * self.scale.word_elsewhere
        least = self.scale.enough * self.full
        return sorted((key for key in shares if shares[key] >= least), key=lambda key: (-shares[key], key))

    def whole(self) -> set[int]:
        """Passages that hold all concepts asked for, and for a query without any, all the words."""
        held = [set[int]().union(*(self._keys[term.concept] for term in group)) for group in self.groups]
        said = [set(self.holding.words[stem]) for stem in self.asked.words]
        return set.intersection(*(held or said)) if held or said else set()

    def weigh(self, key: int, around: Around, near: frozenset[str], said: frozenset[str] = frozenset()) -> Weight:
        """Weigh a passage with what lies around it.

        `near` is what its best stretch holds of the query, `said` are the stems of all that is said in the stretch.
        """
        strong = sum(
            max(self.tells(term) * self._with_around(term, key, around) for term in group) for group in self.groups
        )
        possible = sum(self._most(group) for group in self.groups)
        covered = strong / possible if possible else 1.0
        words = sum(
            max(value * self._said(stem, key, around, near), self._akin_said(stem, key, near))
            for stem, value in self.values.items()
        )
        words += self.scale.told * self.asked.associations.heard(said)
        words += self.scale.likely_step * self.asked.associations.step(around.step)
        partly = self.scale.partly
        return Weight(strong * (partly + (1 - partly) * covered) + words, *self.held(key))

    def held(self, key: int) -> tuple[frozenset[str], frozenset[str]]:
        """The terms and the words that a passage holds itself."""
        terms = frozenset(term.concept for term in self.asked.terms if key in self._keys[term.concept])
        return terms, frozenset(stem for stem in self.asked.words if key in self.holding.words[stem])

    def strength(self, term: Term, key: int) -> float:
        """How well a passage holds a term, 0 to 1, whatever the way."""
        held = self.holding.terms[term.concept]
        ways = [self.scale.step * held.steps.get(key, 0.0), self.scale.finding * held.findings.get(key, 0.0)]
        said = [self.said_strength(term, naming) for naming in held.said.get(key, ())]
        if said:
            ways.append(max(said) * (1 + self.scale.often * log(len(said))))
        return max(ways)

    def said_strength(self, term: Term, naming: Said) -> float:
        """How much a naming counts; where an assertion is asked for, it counts as `done` does otherwise."""
        kind = AssertionKind.DONE if naming.assertion is self.wanted else naming.assertion
        share = self.scale.other_step if term.facet in ("step", "part") else 1.0
        counts = self.scale.asserted[kind]
        if term.denied and kind in (AssertionKind.ABSENT, AssertionKind.CONSIDERED):
            counts = self.scale.denied
        return counts * naming.near * share

    def _with_around(self, term: Term, key: int, around: Around) -> float:
        ways = [self.strength(term, key) * self._fits(term, key, around)]
        ways.append(self.scale.unmarked if key in self._unmarked[term.concept] else 0.0)
        ways += [self.scale.next_door * self._acted(term, other) for other in around.next_door]
        ways.append(self.scale.same_case * self._in_case(term, around)[0])
        return max(ways)

    def _in_case(self, term: Term, around: Around) -> tuple[float, int | None]:
        """The most that is done of a term anywhere in a case, and the passage in which it is done first."""
        known = self._case.get((term.concept, around.case_id))
        if known is None:
            acted = [(self._acted(term, key), key) for key in around.case if key in self._keys[term.concept]]
            done = [each for each in acted if each[0] > 0]
            known = (max(done)[0], done[0][1]) if done else (0.0, None)
            self._case[term.concept, around.case_id] = known
        return known

    def _fits(self, term: Term, key: int, around: Around) -> float:
        """Less than 1 for a thing that is at work since an earlier passage."""
        if term.facet not in ("device", "agent", "technique", "event"):
            return 1.0
        first = self._in_case(term, around)[1]
        return self.scale.again if first is not None and first != key else 1.0

    def _acted(self, term: Term, key: int) -> float:
        """What counts next door: steps taken and things done, not what is merely talked of."""
        held: Held = self.holding.terms[term.concept]
        done = (each for each in held.said.get(key, ()) if each.assertion is AssertionKind.DONE)
        return max([held.steps.get(key, 0.0), *(self.said_strength(term, each) for each in done)])

    def _said(self, stem: str, key: int, around: Around, near: frozenset[str]) -> float:
        """How near a stem is said, 1 for within the best stretch."""
        keys, scale = self.holding.words[stem], self.scale
        if stem in near:
            return 1.0
        if key in keys:
            return scale.word_elsewhere
        if any(each in keys for each in around.next_door):
            return scale.word_next_door
        if stem in self.asked.words and key in self.holding.titles.get(stem, ()):
            return scale.word_in_title
        return scale.word_in_case if stem in self._said_in_case(around) else 0.0

    def _akin_said(self, stem: str, key: int, near: frozenset[str]) -> float:
        """What a word of a like meaning counts: in the best stretch, or elsewhere in the passage."""
        if stem not in self.akin or key not in self._akin_keys[stem]:
            return 0.0
        here = any(other in near for other in self.holding.akin[stem])
        return self.akin[stem] * (1.0 if here else self.scale.word_elsewhere)

    def _said_in_case(self, around: Around) -> frozenset[str]:
        known = self._case_words.get(around.case_id)
        if known is None:
            inside = set(around.case)
            known = frozenset(stem for stem in self.values if not inside.isdisjoint(self.holding.words[stem]))
            self._case_words[around.case_id] = known
        return known
