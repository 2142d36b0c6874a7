// The step in hand: what the machine thinks and why, its two edges, what else it could be, and what was done lately.

import { element, fineClock } from "./marking-list.js";

const SOURCES = { word: "by the words", cut: "by a cut", order: "by the usual order", person: "by a person", edge: "end of the recording" };
const DONE = { keep: "kept a step", refuse: "said no to a step", name: "renamed a step", split: "divided a step", join: "joined steps", edge: "moved an edge", begin: "began a step", rest: "ended a step" };

export class MarkingPanel {
  constructor(root, store) {
    this.root = root;
    this.store = store;
  }

  show(mark, edge, watching, ms) {
    const { store } = this;
    this.#part("left").textContent = told(store.marks);
    this.#part("now").hidden = this.#part("its-edges").hidden = !mark || watching;
    this.#part("watching").hidden = !watching;
    if (mark) this.#showMark(mark, edge);
    this.#part("offered").replaceChildren(...this.#offers(mark, watching, ms));
    this.#part("offered-words").textContent = watching ? "The step changes now to" : "Or is it";
    for (const deed of ["undo", "redo"]) {
      const button = this.root.querySelector(`[data-do=${deed}]`);
      button.disabled = !store[deed];
      button.title = store[deed] ? `${deed === "undo" ? "take back" : "do again"}: ${DONE[store[deed]]}` : "";
    }
    const lines = store.lately.slice(0, 5).map((one) => {
      const line = `${one.by} ${DONE[one.verb]}, ${new Date(one.at).toLocaleString()}`;
      return element("li", {}, one.undone ? element("s", {}, line) : line);
    });
    this.#part("lately").replaceChildren(...lines);
  }

  /** The steps that the number keys stand for. */
  offered(mark, watching, ms) {
    const { store } = this;
    if (!watching) return mark?.rather ?? [];
    const now = store.at(ms) ?? store.marks.findLast((one) => one.end.at_ms <= ms);
    return now ? store.ground.then[now.step] ?? store.ground.first : store.ground.first;
  }

  #showMark(mark, edge) {
    const head = this.#part("name");
    head.dataset.step = mark.step;
    head.replaceChildren(element("span", { class: "num" }, String(mark.number ?? "")), ` ${mark.label}`);
    this.#part("sure").textContent = mark.settled ? "kept, both edges looked at" : mark.standing === "accepted" ? "kept; its edges are still the machine's" : `proposed, ${mark.sure}`;
    this.#part("why").textContent = mark.why;
    for (const which of ["start", "end"]) {
      const { at_ms: at, source, spread_ms: spread } = mark[which];
      const button = this.root.querySelector(`button[data-edge=${which}]`);
      button.setAttribute("aria-pressed", String(which === edge));
      const off = spread ? `, may be ${(spread / 1000).toFixed(1)} s off` : "";
      button.replaceChildren(element("b", {}, which === "start" ? "starts" : "ends"), element("time", {}, ` ${fineClock(at)} `), element("small", {}, SOURCES[source] + off));
    }
  }

  #offers(mark, watching, ms) {
    return this.offered(mark, watching, ms).map((step, place) => {
      const button = element("button", { type: "button", "data-offer": step, "data-step": step }, element("kbd", {}, String(place + 1)), ` ${this.store.label(step)}`);
      return element("li", {}, button);
    });
  }

  #part(name) {
    return this.root.querySelector(`[data-part=${name}]`);
  }
}

function told(marks) {
  const left = marks.filter((mark) => !mark.settled).length;
  if (!marks.length) return "No step is marked yet.";
  return left ? `${left} of ${marks.length} steps to look at` : `All ${marks.length} steps are kept.`;
}
