// Copies a <template> and writes values into its places marked data-text; an empty one is left out.
export function filled(templateId, values) {
  const copy = document.getElementById(templateId).content.firstElementChild.cloneNode(true);
  for (const place of copy.querySelectorAll("[data-text]")) {
    const value = values[place.dataset.text];
    if (value) place.textContent = value;
    else place.remove();
  }
  return copy;
}

/** Put one line of text into a list. */
export function line(text) {
  const item = document.createElement("li");
  item.textContent = text;
  return item;
}

/** Today in the society's time zone, as a date field wants it. */
export function today(copy) {
  return new Intl.DateTimeFormat("en-CA", { timeZone: copy?.time_zone }).format(new Date());
}
