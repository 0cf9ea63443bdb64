// What to write on the tags of a pollination logged here, by hand and at once.
import { giveUp, isFree } from "../device/outbox.js";
import { DONE, getEntry } from "../device/store.js";

function tagOf(lines) {
  const tag = Object.assign(document.createElement("div"), { className: "tag-text" });
  tag.append(
    ...lines.filter(Boolean).map((textContent) => Object.assign(document.createElement("div"), { textContent })),
  );
  return tag;
}

function tagsOf(entry) {
  const { own_number: own, own_number_back: ownBack, pollinated_on: day, both_ways: bothWays } = entry.fields;
  const number = entry.state === DONE ? entry.answer.number : "";
  const flowers = (count) => `${count} flower${count === "1" ? "" : "s"}`;
  const [seed, pollen] = entry.parents ?? [];
  if (!bothWays || !pollen) return [tagOf([own, entry.words, day, number])];
  const back = entry.fields.flowers_back || entry.fields.flowers;
  return [
    tagOf([own, `${seed} × ${pollen}, ${flowers(entry.fields.flowers)}`, day, number]),
    Object.assign(document.createElement("h2"), { textContent: "And on the other plant's tag" }),
    tagOf([ownBack, `${pollen} × ${seed}, ${flowers(back)}`, day]),
  ];
}

function stateOf(entry) {
  if (entry.state === DONE) return `It has gone up as ${entry.answer.number}.`;
  const { own_number: own, cross, again } = entry.fields;
  if (own || cross || again) {
    return "It is kept on this device and goes up by itself. The number on the tag stays as it is.";
  }
  return entry.sent
    ? "It was sent and no answer has come yet, so its number is not known: write the rest, and look here again for it."
    : "It is kept on this device. Its number is given when it goes up: write the rest, and look here again for it.";
}

export async function showTag(section, copy, [key]) {
  const entry = key && (await getEntry(key));
  const more = section.querySelector("[data-tag-more]");
  const slip = section.querySelector("[data-slip]");
  slip.hidden = !entry || !(isFree(entry) || entry.state === DONE);
  if (!entry) {
    section.querySelector("[data-tags]").replaceChildren(tagOf(["This entry is no longer on this device."]));
    more.textContent = "";
    return;
  }
  section.querySelector("[data-tags]").replaceChildren(...tagsOf(entry));
  more.textContent = stateOf(entry);
  // Nothing is taken back that has not gone up; the form comes back as it was filled in.
  slip.onclick = async () => {
    if (!isFree(entry)) location.hash = `#withdrawal/${entry.answer.number}`;
    else location.hash = `#pollination/new/${entry.key}`;
  };
  const drop = section.querySelector("[data-drop]");
  drop.hidden = !isFree(entry);
  drop.onclick = async () => {
    if (await giveUp(entry.key)) location.hash = "#bench";
  };
}
