/* While packets are planned, say at once what is left; without script the button asks the server. */

for (const told of document.querySelectorAll("[data-left-of]")) {
  const [howMany, seedsEach] = [...told.htmlFor].map((id) => document.getElementById(id));
  const seeds = Number(told.dataset.leftOf);

  const tell = () => {
    const [packets, each] = [howMany.valueAsNumber, seedsEach.valueAsNumber];
    if (!(packets > 0 && each > 0)) {
      told.textContent = `${seeds} seeds stay loose in the lot.`;
      return;
    }
    const taken = packets * each;
    const wanted = `${packets} packet${packets === 1 ? "" : "s"} of ${each}`;
    told.textContent = taken > seeds
      ? `${wanted} take ${taken} seeds: ${taken - seeds} more than the ${seeds} written down.`
      : `${wanted} take ${taken} of ${seeds} seeds; ${seeds - taken} stay loose in the lot.`;
  };

  howMany.addEventListener("input", tell);
  seedsEach.addEventListener("input", tell);
  // Somebody may have typed before this was loaded.
  tell();
}
