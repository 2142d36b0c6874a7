// How the steps of a recording stand, and the way to change them: each change is saved at once, one after the other.

export class Refused extends Error {
  constructor(sentence, status) {
    super(sentence);
    this.status = status;
  }
}

export class MarkingStore {
  #address;

  constructor(address) {
    this.#address = address;
    this.marks = [];
  }

  async load() {
    this.ground ??= await this.#ask("/ground");
    this.#take(await this.#ask(""));
  }

  /** Do a deed on the steps as they are shown now. Throws Refused; status 409 where somebody else was quicker. */
  async do(deed) {
    const seen = Object.fromEntries(this.marks.map((mark) => [mark.id, mark.version]));
    this.#take(await this.#ask("", { ...deed, seen }));
  }

  /** Take back what this person did last ("undo"), or do it again ("redo"). */
  async goBack(which) {
    this.#take(await this.#ask(`/${which}`, {}));
  }

  mark(id) {
    return this.marks.find((mark) => mark.id === id);
  }

  /** The step that goes on at a moment, undefined where none does. */
  at(ms) {
    return this.marks.find((mark) => mark.start.at_ms <= ms + 1 && ms + 1 < mark.end.at_ms);
  }

  label(step) {
    return this.ground.steps.find((one) => one.id === step)?.label ?? step;
  }

  #take(state) {
    this.before = this.marks;
    Object.assign(this, state);
  }

  async #ask(path, body) {
    const options = body && {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    };
    let answer;
    try {
      answer = await fetch(this.#address + path, options);
    } catch {
      throw new Refused("The site does not answer, so this was not saved. Start it again with scrubmark serve.", 0);
    }
    const told = await answer.json().catch(() => ({}));
    if (!answer.ok) throw new Refused(told.error ?? "That did not work; nothing was changed.", answer.status);
    return told;
  }
}
