// The keys of the marking page. Its sheet of keys (templates/marking_keys.html) says the same in words.

const WRITES = "input:not([type=checkbox], [type=range]), select, textarea, [contenteditable]";
const PRESSES = "a, button, summary, input";
const LETTERS_OFF = "letters-off";

/** Listen on the whole page and hand each key's deed to the page, by name. */
export function listenToMarkingKeys(page, letters) {
  letters.checked = localStorage.getItem(LETTERS_OFF) === null;
  letters.addEventListener("change", () => {
    if (letters.checked) localStorage.removeItem(LETTERS_OFF);
    else localStorage.setItem(LETTERS_OFF, "yes");
  });
  addEventListener("keydown", (event) => {
    if (event.target.closest?.(WRITES)) return;
    if ((event.key === " " || event.key === "Enter") && event.target.closest?.(PRESSES)) return;
    const deed = deedOf(event, letters.checked);
    if (!deed) return;
    event.preventDefault();
    event.stopPropagation();
    page.wish(...deed);
  }, { capture: true });
}

function deedOf(event, letters) {
  const { key, code, shiftKey: shift } = event;
  if (event.ctrlKey || event.metaKey) {
    if (code === "KeyZ") return [shift ? "redo" : "undo"];
    return code === "KeyY" ? ["redo"] : null;
  }
  if (event.altKey) return null;
  const plain = PLAIN[key];
  if (plain) return plain;
  if (!letters) return null;
  // By its place: what a shifted comma writes differs from keyboard to keyboard.
  if (code === "Comma") return ["nudge", -1, shift ? "second" : "frame"];
  if (code === "Period") return ["nudge", 1, shift ? "second" : "frame"];
  const letter = key.toLowerCase();
  return (shift && SHIFTED[letter]) || LETTERS[letter] || (/^[1-9]$/.test(key) ? ["offer", Number(key)] : null);
}

const PLAIN = {
  " ": ["play"], ArrowLeft: ["picture", -1], ArrowRight: ["picture", 1], ArrowUp: ["step", -1], ArrowDown: ["step", 1],
  Enter: ["keep"], "?": ["keys"],
};
const LETTERS = {
  k: ["keep"], n: ["refuse"], r: ["name"], d: ["split"], j: ["join"], s: ["here", "start"], e: ["here", "end"], x: ["other"],
  c: ["cut", 1], w: ["look"], m: ["watch"], o: ["order"], u: ["undo"], z: ["closer", 1], 0: ["rest"], "+": ["speed", 1], "-": ["speed", -1],
};
const SHIFTED = { u: ["redo"], c: ["cut", -1], z: ["closer", -1] };
