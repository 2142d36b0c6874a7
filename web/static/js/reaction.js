// How late a key comes when somebody marks a change while watching, and what that is in the time of the film.
//
// Hick's law: the time to choose among n answers grows with log2(n + 1). The figures (0.2 s for a simple reaction, 0.15 s
// a bit) are from memory of the textbooks on it; people differ, hence the spread that is kept with the moment.

const SIMPLE_MS = 200;
const A_BIT_MS = 150;

export function reactionMs(choices) {
  return SIMPLE_MS + A_BIT_MS * Math.log2(choices + 1);
}

/** The moment of the film that a key means, pressed at `ms` of the film at a speed; and how far off it may be. */
export function meant(ms, speed, choices) {
  const late = reactionMs(choices) * speed;
  return { at_ms: Math.max(0, Math.round(ms - late)), spread_ms: Math.round(late / 2) };
}
