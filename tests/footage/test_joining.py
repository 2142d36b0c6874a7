"""Parts laid end to end."""

from pathlib import Path

from indexer.config import Settings
from indexer.footage.joining import lay_out_parts, length_ms
from indexer.footage.probing import probe
from tests.films import NTSC, write_film


def test_each_part_begins_after_the_last_frame_of_the_one_before(tmp_path: Path) -> None:
    # The sound of the first goes on for longer than its pictures, which makes no difference.
    paths = [
        write_film(tmp_path / "1.mp4", 30, NTSC, sound="aac"),
        write_film(tmp_path / "2.ts", 50, b_frames=2),
        write_film(tmp_path / "3.mkv", 4, vfr=[0, 0.5, 0.6, 1.0]),
    ]
    probes = [probe(path, Settings(library=tmp_path)) for path in paths]
    parts = lay_out_parts(paths, probes)
    assert [part.path for part in parts] == paths
    assert [part.start_ms for part in parts] == [0, 1001, 3001]
    assert length_ms(probes) == 3001 + probes[2].duration_ms
