// The day so far, kept up to date: the server says when something new came, the page asks for itself again.

const live = document.getElementById("live");

async function again() {
  const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
  if (!answer.ok || !live) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("live");
  if (fresh) live.replaceChildren(...fresh.childNodes);
}

// From what this page already shows; after a break the browser says itself how far it had heard.
const stream = new EventSource(`/stream?since=${live?.dataset.met ?? ""}`);
stream.addEventListener("changed", again);
