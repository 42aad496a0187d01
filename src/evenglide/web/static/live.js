// The day so far, kept up to date: the server says when something new came, the page asks for itself again.

const live = document.getElementById("live");

async function again() {
  const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
  if (!answer.ok || !live) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("live");
  if (fresh) live.replaceChildren(...fresh.childNodes);
}

const stream = new EventSource("/stream");
stream.addEventListener("changed", again);
