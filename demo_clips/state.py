"""What an eye looks like at one moment of an operation, as values that the steps change and the painter draws."""

from __future__ import annotations

from dataclasses import dataclass, field

from demo_clips.geometry import Point


@dataclass(frozen=True)
class Look:
    """What an eye looks like before anything is done. Colours are blue, green, red."""

    iris: str = "brown"
    lens: str = "nuclear"
    """Which lens: nuclear, brown, white, soft."""
    pupil: float = 3.7
    """Radius in millimetres."""
    lids: str = "across"
    """`across`: lids above and below; `upright`: left and right, as when the surgeon sits at the temple."""
    cornea: float = 1.0
    """How wide the cornea looks; a short eye has a smaller one."""
    burnt_in: str = ""
    """Words that a recorder wrote into the corner."""
    seed: int = 1


@dataclass(frozen=True)
class Piece:
    """A part of the nucleus between two angles (degrees, in the nucleus' own frame)."""

    start: float
    end: float
    at: Point = (0.0, 0.0)
    turn: float = 0.0
    size: float = 1.0
    squash: float = 1.0
    """How wide it looks across when it is turned over."""

    @property
    def middle(self) -> float:
        """Direction in which the piece lies."""
        return (self.start + self.end) / 2


@dataclass(frozen=True)
class Groove:
    """A trench in the nucleus: direction in its frame, from and to which radius (mm), how deep (0 to 1)."""

    angle: float
    start: float
    end: float
    depth: float


@dataclass(frozen=True)
class Hook:
    """A hook through the limbus: where, how far it is in and pulled (0 to 1), and what it holds."""

    angle: float
    inside: float
    pull: float
    holds: str
    """`iris` or `capsule`."""


@dataclass(frozen=True)
class Flap:
    """The torn part of the front capsule: swept from `start` by `swept` degrees; `fold` is how far it lies over."""

    start: float
    swept: float
    fold: float = 1.0


@dataclass(frozen=True)
class Implant:
    """An artificial lens: kind, place, turn, how far it is unfolded, and where it lies in depth."""

    kind: str
    """single, three-piece or toric."""
    at: Point = (0.0, 0.0)
    turn: float = 0.0
    opened: float = 1.0
    place: str = "bag"
    """`front` (above the iris), `sulcus` (behind the iris, before the capsule), `bag`."""
    seen: float = 1.0


@dataclass(frozen=True)
class Wound:
    """A cut through the limbus."""

    angle: float
    width: float
    opened: float = 1.0


@dataclass(frozen=True)
class Tool:
    """An instrument at one moment: kind, tip, direction to the handle, and how far its jaws are apart."""

    kind: str
    tip: Point
    to_handle: Point
    gape: float = 0.0
    turn: float = 0.0


@dataclass
class Eye:
    """Everything that changes. Shares run from 0 to 1."""

    pupil: float = 3.7
    light: float = 1.0
    title: tuple[str, ...] = ()
    """Words on a black card in place of the eye."""
    iodine: float = 0.0
    film: float = 0.0
    """A sheet of water running over the cornea."""
    wounds: tuple[Wound, ...] = ()
    marks: tuple[tuple[float, float, float], ...] = ()
    """Ink on the limbus: angle, length (mm), strength."""
    axis: float | None = None
    """Where a toric lens is meant to lie."""
    gel: float = 0.0
    gel_from: Point = (0.0, 0.0)
    gel_seen: float = 0.0
    gel_reach: float = 5.2
    """How far from the middle the gel may spread."""
    dye: tuple[tuple[Point, float], ...] = ()
    dye_seen: float = 0.0
    stain: float = 0.0
    radius: float = 2.6
    """Of the opening in the front capsule."""
    torn: float = 0.0
    """Degrees of the opening's edge already torn."""
    torn_from: float = 200.0
    scratch: tuple[Point, ...] = ()
    flap: Flap | None = None
    scrap: Point | None = None
    """Where the forceps hold the torn-out disc."""
    turn: float = 0.0
    """Of the nucleus."""
    lift: float = 0.0
    wave: tuple[float, float] | None = None
    """A wave of fluid behind the lens: its direction and how far it has run."""
    pieces: tuple[Piece, ...] = (Piece(0.0, 360.0),)
    grooves: tuple[Groove, ...] = ()
    bowl: float = 0.0
    milk: float = 0.0
    shell: float = 1.0
    shell_at: Point = (0.0, 0.0)
    shell_size: tuple[float, float] = (1.0, 1.0)
    cortex: tuple[float, ...] = (1.0,) * 12
    strand: tuple[float, Point] | None = None
    """A strip of cortex on its way: the angle it comes from, and where its free end is."""
    specks: float = 1.0
    """What lies on the back capsule after the cortex has gone."""
    tear: float = 0.0
    tear_at: Point = (0.6, -0.4)
    vitreous: float = 0.0
    tracer: float = 0.0
    """White crystals that make vitreous visible."""
    crumbs: tuple[tuple[Point, float], ...] = ()
    hooks: tuple[Hook, ...] = ()
    ring: float = 0.0
    """A pupil ring: how far it holds the pupil."""
    ring_at: Point | None = None
    """Where the ring is while it is on its way, with `ring_size`."""
    ring_size: float = 1.0
    hoop: float = 0.0
    """A tension ring in the bag: how much of it is in."""
    hoop_from: float = 80.0
    implant: Implant | None = None
    billow: float = 0.0
    prolapse: float = 0.0
    haze: tuple[tuple[Point, float, float], ...] = ()
    """White swelling of the cornea: place, radius, strength."""
    puff: tuple[tuple[Point, float], ...] = ()
    puff_colour: tuple[int, int, int] = (240, 240, 235)
    puff_seen: float = 0.0
    sutures: tuple[tuple[float, float], ...] = ()
    """Stitches across a wound: angle, how far they are tied."""
    thread: tuple[Point, ...] = ()
    bubbles: float = 0.0
    tools: list[Tool] = field(default_factory=list)
