"""Two hundred invented cases with identifiers of every class planted in speech, titles, file names and metadata.

Everything is invented; numbers and addresses are of ranges kept for examples where there are such (555-01xx, RFC 2606,
RFC 5737). The classes are those of 45 CFR 164.514(b)(2)(i). Half of the cases, by a random number, are for tuning and
half for judging; turns of phrase marked as held back are only said in those for judging.
"""

from __future__ import annotations

import json
import random
import re
from functools import cache
from pathlib import Path
from typing import Literal, NamedTuple

from indexer.models.identifying import IdentifierKind as Kind
from indexer.models.identifying import KnownName
from indexer.models.timed import Word
from tests.privacy.misheard import misheard
from tests.privacy.said import digit_words, misheard_digits, ordinal, paired_words, year_words

CASES = 200
NARRATIONS = Path(__file__).parents[1] / "narrations"
WORD_MS = 380

_FIRST = """Mirela Oskar Tamsin Ilse Priya Yusuf Gerald Tobias Anna Leonie Marek Noor Kaito Bettina Hugo Salome Dorothy
Ravi Ingrid Pavel Amara Cornelius Felicity Jonas Wanda Ibrahim Lucia Stellan Odette Morwenna"""
FIRST = _FIRST.split()
_SYLLABLES = """Ash Brand Kern Lind Vant Mor Hol Tarn Wex Dray Pell Quill Sten Thorn Ulf Har Cald Fen Gar Jar Osk Bel Tru Zel
Nor"""
SYLLABLES = _SYLLABLES.split()
_ENDS = """grove hill oor berg well ton wick mere ley quist sson ford by mann stead vale ett adze owski arian"""
ENDS = _ENDS.split()
_TOWNS = """Aldersby Quennick Tharnwold Ostermark Pellingford Brackenreach Wyvermouth Hollinsea Marrowdale Estercombe"""
TOWNS = _TOWNS.split()
HOUSES = (
    "{} Eye Clinic",
    "{} Hospital",
    "Saint {} Infirmary",
    "{} Medical Centre",
    "{} General Hospital",
    "{} Eye Institute",
)


class Planted(NamedTuple):
    """One identifier: in the words `first` to `last` (not included), or the letters of a text."""

    kind: Kind
    field: str
    first: int
    last: int
    text: str
    said: Literal["clean", "misheard"] = "clean"
    listed: bool = False


class PlantedCase(NamedTuple):
    """What a search is given, and what it has to find."""

    judging: bool
    words: tuple[Word, ...]
    texts: dict[str, str]
    metadata: dict[str, str]
    known: tuple[KnownName, ...]
    planted: tuple[Planted, ...]


class _Persons(NamedTuple):
    patient: str
    nurse: str
    stranger: str
    hospital: str
    town: str
    record: str


def cases(seed: int = 20261125) -> list[PlantedCase]:
    """All cases, the same each time."""
    chance = random.Random(seed)
    return [_case(chance, number) for number in range(CASES)]


def surname(chance: random.Random) -> str:
    return chance.choice(SYLLABLES) + chance.choice(ENDS)


def _full(chance: random.Random) -> str:
    return f"{chance.choice(FIRST)} {surname(chance)}"


# Turns of phrase: {x} is planted; `|` parts those of all cases from those held back for judging.
SAID: dict[Kind, str] = {
    Kind.NAME: """this is Mrs {x} who came to us with a white lens/the patient is {x}/thanks {x} for the drops
        /Mr {x} has loose zonules
        /my colleague {x} did the other eye/Nurse {x} hands me the chopper/{x} will hold the eye for a moment
        /now and then {x} moves the light | as {x} always says slowly/ doctor {x} referred her/her name is {x}/her husband {x}
        waits outside""",
    Kind.PLACE: """she lives in {x} with her sister/he comes from {x} twice a year | she was referred from {x} last winter""",
    Kind.HOSPITAL: """we are here at the {x} this morning/the first eye was done at {x} | greetings from the {x} theatre""",
    Kind.DATE: """she was born on the {x} and sees poorly/the first eye was done on {x} | date of birth {x}
        /operated on {x} elsewhere""",
    Kind.AGE: """a {x} year old with a dense nucleus/this patient is {x} years old | woman aged {x} both eyes dense""",
    Kind.TELEPHONE: """call her daughter on {x} afterwards/her phone number is {x} | you reach him on {x} in the evening""",
    Kind.FAX: """the fax is {x} for the letter/send it by fax to {x} | our fax number {x}""",
    Kind.EMAIL: """write to {x} for the film/her e-mail is {x} | send questions to {x}""",
    Kind.SOCIAL_SECURITY: """her social security number is {x} | social security {x}""",
    Kind.RECORD: """her record number is {x} as you see/hospital number {x} right eye | chart {x} is on the screen""",
    Kind.PLAN: """the health plan number is {x}/insurance number {x} for billing | member id {x}""",
    Kind.ACCOUNT: """charged to account {x} today/account number {x} | the billing account is {x}""",
    Kind.LICENCE: """my licence number is {x}/certificate number {x} | driving licence {x}""",
    Kind.VEHICLE: """his number plate is {x} outside/the license plate reads {x} | car registration {x}""",
    Kind.DEVICE: """the lens has serial number {x}/lot number {x} on the box | the sticker says serial {x}""",
    Kind.WEB: """more on {x} if you like/see {x} | our page is {x}""",
    Kind.IP: """the recorder is at {x} in the network | ip address {x}""",
    Kind.BIOMETRIC: """fingerprint {x} opened the cabinet | her biometric id is {x}""",
    Kind.OTHER: """study number {x} of the trial/the barcode is {x} | participant {x}""",
}


