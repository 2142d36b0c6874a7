// The line and the buttons under the film: what is going on, play, steps, speed, the sheet of keys.

import { clock } from "./clock.js";

export class FilmDrive {
  #document;
  #line;
  #place;
  #time;
  #row = null;

  constructor(caseDocument) {
    this.#document = caseDocument;
    this.#line = caseDocument.querySelector(".at");
    this.#time = this.#line.querySelector("time");
    const buttons = caseDocument.querySelector(".drive");
    this.#line.hidden = buttons.hidden = false;
    buttons.addEventListener("click", (event) => {
      const button = event.target.closest("[data-do]");
      if (button) this.do(button.dataset.do);
    });
    this.#place = buttons.querySelector("[data-place]");
    this.#place.addEventListener("input", () => caseDocument.film.scrub(Number(this.#place.value)));
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
    else if (deed === "quiet") film.video.muted = !film.video.muted;
    else if (deed === "captions") film.toggleCaptions();
    else if (deed === "larger") film.toggleLarge();
    else if (deed === "keys") this.#toggleKeys();
    this.show();
  }

  /** One place slower (-1) or faster (1) in the list of speeds. */
  changeSpeed(places) {
    const last = this.speed.options.length - 1;
    this.speed.selectedIndex = Math.min(last, Math.max(0, this.speed.selectedIndex + places));
    this.#document.film.video.playbackRate = Number(this.speed.value);
  }

  show() {
    const { video } = this.#document.film;
    this.#button("play").textContent = video.paused ? "Play" : "Hold";
    this.#button("quiet")?.setAttribute("aria-pressed", String(video.muted));
    this.#button("captions")?.setAttribute("aria-pressed", String(video.textTracks[0]?.mode === "showing"));
    this.speed.value = String(video.playbackRate);
  }

  showMoment(ms, row) {
    this.#time.textContent = clock(ms + 1);
    this.#place.value = String(ms / 1000);
    this.#place.setAttribute("aria-valuetext", clock(ms + 1));
    if (row === this.#row) return;
    this.#row = row;
    const what = this.#line.querySelector(".what");
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
    this.#button("keys").setAttribute("aria-expanded", String(!sheet.hidden));
  }

  #button(deed) {
    return this.#document.querySelector(`[data-do=${deed}]`);
  }
}
