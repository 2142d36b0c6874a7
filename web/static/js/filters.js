// Filters take effect when they are ticked; without this script their button does the same.

/** Submit each form of filters as soon as something in it changes; numbers wait for Enter or for leaving the field. */
export function submitFiltersAtOnce(root) {
  for (const form of root.querySelectorAll("form[data-filters]")) {
    form.addEventListener("change", () => form.requestSubmit());
    form.addEventListener("submit", () => {
      // Empty fields stay out of the address.
      for (const field of form.querySelectorAll("input, select")) {
        if (field.value === "") field.disabled = true;
      }
    });
  }
}
