"""Step logs for the tests."""

from __future__ import annotations

# Cataract-101 (Schoeffmann et al., ACM MMSys 2018), video 269: first frame of each phase, from the published
# annotations; 14,734 frames at 25 a second. The last phase goes on to the end.
VIDEO_269 = """VideoID;FrameNo;Phase
269;68;1
269;1043;2
269;1228;3
269;2118;4
269;3478;5
269;6864;6
269;7727;7
269;8473;2
269;8683;8
269;9482;9
269;14138;10
269;14623;10
269;14734;end
"""
PHASES = {
    "1": "main-incision",
    "2": "chamber-fill",
    "3": "capsulorhexis",
    "4": "hydrodissection",
    "5": "phacoemulsification",
    "6": "cortex-aspiration",
    "7": "capsule-polishing",
    "8": "lens-implantation",
    "9": "viscoelastic-removal",
    "10": "wound-closure",
}
# Worked out by hand from the frames above, 40 ms each: seconds and visits.
BY_HAND = {
    "main-incision": (39.0, 1),
    "chamber-fill": (15.8, 2),
    "capsulorhexis": (35.6, 1),
    "hydrodissection": (54.4, 1),
    "phacoemulsification": (135.44, 1),
    "cortex-aspiration": (34.52, 1),
    "capsule-polishing": (29.84, 1),
    "lens-implantation": (31.96, 1),
    "viscoelastic-removal": (186.24, 1),
    "wound-closure": (23.84, 1),
}
BEFORE_FIRST_S = 2.72
LENGTH_S = 589.36
