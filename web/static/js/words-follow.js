// Marks the word that is being spoken and keeps it in view, until the reader scrolls away; a jump takes it up again.

const CALM = matchMedia("(prefers-reduced-motion: reduce)");

export class WordsFollow {
  #words;
  #times;
  #spoken = null;
  #following = true;

  constructor(caseDocument) {
    this.#words = [...caseDocument.querySelectorAll(".words [data-ms]")];
    this.#times = this.#words.map((word) => Number(word.dataset.ms));
    for (const name of ["wheel", "touchmove"]) {
      addEventListener(name, (event) => {
        if (!event.target.closest?.(".side")) this.#following = false;
      }, { passive: true });
    }
  }

  get following() {
    return this.#following;
  }

  resume() {
    this.#following = true;
  }

  toggle() {
    this.#following = !this.#following;
    if (this.#following && this.#spoken) this.#bringIntoView(this.#spoken);
  }

  /** Mark the word spoken at `ms`: the last that has begun. */
  show(ms) {
    const word = this.#words[this.#indexAt(ms)] ?? null;
    if (word === this.#spoken) return;
    this.#spoken?.classList.remove("spoken");
    word?.classList.add("spoken");
    this.#spoken = word;
    if (word && this.#following) this.#bringIntoView(word);
  }

  #indexAt(ms) {
    let low = 0;
    let high = this.#times.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.#times[middle] <= ms + 1) low = middle + 1;
      else high = middle;
    }
    return low - 1;
  }

  #bringIntoView(word) {
    const box = word.getBoundingClientRect();
    const film = document.querySelector(".film");
    const covered = getComputedStyle(film).position === "sticky" ? film.getBoundingClientRect().bottom : 0;
    const height = innerHeight - covered;
    if (box.top > covered + height * 0.12 && box.bottom < covered + height * 0.75) return;
    scrollBy({ top: box.top - covered - height * 0.3, behavior: CALM.matches ? "auto" : "smooth" });
  }
}
