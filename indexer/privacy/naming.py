"""Names of persons and places that nobody listed: told by a title, a turn of phrase, or a given name with what follows it."""

from __future__ import annotations

from collections.abc import Iterator

from indexer.models.identifying import IdentifierKind as Kind
from indexer.narration.numbers import TENS
from indexer.narration.rareness import rareness
from indexer.privacy.finding import Found
from indexer.privacy.given_names import ALSO_WORDS, EPONYMS, GIVEN, LARGE_PLACES
from indexer.privacy.text import Text, word_set

RARE = 0.72
"""Rareness from which a word without a capital may be a name."""
RARE_PAIR = 1.6
"""The same for two words together behind a turn of phrase that may mean anything."""
MOST_NAMES = 4
TITLES = word_set("mr mrs ms mister missus missis mrs. messrs herr frau senor senora")
"""What follows is a name, whatever it sounds like."""
CALLINGS = word_set("dr doctor prof professor nurse sister miss sir madam dame father reverend matron docter")
"""What follows may be a name."""
STRONG = (
    "name is", "names", "name was", "surname", "surname is", "first name", "last name", "maiden name", "family name",
    "patient name", "patients name", "patient called", "patient named", "named", "by the name of", "goes by",
    "known as", "signed by", "operated by", "assisted by",
    "surgeon", "operator", "name",
)  # fmt: skip
WEAK = (
    "called", "thanks", "thank you", "hello", "hi", "good morning", "good afternoon", "welcome", "this is", "i am", "im",
    "with me is", "thanks to", "with me", "together with", "patient is", "with dr", "patient", "assistant is", "nurse is",
    "well done", "over to", "lets ask", "ask",
)  # fmt: skip
RELATIVES = word_set(
    """
    wife husband son daughter brother sister mother father partner neighbour neighbor uncle aunt cousin niece nephew
    grandson granddaughter carer caregiver friend employer
    """
)
TEAM = word_set(
    """
    registrar fellow colleague assistant trainee resident anaesthetist anesthetist anesthesiologist consultant nurse
    boss technician optometrist orthoptist student
    """
)
OWNERS = word_set("my her his their our the your its")
NOT_NAMES = word_set(
    """
    dont im ill its thats ive lets cant wont isnt didnt
    the a an and or but so who which that this these is was are has had have will
    would can could i we
    he she they it you in on at of to from with
    for by as if not no yes ok okay now then here there all right left eye then today just
    very already also still first second please says said told asked where when what how his her their our your my me
    him them us under over into about after before during done being been do does did goes went came comes
    """
)
FROM_PLACE = (
    "lives in", "lives at", "living in", "lives near", "living at", "comes from", "came from", "comes to us from", "drove from",
    "all the way from", "referred from", "travelled from", "traveled from", "resident of", "home in", "born in", "grew up in",
    "town of", "city of", "village of", "moved to", "works in", "address is", "lived in", "flew in from", "over from", "farm in",
    "county of", "parish of", "retired to", "practice in", "suburb of",
)  # fmt: skip
HOUSES = word_set("hospital clinic infirmary hospitals polyclinic sanatorium hospice")
_PAIRS = """medical center, medical centre, eye institute, eye center, eye centre, surgery center, surgery centre,
    surgical center, surgical centre, health center, health centre, university hospital, eye hospital, eye clinic,
    eye infirmary, eye unit, nursing home, care home"""
HOUSE_PAIRS = frozenset(tuple(pair.split()) for pair in _PAIRS.split(","))
HOUSE_WORDS = word_set(
    """
    general university eye royal county city community district memorial regional central private day teaching st saint
    holy childrens our ladys lady sacred heart
    """
)
STREETS = word_set("street road avenue lane drive boulevard terrace crescent court close place square way")
ZIP = (("zip",), ("zip", "code"), ("postcode",), ("post", "code"), ("postal", "code"))

_STRONG = {tuple(phrase.split()) for phrase in STRONG}
_WEAK = {tuple(phrase.split()) for phrase in WEAK}
_PLACES = {tuple(phrase.split()) for phrase in FROM_PLACE}
_LONGEST = 4


