"""The outline of a film's sound, where nobody speaks, and a narration recorded apart laid onto its film.

Voices are invented: syllables of noise at random times, as loud as a gain, a room and a microphone make them.
"""

from __future__ import annotations

import wave
from pathlib import Path

import av
import numpy
import pytest

from indexer.config import Settings
from indexer.errors import BadInput, RecordingUnreadable
from indexer.footage.laying_sound import SURE, offset, onsets, place, put_on
from indexer.footage.sound_outline import STEP_MS, outline_of, silences, write_outline
from indexer.timespan import Span
from tests.films import read_film, tone_stretches, write_film

RATE = 8_000


def voice(seconds: float, seed: int) -> numpy.ndarray:
    """Syllables of a tenth to a third of a second, with pauses of any length between them."""
    chance = numpy.random.default_rng(seed)
    samples = numpy.zeros(int(seconds * RATE))
    at = 0.0
    while at < seconds:
        length = chance.uniform(0.1, 0.3)
        first, behind = int(at * RATE), min(len(samples), int((at + length) * RATE))
        ramp = numpy.minimum(1, numpy.minimum(numpy.arange(behind - first), numpy.arange(behind - first)[::-1]) / 200)
        samples[first:behind] = chance.normal(0, chance.uniform(0.05, 0.2), behind - first) * ramp
        at += length + chance.exponential(0.15) + (chance.uniform(0.5, 3) if chance.random() < 0.1 else 0)
    return samples


def heard(samples: numpy.ndarray, gain: float, noise: float, seed: int) -> numpy.ndarray:
    """As another microphone in another place hears it: an echo, another tone, hiss."""
    echoed = samples + 0.4 * numpy.roll(samples, 400) + 0.2 * numpy.roll(samples, 900)
    duller = numpy.convolve(echoed, numpy.ones(4) / 4, mode="same")
    return gain * duller + numpy.random.default_rng(seed).normal(0, noise, len(samples))


def blocks(samples: numpy.ndarray) -> list[numpy.ndarray]:
    return [samples[None, at : at + 1024].astype(numpy.float32) for at in range(0, len(samples), 1024)]


def place_of(film: numpy.ndarray, narration: numpy.ndarray) -> tuple[int, float]:
    laid = offset(onsets(blocks(film)), onsets(blocks(narration)))
    assert laid is not None
    return laid


@pytest.mark.parametrize("begins_s", [-20.0, -3.217, 0.0, 12.345, 101.5])
@pytest.mark.parametrize("noise", [0.001, 0.02])
def test_a_narration_is_laid_to_the_hundredth_of_a_second(begins_s: float, noise: float) -> None:
    spoken = voice(200, 1)
    first, last = max(0, round(begins_s * RATE)), round((begins_s + 90) * RATE)
    film = heard(spoken, 0.3, noise, 2)
    narration = numpy.concatenate([numpy.zeros(max(0, -round(begins_s * RATE))), spoken[first:last]])
    at, sure = place_of(film, heard(narration, 1.0, 0.003, 3))
    assert at == pytest.approx(begins_s * 1000, abs=10) and sure >= SURE


@pytest.mark.parametrize("seed", range(5))
def test_a_narration_of_something_else_is_not_sure(seed: int) -> None:
    _, sure = place_of(heard(voice(200, 10 + seed), 0.3, 0.01, 2), heard(voice(90, 30 + seed), 1, 0.003, 3))
    assert sure < SURE


def test_too_little_to_compare() -> None:
    assert offset(onsets(blocks(voice(3, 1))), onsets(blocks(voice(60, 1)))) is None
    assert offset(onsets(blocks(numpy.zeros(60 * RATE))), onsets(blocks(voice(60, 1)))) is None


