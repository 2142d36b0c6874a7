// <marking-page data-api>: film, close look, the step in hand and the list of all steps, held together.
//
// Wishes (keys, buttons, touches) are fulfilled one after the other, so that quick keys mean what stands when their turn comes.

import { MarkingDeeds } from "./marking-deeds.js";
import { listenToMarkingKeys } from "./marking-keys.js";
import { MarkingLens } from "./marking-lens.js";
import { MarkingList } from "./marking-list.js";
import { EdgeLook } from "./marking-look.js";
import { NameField } from "./marking-name.js";
import { MarkingPanel } from "./marking-panel.js";
import { MarkingStore, Refused } from "./marking-store.js";

export class MarkingPage extends HTMLElement {
  #turn = Promise.resolve();
  #waiting = 0;

  async connectedCallback() {
    this.film = this.querySelector("case-film");
    this.store = new MarkingStore(this.dataset.api);
    this.unsureFirst = true;
    this.edge = "start";
    try {
      await this.store.load();
    } catch (fault) {
      this.tell(fault.message, true);
      return;
    }
    this.list = new MarkingList(this.querySelector(".marks"), this.store);
    this.panel = new MarkingPanel(this, this.store);
    this.naming = new NameField(this.querySelector(".naming"), this.store);
    this.look = this.film && new EdgeLook(this.film);
    this.deeds = new MarkingDeeds(this);
    this.lens = new MarkingLens(this.querySelector(".lens svg"), this.store, {
      goTo: (ms) => this.wish("goTo", ms),
      scrub: (ms) => this.film?.scrub(ms / 1000),
      moveEdge: (mark, edge, ms) => this.wish("drag", mark, edge, ms),
    });
    this.watching = this.store.may_mark && !this.store.marks.length;
    this.#listen();
    this.classList.add("live");
    this.querySelector(".hand").hidden = false;
    this.choose(this.next()?.id ?? this.store.marks[0]?.id, { look: false });
    this.dataset.ready = "yes";
  }

  get mark() {
    return this.store.mark(this.chosen);
  }

  /** Where the film shows a picture, in ms: the time of the painted frame, which is more exact than the player's clock. */
  get atMs() {
    if (!this.film) return this.mark?.[this.edge].at_ms ?? 0;
    const painted = Number(this.film.dataset.painted ?? NaN);
    const { currentTime, paused } = this.film.video;
    return 1000 * (paused && Math.abs(painted - currentTime) < 0.2 ? painted : currentTime);
  }

  /** What is to be looked at next: unsure ones first, or by time from here on; undefined where all is settled. */
  next() {
    const open = this.store.marks.filter((mark) => !mark.settled);
    if (this.unsureFirst) return open.toSorted((a, b) => a.confidence - b.confidence)[0];
    const from = this.mark?.start.at_ms ?? -1;
    return open.find((mark) => mark.start.at_ms > from) ?? open[0];
  }

  /** Take a step in hand and show its first picture; `look` plays its edges. */
  choose(id, { look = this.querySelector("[data-autolook]").checked, edge = "start" } = {}) {
    this.chosen = id;
    this.edge = edge;
    this.show();
    this.list.follow();
    if (this.mark && this.film && !this.watching) this.showEdge(look);
  }

  showEdge(look = false) {
    if (!this.film) return;
    this.look.stop();
    const { start, end } = this.mark;
    const open = [start, end].filter((edge) => edge.source !== "person");
    if (look && open.length) this.look.look(open, start);
    else this.film.jump(this.mark[this.edge], { play: false });
  }

  show() {
    const { mark, edge } = this;
    this.list.show(this.chosen);
    this.panel.show(mark, edge, this.watching, this.atMs);
    this.lens.show(mark && !this.watching ? mark[edge].at_ms : this.atMs, this.chosen, edge);
    this.querySelector("[data-do=watch]").setAttribute("aria-pressed", String(this.watching));
    this.querySelector("[data-do=order]").setAttribute("aria-pressed", String(this.unsureFirst));
  }

  /** Do what a person wishes when its turn comes. */
  wish(name, ...more) {
    const moment = { ms: this.film?.atMs ?? 0, speed: this.film?.video.playbackRate ?? 1 };
    this.#waiting += 1;
    this.#turn = this.#turn.then(() => this.#fulfil(name, more, moment)).finally(() => {
      this.#waiting -= 1;
      this.dataset.waiting = this.#waiting;
    });
    this.dataset.waiting = this.#waiting;
    return this.#turn;
  }

  tell(sentence, trouble = false) {
    this.querySelector(".told").textContent = trouble ? "" : sentence;
    const alarm = this.querySelector(".alarm");
    alarm.textContent = trouble ? sentence : "";
    alarm.hidden = !trouble;
  }

  async #fulfil(name, more, moment) {
    try {
      await this.deeds[name](...more, moment);
    } catch (fault) {
      if (!(fault instanceof Refused)) throw fault;
      this.tell(fault.message, true);
      if (fault.status === 409) await this.store.load();
      if (!this.mark) this.choose(this.next()?.id, { look: false });
      this.show();
    }
  }

  #listen() {
    listenToMarkingKeys(this, this.querySelector("[data-letters]"));
    this.addEventListener("click", (event) => {
      const button = event.target.closest("[data-do], [data-edge], [data-offer], .pick");
      if (!button || !this.contains(button) || button.closest("svg")) return;
      // A button that was pointed at gives the keys back: space plays, it does not press it once more.
      if (event.detail > 0) button.blur();
      const { do: deed, edge, offer, more } = button.dataset;
      if (offer) this.wish("take", offer);
      else if (edge) this.wish("hold", edge);
      else if (deed) this.wish(deed, ...(more ? more.split(" ").map((one) => (isNaN(one) ? one : Number(one))) : []));
      else this.wish("pick", button.closest(".mark").dataset.id);
    });
    this.addEventListener("film-at", (event) => this.#filmIsAt(event.detail.ms));
    this.addEventListener("film-moves", () => this.deeds.showDrive());
    this.querySelector("[data-speed]")?.addEventListener("change", (event) => {
      this.film.video.playbackRate = Number(event.target.value);
    });
    this.querySelector("[data-place]")?.addEventListener("input", (event) => this.film.scrub(Number(event.target.value)));
  }

  #filmIsAt(ms) {
    this.deeds.showDrive();
    if (this.watching) {
      const now = this.store.at(ms)?.id;
      if (now !== this.chosen) {
        this.chosen = now;
        this.list.show(now);
        this.list.follow();
        this.panel.show(this.mark, this.edge, true, ms);
      }
      this.lens.show(ms, this.chosen, this.edge);
    }
    this.lens.showHead(ms);
  }
}