def phrases(kind: Kind, judging: bool) -> list[str]:
    """How an identifier of that kind is said in cases for tuning, or in those for judging."""
    common, _, held = SAID[kind].partition("|")
    chosen = common + ("/" + held if judging else "")
    return [" ".join(one.split()) for one in chosen.split("/") if one.strip()]


def _case(chance: random.Random, number: int) -> PlantedCase:
    judging = chance.random() < 0.5
    who = _Persons(
        _full(chance),
        surname(chance),
        _full(chance),
        chance.choice(HOUSES).format(surname(chance)),
        chance.choice(TOWNS),
        "".join(chance.choice("0123456789") for _ in range(chance.choice((6, 7, 8)))),
    )
    cased = chance.random() < 0.4
    words, planted = _spoken(chance, who, judging, cased)
    texts, in_texts = _titles(chance, who, number)
    metadata, in_metadata = _containers(chance, who)
    known = (
        KnownName(text=who.patient),
        KnownName(text=who.nurse),
        KnownName(kind=Kind.HOSPITAL, text=who.hospital),
        KnownName(kind=Kind.PLACE, text=who.town),
        KnownName(kind=Kind.RECORD, text=who.record),
    )
    return PlantedCase(judging, words, texts, metadata, known, (*planted, *in_texts, *in_metadata))


def _spoken(
    chance: random.Random, who: _Persons, judging: bool, cased: bool
) -> tuple[tuple[Word, ...], tuple[Planted, ...]]:
    """Lines of an invented narration with an identifier said after every third one or so."""
    lines = list(_filler(chance, cased))
    said = list(_identifiers(chance, who))
    chance.shuffle(said)
    places = sorted(chance.sample(range(1, len(lines)), min(len(said), len(lines) - 1)))
    words: list[Word] = []
    planted: list[Planted] = []
    now = 1000
    for at, line in enumerate(lines):
        pieces = [(line, None)]
        while places and places[0] == at and said:
            places.pop(0)
            kind, text, how, listed = said.pop()
            pieces.append((chance.choice(phrases(kind, judging)), (kind, text, how, listed)))
        for phrase, item in pieces:
            before, _, behind = phrase.partition("{x}")
            first = len(words) + len(before.split())
            sentence = f"{before}{item[1]}{behind}" if item else before
            if item:
                sentence = _as_written(sentence, item[1], cased)
                planted.append(
                    Planted(item[0], "words", first, first + len(item[1].split()), item[1], item[2], item[3])
                )
            for piece in sentence.split():
                words.append(Word(text=piece, start_ms=now, end_ms=now + WORD_MS, cue=at, timing="given"))
                now += WORD_MS
            now += 700
    return tuple(words), tuple(planted)


def _as_written(sentence: str, item: str, cased: bool) -> str:
    if not cased:
        return sentence.lower()
    return sentence[0].upper() + sentence[1:] + "."


@cache
def _narrations() -> list[dict[str, list[str]]]:
    read = []
    for path in sorted(NARRATIONS.glob("ours-???.json")):
        lines = json.loads(path.read_text(encoding="utf-8"))["lines"]
        read.append({form: [line[form] for line in lines if line[form]] for form in ("clean", "heard")})
    return read


def _filler(chance: random.Random, cased: bool) -> list[str]:
    lines = chance.choice(_narrations())["clean" if cased else "heard"]
    start = chance.randrange(max(1, len(lines) - 40))
    # What the narrations themselves say of ages over 89 is left out: it would be found, and rightly.
    return [line for line in lines[start : start + 40] if not re.search(r"ninet|\b9\d\b", line.lower())]


