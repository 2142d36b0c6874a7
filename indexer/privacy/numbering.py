"""Numbers that stand for somebody: what they are is told by the words around them, or by their length alone."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

from indexer.models.identifying import IdentifierKind as Kind
from indexer.privacy.digits import HOMOPHONES, Run, runs
from indexer.privacy.finding import Found
from indexer.privacy.text import Text, word_set

LOOK_BACK, LOOK_BACK_LOOSE, LOOK_AHEAD = 7, 3, 5
BEFORE_BEHIND = word_set("is was her his their my the")
FEWEST_ANNOUNCED, FEWEST_ALONE = 4, 7
"""Digits (and letters) of a number that is announced, digits of one that is not."""
FEWEST_WRITTEN = 6
"""Digits written as one number in a title or a file's name."""

ANNOUNCED: tuple[tuple[Kind, str], ...] = (
    (Kind.FAX, "fax, facsimile, fax number, telefax"),
    (Kind.LICENCE, "licence, license, driving licence, drivers license, driver licence, certificate, certificate number, "
                   "passport, registration number with the council, licence number, license number, permit, medical license"),
    (Kind.VEHICLE, "plate, plates, number plate, license plate, licence plate, registration plate, car registration, vehicle, "
                   "vehicle registration, vin, chassis, chassis number, his car, her car, their car, number plates"),
    (Kind.TELEPHONE, "phone, telephone, mobile, cell, cellphone, cell phone, phone number, pager, bleep, callback, call back, "
                     "call her on, call him on, call her at, call him at, call me on, call me at, call them on, reach her on, "
                     "reach him on, reach her at, reach him at, ring her on, ring him on, text her on, text him on, contact, "
                     "tel, extension, landline, hotline, home number"),
    (Kind.SOCIAL_SECURITY, "social security, social security number, ssn, national insurance number, social insurance"),
    (Kind.RECORD, "mrn, m r n, medical record, record number, record, records, hospital number, chart number, chart, "
                  "patient number, patient id, patient identifier, file number, case number, unit number, hospital no, "
                  "record no, chart no, hospital id, admission number, encounter, encounter number, filed under, pid"),
    (Kind.PLAN, "health plan, insurance, insurance number, policy, policy number, member, member number, member id, "
                "medicare, medicaid, beneficiary, beneficiary number, subscriber, subscriber id, plan number, insured under, "
                "nhs number, nhs, health card, group number, insurer"),
    (Kind.ACCOUNT, "account, account number, billing, billing account, invoice, invoice number, bank, bank account, "
                   "card number, credit card, iban, acct"),
    (Kind.IP, "ip, i p, ip address, i p address, network address"),
    (Kind.DEVICE, "serial, serial number, serial no, lot, lot number, batch, batch number, device identifier, device number, "
                  "udi, implant number, implant card, sticker, sn, device id, serials, cereal, cereal number, unit serial"),
    (Kind.BIOMETRIC, "fingerprint, finger print, fingerprints, retina scan, iris scan, voice print, voiceprint, biometric, "
                     "biometric id, fingerprint template"),
    (Kind.OTHER, "study number, study id, trial number, participant, participant number, subject number, randomisation, "
                 "randomization, barcode, bar code, accession, accession number, specimen number, specimen, order number, "
                 "booking, booking number, reference, reference number, tracking number, badge, badge number, employee number, "
                 "staff number, code number, study code, personal code, token number, ticket number, wristband"),
)  # fmt: skip
FIRM = frozenset({Kind.FAX, Kind.TELEPHONE, Kind.SOCIAL_SECURITY, Kind.IP})


class Announcement(NamedTuple):
    """Tokens `first` up to, not including, `last` say what the number beside them is."""

    first: int
    last: int
    kind: Kind


_WORDS: dict[tuple[str, ...], Kind] = {
    tuple(phrase.split()): kind for kind, phrases in ANNOUNCED for phrase in phrases.split(", ")
}
_LONGEST = max(len(phrase) for phrase in _WORDS)


