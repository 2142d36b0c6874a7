"""The river, written once: recording and transcript in, a searchable case out. `river.add_recording` is the way in."""