class Names:
    """A text in which names are looked for; `trade` are words that are no names here."""

    def __init__(self, text: Text, trade: frozenset[str] = frozenset()) -> None:
        self.text, self.trade = text, trade

    def found(self) -> Iterator[Found]:
        """Every name and place that the words around it give away."""
        words = self.text.words
        for index in range(len(words)):
            yield from self._persons(index)
            yield from self._places(index)

    def _persons(self, at: int) -> Iterator[Found]:
        words, word = self.text.words, self.text.words[at]
        if word in TITLES and not self.text.gaps[at].strip(" ."):
            yield from self._named(at + 1, 0.95, least=1)
        elif word in CALLINGS and not self.text.gaps[at].strip(" ."):
            yield from self._named(at + 1, 0.85)
        if (word in TEAM or word in RELATIVES) and at and words[at - 1] in OWNERS:
            yield from self._named(at + 1, 0.75)
        for size in range(1, _LONGEST):
            phrase = tuple(words[at : at + size])
            if phrase in _STRONG:
                yield from self._named(at + size + self._filler(at + size), 0.85)
            elif phrase in _WEAK:
                yield from self._named(at + size, 0.6, given=True)
        if word in GIVEN and self._may_be_name(at) and not (at and words[at - 1] in GIVEN):
            yield from self._named(at, 0.55, given=True)

    def _filler(self, at: int) -> int:
        return 1 if self.text.words[at : at + 1] in (["is"], ["was"]) else 0

    def _named(self, first: int, certainty: float, *, least: int = 0, given: bool = False) -> Iterator[Found]:
        """The name that begins at a token. `least`: so many words are taken as they are; `given`: it begins with a given name."""
        words, last = self.text.words, first
        while last < min(len(words), first + MOST_NAMES) and (last == first or self._joined(last - 1)):
            if last - first < least:
                if words[last] in NOT_NAMES or words[last].isdigit():
                    return
            elif not self._like_name(last, begun=last > first):
                break
            last += 1
        if last == first or (given and not self._given(first, last)):
            return
        yield self._of(first, last, Kind.NAME, certainty)

    def _joined(self, index: int) -> bool:
        return self.text.gaps[index] in (" ", "-", "_", ", ", ". ", " - ", "") and not (
            self.text.gaps[index] in (". ", ", ") and len(self.text.words[index]) > 1 and self.text.gaps[index] == ". "
        )

    def _given(self, first: int, last: int) -> bool:
        """Whether a name begins with a given name, or is two words that both are written with a capital."""
        word, token = self.text.words[first], self.text.tokens[first]
        if word in GIVEN or (word in ALSO_WORDS and self.text.cased and token.capital):
            return True
        if last - first < 2:
            return False
        if self.text.cased:
            return token.capital and self.text.tokens[first + 1].capital
        given, family = (rareness(other) for other in self.text.words[first : first + 2])
        return family >= RARE and given + family >= RARE_PAIR

    def _may_be_name(self, at: int) -> bool:
        return not self.text.cased or self.text.tokens[at].capital

    def _like_name(self, at: int, *, begun: bool) -> bool:
        token = self.text.tokens[at]
        word = token.word
        if (
            not token.raw[0].isalpha()
            or word in NOT_NAMES
            or word in EPONYMS
            or word in self.trade
            or word in TITLES | CALLINGS
        ):
            return False
        if self.text.cased and not self.text.first_of_sentence(at):
            return token.capital and (len(word) > 1 or begun)
        if len(word) < 3 or word in TENS:
            return False
        if word in GIVEN:
            return True
        return rareness(word) >= RARE

    def _places(self, at: int) -> Iterator[Found]:
        words = self.text.words
        for size in range(1, _LONGEST + 1):
            if tuple(words[at : at + size]) in _PLACES:
                yield from self._place(at + size)
        house = 1 if words[at] in HOUSES else 2 if tuple(words[at : at + 2]) in HOUSE_PAIRS else 0
        if house:
            yield from self._house(at, house)
        if words[at] in STREETS:
            yield from self._street(at)
        for phrase in ZIP:
            if tuple(words[at : at + len(phrase)]) == phrase:
                yield from self._zip(at + len(phrase))

    def _place(self, first: int) -> Iterator[Found]:
        """The place named from a token on; states and countries are none. "The" may go before."""
        words = self.text.words
        first += words[first : first + 1] == ["the"]
        last = first
        while last < min(len(words), first + 3) and self._like_name(last, begun=last > first):
            if words[last] in LARGE_PLACES:
                break
            last += 1
            if not self._joined(last - 1):
                break
        if last > first:
            yield self._of(first, last, Kind.PLACE, 0.8)

    def _house(self, at: int, size: int) -> Iterator[Found]:
        """The name before "hospital", "eye clinic": "the Royal Lindenhof Eye Hospital"."""
        words, first = self.text.words, at
        while first and at - first < 4 and self._joined(first - 1):
            word = words[first - 1]
            capital = self.text.cased and self.text.tokens[first - 1].capital and word not in NOT_NAMES
            if not (word in HOUSE_WORDS or capital or self._like_name(first - 1, begun=True)):
                break
            first -= 1
        if words[at + size : at + size + 1] and words[at + size] in ("number", "no", "id"):
            return
        own = [word for word in words[first:at] if word not in HOUSE_WORDS or word in ("st", "saint")]
        if own:
            yield self._of(first, at + size, Kind.HOSPITAL, 0.85)

    def _street(self, at: int) -> Iterator[Found]:
        """ "14 Almond Street", "almond street" behind "lives in" is found as a place."""
        words = self.text.words
        for first in range(max(0, at - 4), at):
            if words[first].isdigit() and at - first > 1 and self.text.cased and self.text.tokens[at].capital:
                yield self._of(first, at + 1, Kind.PLACE, 0.9)
                return
        capital = self.text.cased and self.text.tokens[at].capital
        if at and capital and self.text.tokens[at - 1].capital and self.text.gaps[at - 1] == " ":
            yield self._of(at - 1, at + 1, Kind.PLACE, 0.7)

    def _zip(self, at: int) -> Iterator[Found]:
        from indexer.privacy.digits import runs

        for run in runs(self.text, letters=True, fewest=3):
            if at <= run.first <= at + 2:
                yield self._of(run.first, run.last, Kind.PLACE, 0.95)
                return

    def _of(self, first: int, last: int, kind: Kind, certainty: float) -> Found:
        return Found(self.text.tokens[first].start, self.text.tokens[last - 1].end, kind, "context", certainty)