def announcements(text: Text) -> list[Announcement]:
    """Where a number is announced, the longest phrase at each place."""
    found, index, words = [], 0, text.words
    while index < len(words):
        for size in range(_LONGEST, 0, -1):
            kind = _WORDS.get(tuple(words[index : index + size])) if index + size <= len(words) else None
            if kind is not None:
                found.append(Announcement(index, index + size, kind))
                index += size
                break
        else:
            index += 1
    return found


def numbered(text: Text, *, spoken: bool) -> Iterator[Found]:
    """Every number that is announced, or is too long for a measure."""
    announced = announcements(text)
    taken: set[int] = set()
    for letters in (True, False):
        for run in runs(text, letters=letters, fewest=2):
            if taken.intersection(range(run.first, run.last)):
                continue
            found = _judged(text, run, announced, spoken, letters)
            if found is not None:
                taken.update(range(run.first, run.last))
                yield found


def _judged(text: Text, run: Run, announced: list[Announcement], spoken: bool, letters: bool) -> Found | None:
    tokens = text.tokens
    start, end = tokens[run.first].start, tokens[run.last - 1].end
    announcement = _beside(text, run, announced)
    if announcement is not None and len(run.chars) >= FEWEST_ANNOUNCED and run.digits >= 2:
        return Found(tokens[_begins(text, run, announcement)].start, end, announcement.kind, "pattern", 0.95)
    if letters:
        return None
    longest = max(len(piece) for piece in run.pieces)
    counted = _counts_up(run)
    measured = len(run.pieces) == 2 and longest < FEWEST_WRITTEN  # "1000 400"
    if run.digits >= FEWEST_ALONE and not measured and not counted and not _amount(text, run):
        return Found(start, end, Kind.OTHER if run.digits > 11 else Kind.TELEPHONE, "pattern", 0.7)
    if not spoken and longest >= FEWEST_WRITTEN:
        return Found(start, end, Kind.OTHER, "pattern", 0.6)
    return None


def _begins(text: Text, run: Run, announcement: Announcement) -> int:
    """Where an announced number begins: "oh" and "for" before its first digit are digits too."""
    first = run.first
    while first > announcement.last and text.words[first - 1] in HOMOPHONES:
        first -= 1
    return first


def _beside(text: Text, run: Run, announced: list[Announcement]) -> Announcement | None:
    """The nearest announcement before the number, or just behind it: "4471182 is her record number"."""
    before = [a for a in announced if a.last <= run.first and run.first - a.last <= _reach(text, a)]
    if before and not _interrupted(text, before[-1].last, run.first):
        return before[-1]
    behind = [a for a in announced if a.first >= run.last and a.first - run.last <= LOOK_AHEAD - 1]
    told = behind and bool(BEFORE_BEHIND.intersection(text.words[run.last : behind[0].first]))
    if told and len(run.chars) > 4 and not any(text.ends(index) for index in range(run.last - 1, behind[0].first)):
        return behind[0]
    return None


def _reach(text: Text, announcement: Announcement) -> int:
    """How far behind an announcement its number may come; "chart" alone says less than "chart number"."""
    firm = announcement.kind in FIRM or {"number", "id", "no"}.intersection(
        text.words[announcement.first : announcement.last + 1]
    )
    return LOOK_BACK if firm else LOOK_BACK_LOOSE


def _interrupted(text: Text, first: int, last: int) -> bool:
    """Whether something else is said between an announcement and a number: two sentences, or another number."""
    ends = sum(text.ends(index) for index in range(first - 1, last) if index < last - 0)
    return ends > 1


def _counts_up(run: Run) -> bool:
    """Whether this is somebody counting, or the same number over and over."""
    if any(not piece.isdigit() for piece in run.pieces):
        return False
    values = [int(piece) for piece in run.pieces]
    steps = {after - before for before, after in pairwise(values)}
    return len(values) > 2 and len(steps) == 1


def _amount(text: Text, run: Run) -> bool:
    """Whether a unit or a scale stands behind, so that it is a quantity however many digits it has."""
    follows = text.words[run.last] if run.last < len(text.words) else ""
    return follows in ("thousand", "million", "hundred", "percent", "units", "cells", "dollars", "pounds", "euros")
