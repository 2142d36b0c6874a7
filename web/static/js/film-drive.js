// The line and the buttons under the film: what is going on, play, steps, speed, the sheet of keys.

import { clock } from "./clock.js";

export class FilmDrive {
  #document;
  #place;
  #time;
  #row = null;

  constructor(caseDocument) {
    this.#document = caseDocument;
    this.#place = caseDocument.querySelector(".at");
    this.#time = this.#place.querySelector("time");
    const buttons = caseDocument.querySelector(".drive");
    this.#place.hidden = buttons.hidden = false;
    buttons.addEventListener("click", (event) => {
      const button = event.target.closest("[data-do]");
      if (button) this.do(button.dataset.do);
    });
    this.speed = buttons.querySelector("[data-speed]");
    this.speed.addEventListener("change", () => {
      caseDocument.film.video.playbackRate = Number(this.speed.value);
    });
  }

  do(deed) {
    const film = this.#document.film;
    if (deed === "play") film.playOrHold();
    else if (deed === "previous") this.#document.moveByRow(-1);
    else if (deed === "next") this.#document.moveByRow(1);
    else if (deed === "keys") this.#toggleKeys();
  }

  /** One place slower (-1) or faster (1) in the list of speeds. */
  changeSpeed(places) {
    const last = this.speed.options.length - 1;
    this.speed.selectedIndex = Math.min(last, Math.max(0, this.speed.selectedIndex + places));
    this.#document.film.video.playbackRate = Number(this.speed.value);
  }

  show() {
    const { video } = this.#document.film;
    this.#document.querySelector("[data-do=play]").textContent = video.paused ? "Play" : "Hold";
    this.speed.value = String(video.playbackRate);
  }

  showMoment(ms, row) {
    this.#time.textContent = clock(ms + 1);
    if (row === this.#row) return;
    this.#row = row;
    const what = this.#place.querySelector(".what");
    what.replaceChildren();
    if (!row) return;
    const number = row.querySelector(".head .num")?.cloneNode(true);
    what.className = "what step";
    what.dataset.step = row.dataset.step;
    what.append(...(number ? [number] : []), ` ${row.querySelector(".head .label").textContent}`);
  }

  #toggleKeys() {
    const sheet = this.#document.querySelector("#keys");
    sheet.hidden = !sheet.hidden;
    this.#document.querySelector("[data-do=keys]").setAttribute("aria-expanded", String(!sheet.hidden));
  }
}
