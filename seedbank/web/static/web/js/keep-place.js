// Brings one back to where one stood on the page after a tap that loads it anew.

const key = `place ${location.pathname}`;
const MOST_SECONDS = 30;

function kept() {
  const text = sessionStorage.getItem(key);
  sessionStorage.removeItem(key);
  return text && JSON.parse(text);
}

document.addEventListener(
  "submit",
  (event) => {
    if (!event.target.matches("[data-keep-place]")) return;
    sessionStorage.setItem(key, JSON.stringify({ y: scrollY, at: Date.now() }));
  },
  true,
);

const place = kept();
if (place && Date.now() - place.at < MOST_SECONDS * 1000) {
  scrollTo({ top: place.y, behavior: "instant" });
}