def test_peaks_and_loudness_of_known_samples() -> None:
    # A square wave of half the full scale: peak one half, loudness 20 log10(1/2) = -6.02 dB.
    square = numpy.where(numpy.arange(RATE) // 20 % 2, 0.5, -0.5)
    outline = outline_of(blocks(numpy.concatenate([square, numpy.zeros(RATE)])), RATE)
    many = 1000 // STEP_MS
    assert outline.shape == (2, 2 * many)
    assert set(outline[0, :many]) == {128} and set(outline[1, :many]) == {255 - 24}
    assert not outline[:, many:].any()


def test_silences_by_the_recording_s_own_noise() -> None:
    spoken = voice(60, 4)
    spoken[20 * RATE : 24 * RATE] = 0
    spoken[40 * RATE : 41 * RATE] = 0
    found = silences(outline_of(blocks(heard(spoken, 1, 0.004, 5)), RATE), least_ms=3000)
    assert any(abs(span.start_ms - 20_000) <= 200 and abs(span.end_ms - 24_000) <= 400 for span in found)
    assert not any(span.overlap_ms(Span(40_000, 41_000)) for span in found)


def test_noise_alone_tells_nothing_and_nothing_at_all_is_silence() -> None:
    noise = numpy.random.default_rng(1).normal(0, 0.1, 30 * RATE)
    assert silences(outline_of(blocks(noise), RATE)) == []
    assert silences(outline_of(blocks(numpy.zeros(30 * RATE)), RATE)) == [Span(0, 30_000)]


def test_the_outline_of_a_film(tmp_path: Path) -> None:
    path = write_film(tmp_path / "a.mp4", 100, sound="aac")
    assert write_outline(path, 6000, tmp_path / "outline.npy", Settings())
    outline = numpy.load(tmp_path / "outline.npy", allow_pickle=False)
    assert outline.shape == (2, 120) and outline[0, 5:75].min() > 30 and outline[0, 85:].max() == 0
    assert not write_outline(write_film(tmp_path / "b.mp4", 50), 2000, tmp_path / "none.npy", Settings())
    assert not (tmp_path / "none.npy").exists()


def write_sound(path: Path, samples: numpy.ndarray) -> Path:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes((numpy.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
    return path


def test_files_are_compared_and_what_has_no_sound_is_told(tmp_path: Path) -> None:
    spoken = voice(60, 6)
    film = write_sound(tmp_path / "film.wav", heard(spoken, 0.4, 0.01, 7))
    laid = place(film, write_sound(tmp_path / "voice.wav", spoken[15 * RATE :]), Settings())
    # Sound 45 ms early or 125 ms late is noticed by nobody (ITU-R BT.1359-1, from memory).
    assert laid.offset_ms == pytest.approx(15_000, abs=20) and laid.confidence >= SURE
    with pytest.raises(RecordingUnreadable, match="no sound"):
        place(write_film(tmp_path / "mute.mp4", 50), film, Settings())
    with pytest.raises(BadInput, match="by hand"):
        place(film, write_sound(tmp_path / "short.wav", spoken[: 2 * RATE]), Settings())


@pytest.mark.parametrize(("offset_ms", "tone"), [(1000, (50, 100)), (-1000, (0, 50))])
def test_a_narration_becomes_the_sound_of_its_film(offset_ms: int, tone: tuple[int, int], tmp_path: Path) -> None:
    film = write_film(tmp_path / "a.mp4", 100, gop=25, b_frames=2)
    length = RATE if offset_ms > 0 else 2 * RATE
    sound = write_sound(tmp_path / "tone.wav", 0.3 * numpy.sin(numpy.arange(length) * 2 * numpy.pi * 440 / RATE))
    put_on(film, sound, offset_ms, tmp_path / "b.mp4", Settings())
    assert read_film(tmp_path / "b.mp4") == read_film(film)
    stretches = tone_stretches(tmp_path / "b.mp4")
    assert all(stretches[tone[0] + 3 : tone[1] - 3])
    assert not any(stretches[: max(0, tone[0] - 3)]) and not any(stretches[tone[1] + 3 :])
    with av.open(tmp_path / "b.mp4") as made:
        assert made.streams.audio[0].duration * made.streams.audio[0].time_base == pytest.approx(4, abs=0.03)
