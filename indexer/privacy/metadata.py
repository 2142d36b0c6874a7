"""What a container says beside its streams: when and where it was made, by which device, for whom."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from pathlib import Path

from indexer.models.identifying import IdentifierKind as Kind
from indexer.privacy.finding import Found
from indexer.privacy.text import word_set

HARMLESS = re.compile(
    r"(?:.*/)?(?:major_brand|minor_version|compatible_brands|encoder|language|vendor_id|handler_name|rotate|duration|bps.*|"
    r"number_of_.*|_statistics_(?!writing_date).*|variant_bitrate|service_provider)$",
    re.IGNORECASE,
)
STANDARD_VALUES = word_set(
    """
    videohandler soundhandler subtitlehandler datahandler core_media_video core_media_audio ffmpeg mainconcept isom mp42
    und
    """
)
BY_KEY: tuple[tuple[Kind, str], ...] = (
    (Kind.DATE, r"date|creat\w*time|creation|modif|timecode|time_?stamp|\bicrt|idit|encoded_?time|day|year_of"),
    (Kind.PLACE, r"locat|gps|xyz|latitude|longitude|city|address|place"),
    (Kind.DEVICE, r"serial|device|udi|camera_?id|unit|content_?identifier|make|model"),
    (Kind.HOSPITAL, r"hospital|clinic|institution|facility|organi[sz]ation|site|department"),
    (Kind.NAME, r"patient_?name|artist|author|composer|performer|physician|surgeon|operator|director|producer|owner|publisher"),
    (Kind.RECORD, r"patient_?id|mrn|record|accession|study|series|case|chart"),
    (Kind.WEB, r"\burl\b|purl|website"),
    (Kind.IP, r"\bip\b|host"),
)  # fmt: skip
_BY_KEY = tuple((kind, re.compile(pattern, re.IGNORECASE)) for kind, pattern in BY_KEY)
YEAR = re.compile(r"(?:18|19|20)\d\d")


def by_key(key: str, value: str) -> Iterator[Found]:
    """What the key alone gives away: the whole value. A year by itself may stay."""
    if not value.strip() or is_harmless(key, value):
        return
    for kind, pattern in _BY_KEY:
        if pattern.search(key.rsplit(": ", 1)[-1]):
            if not (kind is Kind.DATE and YEAR.fullmatch(value.strip())):
                yield Found(0, len(value), kind, "pattern", 0.95)
            return
    if sum(char.isdigit() for char in value) >= 4:
        yield Found(0, len(value), Kind.OTHER, "pattern", 0.5)


def is_harmless(key: str, value: str) -> bool:
    """Whether an entry only says how the file is made."""
    return bool(HARMLESS.match(key.rsplit(": ", 1)[-1])) and (
        "handler" not in key.casefold() or value.strip().casefold().replace(" ", "") in STANDARD_VALUES
    )


def container_metadata(path: Path) -> Mapping[str, str]:
    """The entries of a container, its streams and its chapters, as `creation_time`, `stream 0: handler_name`.

    Opens a foreign file: meant for files that passed the probe. Raises RecordingUnreadable.
    """
    import av

    from indexer.errors import RecordingUnreadable

    try:
        with av.open(str(path)) as container:
            entries = {key: str(value) for key, value in container.metadata.items()}
            for stream in container.streams:
                entries |= {f"stream {stream.index}: {key}": str(value) for key, value in stream.metadata.items()}
            chapters = container.chapters() if hasattr(container, "chapters") else []
            for number, chapter in enumerate(chapters):
                entries |= {f"chapter {number}: {key}": str(value) for key, value in chapter["metadata"].items()}
    except (av.error.FFmpegError, OSError, ValueError) as error:
        raise RecordingUnreadable(path, "its metadata cannot be read.") from error
    return entries
