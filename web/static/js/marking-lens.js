// A stretch of the ribbon close up, time running down: bands, words, cuts and, closest, each frame. An edge can be dragged.

const SPANS_MS = [2_000, 6_000, 20_000, 60_000, 240_000];
const SVG = "http://www.w3.org/2000/svg";
const GRIP_PX = 12;
const BAND = "42%";

export class MarkingLens {
  #span = 1;
  #centre = 0;
  #dragged = null;

  /** `wishes`: goTo(ms) and moveEdge(mark, edge, ms) are called when a person points at something. */
  constructor(svg, store, wishes) {
    this.svg = svg;
    this.store = store;
    this.wishes = wishes;
    svg.addEventListener("pointerdown", (event) => this.#pressed(event));
    svg.addEventListener("pointermove", (event) => this.#moved(event));
    svg.addEventListener("pointerup", (event) => this.#let(event));
    svg.addEventListener("pointercancel", () => this.#drop());
  }

  closer(places) {
    this.#span = Math.min(SPANS_MS.length - 1, Math.max(0, this.#span - places));
    this.show(this.#centre, this.chosen, this.edge);
  }

  show(centre, chosen, edge) {
    Object.assign(this, { chosen, edge });
    this.#centre = centre;
    const { marks, ground } = this.store;
    const [from, to] = this.#limits();
    const parts = [];
    for (const mark of marks.filter((one) => one.start.at_ms < to && one.end.at_ms > from)) parts.push(...this.#band(mark, from, to));
    if (to - from <= SPANS_MS[0]) parts.push(...this.#frames(from, to));
    for (const cut of ground.cuts_ms.filter((at) => from <= at && at < to)) parts.push(draw("line", { class: "cut", x1: 0, x2: BAND, y1: this.#y(cut), y2: this.#y(cut) }));
    parts.push(...this.#words(from, to));
    this.head = draw("line", { class: "head", x1: 0, x2: "100%", visibility: "hidden" });
    this.svg.replaceChildren(...parts, this.head);
  }

  /** Where the film is. */
  showHead(ms) {
    const [from, to] = this.#limits();
    if (!this.head || this.#dragged) return;
    this.head.setAttribute("visibility", from <= ms && ms < to ? "visible" : "hidden");
    this.head.setAttribute("y1", this.#y(ms));
    this.head.setAttribute("y2", this.#y(ms));
  }

  #limits() {
    const span = SPANS_MS[this.#span];
    return [this.#centre - span / 2, this.#centre + span / 2];
  }

  #y(ms) {
    return `${(100 * (ms - this.#limits()[0])) / SPANS_MS[this.#span]}%`;
  }

  #band(mark, from, to) {
    const top = Math.max(from, mark.start.at_ms);
    const height = `${(100 * (Math.min(to, mark.end.at_ms) - top)) / SPANS_MS[this.#span]}%`;
    const step = { "data-step": mark.step, "data-standing": mark.standing };
    const drawn = [
      draw("rect", { class: "g", ...step, x: 0, y: this.#y(top), width: BAND, height }),
      draw("rect", { class: "side", ...step, x: 0, y: this.#y(top), width: 5, height }),
    ];
    const name = draw("text", { class: "name", x: 12, y: this.#y(top), dy: "1.2em" });
    name.textContent = mark.number ?? "";
    drawn.push(name);
    for (const edge of ["start", "end"]) {
      const at = mark[edge].at_ms;
      const held = mark.id === this.chosen && edge === this.edge;
      if (at < from || at > to || (edge === "end" && !held && mark.id !== this.chosen)) continue;
      drawn.push(draw("line", { class: held ? "edge held" : "edge", x1: 0, x2: held ? "100%" : BAND, y1: this.#y(at), y2: this.#y(at), "data-mark": mark.id, "data-edge": edge }));
    }
    return drawn;
  }

  #frames(from, to) {
    const each = 1000 / this.store.ground.frame_rate;
    const drawn = [];
    for (let at = Math.ceil(Math.max(0, from) / each) * each; at < to; at += each) drawn.push(draw("line", { class: "frame", x1: "36%", x2: BAND, y1: this.#y(at), y2: this.#y(at) }));
    return drawn;
  }

  #words(from, to) {
    const drawn = [];
    const least = SPANS_MS[this.#span] / 22;
    let last = -Infinity;
    for (const word of this.store.ground.words) {
      if (word.at_ms < from || word.at_ms >= to) continue;
      if (word.at_ms - last < least) continue;
      last = word.at_ms;
      const text = draw("text", { class: "word", x: "47%", y: this.#y(word.at_ms), dy: "0.8em" });
      text.textContent = word.text;
      drawn.push(text);
    }
    return drawn;
  }

  #msAt(event) {
    const box = this.svg.getBoundingClientRect();
    return Math.max(0, this.#limits()[0] + ((event.clientY - box.top) / box.height) * SPANS_MS[this.#span]);
  }

  #pressed(event) {
    const box = this.svg.getBoundingClientRect();
    const near = [...this.svg.querySelectorAll("[data-edge]")].map((line) => ({ line, off: Math.abs(line.getBoundingClientRect().top - event.clientY) }));
    near.sort((a, b) => a.off - b.off);
    const inBand = event.clientX - box.left < box.width;
    if (inBand && near[0]?.off <= GRIP_PX) {
      this.#dragged = near[0].line;
      this.svg.setPointerCapture(event.pointerId);
      event.preventDefault();
    } else {
      this.wishes.goTo(this.#msAt(event));
    }
  }

  #moved(event) {
    if (!this.#dragged) return;
    const ms = this.#msAt(event);
    this.#dragged.setAttribute("y1", this.#y(ms));
    this.#dragged.setAttribute("y2", this.#y(ms));
    this.wishes.scrub(ms);
  }

  #let(event) {
    if (!this.#dragged) return;
    const { mark, edge } = this.#dragged.dataset;
    const ms = this.#msAt(event);
    this.#dragged = null;
    this.wishes.moveEdge(mark, edge, Math.round(ms));
  }

  #drop() {
    this.#dragged = null;
    this.show(this.#centre, this.chosen, this.edge);
  }
}

function draw(name, attributes) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
}
