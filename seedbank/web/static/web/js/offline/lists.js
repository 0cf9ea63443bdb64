// The member's plants and crosses, as they were when the copy was fetched.
import { line } from "./fill.js";

function showNarrowed(section, rows) {
  const place = section.querySelector("[data-rows]");
  const typed = section.querySelector("input[type=search]");
  const show = () => {
    const wanted = typed.value.trim().toLowerCase();
    const found = rows.filter((row) => row.toLowerCase().includes(wanted));
    place.replaceChildren(...(found.length ? found.map(line) : [line("Nothing here is called so.")]));
  };
  typed.oninput = show;
  show();
}

export function showPlants(section, copy) {
  showNarrowed(
    section,
    (copy?.plants ?? []).map((plant) => [plant.number, plant.name_text, plant.own_label].filter(Boolean).join(" · ")),
  );
}

export function showCrosses(section, copy) {
  showNarrowed(
    section,
    (copy?.crosses ?? []).map((cross) => `${cross.own_number} (${cross.season}) · ${cross.formula} · ${cross.number}`),
  );
}
