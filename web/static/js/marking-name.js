// Names a step by a few letters: the beginning of its words, or the first letters of them. The likelier ones stand first.

const SHOWN = 8;

/** Steps whose label goes with what was typed, best first. `likely` are ids that come first among equals. */
export function matching(steps, typed, likely = []) {
  const text = typed.trim().toLowerCase();
  if (!text) return likely.map((id) => steps.find((step) => step.id === id)).filter(Boolean);
  const found = [];
  for (const step of steps) {
    const words = step.label.toLowerCase().split(/[^a-z0-9]+/).filter(Boolean);
    const initials = words.map((word) => word[0]).join("");
    const rank = words[0]?.startsWith(text) ? 0 : initials.startsWith(text) ? 1 : words.some((word) => word.startsWith(text)) ? 2 : 3;
    if (rank < 3) found.push({ step, rank, place: likely.indexOf(step.id) });
  }
  const order = (one) => (one.place < 0 ? 99 : one.place) + one.rank * 10;
  return found.sort((a, b) => order(a) - order(b)).map((one) => one.step);
}

export class NameField {
  #taken = null;

  constructor(root, store) {
    this.root = root;
    this.store = store;
    this.input = root.querySelector("input");
    this.list = root.querySelector("ol");
    this.input.addEventListener("input", () => this.#typed());
    this.input.addEventListener("keydown", (event) => this.#key(event));
    // Pointing at something else means that the person thought better of it.
    addEventListener("pointerdown", (event) => {
      if (this.#taken && !root.contains(event.target)) this.#take(null);
    }, { capture: true });
    this.list.addEventListener("click", (event) => {
      const button = event.target.closest("button");
      if (button) this.#take(button.dataset.step);
    });
  }

  /** Ask for a step; resolves to its id, or to null where the person thought better of it. */
  ask(likely) {
    this.#taken?.(null);
    this.likely = likely;
    this.root.hidden = false;
    this.input.value = "";
    this.#show();
    this.input.focus();
    return new Promise((resolve) => {
      this.#taken = resolve;
    });
  }

  #typed() {
    const found = this.#show();
    // Two letters that leave one step say it already.
    if (this.input.value.trim().length >= 2 && found.length === 1) this.#take(found[0].id);
  }

  #key(event) {
    if (event.key === "Enter") {
      event.preventDefault();
      const first = this.list.querySelector("button");
      if (first) this.#take(first.dataset.step);
    } else if (event.key === "Escape") {
      this.#take(null);
    } else if (/^[1-8]$/.test(event.key)) {
      event.preventDefault();
      const button = this.list.querySelectorAll("button")[Number(event.key) - 1];
      if (button) this.#take(button.dataset.step);
    }
    event.stopPropagation();
  }

  #show() {
    const found = matching(this.store.ground.steps, this.input.value, this.likely);
    this.list.replaceChildren(
      ...found.slice(0, SHOWN).map((step, place) => {
        const item = document.createElement("li");
        const button = document.createElement("button");
        button.type = "button";
        button.dataset.step = step.id;
        const key = document.createElement("kbd");
        key.textContent = String(place + 1);
        button.append(key, ` ${step.label}`);
        item.append(button);
        return item;
      }),
    );
    return found;
  }

  #take(step) {
    this.root.hidden = true;
    this.input.blur();
    const taken = this.#taken;
    this.#taken = null;
    taken?.(step);
  }
}
