// All steps down the page, in order of time: what stands, what is proposed, and which one is in hand.

import { clock } from "./clock.js";

const WORDS_SHOWN = 16;
const GAP_MS = 2000;
const BESIDE = matchMedia("(min-width: 56rem)");

export function element(name, attributes = {}, ...content) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value !== null && value !== undefined && value !== false) made.setAttribute(key, value === true ? "" : value);
  }
  made.append(...content);
  return made;
}

/** Tenths too, as one needs them where one edits: 7:05.3. */
export function fineClock(ms) {
  return `${clock(ms)}.${Math.floor((ms % 1000) / 100)}`;
}

export class MarkingList {
  constructor(root, store) {
    this.root = root;
    this.store = store;
  }

  show(chosen) {
    const { marks } = this.store;
    this.root.replaceChildren(...marks.map((mark, place) => this.#row(mark, marks[place - 1], mark.id === chosen)));
  }

  /** Bring the row in hand into view; where the list stands below the film, the step in hand stays there instead. */
  follow() {
    if (BESIDE.matches) this.root.querySelector("[aria-current=true]")?.scrollIntoView({ block: "nearest" });
  }

  #row(mark, before, chosen) {
    const gap = mark.start.at_ms - (before?.end.at_ms ?? 0);
    const row = element(
      "li",
      { class: "mark", "data-step": mark.step, "data-standing": mark.standing, "data-settled": mark.settled, "data-id": mark.id, "data-gap": gap >= GAP_MS ? clock(gap) : null, "aria-current": chosen ? "true" : null },
      element("span", { class: "band", "aria-hidden": "true" }),
      element(
        "button",
        { type: "button", class: "pick" },
        element("span", { class: "num" }, String(mark.number ?? "")),
        element("span", { class: "label" }, mark.label),
        element("span", { class: "clock" }, `${clock(mark.start.at_ms)} to ${clock(mark.end.at_ms)}`),
        element("span", { class: "how" }, mark.settled ? "kept" : mark.standing === "accepted" ? "kept, edges open" : mark.sure),
      ),
      element("p", { class: "said small", dir: "auto" }, this.#words(mark)),
    );
    row.style.setProperty("--seconds", String((mark.end.at_ms - mark.start.at_ms) / 1000));
    return row;
  }

  #words(mark) {
    const words = this.store.ground.words.filter((word) => mark.start.at_ms <= word.at_ms && word.at_ms < mark.end.at_ms);
    const more = words.length > WORDS_SHOWN ? " …" : "";
    return words.slice(0, WORDS_SHOWN).map((word) => word.text).join(" ") + more;
  }
}
