// Times in addresses, as W3C Media Fragments 1.0 has them (normal play time only).

const NPT = /^(?:(?:(\d+):)?([0-5]\d):([0-5]\d(?:\.\d*)?)|(\d+(?:\.\d*)?))$/;

/** Seconds of one time, or null. */
export function readTime(text) {
  const match = NPT.exec(text);
  if (!match) return null;
  const [, hours, minutes, seconds, plain] = match;
  return plain !== undefined ? Number(plain) : Number(hours || 0) * 3600 + Number(minutes) * 60 + Number(seconds);
}

function readStretch(value) {
  const [start, end, ...more] = value.replace(/^npt:/, "").split(",");
  if (more.length || end === "" || (start === "" && end === undefined)) return null;
  const from = start === "" ? 0 : readTime(start);
  const to = end === undefined ? Infinity : readTime(end);
  return from === null || to === null || from >= to ? null : { start: from, end: to };
}

function decoded(text) {
  try {
    return decodeURIComponent(text);
  } catch {
    return "";
  }
}

/** The stretch that a fragment such as `#t=12.5` names, the last valid one counting; null where it names none. */
export function readFragment(hash) {
  let found = null;
  for (const pair of hash.replace(/^#/, "").split("&")) {
    const cut = pair.indexOf("=");
    if (cut > 0 && decoded(pair.slice(0, cut)) === "t") found = readStretch(decoded(pair.slice(cut + 1))) ?? found;
  }
  return found;
}
