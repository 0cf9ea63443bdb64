// What to write on the tag of a pollination logged here, by hand and at once.
import { DONE, getEntry } from "../device/store.js";

export async function showTag(section, copy, [key]) {
  const entry = key && (await getEntry(key));
  const tag = section.querySelector("[data-tag]");
  const more = section.querySelector("[data-tag-more]");
  if (!entry) {
    tag.textContent = "This entry is no longer on this device.";
    more.textContent = "";
    return;
  }
  const { own_number: own, pollinated_on: day, both_ways: bothWays } = entry.fields;
  const number = entry.state === DONE ? entry.answer.number : "";
  const lines = [own, entry.words, day, number].filter(Boolean);
  tag.replaceChildren(
    ...lines.map((text) => {
      const row = document.createElement("div");
      row.textContent = text;
      return row;
    }),
  );
  const back = bothWays ? " The other plant's tag gets the same the other way round." : "";
  more.textContent =
    (number
      ? `It has gone up as ${number}.`
      : "It is kept on this device and goes up by itself. Its number comes then; your own number finds it too.") + back;
}
