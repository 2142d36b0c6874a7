"""Parameter sets of H.264 in an MP4: ISO/IEC 14496-15, 5.3.3.1 (the record) and Recommendation H.264, 7.3 (their ids)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

IDR, SEI, SEQUENCE, PICTURE, DELIMITER = 5, 6, 7, 8, 9
MOST_ID = 31


class Sets(NamedTuple):
    """What the record of an MP4 holds: three bytes of profile and level, the length field's size, the sets."""

    profile: bytes
    length_size: int
    sequence: tuple[bytes, ...]
    picture: tuple[bytes, ...]
    more: bytes
    """What follows for the higher profiles, as it is."""

    @property
    def ids(self) -> set[int]:
        """Ids in use, of both kinds."""
        return {_leading(each[4:]) for each in self.sequence} | {_leading(each[1:]) for each in self.picture}


def read_record(data: bytes) -> Sets | None:
    """The record of an MP4's H.264 stream, or None where `data` is none."""
    try:
        if data[0] != 1:
            return None
        at, found = 5, []
        for mask in (0x1F, 0xFF):
            many, at, kind = data[at] & mask, at + 1, []
            for _ in range(many):
                size = int.from_bytes(data[at : at + 2])
                kind.append(data[at + 2 : at + 2 + size])
                at += 2 + size
            found.append(tuple(kind))
        return Sets(data[1:4], (data[4] & 3) + 1, found[0], found[1], data[at:]) if all(found) else None
    except IndexError:
        return None


def write_record(sets: Sets) -> bytes:
    """The bytes of a record."""
    head = bytes([1, *sets.profile, 0xFC | (sets.length_size - 1), 0xE0 | len(sets.sequence)])
    listed = [len(each).to_bytes(2) + each for each in sets.sequence]
    return (
        head
        + b"".join(listed)
        + bytes([len(sets.picture)])
        + b"".join(len(each).to_bytes(2) + each for each in sets.picture)
        + sets.more
    )


def units(data: bytes, length_size: int) -> Iterator[bytes]:
    """The units of a picture of an MP4, each behind its length; ends where they do not add up."""
    at = 0
    while at + length_size < len(data):
        size = int.from_bytes(data[at : at + length_size])
        yield data[at + length_size : at + length_size + size]
        at += length_size + size


def kind(unit: bytes) -> int:
    """The type of a unit."""
    return unit[0] & 0x1F if unit else 0


def _leading(data: bytes) -> int:
    """The number at the very front, in Exp-Golomb code (H.264, 9.1)."""
    bits = "".join(f"{byte:08b}" for byte in data[:9])
    zeros = len(bits) - len(bits.lstrip("0"))
    return int(bits[zeros : 2 * zeros + 1] or "1", 2) - 1
