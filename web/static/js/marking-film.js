// The wishes of the marking page that change nothing: the film, the close look, the sheet of keys.

import { clock } from "./clock.js";

const SPEEDS = [0.25, 0.5, 1, 1.5, 2, 3, 4];

export class FilmDeeds {
  constructor(page) {
    this.page = page;
  }

  play() {
    this.page.look?.stop();
    this.page.film?.playOrHold();
  }

  picture(way) {
    const { film, look } = this.page;
    look?.stop();
    if (!film) return;
    if (film.video.paused) film.moveByFrame(way);
    else film.moveBySeconds(way);
  }

  goTo(ms) {
    this.page.look?.stop();
    this.page.film?.jump(this.page.film.momentAt(ms / 1000), { play: false });
  }

  look() {
    if (this.page.mark && !this.page.watching) this.page.showEdge(true);
  }

  speed(places) {
    const { film } = this.page;
    if (!film) return;
    const now = SPEEDS.findIndex((speed) => speed >= film.video.playbackRate);
    film.video.playbackRate = SPEEDS[Math.min(SPEEDS.length - 1, Math.max(0, now + places))];
  }

  showDrive() {
    const { film } = this.page;
    if (!film) return;
    this.page.querySelector("[data-do=play]").textContent = film.video.paused ? "Play" : "Hold";
    this.page.querySelector("[data-speed]").value = String(film.video.playbackRate);
    this.page.querySelector("[data-place]").value = String(film.video.currentTime);
    this.page.querySelector(".at time").textContent = clock(film.atMs + 1);
  }

  closer(places) {
    this.page.lens.closer(places);
  }

  keys() {
    const sheet = this.page.querySelector("#keys");
    sheet.hidden = !sheet.hidden;
    if (!sheet.hidden) sheet.scrollIntoView({ block: "nearest" });
    this.page.querySelector("[data-do=keys]").setAttribute("aria-expanded", String(!sheet.hidden));
  }
}
