// What each wish does. Every method may be told the film's moment ({ ms, speed }) as its last argument.

import { clock } from "./clock.js";
import { FilmDeeds } from "./marking-film.js";
import { meant } from "./reaction.js";

export class MarkingDeeds extends FilmDeeds {
  // ---- the step in hand ----

  async keep() {
    const { mark } = this.page;
    if (!mark || !this.#mayMark()) return;
    await this.page.store.do({ verb: "keep", segment: mark.id });
    this.#goOn(`Kept ${mark.label}.`);
  }

  async refuse() {
    const { mark } = this.page;
    if (!mark || !this.#mayMark()) return;
    await this.page.store.do({ verb: "refuse", segment: mark.id });
    this.#goOn(`${mark.label} is no step here.`);
  }

  async offer(number, moment) {
    const { page } = this;
    const step = page.panel.offered(page.mark, page.watching, moment.ms)[number - 1];
    if (step) await this.take(step, moment);
  }

  /** It is this step: the one in hand, or while watching the one that begins now. */
  async take(step, moment) {
    const { page } = this;
    if (!this.#mayMark()) return;
    if (page.watching) {
      await this.#begin({ verb: "begin", step }, moment);
      return;
    }
    if (!page.mark) return;
    await page.store.do({ verb: "name", segment: page.mark.id, step });
    this.#goOn(`It is ${page.store.label(step)}.`);
  }

  async name(moment) {
    const { page } = this;
    if (!this.#mayMark()) return;
    const step = await page.naming.ask(page.panel.offered(page.mark, page.watching, moment.ms));
    if (step) await this.take(step, moment);
  }

  async split() {
    const { page } = this;
    if (!this.#mayMark()) return;
    const ms = page.atMs;
    const whole = page.store.at(ms) ?? page.mark;
    if (!whole) return;
    await page.store.do({ verb: "split", segment: whole.id, at_ms: Math.round(ms) });
    page.tell(`Divided ${whole.label} at ${clock(ms)}. The second part is in hand.`);
    page.choose(page.store.at(ms + 1)?.id ?? whole.id, { look: false });
  }

  async join() {
    const { mark } = this.page;
    if (!mark || !this.#mayMark()) return;
    await this.page.store.do({ verb: "join", segment: mark.id });
    this.page.tell(`${mark.label} goes on until ${clock(this.page.mark.end.at_ms)} now.`);
    this.page.show();
  }

  // ---- edges ----

  hold(edge) {
    this.page.edge = edge;
    this.page.show();
    if (this.page.mark) this.page.showEdge();
  }

  other() {
    this.hold(this.page.edge === "start" ? "end" : "start");
  }

  async here(edge) {
    this.page.edge = edge;
    await this.#moveEdge(Math.round(this.page.atMs));
  }

  async nudge(way, unit) {
    const { page } = this;
    if (!page.mark) return;
    const from = page.mark[page.edge].at_ms;
    const frame = 1000 / page.store.ground.frame_rate;
    // A moment within the next frame, or the one before: the site takes it to where that picture begins.
    const by = unit === "second" ? way * 1000 : way > 0 ? 1.5 * frame : -0.5 * frame;
    await this.#moveEdge(Math.max(0, Math.round(from + by)));
  }

  async cut(way) {
    const { page } = this;
    if (!page.mark) return;
    const from = page.mark[page.edge].at_ms;
    const cuts = page.store.ground.cuts_ms;
    const to = way > 0 ? cuts.find((at) => at > from + 1) : cuts.findLast((at) => at < from - 1);
    if (to === undefined) page.tell(cuts.length ? "There is no cut further on that way." : "No cuts of this film are known.");
    else await this.#moveEdge(to);
  }

  async drag(mark, edge, ms) {
    if (!this.#mayMark()) return;
    this.page.chosen = mark;
    this.page.edge = edge;
    await this.#moveEdge(ms);
  }

  // ---- which step, and the rest ----

  pick(id) {
    this.page.watching = false;
    this.page.choose(id);
  }

  step(way) {
    const { page } = this;
    const { marks } = page.store;
    const now = marks.findIndex((mark) => mark.id === page.chosen);
    const to = marks[Math.min(marks.length - 1, Math.max(0, now + way))];
    if (to) page.choose(to.id);
  }

  order() {
    this.page.unsureFirst = !this.page.unsureFirst;
    this.page.tell(this.page.unsureFirst ? "Unsure steps come first." : "Steps come in order of time.");
    this.page.show();
  }

  watch() {
    const { page } = this;
    page.look?.stop();
    page.watching = !page.watching;
    page.tell(page.watching ? "Marking while you watch: a number begins the step that comes now." : "");
    page.show();
  }

  async rest(moment) {
    if (this.page.watching && this.#mayMark()) await this.#begin({ verb: "rest" }, moment);
  }

  async undo() {
    await this.#back("undo", "Taken back.");
  }

  async redo() {
    await this.#back("redo", "Done again.");
  }

  // ---- what they share ----

  #mayMark() {
    if (!this.page.store.may_mark) this.page.tell("You may look. Marking is for the surgeon who operated and for the owner.", true);
    return this.page.store.may_mark;
  }

  #goOn(sentence) {
    const { page } = this;
    const next = page.next();
    page.tell(next ? `${sentence} Next: ${next.label}, ${next.sure}.` : `${sentence} All steps are kept.`);
    page.choose(next?.id ?? (page.mark ? page.chosen : page.store.marks.at(-1)?.id), next ? {} : { look: false });
  }

  async #moveEdge(ms) {
    const { page } = this;
    if (!page.mark || !this.#mayMark()) return;
    await page.store.do({ verb: "edge", segment: page.mark.id, edge: page.edge, at_ms: ms });
    page.tell(`${page.mark.label} ${page.edge === "start" ? "starts" : "ends"} at ${clock(page.mark[page.edge].at_ms)} now.`);
    page.show();
    page.showEdge();
  }

  async #begin(deed, moment) {
    const { page } = this;
    const { video } = page.film ?? { video: { paused: true } };
    const choices = page.panel.offered(page.mark, true, moment.ms).length;
    // Held still, the picture itself is meant.
    const at = video.paused ? { at_ms: Math.round(page.atMs), spread_ms: 0 } : meant(moment.ms, moment.speed, choices);
    await page.store.do({ ...deed, ...at });
    page.chosen = page.store.at(at.at_ms + 50)?.id;
    page.tell(deed.step ? `${page.store.label(deed.step)} from ${clock(at.at_ms)}.` : `No step from ${clock(at.at_ms)}.`);
    page.show();
  }

  async #back(which, sentence) {
    const { page } = this;
    if (!page.store[which]) {
      page.tell(which === "undo" ? "There is nothing to take back." : "There is nothing to do again.");
      return;
    }
    await page.store.goBack(which);
    const changed = page.store.marks.find((mark) => page.store.before.find((one) => one.id === mark.id)?.version !== mark.version);
    page.tell(sentence);
    page.choose(changed?.id ?? page.mark?.id ?? page.store.marks[0]?.id, { look: false });
  }
}