def _identifiers(chance: random.Random, who: _Persons) -> list[tuple[Kind, str, Literal["clean", "misheard"], bool]]:
    """What is said in one case: the listed names clean and misheard, and some eight of the other classes."""
    last = who.patient.split()[1]
    listed: list[tuple[Kind, str, Literal["clean", "misheard"], bool]] = []
    for kind, name in (
        (Kind.NAME, chance.choice((who.patient, last))),
        (Kind.NAME, who.nurse),
        (Kind.HOSPITAL, who.hospital),
        (Kind.PLACE, who.town),
    ):
        heard = " ".join(_heard_part(part, chance) for part in name.split())
        listed.append((kind, name, "clean", True))
        listed.append((kind, heard, "misheard", True))
    listed.append((Kind.RECORD, _digits(chance, who.record), "clean", True))
    listed.append((Kind.RECORD, misheard_digits(digit_words(who.record), chance), "misheard", True))
    others = [(kind, *_made(chance, kind, who), False) for kind in SAID if kind is not Kind.HOSPITAL]
    return listed + chance.sample(others, 9)  # type: ignore[return-value]


def _heard_part(part: str, chance: random.Random) -> str:
    known = {"eye", "clinic", "hospital", "saint", "infirmary", "medical", "centre", "general", "institute"}
    return part if part.lower() in known else misheard(part, chance)


def _digits(chance: random.Random, number: str) -> str:
    return chance.choice((number, digit_words(number), paired_words(number)))


def _made(chance: random.Random, kind: Kind, who: _Persons) -> tuple[str, Literal["clean", "misheard"]]:
    """One identifier of a class as it is said."""
    number = "".join(chance.choice("0123456789") for _ in range(chance.choice((6, 7, 8, 9))))
    letters = "".join(chance.choice("bcdfghjklmnprstvwxz") for _ in range(3))
    name = chance.choice(FIRST).lower()
    heard: Literal["clean", "misheard"] = "clean"
    match kind:
        case Kind.NAME:
            text = who.stranger
        case Kind.PLACE:
            text = chance.choice(SYLLABLES) + chance.choice(("sea", "combe", "thorpe", "haven"))
        case Kind.DATE:
            text = _date(chance)
        case Kind.AGE:
            age = chance.randint(90, 104)
            text = (
                str(age)
                if age > 99 or chance.random() < 0.5
                else f"ninety {['one', 'two', 'three', 'four', 'five', 'six', 'seven', 'eight', 'nine'][age - 91]}"
                if age > 90
                else "ninety"
            )
        case Kind.TELEPHONE | Kind.FAX:
            tail = f"55501{chance.randint(10, 99)}"
            text = chance.choice(
                (
                    f"({chance.randint(201, 989)}) {tail[:3]}-{tail[3:]}",
                    f"{tail[:3]}-{tail[3:]}",
                    digit_words(tail),
                    paired_words(tail),
                )
            )
        case Kind.EMAIL:
            text = chance.choice(
                (f"{name}@example.org", f"{name} at example dot org", f"{name} dot {letters} at example dot com")
            )
        case Kind.SOCIAL_SECURITY:
            plain = f"{chance.randint(900, 999)}{chance.randint(10, 99)}{chance.randint(1000, 9999)}"
            text = chance.choice((f"{plain[:3]}-{plain[3:5]}-{plain[5:]}", digit_words(plain)))
        case Kind.VEHICLE:
            text = chance.choice((f"{letters.upper()} {number[:4]}", f"{' '.join(letters)} {digit_words(number[:4])}"))
        case Kind.DEVICE:
            text = chance.choice(
                (f"{letters.upper()}{number}", f"{' '.join(letters[:2])} {digit_words(number)}", number)
            )
        case Kind.WEB:
            text = chance.choice(
                (
                    f"www.{name}-eye.example",
                    f"https://example.org/{name}",
                    f"www dot {name} dot example",
                    f"{name} dot example dot com",
                )
            )
        case Kind.IP:
            text = chance.choice(
                (
                    f"192.0.2.{chance.randint(1, 254)}",
                    "one ninety two dot zero dot two dot " + digit_words(str(chance.randint(10, 99))),
                )
            )
        case _:
            text = _digits(chance, number)
            if chance.random() < 0.3:
                text, heard = misheard_digits(digit_words(number), chance), "misheard"
    return text, heard


_MONTHS = """January February March April May June July August September October November December"""
MONTHS = _MONTHS.split()


