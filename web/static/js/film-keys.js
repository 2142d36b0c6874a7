// The keys of the case page. The sheet of keys (templates/keys.html) says the same in words.

const WRITES = "input, select, textarea, [contenteditable]";
const PRESSES = "a, button, summary";

/** Listen for keys on the whole page and hand them to the document's film. */
export function listenToKeys(caseDocument) {
  addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest?.(WRITES)) return;
    if (event.key === " " && event.target.closest?.(PRESSES)) return;
    const deed = deeds(caseDocument)[event.key];
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
    w: () => follow.toggle(),
    k: () => drive.do("keys"),
  };
}
