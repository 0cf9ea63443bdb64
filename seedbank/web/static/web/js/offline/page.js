// The page without a signal: shows what this device keeps, and logs into its outbox.
//
// It stands in for any page that cannot be fetched, so it reads the address it was asked for as well as
// the part after the #.
import { allDrafts, keepWhatWasOnItsWay } from "../device/drafts.js";
import { onChange, ownEntries, sendWaiting } from "../device/outbox.js";
import { DONE, getCopy, getMember } from "../device/store.js";
import { showCrosses, showPlants } from "./lists.js";
import { showBench } from "./bench.js";
import { keepForms, openForm } from "./logging.js";
import { showTag } from "./tag.js";
import { showEntries } from "./waiting.js";

const STANDS_FOR = [
  [/^\/flowers\/add\//, "pollination"],
  [/^\/flowers\/(F\d+-\d\d)\/withdraw/, "withdrawal"],
  [/^\/crosses\/(C\d+-\d\d)\/harvest/, "harvest"],
  [/^\/harvests\/(H\d+-\d\d)\/lot/, "packets"],
  [/^\/lots\/(L\d+-\d\d)\/packets/, "lot-packets"],
  [/^\/sowings\/add/, "sowing"],
  [/^\/plants\/add/, "plant"],
  [/^\/(?:flowers|s)\/(F\d+-\d\d)/, "check"],
  [/^\/sowings\/|^\/s\/W/, "count"],
  [/^\/plants\/|^\/s\/P/, "plants"],
  [/^\/crosses\/|^\/s\/C/, "crosses"],
];

function asked() {
  if (location.hash.length > 1) return location.hash.slice(1).split("/").map(decodeURIComponent);
  for (const [pattern, name] of STANDS_FOR) {
    const found = pattern.exec(location.pathname);
    if (found) return [name, found[1]];
  }
  return ["bench"];
}

function moment(time) {
  const how = { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" };
  return new Date(time).toLocaleString("en-GB", how);
}

const SHOW = {
  bench: showBench,
  pollination: openForm,
  check: openForm,
  "touch-up": openForm,
  count: openForm,
  harvest: openForm,
  packets: openForm,
  "lot-packets": openForm,
  sowing: openForm,
  plant: openForm,
  withdrawal: openForm,
  plants: showPlants,
  crosses: showCrosses,
  waiting: showEntries,
  tag: showTag,
  nobody: () => {},
};

async function show({ focus }) {
  const member = await getMember();
  const copy = member && (await getCopy(member.number));
  const [wanted, ...rest] = asked();
  const name = member ? (wanted in SHOW ? wanted : "bench") : "nobody";
  for (const section of document.querySelectorAll("main > section")) section.hidden = section.id !== name;
  for (const link of document.querySelectorAll(".offline-nav a")) {
    if (link.hash === `#${name}`) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
  const section = document.getElementById(name);
  document.getElementById("as-of").textContent = copy
    ? `${member.name}, as of ${moment(copy.fetchedAt)}. Nothing newer is known on this device.`
    : "";
  await SHOW[name](section, copy, rest, { moment });
  document.title = `${section.querySelector("h1").textContent} · without a signal`;
  if (focus) section.querySelector("h1").focus();
}

async function countWaiting() {
  const open = (await ownEntries()).filter((entry) => entry.state !== DONE);
  const count = open.length + allDrafts(await getMember()).length;
  document.querySelector("[data-waiting]").textContent = count ? `: ${count}` : "";
}

addEventListener("hashchange", () => show({ focus: true }));
onChange(() => {
  countWaiting();
  const name = asked()[0];
  // A form being filled in is left alone.
  if (["waiting", "bench", "tag"].includes(name)) show({ focus: false });
});
keepForms(document);
if (keepWhatWasOnItsWay()) location.hash = "#waiting";
await countWaiting();
await show({ focus: false });
document.documentElement.dataset.ready = "";
sendWaiting();
