// The keys of the case page. The sheet of keys (templates/keys.html) says the same in words.

const WRITES = "input:not([type=checkbox]), select, textarea, [contenteditable]";
const LETTERS_OFF = "letters-off";
const PRESSES = "a, button, summary, input";

/** Listen for keys on the whole page and hand them to the document's film. */
export function listenToKeys(caseDocument) {
  const letters = caseDocument.querySelector("[data-letters]");
  letters.checked = localStorage.getItem(LETTERS_OFF) === null;
  letters.addEventListener("change", () => {
    if (letters.checked) localStorage.removeItem(LETTERS_OFF);
    else localStorage.setItem(LETTERS_OFF, "yes");
  });
  addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest?.(WRITES)) return;
    if (event.key === " " && event.target.closest?.(PRESSES)) return;
    if (/^[a-z]$/i.test(event.key) && !letters.checked) return;
    const deed = deeds(caseDocument)[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    if (!deed) return;
    event.preventDefault();
    event.stopPropagation();
    deed();
  }, { capture: true });
}

function deeds(caseDocument) {
  const { film, drive, follow } = caseDocument;
  const move = (way) => () => (film.video.paused ? film.moveByFrame(way) : film.moveBySeconds(way));
  return {
    " ": () => film.playOrHold(),
    ArrowLeft: move(-1),
    ArrowRight: move(1),
    ArrowUp: () => caseDocument.moveByRow(-1),
    ArrowDown: () => caseDocument.moveByRow(1),
    s: () => drive.changeSpeed(-1),
    f: () => drive.changeSpeed(1),
    b: () => {
      const row = caseDocument.rowAt(film.atMs);
      if (row) caseDocument.goTo(row);
    },
    q: () => drive.do("quiet"),
    c: () => drive.do("captions"),
    l: () => drive.do("larger"),
    w: () => follow.toggle(),
    k: () => drive.do("keys"),
  };
}
