// <case-document>: the ribbon, the words and the film as one. Clicks on words, times and bands become jumps of the film;
// what the film shows becomes the mark in the words, the current row and the head on the ribbon.

import { momentOf } from "./case-film.js";
import { FilmDrive } from "./film-drive.js";
import { listenToKeys } from "./film-keys.js";
import { WordsFollow } from "./words-follow.js";

export class CaseDocument extends HTMLElement {
  connectedCallback() {
    this.film = this.querySelector("case-film");
    if (!this.film) return;
    this.classList.add("live");
    this.rows = [...this.querySelectorAll(".row")];
    this.follow = new WordsFollow(this);
    this.drive = new FilmDrive(this);
    listenToKeys(this);
    this.addEventListener("click", (event) => this.#clicked(event));
    this.addEventListener("film-at", (event) => this.#filmIsAt(event.detail.ms));
    this.addEventListener("film-moves", () => this.drive.show());
    this.drive.show();
    if (!this.film.dataset.painted) this.#filmIsAt(Number(this.film.dataset.at ?? 0) * 1000);
  }

  /** The row that goes on at a moment: the last that has begun; undefined where there is none at all. */
  rowAt(ms) {
    return this.rows.findLast((row) => Number(row.dataset.start) <= ms + 1) ?? this.rows[0];
  }

  /** Go `count` rows on or back; back goes to the beginning of this row first, once it has run for two seconds. */
  moveByRow(count) {
    const ms = this.film.atMs;
    const now = this.rows.indexOf(this.rowAt(ms));
    const late = count < 0 && now >= 0 && ms - Number(this.rows[now].dataset.start) > 2000;
    const row = this.rows[late ? now : Math.min(this.rows.length - 1, Math.max(0, now + count))];
    if (row) this.goTo(row);
  }

  /** Show the moment that an element carries, and write it into the address. */
  goTo(element, options) {
    const moment = momentOf(element);
    const here = new URL(location.href);
    here.searchParams.set("t", element.dataset.at);
    here.hash = `t=${element.dataset.at}`;
    history.replaceState(null, "", here);
    this.follow.resume();
    this.film.jump(moment, options);
  }

  #clicked(event) {
    if (event.button || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
    const link = event.target.closest("a[data-seek]");
    if (link) {
      event.preventDefault();
      this.goTo(link, { play: true });
      return;
    }
    const word = event.target.closest(".words [data-ms]");
    if (word && !String(getSelection())) {
      this.follow.resume();
      this.film.jump(this.film.momentAt(Number(word.dataset.ms) / 1000), { play: true });
    }
  }

  #filmIsAt(ms) {
    const row = this.rowAt(ms);
    for (const one of this.rows) {
      if (one === row) one.setAttribute("aria-current", "true");
      else one.removeAttribute("aria-current");
    }
    this.drive.showMoment(ms, row);
    this.follow.show(ms);
    this.#moveHead(ms);
  }

  #moveHead(ms) {
    const head = this.querySelector(".glance .head");
    const length = Number(this.rows.at(-1)?.dataset.end);
    if (!head || !length) return;
    const place = `${(100 * Math.min(ms, length)) / length}%`;
    head.setAttribute("y1", place);
    head.setAttribute("y2", place);
    head.removeAttribute("visibility");
  }
}
