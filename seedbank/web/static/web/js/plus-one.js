/* Counting pots with a wet thumb: one tap a seedling. The number can still be typed. */

const isTotal = () => document.querySelector("[name=typed_as]:checked")?.value === "total";

for (const input of document.querySelectorAll("[data-seeds]")) {
  const seeds = Number(input.dataset.seeds);
  const germinated = Number(input.dataset.germinated);
  const most = () => (isTotal() ? seeds : seeds - germinated);
  const seen = () => (input.value === "" ? (isTotal() ? germinated : 0) : Number(input.value));

  const button = document.createElement("button");
  button.type = "button";
  button.className = "second";
  button.textContent = "+1";
  button.setAttribute("aria-label", `One more: ${input.labels[0].textContent}`);
  // Never above what was sown; the server holds to it too.
  const judge = () => { button.disabled = seen() >= most(); };

  button.addEventListener("click", () => {
    input.value = seen() + 1;
    judge();
  });
  document.addEventListener("input", judge);
  input.after(button);
  judge();
}
