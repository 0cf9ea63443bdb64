// Keep the parts of a page that say how things stand up to date, without loading it anew.
// <section id="progress" data-refresh-seconds="2"> is fetched again with its page and put in place;
// when the new one carries no such mark, the matter is settled and the asking ends.

async function fetchPart(part) {
  const answer = await fetch(window.location.href, { headers: { Accept: "text/html" } });
  if (!answer.ok || answer.redirected) return null;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  return page.getElementById(part.id);
}

async function refresh(part) {
  // Nobody looks, or somebody is about to press or type something in it: leave it as it is.
  const isInUse = part.contains(document.activeElement);
  let next = part;
  if (!document.hidden && !isInUse) {
    try {
      const found = await fetchPart(part);
      if (found && !part.contains(document.activeElement)) {
        part.replaceWith(document.adoptNode(found));
        next = found;
      }
    } catch {
      // Off line for a moment; the next time will do.
    }
  }
  watch(next);
}

function watch(part) {
  const seconds = Number(part.dataset.refreshSeconds);
  if (seconds > 0) setTimeout(() => refresh(part), seconds * 1000);
}

document.querySelectorAll("[data-refresh-seconds]").forEach(watch);