def _date(chance: random.Random) -> str:
    day, month, year = chance.randint(1, 28), chance.randint(1, 12), chance.randint(1925, 2025)
    return chance.choice(
        (
            f"{day} {MONTHS[month - 1]} {year}",
            f"{ordinal(day)} of {MONTHS[month - 1]} {year_words(year)}",
            f"{MONTHS[month - 1]} {ordinal(day)} {year_words(year)}",
            f"{MONTHS[month - 1]} {day} {year}",
            f"{day}/{month}/{year}",
            f"{year}-{month:02}-{day:02}",
            f"{day}.{month}.{year}",
            f"{ordinal(day)} of {MONTHS[month - 1]}",
        )
    )


def _titles(chance: random.Random, who: _Persons, number: int) -> tuple[dict[str, str], list[Planted]]:
    """A title, a note and a file's name, each with an identifier or two."""
    first, last = who.patient.split()
    day = f"{chance.randint(2015, 2025)}-{chance.randint(1, 12):02}-{chance.randint(1, 28):02}"
    strange = who.stranger.split()[1]
    made = {
        "title": chance.choice(
            (
                ("Small pupil, [name:{a}], ring", {"a": who.patient}),
                ("[name:{a}] [date:{d}] toric", {"a": last, "d": day}),
                ("Dense nucleus, MRN [record:{r}]", {"r": who.record}),
            )
        ),
        "note": chance.choice(
            (
                (
                    "Done at [hospital:{h}] for Dr [name:{s}], fax [fax:{f}]",
                    {"h": who.hospital, "s": strange, "f": "555-0199"},
                ),
                (
                    "Write to [e-mail:{e}] or call [telephone:{t}]",
                    {"e": f"{last.lower()}@example.org", "t": "(555) 555-0142"},
                ),
                (
                    "Implant serial [device:{n}], seen by Mr [name:{s}] on [date:{d}]",
                    {"n": f"X{who.record}", "s": strange, "d": day},
                ),
            )
        ),
        "file name 1": chance.choice(
            (
                ("[name:{l}_{f}]_[date:{d}]_OD", {"l": last, "f": first, "d": day.replace("-", "")}),
                ("[name:{x}]_OS_[record:{r}]", {"x": f"{first}{last}", "r": who.record}),
                ("[date:{d}]_phaco_[name:{l}]", {"d": day, "l": last.lower()}),
            )
        ),
    }
    texts, planted = {}, []
    for field, (pattern, values) in made.items():
        texts[field], found = _marked(
            pattern.format(**values), field, {first, last, who.nurse, who.record, who.hospital}
        )
        planted += found
    return texts, planted


def _marked(pattern: str, field: str, listed: set[str]) -> tuple[str, list[Planted]]:
    """Take `[kind:text]` apart: the plain text, and where each identifier stands in it."""
    text, planted = "", []
    for piece in re.split(r"(\[[\w-]+:[^\]]*\])", pattern):
        if not piece.startswith("["):
            text += piece
            continue
        kind, _, inner = piece[1:-1].partition(":")
        known = any(one.lower() in inner.lower() for one in listed)
        planted.append(Planted(Kind(kind), field, len(text), len(text) + len(inner), inner, "clean", known))
        text += inner
    return text, planted


def _containers(chance: random.Random, who: _Persons) -> tuple[dict[str, str], list[Planted]]:
    """Entries of a container; the harmless ones must not be found."""
    day = f"{chance.randint(2015, 2025)}-{chance.randint(1, 12):02}-{chance.randint(1, 28):02}"
    naming = {
        "creation_time": (Kind.DATE, f"{day}T{chance.randint(7, 18):02}:12:44.000000Z"),
        "com.apple.quicktime.location.ISO6709": (
            Kind.PLACE,
            f"+{chance.randint(10, 60)}.2081-016.{chance.randint(1000, 9999)}/",
        ),
        "title": (Kind.NAME, who.patient),
        "comment": (Kind.RECORD, f"MRN {who.record}"),
        "artist": (Kind.NAME, f"Dr {who.stranger}"),
        "device_serial_number": (Kind.DEVICE, f"SN{who.record[::-1]}"),
        "stream 0: creation_time": (Kind.DATE, f"{day}T{chance.randint(7, 18):02}:12:44.000000Z"),
        "institution": (Kind.HOSPITAL, who.hospital),
    }
    chosen = chance.sample(sorted(naming), 4)
    entries = {"major_brand": "isom", "encoder": "Lavf60.16.100", "stream 0: handler_name": "VideoHandler"}
    planted = []
    for key in chosen:
        kind, value = naming[key]
        entries[key] = value
        start = 4 if key == "comment" else 3 if key == "artist" else 0
        listed = key in ("title", "comment", "institution")
        planted.append(Planted(kind, f"metadata: {key}", start, len(value), value[start:], "clean", listed))
    return entries, planted
