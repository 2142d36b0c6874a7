// <case-film data-rate="25" [data-seek data-frame data-at data-play]> around a native <video>.
//
// State comes out as attributes: data-painted (media time in seconds of the frame on screen), data-first (that of the
// first frame shown after the last jump), data-exact ("yes" where that is known to be the wanted frame).
// Tells "film-at" ({ ms }) for each painted frame and "film-moves" when it begins to play, holds still or changes its speed.

import { clock } from "./clock.js";
import { exactPicture } from "./exact-picture.js";
import { readFragment } from "./fragment.js";

export class CaseFilm extends HTMLElement {
  #jump = new AbortController();

  connectedCallback() {
    this.video = this.querySelector("video");
    this.rate = Number(this.dataset.rate) || 25;
    // The browser's own controls lie over the picture; ours stand below it and come back only on a full screen.
    this.video.controls = false;
    this.video.addEventListener("click", () => this.playOrHold());
    document.addEventListener("fullscreenchange", () => {
      this.video.controls = document.fullscreenElement !== null;
    });
    this.#watchFrames();
    for (const name of ["play", "pause", "ratechange", "volumechange"]) {
      this.video.addEventListener(name, () => this.dispatchEvent(new CustomEvent("film-moves", { bubbles: true })));
    }
    this.video.addEventListener("error", () => this.#tellTrouble());
    if (this.video.error) this.#tellTrouble();
    window.addEventListener("hashchange", () => this.#followAddress());
    this.#startWhereAsked();
  }

  get atMs() {
    return this.video.currentTime * 1000;
  }

  /** The moment { at, seek, frame } in seconds for a plain time, where the page gives no exact one. */
  momentAt(seconds) {
    const known = document.querySelector(`[data-seek][data-at="${seconds}"]`);
    if (known) return momentOf(known);
    return { at: seconds, seek: (Math.floor(seconds * this.rate + 0.02) + 0.5) / this.rate, frame: null };
  }

  /** Show exactly the picture of a moment, then play on if wanted. Earlier jumps that are still under way are dropped. */
  async jump(moment, { play = !this.video.paused, cover = false } = {}) {
    this.#jump.abort();
    this.#jump = new AbortController();
    const { signal } = this.#jump;
    this.video.pause();
    if (cover) this.#cover(moment);
    try {
      const painted = await exactPicture(this.video, moment, this.rate, signal);
      this.dataset.exact = painted === null ? "no" : "yes";
      this.dataset.first = painted ?? this.video.currentTime;
      this.#uncover();
      if (play) await this.video.play();
    } catch {
      // Another jump took over, the film cannot be read (told elsewhere), or the browser wants a click before it plays.
      if (!signal.aborted) this.#uncover();
    }
  }

  playOrHold() {
    if (this.video.paused) this.video.play().catch(() => this.#tellTrouble());
    else this.video.pause();
  }

  moveBySeconds(seconds) {
    const end = this.video.duration || Infinity;
    this.video.currentTime = Math.min(end, Math.max(0, this.video.currentTime + seconds));
  }

  /** Follow a finger or pointer along the film: near enough is good enough while it moves. */
  scrub(seconds) {
    this.#jump.abort();
    this.#uncover();
    this.video.currentTime = seconds;
  }

  toggleCaptions() {
    const track = this.video.textTracks[0];
    if (track) track.mode = track.mode === "showing" ? "disabled" : "showing";
  }

  toggleLarge() {
    if (document.fullscreenElement) document.exitFullscreen();
    else this.video.requestFullscreen?.().catch(() => {});
  }

  /** Held still: the frame before (-1) or the next one (1), entered at its middle. */
  moveByFrame(count) {
    const shown = Number(this.dataset.painted ?? this.video.currentTime);
    const seek = Math.max(0, shown + (count + 0.5) / this.rate);
    this.jump({ seek, frame: null }, { play: false });
  }

  #startWhereAsked() {
    const asked = readFragment(location.hash);
    const given = this.dataset.seek !== undefined ? momentOf(this) : null;
    const moment = asked && asked.start !== given?.at ? this.momentAt(asked.start) : given;
    if (!moment) return;
    const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
    this.jump(moment, { play: !calm, cover: true });
  }

  #followAddress() {
    const asked = readFragment(location.hash);
    if (asked) this.jump(this.momentAt(asked.start), { play: true });
  }

  #cover(moment) {
    this.video.classList.add("covered");
    const wait = this.querySelector(".wait");
    wait.textContent = `Going to ${clock((moment.at ?? moment.seek) * 1000)} …`;
    wait.hidden = false;
  }

  #uncover() {
    this.video.classList.remove("covered");
    this.querySelector(".wait").hidden = true;
  }

  #watchFrames() {
    const tell = (seconds) => {
      this.dispatchEvent(new CustomEvent("film-at", { bubbles: true, detail: { ms: seconds * 1000 } }));
    };
    if (!this.video.requestVideoFrameCallback) {
      this.video.addEventListener("timeupdate", () => tell(this.video.currentTime));
      return;
    }
    const look = (_now, frame) => {
      this.dataset.painted = frame.mediaTime;
      tell(frame.mediaTime);
      this.video.requestVideoFrameCallback(look);
    };
    this.video.requestVideoFrameCallback(look);
  }

  async #tellTrouble() {
    const trouble = this.querySelector(".trouble");
    this.#uncover();
    trouble.hidden = false;
    trouble.textContent = await this.#reason();
  }

  async #reason() {
    try {
      const answer = await fetch(this.video.currentSrc.split("#")[0], { method: "HEAD" });
      if (answer.status === 503) return "The film is away: its drive is not connected, or the file was moved. Connect it and open the page again.";
      if (answer.status === 404) return "The film is not here any more. Go back to the list of cases.";
      return "This browser cannot play the film. Open the page in another one, or add the recording again to get a playable copy.";
    } catch {
      return "The site does not answer. Start it again with scrubmark serve, then open the page again.";
    }
  }
}

/** The moment that an element carries in its data attributes. */
export function momentOf(element) {
  const { at, seek, frame } = element.dataset;
  return { at: Number(at), seek: Number(seek), frame: frame === undefined ? null : Number(frame) };
}
