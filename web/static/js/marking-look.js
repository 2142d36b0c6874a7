// Plays the edges of a step, a second to either side of each, so that one look settles it.

const BESIDE_S = 1;

export class EdgeLook {
  #run = 0;

  constructor(film) {
    this.film = film;
  }

  /** Stop where it is. */
  stop() {
    this.#run += 1;
  }

  /** Play around each edge in turn, then hold at the first picture of the step. */
  async look(edges, first) {
    const run = ++this.#run;
    for (const edge of edges) {
      const from = Math.max(0, edge.at - BESIDE_S);
      await this.film.jump(this.film.momentAt(from), { play: true });
      const reached = await this.#played(edge.at + BESIDE_S, run);
      if (!reached) return;
    }
    if (run === this.#run) await this.film.jump(first, { play: false });
  }

  /** Resolves to true once the film has come to `until` (seconds), to false where something else was done meanwhile. */
  #played(until, run) {
    const { video } = this.film;
    return new Promise((resolve) => {
      const look = () => {
        if (run !== this.#run || (video.paused && !video.ended)) finish(false);
        else if (video.currentTime >= until || video.ended) finish(true);
      };
      const timer = setInterval(look, 30);
      const finish = (reached) => {
        clearInterval(timer);
        resolve(reached);
      };
    });
  }
}
